"""What was written on a sheet: kept as it was written, the newest of each."""

from collections.abc import Mapping

from sqlalchemy import Connection, select

from kerfdocket.archive.chain import append
from kerfdocket.archive.engine import told, writing
from kerfdocket.archive.errors import NotPossible
from kerfdocket.archive.model import Traveller
from kerfdocket.archive.replay import CUTTER, words_for
from kerfdocket.archive.schema import ACTUAL, EVENT, TRAVELLER
from kerfdocket.archive.store import Archive, revisions_of
from kerfdocket.language import _

__all__ = ["actuals_in", "actuals_of", "keep_actuals", "record_actuals"]

_LONGEST_NAME, _LONGEST = 80, 4000  # letters


def actuals_of(archive: Archive, number: str, revision: str) -> dict[str, str]:
    """Return what was written on a sheet, by the names of its places; as it was written."""
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return actuals_in(connection, number, revision)


def record_actuals(
    archive: Archive, number: str, revision: str, values: Mapping[str, str], who: str
) -> dict[str, str]:
    """Keep what was written on a sheet, entered by hand; what is empty takes a value back.

    Args:
        archive: that has the traveller.
        number, revision: of the traveller.
        values: by the names of their places, as they were written.
        who: enters them.

    Returns:
        What changed by it.

    Raises:
        NotPossible: there is no such traveller, or it is closed.
        ArchiveProblem: it could not be written; nothing was changed.
    """
    with told(_("the values could not be recorded")), writing(archive.engine) as connection:
        known = revisions_of(connection, number)
        found = next((one for one in known if one.revision == revision), None)
        if found is None:
            raise NotPossible(
                _("{number} {revision} was never issued", number=number, revision=revision)
            )
        if found.state == "closed":
            raise NotPossible(_("{number} is closed: its work is done and signed", number=number))
        return keep_actuals(connection, found, values, who, "hand")


def keep_actuals(
    connection: Connection, traveller: Traveller, values: Mapping[str, str], who: str, source: str
) -> dict[str, str]:
    """Keep values in the transaction of what they are for; return those that are new.

    Args:
        connection: within `engine.writing`.
        traveller: that they belong to.
        values: by name.
        who: brings them.
        source: `form` or `hand`.
    """
    before = actuals_in(connection, traveller.number, traveller.revision)
    changed = {
        name[:_LONGEST_NAME]: text.strip()[:_LONGEST]
        for name, text in sorted(values.items())
        if before.get(name[:_LONGEST_NAME], "") != text.strip()[:_LONGEST]
    }
    if not changed:
        return {}
    append(
        connection,
        who,
        "recorded",
        traveller.number,
        traveller.revision,
        {"values": changed, "source": source},
    )
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


def actuals_in(connection: Connection, number: str, revision: str) -> dict[str, str]:
    """Return what was written on a sheet, as one transaction sees it."""
    rows = connection.execute(
        select(ACTUAL.c.name, ACTUAL.c.text)
        .where(ACTUAL.c.number == number, ACTUAL.c.revision == revision)
        .order_by(ACTUAL.c.name)
    )
    return {row.name: row.text for row in rows}


def _renew_words(connection: Connection, traveller: Traveller, actuals: Mapping[str, str]) -> None:
    import json
    from dataclasses import replace

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
