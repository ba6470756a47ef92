"""What an archive tells of a shop's work: counts, times, and how plans and work agree."""

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from statistics import median, quantiles

from sqlalchemy import Connection, func, literal, select, union_all

from kerfdocket.archive.actuals import actuals_in
from kerfdocket.archive.chain import last_hash
from kerfdocket.archive.engine import reading, told
from kerfdocket.archive.model import BOTH, Traveller
from kerfdocket.archive.schema import ACTUAL, CONTENT, DRAFT, EVENT, PAGE, TRAVELLER
from kerfdocket.archive.store import Archive, digest_of, traveller_of
from kerfdocket.errors import InputError
from kerfdocket.language import _, counted, marked

__all__ = ["BANDS_M", "FEWEST", "KINDS", "Ratios", "Spread", "Stats", "stats"]

# Returns actual over planned by key, of a traveller, its job file, its plan as JSON, and what was
# written on its sheet.
Ratios = Callable[[Traveller, str, str, Mapping[str, str]], Mapping[str, float]]

# A median and quartiles of fewer say nothing. Common practice, no source.
FEWEST = 5
# Up to and with each; what is thicker comes last. Common practice, no source. [m]
BANDS_M = (0.006, 0.012, 0.025, 0.050, 0.100, 0.200)
# What contents are for; each counts as the first that it is.
KINDS = (
    marked("job file"),
    marked("plan"),
    marked("sheet"),
    marked("returned page"),
    marked("draft"),
    marked("earlier draft"),
)


@dataclass(frozen=True)
class Spread:
    """How values lie.

    Attributes:
        n: how many there are.
        low, median, high: lower quartile, median and upper quartile; None where withheld.
        withheld: why they are; empty if they are not.
    """

    n: int
    low: float | None = None
    median: float | None = None
    high: float | None = None
    withheld: str = ""


@dataclass(frozen=True)
class Stats:
    """What an archive tells.

    Attributes:
        events: how many.
        travellers: how many, each revision counted.
        by_state, by_month, by_grade, by_gas: how many travellers; the month of issue as `2026-11`.
        by_thickness: how many in each of the bands of `BANDS_M`, by place; `len(BANDS_M)` for
            what is thicker, -1 where it is not known.
        pages_in_tray: that nobody matched yet.
        returned: travellers that came back.
        complete: of these, with a front and a back page.
        in_part: with one of both only.
        without_pages: with none.
        issued_to_returned_s: how long they were away. [s]
        bytes_by_kind: of contents, by `KINDS`. [B]
        given_up: contents that were given up on purpose.
        ratios: actual over planned, by key. [-]
        not_compared: how many travellers with actual values could not be compared.
        which_not_compared: number and revision of each of them, in their order.
    """

    events: int
    travellers: int
    by_state: dict[str, int] = field(hash=False)
    by_month: dict[str, int] = field(hash=False)
    by_grade: dict[str, int] = field(hash=False)
    by_gas: dict[str, int] = field(hash=False)
    by_thickness: dict[int, int] = field(hash=False)
    pages_in_tray: int
    returned: int
    complete: int
    in_part: int
    without_pages: int
    issued_to_returned_s: Spread
    bytes_by_kind: dict[str, int] = field(hash=False)
    given_up: int
    ratios: dict[str, Spread] = field(hash=False)
    not_compared: int
    which_not_compared: tuple[str, ...] = ()


def stats(archive: Archive, ratios: Ratios | None = None) -> Stats:
    """Count what an archive holds, as it is at one moment.

    Args:
        archive: to count in.
        ratios: compares what was planned with what was written on the sheet; raises an InputError
            where it cannot. Nothing is compared if it is not given.

    Raises:
        ArchiveProblem: it cannot be read.
    """
    with told(_("the archive cannot be read")), reading(archive.engine) as connection:
        returned = _away_s(connection)
        complete, in_part = _came_back(connection, returned.keys())
        compared, not_compared = _compared(connection, ratios) if ratios else ({}, ())
        sizes, given_up = _sizes(connection)
        return Stats(
            events=last_hash(connection)[0],
            travellers=connection.execute(select(func.count()).select_from(TRAVELLER)).scalar_one(),
            by_state=_by(connection, "state"),
            by_month=_by_month(connection),
            by_grade=_by(connection, "grade"),
            by_gas=_by(connection, "gas"),
            by_thickness=_by_thickness(connection),
            pages_in_tray=connection.execute(
                select(func.count())
                .select_from(PAGE)
                .where(PAGE.c.number == "", PAGE.c.is_set_aside.is_(False))
            ).scalar_one(),
            returned=len(returned),
            complete=complete,
            in_part=in_part,
            without_pages=len(returned) - complete - in_part,
            issued_to_returned_s=_spread(returned.values()),
            bytes_by_kind=sizes,
            given_up=given_up,
            ratios=compared,
            not_compared=len(not_compared),
            which_not_compared=not_compared,
        )


def _spread(values: Iterable[float]) -> Spread:
    """Quartiles as R's type 7 and spreadsheets have them (`statistics`, method `inclusive`)."""
    known = sorted(values)
    if len(known) < FEWEST:
        return Spread(
            len(known),
            withheld=counted(
                "withheld: {count} value, and fewer than {fewest} say nothing (common practice, "
                "no source)",
                "withheld: {count} values, and fewer than {fewest} say nothing (common practice, "
                "no source)",
                len(known),
                fewest=FEWEST,
            ),
        )
    low, _middle, high = quantiles(known, n=4, method="inclusive")
    return Spread(len(known), low, median(known), high)


def _by(connection: Connection, name: str) -> dict[str, int]:
    column = TRAVELLER.c[name]
    rows = connection.execute(select(column, func.count()).group_by(column))
    return dict(sorted((row[0], row[1]) for row in rows))


def _by_month(connection: Connection) -> dict[str, int]:
    month = func.substr(TRAVELLER.c.issued_at, 1, 7).label("month")
    rows = connection.execute(select(month, func.count()).group_by("month"))
    return dict(sorted((row[0], row[1]) for row in rows))


def _by_thickness(connection: Connection) -> dict[int, int]:
    column = TRAVELLER.c.thickness_m
    counts: Counter[int] = Counter()
    for thickness_m, count in connection.execute(select(column, func.count()).group_by(column)):
        counts[-1 if thickness_m is None else bisect_left(BANDS_M, thickness_m)] += count
    return dict(sorted(counts.items()))


def _away_s(connection: Connection) -> dict[tuple[str, str], float]:
    """How long each traveller that came back was away, to when it came back first."""
    issued: dict[tuple[str, str], datetime] = {}
    away: dict[tuple[str, str], float] = {}
    wanted = (
        select(EVENT.c.number, EVENT.c.revision, EVENT.c.what, EVENT.c.at)
        .where(EVENT.c.what.in_(("issued", "returned")))
        .order_by(EVENT.c.place)
        .execution_options(yield_per=500)
    )
    for row in connection.execute(wanted):
        key, at = (row.number, row.revision), datetime.fromisoformat(row.at)
        if row.what == "issued":
            issued[key] = at
        else:
            away.setdefault(key, (at - issued[key]).total_seconds())
    return away


def _came_back(connection: Connection, returned: Iterable[tuple[str, str]]) -> tuple[int, int]:
    """How many came back with both sides, and how many with a part."""
    sides: dict[tuple[str, str], set[str]] = {}
    for number, revision, side in connection.execute(
        select(PAGE.c.number, PAGE.c.revision, PAGE.c.side).where(PAGE.c.number != "").distinct()
    ):
        sides.setdefault((number, revision), set()).update("FB" if side == BOTH else (side,))
    known = [sides[key] for key in returned if key in sides]
    complete = sum(one >= {"F", "B"} for one in known)
    return complete, len(known) - complete


def _sizes(connection: Connection) -> tuple[dict[str, int], int]:
    size = func.length(CONTENT.c.bytes)
    columns = TRAVELLER.c.job, TRAVELLER.c.plan, TRAVELLER.c.pdf, PAGE.c.file, DRAFT.c.job
    used = union_all(
        *(
            select(column.label("digest"), literal(place).label("kind"))
            for place, column in enumerate(columns)
        )
    ).subquery()
    # Each once, as the first that it is. Asked of each whether it is one of the others, a server
    # would go through all of them anew for each.
    first = (
        select(used.c.digest, func.min(used.c.kind).label("kind"))
        .group_by(used.c.digest)
        .subquery()
    )
    by_kind = (
        select(first.c.kind, func.sum(size))
        .join(CONTENT, CONTENT.c.digest == first.c.digest)
        .group_by(first.c.kind)
    )
    sizes = dict.fromkeys(KINDS, 0)
    for kind, sum_of_kind in connection.execute(by_kind):
        sizes[KINDS[kind]] = int(sum_of_kind)
    whole = connection.execute(select(func.coalesce(func.sum(size), 0))).scalar_one()
    sizes[KINDS[-1]] = int(whole) - sum(sizes.values())
    given_up = connection.execute(
        select(func.count())
        .select_from(CONTENT)
        .where(size == 0, CONTENT.c.digest != digest_of(b""))
    ).scalar_one()
    return sizes, given_up


def _compared(connection: Connection, ratios: Ratios) -> tuple[dict[str, Spread], tuple[str, ...]]:
    """Compare each traveller that has actual values; one at a time is in memory."""
    found: dict[str, list[float]] = {}
    not_compared = []
    keys = connection.execute(
        select(ACTUAL.c.number, ACTUAL.c.revision)
        .distinct()
        .order_by(ACTUAL.c.number, ACTUAL.c.revision)
    ).all()
    for number, revision in keys:
        row = connection.execute(
            select(TRAVELLER).where(TRAVELLER.c.number == number, TRAVELLER.c.revision == revision)
        ).one()
        traveller = traveller_of(row)
        try:
            one = ratios(
                traveller,
                _text(connection, traveller.job),
                _text(connection, traveller.plan),
                actuals_in(connection, number, revision),
            )
        except InputError:
            not_compared.append(f"{number} {revision}")
            continue
        for key, value in one.items():
            if math.isfinite(value):
                found.setdefault(key, []).append(value)
    return {key: _spread(values) for key, values in sorted(found.items())}, tuple(not_compared)


def _text(connection: Connection, digest: str) -> str:
    content = bytes(
        connection.execute(select(CONTENT.c.bytes).where(CONTENT.c.digest == digest)).scalar_one()
    )
    if digest_of(content) != digest:
        raise InputError(_("content {digest}: was altered", digest=digest[:12]))
    return content.decode()
