"""Columns that follow from the events; worked out anew after each change of the tables' form."""

from sqlalchemy import Connection, bindparam, select

from kerfdocket.archive.chain import events
from kerfdocket.archive.replay import Known
from kerfdocket.archive.schema import CONTENT, TRAVELLER

__all__ = ["job_of", "renew"]


def job_of(connection: Connection, digest: str) -> str:
    """Return a job file.

    Raises:
        KeyError: it is not there.
    """
    found = connection.execute(
        select(CONTENT.c.bytes).where(CONTENT.c.digest == digest)
    ).scalar_one_or_none()
    if found is None:
        raise KeyError(digest)
    return bytes(found).decode()


def renew(connection: Connection) -> None:
    """Fill the columns that older archives lack, in the transaction that makes them.

    Events that do not fit each other are passed over: `verify` names them.
    """
    known = Known(lambda digest: job_of(connection, digest))
    for event in events(connection):
        try:
            known.happen(event)
        except (KeyError, TypeError, ValueError):
            continue
    rows = [
        {
            "b_number": key[0],
            "b_revision": key[1],
            "program": one.program,
            "tables": one.tables,
            "code": one.code,
            "thickness_m": one.thickness_m,
            "cutter": one.cutter,
            "words": known.words(key),
        }
        for key, one in known.travellers.items()
    ]
    if rows:
        connection.execute(
            TRAVELLER.update().where(
                TRAVELLER.c.number == bindparam("b_number"),
                TRAVELLER.c.revision == bindparam("b_revision"),
            ),
            rows,
        )
