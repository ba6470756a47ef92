"""The chain of events: each holds the hash of the one before, so none can be altered unseen."""

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime

from sqlalchemy import Connection, select

from kerfdocket.archive.errors import NotPossible
from kerfdocket.archive.model import Event
from kerfdocket.archive.schema import EVENT
from kerfdocket.language import _

__all__ = [
    "BEGIN",
    "append",
    "canonical",
    "events",
    "events_of",
    "hash_of",
    "keepable",
    "last_hash",
]

BEGIN = "0" * 64  # stands for the event before the first
_LONGEST_WHO = 120  # letters; SQLite would take more than its table says
_APPEND = EVENT.insert()
# Halves of letters, as names of files bring them that were written on another system, and the sign
# with the number 0: not every database takes them.
_NOT_KEPT = re.compile("[\0\ud800-\udfff]")
_LAST = select(EVENT.c.place, EVENT.c.hash).order_by(EVENT.c.place.desc()).limit(1)


def canonical(details: Mapping[str, object]) -> str:
    """Return details as JSON that is the same for the same details."""
    return json.dumps(details, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def keepable(text: str) -> str:
    """Return a text as each database keeps it: with a mark for what is no letter.

    >>> keepable("scan\\udcff.pdf")
    'scan\ufffd.pdf'
    """
    return _NOT_KEPT.sub("\ufffd", text)


def hash_of(event: Event) -> str:
    """Return the hash that an event must have: SHA-256 over all of it and the hash before."""
    said = [
        event.place,
        event.at,
        event.who,
        event.what,
        event.number,
        event.revision,
        event.details,
        event.previous,
    ]
    return hashlib.sha256(json.dumps(said, ensure_ascii=False).encode()).hexdigest()


def append(
    connection: Connection,
    who: str,
    what: str,
    number: str,
    revision: str = "",
    details: Mapping[str, object] | None = None,
) -> Event:
    """Append an event, in the transaction of what it tells; the caller holds the right to write.

    Args:
        connection: within `engine.writing`.
        who: did it.
        what: happened.
        number, revision: of the traveller.
        details: more of it; must be what JSON can say.

    Raises:
        NotPossible: the name of who did it is too long, or something said has what is no letter.
    """
    if len(who) > _LONGEST_WHO:
        raise NotPossible(_("a name may have up to {most} letters", most=_LONGEST_WHO))
    for text in _texts_in((who, number, revision, details or {})):
        if text != keepable(text):
            raise NotPossible(
                _("{text} has what is no letter: write it anew", text=repr(keepable(text)[:80]))
            )
    place, previous = last_hash(connection)
    at = datetime.now(UTC).isoformat(timespec="microseconds")
    draft = Event(
        place + 1, at, who, what, number, revision, canonical(details or {}), previous, ""
    )
    made = replace(draft, hash=hash_of(draft))
    connection.execute(_APPEND, made.__dict__)
    return made


def _texts_in(said: object) -> Iterator[str]:
    if isinstance(said, str):
        yield said
    elif isinstance(said, Mapping):
        for name, value in said.items():
            yield from _texts_in(name)
            yield from _texts_in(value)
    elif isinstance(said, Iterable):
        for one in said:
            yield from _texts_in(one)


def last_hash(connection: Connection) -> tuple[int, str]:
    """Return how many events there are and the hash of the last: to be noted down elsewhere."""
    last = connection.execute(_LAST).first()
    return (last.place, last.hash) if last is not None else (0, BEGIN)


def events(connection: Connection) -> Iterator[Event]:
    """Yield all events in their order, a few at a time."""
    rows = connection.execute(
        select(EVENT).order_by(EVENT.c.place), execution_options={"yield_per": 500}
    )
    for row in rows:
        yield Event(**row._mapping)


def events_of(connection: Connection, number: str) -> Iterator[Event]:
    """Yield the events of one traveller's number in their order."""
    # A draft's number is its id, which may be a traveller's number, too.
    rows = connection.execute(
        select(EVENT)
        .where(EVENT.c.number == number, EVENT.c.what.not_in(("drafted", "draft ended")))
        .order_by(EVENT.c.place)
    )
    for row in rows:
        yield Event(**row._mapping)
