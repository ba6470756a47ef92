"""The archive without a window: issuing, following, printing again, verifying."""

import argparse
import json
import os
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from kerfdocket.command.archive_draft import add_draft, draft_job, run_draft
from kerfdocket.command.archive_find import add_find, run_find
from kerfdocket.command.archive_given import (
    STATE_WIDTH,
    number_as_issued,
    side_word,
    traveller_named,
    who_does,
)
from kerfdocket.command.archive_keep import KEEPING, add_keep, run_keep
from kerfdocket.command.archive_take import TAKE_DEEDS, add_take, page_name, run_take
from kerfdocket.command.codes import BAD_INPUT, GOOD
from kerfdocket.command.files import refuse_itself
from kerfdocket.command.shop import add_shop, stated_shop
from kerfdocket.errors import EnvironmentProblem, InputError
from kerfdocket.job import load_job
from kerfdocket.language import _, counted, moment_text, zones_text
from kerfdocket.reference import load_reference
from kerfdocket.storage import write_atomically

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, State, Traveller

__all__ = ["add_archive_arguments", "run_archive"]

_VARIABLE = "KERFDOCKET_ARCHIVE"
# What is done to a traveller, and what it is then.
_MOVES: dict[str, "State"] = {
    "send": "on the floor",
    "return": "returned",
    "close": "closed",
    "withdraw": "withdrawn",
}


def add_archive_arguments(archive: argparse.ArgumentParser) -> None:
    """Let the command `archive` take its own commands."""
    archive.add_argument(
        "--archive",
        dest="place",
        metavar=_("PLACE"),
        default=os.environ.get(_VARIABLE),
        help=_(
            "file, or postgresql://… of one that an office shares; else {variable}, else this "
            "user's own",
            variable=_VARIABLE,
        ),
    )
    archive.add_argument("--who", default=None, help=_("who does it; else the user's name"))
    commands = archive.add_subparsers(dest="deed", metavar=_("COMMAND"), required=True)
    issue = commands.add_parser(
        "issue", help=_("keep a job's sheet under its number; KD-???? takes the next one")
    )
    again = commands.add_parser(
        "reissue", help=_("keep a changed job as the next revision of its number")
    )
    again.add_argument("--reason", required=True, help=_("why it is issued anew"))
    issue.add_argument("job", type=Path, nargs="?", help=_("job file, or a sheet's PDF"))
    issue.add_argument("--draft", type=int, help=_("id of a draft, instead of a job file"))
    again.add_argument("job", type=Path, help=_("job file, or a sheet's PDF"))
    for one in (issue, again):
        one.add_argument(
            "--fillable", action="store_true", help=_("with fields to fill in on a screen")
        )
        one.add_argument("-o", "--output", type=Path, help=_("PDF file to write, too"))
        add_shop(one)
    for deed, text in (
        ("send", _("say that a sheet went to the floor")),
        ("return", _("say that it came back")),
        ("close", _("say that its work is done and signed")),
        ("withdraw", _("say that it must not be cut by; give a reason")),
    ):
        move = commands.add_parser(deed, help=text)
        move.add_argument("number", help=_("number of the traveller"))
        move.add_argument("--reason", default="", help=_("why"))
    add_take(commands)
    add_draft(commands)
    add_find(commands)
    add_keep(commands)
    commands.add_parser("list", help=_("list all travellers, the newest first"))
    show = commands.add_parser("show", help=_("print what happened to one"))
    show.add_argument("number", help=_("number of the traveller"))
    again = commands.add_parser("print", help=_("write a kept sheet again, bit for bit"))
    again.add_argument("number", help=_("number of the traveller"))
    again.add_argument("--revision", help=_("which one; else the last"))
    again.add_argument("-o", "--output", type=Path, required=True, help=_("PDF file to write"))
    check = commands.add_parser("verify", help=_("prove that nothing was altered or lost"))
    check.add_argument(
        "--head", default="", help=_("hash that an earlier verify told, noted down elsewhere")
    )


def run_archive(given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    """Do what is asked of the archive.

    Args:
        given: what `add_archive_arguments` takes.
        output: where results go.
        errors: where messages go.

    Returns:
        The exit code.

    Raises:
        InputError, EnvironmentProblem: it cannot be done; nothing was changed.
    """
    # The database's library loads only for who wants the archive.
    from kerfdocket.archive import default_archive, open_archive, opened_to_fill

    place = given.place or default_archive()
    if given.deed in KEEPING:
        return run_keep(place, given, output, errors)

    def tell(text: str) -> None:
        print(text, file=errors)

    is_filling = given.deed == "issue" or getattr(given, "draft_deed", "") == "save"
    with (
        opened_to_fill(place, tell)
        if is_filling
        else closing(open_archive(place, False)) as archive
    ):
        # Of find it is words.
        if given.deed != "find" and getattr(given, "number", None):
            given.number = number_as_issued(archive, given.number)
        match given.deed:
            case "issue" | "reissue":
                return _issue(archive, given, output, errors)
            case "list":
                travellers = archive.travellers()
                for one in travellers:
                    output.write(_line(one))
                if not travellers:
                    print(_("There is no traveller in this archive."), file=errors)
            case "show":
                _show(archive, given.number, output)
            case "print":
                _print(archive, given, errors)
            case "verify":
                return _verify(archive, given.head, output, errors)
            case "draft":
                run_draft(archive, given, output)
            case "find":
                run_find(archive, given, output, errors)
            case deed if deed in TAKE_DEEDS:
                return run_take(archive, given, output, errors)
            case deed:
                moved = archive.move(given.number, _MOVES[deed], who_does(given), given.reason)
                output.write(_line(moved))
                if deed == "close":
                    _tell_unsigned(archive, moved, errors)
    return GOOD


def _issue(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive import draft
    from kerfdocket.office import issue_job, reissue_job, unchanged_text

    who, shop = who_does(given), stated_shop(given.shop)
    unchanged = ""
    if given.output is not None and given.job is not None:
        refuse_itself(given.job, given.output)
    if given.deed == "reissue":
        job = load_job(given.job)
        unchanged = unchanged_text(archive, job)
        traveller, pdf = reissue_job(
            archive, job, load_reference(), who, given.reason, shop, given.fillable
        )
    else:
        if (given.job is None) == (given.draft is None):
            raise InputError(_("give a job file, or a draft with --draft, and not both"))
        source = draft(archive, given.draft) if given.draft is not None else None
        job = load_job(given.job) if source is None else draft_job(archive, source)
        traveller, pdf = issue_job(
            archive, job, load_reference(), who, shop, given.fillable, source
        )
    output.write(_line(traveller))
    if unchanged:
        print(_("Caution: {text}", text=unchanged), file=errors)
    if given.output is not None:
        try:
            write_atomically(given.output, pdf)
        except EnvironmentProblem as error:
            # Whoever reads of a failure alone issues it once more, under another number.
            raise EnvironmentProblem(
                _(
                    "{number} {revision} is issued, but not written: {reason}; archive print "
                    "writes it",
                    number=traveller.number,
                    revision=traveller.revision,
                    reason=error,
                )
            ) from error
    return GOOD


def _line(one: "Traveller") -> str:
    return f"{one.number:14} {one.revision:3} {_(one.state):{STATE_WIDTH}} {one.facts['title']}\n"


def _show(archive: "Archive", number: str, output: TextIO) -> None:
    from kerfdocket.archive import actuals_of, pages_of, warning_of

    traveller_named(archive, number, None)
    pages = pages_of(archive, number)
    came_back = {page.revision for page in pages}
    for one in archive.revisions(number):
        output.write(_line(one))
        if one.reason:
            output.write("  " + _("issued anew: {reason}", reason=one.reason) + "\n")
        if one.revision in came_back and warning_of(one):
            output.write("  " + _("Caution: {text}", text=warning_of(one)) + "\n")
        values = actuals_of(archive, number, one.revision)
        for name, text in values.items():
            output.write(f"  {name} = {text}\n")
    output.write("\n")
    events = archive.events(number)
    for event in events:
        reason = json.loads(event.details).get("reason", "")
        output.write(
            f"{moment_text(event.at)}  {event.revision:3} {_(event.what):18} "
            f"{event.who}{': ' if reason else ''}{reason}\n"
        )
    for page in pages:
        which = " ".join(filter(None, (page.revision, side_word(page.side))))
        output.write(
            _(
                "came back as {id}: {name}, page {page} ({which})",
                id=page_name(page),
                name=page.name,
                page=page.page + 1,
                which=which,
            )
            + "\n"
        )
    output.write(zones_text(event.at for event in events) + "\n")


def _tell_unsigned(archive: "Archive", one: "Traveller", errors: TextIO) -> None:
    from kerfdocket.archive import actuals_of, pages_of

    pages = [page for page in pages_of(archive, one.number) if page.revision == one.revision]
    if pages or actuals_of(archive, one.number, one.revision):
        return
    text = _(
        "nothing that came back of {number} {revision} is kept, neither a page nor a value, so "
        "nothing shows who signed it",
        number=one.number,
        revision=one.revision,
    )
    print(_("Caution: {text}", text=text), file=errors)


def _print(archive: "Archive", given: argparse.Namespace, errors: TextIO) -> None:
    from kerfdocket.archive.model import VOID

    traveller = traveller_named(archive, given.number, given.revision)
    write_atomically(given.output, archive.content(traveller.pdf))
    if traveller.state in VOID:
        text = _(
            "{number} {revision} is {state}: nothing may be cut by it",
            number=traveller.number,
            revision=traveller.revision,
            state=_(traveller.state),
        )
        print(_("Caution: {text}", text=text), file=errors)


def _verify(archive: "Archive", head: str, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive import verify

    faults = verify(archive, head)
    for fault in faults:
        print(fault, file=errors)
    count, last = archive.head()
    output.write(
        counted(
            "{count} event, the last is {hash}",
            "{count} events, the last is {hash}",
            count,
            hash=last,
        )
        + "\n"
    )
    if faults:
        return BAD_INPUT
    output.write(_("Nothing was altered or lost.") + "\n")
    if not count:
        print(_("It is empty: look whether it is the archive that you mean."), file=errors)
    return GOOD
