"""What need not be kept any longer: proposed by a rule, given up only by who names the numbers."""

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlalchemy import Connection, func, literal, select, union_all

from kerfdocket.archive.chain import append
from kerfdocket.archive.engine import reading, told, writing
from kerfdocket.archive.errors import NotPossible
from kerfdocket.archive.model import AFTER, State
from kerfdocket.archive.schema import CONTENT, DRAFT, EVENT, PAGE, TRAVELLER
from kerfdocket.archive.store import Archive, revisions_of
from kerfdocket.language import _, listed

__all__ = ["YEARS", "GivingUp", "Proposal", "Rule", "discard", "proposals", "would_discard"]

# Common practice, no source. What a contract, an insurer or local law asks for comes first.
YEARS = 10
# Nothing follows these: the work is done, or is done by another sheet or not at all.
_ENDED = tuple(state for state, after in AFTER.items() if not after)
_OF_DRAFTS = ("drafted", "draft ended")  # their number is a draft's id
_NOBODY = "\x00"  # needs a content, and has no number: a draft, a page in the tray


@dataclass(frozen=True)
class Rule:
    """When a traveller need not be kept any longer.

    Attributes:
        years: since anything happened to it, once all its revisions are closed, superseded or
            withdrawn. [a]
    """

    years: int = YEARS

    def __post_init__(self) -> None:
        if not 1 <= self.years <= 1000:
            raise NotPossible(_("{years} years: give 1 to 1000", years=self.years))

    def latest(self, today: date) -> date:
        """Return the day before which everything must have happened.

        >>> Rule(10).latest(date(2036, 2, 29))
        datetime.date(2026, 2, 28)
        """
        year = max(today.year - self.years, date.min.year)
        try:
            return today.replace(year=year)
        except ValueError:  # the 29th of February
            return today.replace(year=year, day=28)


@dataclass(frozen=True)
class Proposal:
    """A number whose contents might be given up.

    Attributes:
        number: of the traveller.
        state: of its last revision.
        since: the day on which something happened to it last. [UTC]
        revisions: how many there are.
        pages: how many came back.
        bytes: of contents that nothing else needs. [B]
    """

    number: str
    state: State
    since: date
    revisions: int
    pages: int
    bytes: int


@dataclass(frozen=True)
class GivingUp:
    """What is given up of a number.

    Attributes:
        number: of the traveller.
        contents: their digests.
        bytes: of them. [B]
        kept: contents that stay, as something else needs them.
    """

    number: str
    contents: tuple[str, ...]
    bytes: int
    kept: int


def proposals(archive: Archive, rule: Rule, today: date | None = None) -> tuple[Proposal, ...]:
    """Return what need not be kept any longer, the oldest first. Nothing is given up by it.

    Args:
        archive: to look through.
        rule: says when.
        today: the day it is; UTC's if not given.

    Raises:
        ArchiveProblem: it cannot be read.
    """
    before = rule.latest(today or datetime.now(UTC).date())
    with told(_("the archive cannot be read")), reading(archive.engine) as connection:
        ended = _ended(connection)
        last = {
            number: date.fromisoformat(at[:10])
            for number, at in _last_events(connection)
            if number in ended
        }
        old = {number for number, day in last.items() if day < before}
        pages = _pages(connection)
        found = []
        for one in _giving_up(connection, old):
            if one.bytes:
                state, revisions = ended[one.number]
                found.append(
                    Proposal(
                        number=one.number,
                        state=state,
                        since=last[one.number],
                        revisions=revisions,
                        pages=pages.get(one.number, 0),
                        bytes=one.bytes,
                    )
                )
    return tuple(sorted(found, key=lambda one: (one.since, one.number)))


def _ended(connection: Connection) -> dict[str, tuple[State, int]]:
    """The last state of each number of which all revisions have ended, and how many there are."""
    rows = connection.execute(
        select(TRAVELLER.c.number, TRAVELLER.c.state).order_by(TRAVELLER.c.id)
    )
    states: dict[str, list[State]] = {}
    for row in rows:
        states.setdefault(row.number, []).append(row.state)
    return {
        number: (known[-1], len(known))
        for number, known in states.items()
        if all(state in _ENDED for state in known)
    }


def _last_events(connection: Connection) -> Iterable[tuple[str, str]]:
    rows = connection.execute(
        select(EVENT.c.number, func.max(EVENT.c.at))
        .where(EVENT.c.what.not_in(_OF_DRAFTS))
        .group_by(EVENT.c.number)
    )
    return ((row[0], row[1]) for row in rows)


def _pages(connection: Connection) -> dict[str, int]:
    rows = connection.execute(select(PAGE.c.number, func.count()).group_by(PAGE.c.number))
    return {row[0]: row[1] for row in rows}


def would_discard(archive: Archive, numbers: Sequence[str]) -> tuple[GivingUp, ...]:
    """Return what `discard` would give up; nothing is given up by it.

    Raises:
        NotPossible: a number was never issued, has not ended, or nothing is left to give up.
        ArchiveProblem: the archive cannot be read.
    """
    with told(_("the archive cannot be read")), reading(archive.engine) as connection:
        return _to_discard(connection, numbers)


def discard(
    archive: Archive, numbers: Sequence[str], who: str, reason: str
) -> tuple[GivingUp, ...]:
    """Give up what is kept of numbers: job files, plans, sheets and scans that nothing else needs.

    That they were issued, all that happened to them, what was written on them and the words that
    they are found by stay, and `verify` knows that the contents were given up on purpose.

    Args:
        archive: that has them.
        numbers: of travellers.
        who: gives them up.
        reason: why.

    Raises:
        NotPossible: there is no reason; or a number was never issued, has not ended, or nothing
            is left to give up. Nothing was given up.
        ArchiveProblem: it could not be written; nothing was given up.
    """
    if not reason.strip():
        raise NotPossible(_("contents are given up for a reason: say which"))
    with told(_("nothing could be given up")), writing(archive.engine) as connection:
        if connection.dialect.name == "sqlite":
            # What is given up is written over, not only forgotten.
            connection.exec_driver_sql("PRAGMA secure_delete=ON")
        given_up = _to_discard(connection, numbers)
        for one in given_up:
            if not one.contents:
                continue  # all of it went with a number before
            details = {"contents": list(one.contents), "reason": reason.strip()}
            append(connection, who, "discarded", one.number, details=details)
            for digest in one.contents:
                connection.execute(
                    CONTENT.update().where(CONTENT.c.digest == digest).values(bytes=b"")
                )
    return given_up


def _to_discard(connection: Connection, numbers: Sequence[str]) -> tuple[GivingUp, ...]:
    wanted = dict.fromkeys(numbers)
    for number in wanted:
        known = revisions_of(connection, number)
        if not known:
            raise NotPossible(_("{number} was never issued", number=number))
        for one in known:
            if one.state not in _ENDED:
                raise NotPossible(
                    _(
                        "{number} {revision} is {present}: only what is closed, superseded or "
                        "withdrawn can be given up",
                        number=number,
                        revision=one.revision,
                        present=_(one.state),
                    )
                )
    found = tuple(_giving_up(connection, wanted))
    if not any(one.contents for one in found):
        raise NotPossible(
            _("{numbers}: nothing is left that could be given up", numbers=listed(list(wanted)))
        )
    return found


def _giving_up(connection: Connection, numbers: Iterable[str]) -> Iterator[GivingUp]:
    """What only these numbers need; what several of them need goes with the first one."""
    wanted = dict.fromkeys(numbers)
    if not wanted:
        return
    place = {number: place for place, number in enumerate(wanted)}
    of_each: dict[str, list[str]] = {number: [] for number in wanted}
    kept = dict.fromkeys(wanted, 0)
    for digest, needed_by in _needs(connection).items():
        if needed_by <= wanted.keys():
            of_each[min(needed_by, key=place.__getitem__)].append(digest)
        else:
            for number in needed_by & wanted.keys():
                kept[number] += 1
    sizes = _sizes(connection)
    for number, digests in of_each.items():
        left = sorted(digest for digest in digests if sizes.get(digest))
        size = sum(sizes[digest] for digest in left)
        yield GivingUp(number, tuple(left), size, kept[number])


def _needs(connection: Connection) -> dict[str, set[str]]:
    """Which numbers need each content; what has no number needs it as `_NOBODY`."""
    needs: dict[str, set[str]] = {}
    asked = union_all(
        *(
            select(digest.label("digest"), TRAVELLER.c.number.label("number"))
            for digest in (TRAVELLER.c.job, TRAVELLER.c.plan, TRAVELLER.c.pdf)
        ),
        select(PAGE.c.file, PAGE.c.number),
        select(DRAFT.c.job, literal("")),
    )
    for row in connection.execute(asked):
        needs.setdefault(row.digest, set()).add(row.number or _NOBODY)
    # Archives of the first form did not say the check value: it follows from the job file.
    for event in connection.execute(
        select(EVENT.c.details).where(
            EVENT.c.what == "issued", EVENT.c.details.not_like('%"check":%')
        )
    ):
        needs.setdefault(json.loads(event.details)["job"], set()).add(_NOBODY)
    return needs


def _sizes(connection: Connection) -> dict[str, int]:
    rows = connection.execute(select(CONTENT.c.digest, func.length(CONTENT.c.bytes)))
    return {row[0]: row[1] for row in rows}
