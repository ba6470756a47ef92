"""What was written on a sheet: kept as it was written, the newest of each."""

import json
from collections.abc import Mapping
from dataclasses import replace

from sqlalchemy import Connection, select

from kerfdocket.archive.chain import append, keepable
from kerfdocket.archive.engine import told, writing
from kerfdocket.archive.errors import NotPossible, ReasonNeeded
from kerfdocket.archive.model import Traveller
from kerfdocket.archive.replay import CUTTER, words_for
from kerfdocket.archive.schema import ACTUAL, EVENT, TRAVELLER
from kerfdocket.archive.store import Archive, revisions_of
from kerfdocket.language import _

__all__ = [
    "actuals_in",
    "actuals_of",
    "as_kept",
    "brought_by_page",
    "keep_actuals",
    "record_actuals",
]

_LONGEST_NAME, _LONGEST = 80, 4000  # letters


def actuals_of(archive: Archive, number: str, revision: str) -> dict[str, str]:
    """Return what was written on a sheet, by the names of its places; as it was written."""
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return actuals_in(connection, number, revision)


def record_actuals(
    archive: Archive,
    number: str,
    revision: str,
    values: Mapping[str, str],
    who: str,
    reason: str = "",
) -> dict[str, str]:
    """Keep what was written on a sheet, entered by hand; what is empty takes a value back.

    Args:
        archive: that has the traveller.
        number, revision: of the traveller.
        values: by the names of their places, as they were written.
        who: enters them.
        reason: why they change; must be given where the traveller is closed, as what it was signed
            with is put right by it.

    Returns:
        What changed by it.

    Raises:
        NotPossible: there is no such traveller, or a value is longer than can be kept.
        ReasonNeeded: it is closed, and there is no reason.
        ArchiveProblem: it could not be written; nothing was changed.
    """
    for name, text in values.items():
        if len(name) > _LONGEST_NAME or len(text.strip()) > _LONGEST:
            raise NotPossible(
                _(
                    "{name}: up to {most} letters can be kept, and {longest} of its name",
                    name=name[:_LONGEST_NAME],
                    most=_LONGEST,
                    longest=_LONGEST_NAME,
                )
            )
    with told(_("the values could not be recorded")), writing(archive.engine) as connection:
        known = revisions_of(connection, number)
        found = next((one for one in known if one.revision == revision), None)
        if found is None:
            raise NotPossible(
                _("{number} {revision} was never issued", number=number, revision=revision)
            )
        if found.state == "closed" and not reason.strip():
            raise ReasonNeeded(
                _(
                    "{number} is closed: its work is done and signed; what was written on it is "
                    "put right for a reason: say which",
                    number=number,
                )
            )
        return keep_actuals(connection, found, values, who, "hand", reason)


def keep_actuals(
    connection: Connection,
    traveller: Traveller,
    values: Mapping[str, str],
    who: str,
    source: str,
    reason: str = "",
) -> dict[str, str]:
    """Keep values in the transaction of what they are for; return those that are new.

    Args:
        connection: within `engine.writing`.
        traveller: that they belong to.
        values: by name, as `as_kept` has them.
        who: brings them.
        source: `form`, `hand`, or `put back` where a page takes along what it brought.
        reason: why they change; may be empty.
    """
    before = actuals_in(connection, traveller.number, traveller.revision)
    said = {name: text.strip() for name, text in sorted(values.items())}
    changed = {name: text for name, text in said.items() if before.get(name, "") != text}
    if not changed:
        return {}
    details: dict[str, object] = {"values": changed, "source": source}
    if reason.strip():
        details["reason"] = reason.strip()
    append(connection, who, "recorded", traveller.number, traveller.revision, details)
    after = {name: text for name, text in {**before, **changed}.items() if text}
    is_of = ACTUAL.c.number == traveller.number, ACTUAL.c.revision == traveller.revision
    connection.execute(ACTUAL.delete().where(*is_of, ACTUAL.c.name.in_(changed)))
    rows = [
        {
            "number": traveller.number,
            "revision": traveller.revision,
            "name": name,
            "text": after[name],
        }
        for name in changed
        if name in after
    ]
    if rows:
        connection.execute(ACTUAL.insert(), rows)
    _renew_words(connection, traveller, after)
    return changed


def as_kept(values: Mapping[str, str]) -> dict[str, str]:
    """Return what a file brings as it is kept; the file itself has all of what is cut off."""
    return {
        keepable(name[:_LONGEST_NAME]): keepable(text.strip()[:_LONGEST])
        for name, text in values.items()
    }


def brought_by_page(
    connection: Connection, traveller: Traveller, file: str, page: int
) -> dict[str, str]:
    """Return what a page brought that still stands, each with what stood there before.

    Args:
        connection: within `engine.writing`.
        traveller: that the page is with.
        file, page: digest of the file, and the page in it, from 0.
    """
    happened = [
        (row.place, row.what, json.loads(row.details))
        for row in connection.execute(
            select(EVENT.c.place, EVENT.c.what, EVENT.c.details)
            .where(
                EVENT.c.number == traveller.number,
                EVENT.c.revision == traveller.revision,
                EVENT.c.what.in_(("page taken", "page matched", "recorded")),
            )
            .order_by(EVENT.c.place)
        )
    ]
    came = max(
        (
            place
            for place, what, details in happened
            if what != "recorded" and (details["file"], details["page"]) == (file, page)
        ),
        default=0,
    )
    before: dict[str, str] = {}
    brought: dict[str, str] = {}
    for place, what, details in happened:
        if what != "recorded":
            continue
        values = details["values"]
        if place < came:
            before.update(values)
        elif place == came + 1 and details["source"] == "form":
            # What comes with a page is recorded right after it, in the same transaction.
            brought = {name: before.get(name, "") for name in values}
        else:
            for name in values:
                brought.pop(name, None)
    return brought


def actuals_in(connection: Connection, number: str, revision: str) -> dict[str, str]:
    """Return what was written on a sheet, as one transaction sees it."""
    rows = connection.execute(
        select(ACTUAL.c.name, ACTUAL.c.text)
        .where(ACTUAL.c.number == number, ACTUAL.c.revision == revision)
        .order_by(ACTUAL.c.name)
    )
    return {row.name: row.text for row in rows}


def _renew_words(connection: Connection, traveller: Traveller, actuals: Mapping[str, str]) -> None:
    details = connection.execute(
        select(EVENT.c.details).where(
            EVENT.c.number == traveller.number,
            EVENT.c.revision == traveller.revision,
            EVENT.c.what == "issued",
        )
    ).scalar_one()
    cutter = actuals.get(CUTTER, "")
    words = words_for(
        replace(traveller, cutter=cutter), json.loads(details).get("text", ""), actuals
    )
    connection.execute(
        TRAVELLER.update()
        .where(TRAVELLER.c.number == traveller.number, TRAVELLER.c.revision == traveller.revision)
        .values(cutter=cutter, words=words)
    )
