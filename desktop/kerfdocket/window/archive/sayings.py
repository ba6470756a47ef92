"""How the window writes what the archive holds: places, times, pages, events."""

import json
import os
import shlex
import subprocess
from datetime import date, datetime
from typing import TYPE_CHECKING

from kerfdocket.language import _, counted, date_text, marked, moment_text
from kerfdocket.window.archive.rows import Row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kerfdocket.archive import Event, PageOfTraveller, Traveller
    from kerfdocket.window.archive.intake import Outcome
    from kerfdocket.window.archive.keeping import Copy, Faulty, Made

__all__ = [
    "BANNER_WORDS",
    "as_typed",
    "copy_doing",
    "copy_outcome",
    "count_text",
    "day_text",
    "event_text",
    "full_name",
    "how_text",
    "outcome_rows",
    "outcome_text",
    "outcomes_text",
    "page_text",
    "side_text",
    "when_text",
]

# What is said over a traveller by which nothing must be cut any more.
BANNER_WORDS = {"superseded": marked("SUPERSEDED"), "withdrawn": marked("WITHDRAWN")}
_HOW = {"code": marked("by its code"), "hand": marked("by hand")}
# By the letters of `kerfdocket.archive.model`, whose database loads only for who needs it.
_SIDES = {
    "F": marked("front"),
    "B": marked("back"),
    "2": marked("front and back"),
    "": marked("side not known"),
}


def when_text(at: str, *, with_time: bool = True) -> str:
    """Return a time in UTC, ISO 8601, as it was on the clock here; empty for an empty one."""
    try:
        if with_time:
            return moment_text(at)
        return date_text(datetime.fromisoformat(at).astimezone().date())
    except ValueError:
        return at


def day_text(day: str) -> str:
    """Return a day in ISO 8601 as the language writes it; what is none stays."""
    try:
        return date_text(date.fromisoformat(day))
    except ValueError:
        return day


def full_name(traveller: "Traveller") -> str:
    """Return number and revision as one says them."""
    return f"{traveller.number} {traveller.revision}"


def side_text(side: str) -> str:
    """Return a side in words, as `PageOfTraveller` has it."""
    return _(_SIDES[side])


def page_text(page: "PageOfTraveller") -> str:
    """Return what a page is called: its side where it is known, its place and its file."""
    if not page.side:
        return _("page {page} of {file}", page=page.page + 1, file=page.name)
    return _(
        "{side}, page {page} of {file}",
        side=side_text(page.side),
        page=page.page + 1,
        file=page.name,
    )


def how_text(page: "PageOfTraveller") -> str:
    """Return how a page came to its traveller; empty in the tray."""
    return _(_HOW[page.how]) if page.how else ""


def count_text(count: int, *, is_all: bool) -> str:
    """Return how many travellers there are, or were found."""
    if is_all:
        return counted("{count} traveller", "{count} travellers", count)
    return counted("{count} traveller found", "{count} travellers found", count)


def event_text(event: "Event") -> str:
    """Return more about an event: reason, page, values; empty where there is nothing to add."""
    details = json.loads(event.details)
    said = []
    if reason := details.get("reason"):
        said.append(str(reason))
    if event.what in ("page taken", "page matched") and "page" in details:
        name = details.get("name") or details["file"][:12]
        side = side_text(details.get("side", ""))
        said.append(
            _("{side}, page {page} of {file}", side=side, page=details["page"] + 1, file=name)
        )
    if event.what == "recorded":
        count = len(details["values"])
        if details.get("source") == "form":
            said.append(counted("{count} value, filled in", "{count} values, filled in", count))
        else:
            said.append(counted("{count} value, by hand", "{count} values, by hand", count))
    return "; ".join(said)


def as_typed(text: str) -> str:
    """Return a text as it is typed on this system's command line, in quotes where it needs them."""
    return subprocess.list2cmdline([text]) if os.name == "nt" else shlex.quote(text)


def copy_doing(copy: "Copy", *, is_giving_up: bool) -> str:
    """Return what is being made."""
    if is_giving_up:
        return _("Giving it up …")
    if copy.deed == "export":
        return _("Exporting into {path} …", path=copy.target)
    return _("Backing up into {path} …", path=copy.target)


def copy_outcome(copy: "Copy", ended: "Made | Faulty | BaseException") -> str:
    """Return how it ended."""
    # Importing it costs nothing: the archive's window is open.
    from kerfdocket.office.keeping import end_text, made_text
    from kerfdocket.window.archive.gentle import GivenUp
    from kerfdocket.window.archive.keeping import Faulty, Made

    if isinstance(ended, GivenUp):
        return _("It was given up. There is no {path} of it.", path=copy.target)
    if isinstance(ended, Faulty):
        return _("Nothing was made, as the archive is not whole.")
    if not isinstance(ended, Made):
        return _("Nothing was made: {reason}", reason=ended)
    if ended.done is None:
        return _("{path} was made just before it was given up, and is whole.", path=copy.target)
    said = [
        made_text(copy.target, ended.done),
        _("{end}. Note it down elsewhere.", end=end_text(ended.done.events, ended.done.head)),
    ]
    if ended.done.faults:
        said.insert(
            1, _("It has the faults of the archive: keep it beside older ones, not instead.")
        )
    return "\n".join(said)


def outcome_text(outcome: "Outcome") -> str:
    """Return in one sentence what became of a file."""
    name = outcome.path.name
    if outcome.taken is None:
        return _("{file} was not taken: {reason}", file=name, reason=outcome.problem)
    if outcome.taken.is_known:
        return _("{file} was taken before; nothing was done.", file=name)
    found = {one.traveller.number for one in outcome.taken.pages if one.traveller is not None}
    waiting = sum(one.traveller is None for one in outcome.taken.pages)
    said = _("{file} was taken: {numbers}.", file=name, numbers=", ".join(sorted(found)))
    if not found:
        said = _("{file} was taken.", file=name)
    if waiting:
        more = counted(
            "{count} page waits in the tray.", "{count} pages wait in the tray.", waiting
        )
        said = f"{said} {more}"
    return said


def outcomes_text(outcomes: "Sequence[Outcome]") -> str:
    """Return what became of several files together, and of their pages."""
    new = [one.taken for one in outcomes if one.taken is not None and not one.taken.is_known]
    known = sum(one.taken is not None and one.taken.is_known for one in outcomes)
    pages = [page for taken in new for page in taken.pages]
    matched = sum(page.traveller is not None for page in pages)
    said = [
        counted("{count} file was taken.", "{count} files were taken.", len(new)),
        counted(
            "{count} page is with its traveller.",
            "{count} pages are with their travellers.",
            matched,
        ),
        counted(
            "{count} page waits in the tray.",
            "{count} pages wait in the tray.",
            len(pages) - matched,
        ),
    ]
    if known:
        said.append(
            counted(
                "{count} file was taken before.",
                "{count} files were taken before.",
                known,
            )
        )
    if refused := len(outcomes) - len(new) - known:
        said.append(
            counted(
                "{count} was not taken: its row says why.",
                "{count} were not taken: their rows say why.",
                refused,
            )
        )
    return " ".join(said)


def outcome_rows(outcome: "Outcome") -> list[Row]:
    """Return a row for each page of a file that was taken, or one if it was not.

    Cells are: time, file, page, what became of it, more. The key is number and revision of the
    traveller, None where there is none.
    """
    name = outcome.path.name
    if outcome.is_watched:
        name = _("{file} (scanner)", file=name)
    when = when_text(outcome.at)
    if outcome.taken is None:
        return [Row((when, name, "", _("not taken"), outcome.problem), None, "stop")]
    rows = []
    for one in outcome.taken.pages:
        page = str(one.page.page + 1)
        more = one.page.reason
        severity = ""
        if one.traveller is None:
            what = _("in the tray")
            if one.page.is_set_aside:
                what = _("set aside")
            else:
                severity = "caution"
        else:
            what = full_name(one.traveller)
            more = side_text(one.page.side)
            if one.values:
                values = counted("{count} value", "{count} values", one.values)
                more = f"{more}, {values}"
        if outcome.taken.is_known:
            severity = ""
            more = _("was taken before; nothing was done. {more}", more=more).strip()
        if one.warning:
            severity = "stop"
            more = f"{one.warning} ({more})"
            assert one.traveller is not None
            what = f"{what}: {_(BANNER_WORDS[one.traveller.state])}"
        key = (one.traveller.number, one.traveller.revision) if one.traveller else None
        rows.append(Row((when, name, page, what, more), key, severity))
    return rows
