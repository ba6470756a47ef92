"""Proof that nothing was altered, lost or put in another order; or what was."""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, select

from kerfdocket.archive.chain import BEGIN, events, hash_of
from kerfdocket.archive.engine import told
from kerfdocket.archive.model import AFTER, STATES, Event, Traveller
from kerfdocket.archive.schema import CONTENT, FACTS, SERIES, TRAVELLER
from kerfdocket.archive.store import Archive, traveller_of
from kerfdocket.language import _

__all__ = ["Fault", "verify"]


@dataclass(frozen=True)
class Fault:
    """Something that is not as it was written.

    Attributes:
        where: an event by its place, a traveller by number and revision, a content by its digest.
        text: what is the matter.
    """

    where: str
    text: str

    def __str__(self) -> str:
        return f"{self.where}: {self.text}"


def verify(archive: Archive, head: str = "") -> tuple[Fault, ...]:
    """Go over the whole archive.

    The chain of events is followed from its begin; from it follows what travellers there must be,
    in which state and with what contents, and all of that is compared with what is there. What the
    chain alone cannot show is that its last events were cut off together with what they tell:
    for that its end must have been noted elsewhere.

    Args:
        archive: to go over.
        head: hash of an event that was noted down elsewhere; must be in the chain.

    Returns:
        What is wrong; empty if nothing is.

    Raises:
        ArchiveProblem: it cannot be read.
    """
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return tuple(_faults(connection, head))


def _faults(connection: Connection, head: str) -> Iterator[Fault]:
    expected: dict[tuple[str, str], Traveller] = {}
    series: dict[str, int] = {}
    contents: set[str] = set()
    previous, place, is_head_met = BEGIN, 0, not head
    for event in events(connection):
        place += 1
        where = _("event {place}", place=event.place)
        if event.place != place:
            yield Fault(where, _("event {place} is missing before it", place=place))
            place = event.place
        if event.previous != previous:
            yield Fault(where, _("does not follow the event before it"))
        if event.hash != hash_of(event):
            yield Fault(where, _("was altered"))
        previous = event.hash
        is_head_met = is_head_met or event.hash == head
        try:
            contents |= _replay(event, expected, series)
        except (KeyError, TypeError, ValueError):
            yield Fault(where, _("tells of what cannot have happened"))
    if not is_head_met:
        yield Fault(_("the chain"), _("has no event {head}", head=head[:12]))
    yield from _compare_travellers(connection, expected)
    yield from _compare_contents(connection, contents)
    yield from _compare_series(connection, series)


def _replay(
    event: Event, expected: dict[tuple[str, str], Traveller], series: dict[str, int]
) -> set[str]:
    """Let an event happen; return the digests that must be there since.

    Raises:
        KeyError, TypeError, ValueError: it does not fit what happened before.
    """
    details: dict[str, Any] = json.loads(event.details)
    key = event.number, event.revision
    if event.what == "reserved":
        pattern = details["pattern"]
        at = pattern.index("?")
        series[pattern] = int(event.number[at : at + pattern.count("?")])
        return set()
    if event.what == "issued":
        if key in expected:
            raise ValueError(key)
        digests = {name: details[name] for name in ("job", "plan", "pdf")}
        expected[key] = Traveller(
            number=event.number,
            revision=event.revision,
            state="issued",
            issued_at=event.at,
            facts={name: details["facts"][name] for name in FACTS},
            reason=details["reason"],
            **digests,
        )
        return set(digests.values())
    state = next(one for one in STATES if one == event.what)
    if state not in AFTER[expected[key].state]:
        raise ValueError(state)
    expected[key] = replace(expected[key], state=state)
    return set()


def _compare_travellers(
    connection: Connection, expected: dict[tuple[str, str], Traveller]
) -> Iterator[Fault]:
    left = dict(expected)
    for row in connection.execute(select(TRAVELLER).order_by(TRAVELLER.c.id)):
        found = traveller_of(row)
        where = f"{found.number} {found.revision}"
        wanted = left.pop((found.number, found.revision), None)
        if wanted is None:
            yield Fault(where, _("no event tells of it"))
            continue
        for name in Traveller.__dataclass_fields__:
            if getattr(found, name) != getattr(wanted, name):
                yield Fault(where, _("{name} was altered", name=name))
    for number, revision in left:
        yield Fault(f"{number} {revision}", _("is missing"))


def _compare_contents(connection: Connection, wanted: set[str]) -> Iterator[Fault]:
    left = set(wanted)
    rows = connection.execution_options(yield_per=20).execute(select(CONTENT))
    for row in rows:
        where = _("content {digest}", digest=row.digest[:12])
        found = row.bytes.encode() if isinstance(row.bytes, str) else bytes(row.bytes)
        if hashlib.sha256(found).hexdigest() != row.digest:
            yield Fault(where, _("was altered"))
        if row.digest in left:
            left.discard(row.digest)
        else:
            yield Fault(where, _("no event tells of it"))
    for digest in sorted(left):
        yield Fault(_("content {digest}", digest=digest[:12]), _("is missing"))


def _compare_series(connection: Connection, wanted: dict[str, int]) -> Iterator[Fault]:
    found = {row.pattern: row.last for row in connection.execute(select(SERIES))}
    for pattern in sorted({*found, *wanted}):
        if found.get(pattern) != wanted.get(pattern):
            yield Fault(pattern, _("the last number taken was altered"))
