"""What a pack of jobs holds."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from kerfdocket.language import ENGLISH
from kerfdocket.planning.model import Estimate
from kerfdocket.quantity import METRIC, Measure, UnitSystem

__all__ = [
    "Changes",
    "CylinderKind",
    "Fetch",
    "FromOutlet",
    "GasTotal",
    "Missing",
    "NozzleKind",
    "NozzleNeed",
    "Pack",
    "PackedJob",
    "Total",
    "places_text",
]


class Changes(NamedTuple):
    """How often something is changed between the jobs of a pack."""

    gas: int
    nozzle: int


class Missing(NamedTuple):
    """A job that a sum is without.

    Attributes:
        place: of the job in the pack, from 1.
        reason: why it is not in the sum.
    """

    place: int
    reason: str


@dataclass(frozen=True)
class Total:
    """A sum over the jobs that may be cut.

    Attributes:
        estimate: the sum; withheld where not one job gives a value.
        without: jobs whose value is withheld: the sum is then at least what is said.
    """

    estimate: Estimate
    without: tuple[Missing, ...] = ()

    @property
    def is_at_least(self) -> bool:
        """True where a job's part is not known, so that the sum is only a part of the whole."""
        return bool(self.without)


@dataclass(frozen=True)
class NozzleKind:
    """What makes two nozzles the same: both may be cut with one piece.

    Attributes:
        name: key of the generic set, or what the chart calls it; may be empty.
        bore_m: of the cutting oxygen channel. [m]
        fuel: the fuel gas, a key.
        mixing: how the torch mixes, a key.
        torch: kind of torch, a key; a nozzle stays in its torch.
        is_of_chart: True for one of the maker's own chart, False for one of the generic set.
    """

    name: str
    bore_m: float
    fuel: str
    mixing: str
    torch: str
    is_of_chart: bool


@dataclass(frozen=True)
class PackedJob:
    """A job as the pack lists it.

    Attributes:
        place: in the pack, from 1.
        given: its index among those given, from 0.
        number, title, revision: as the job states them.
        grade: of the plate.
        thickness: of the plate.
        fuel: the fuel gas, a key.
        nozzle: None where none is known.
        bore: of the nozzle; where it is withheld its reason.
        clock_time: withheld where it is not known.
        paper: that its sheet is printed on.
        stops: what stops it; if there is anything it is a draft and counts nowhere.
    """

    place: int
    given: int
    number: str
    title: str
    revision: str
    grade: str
    thickness: Estimate
    fuel: str
    nozzle: NozzleKind | None
    bore: Estimate
    clock_time: Estimate
    paper: str
    stops: tuple[str, ...]

    @property
    def is_draft(self) -> bool:
        """True if it may not be cut as planned."""
        return bool(self.stops)


@dataclass(frozen=True)
class GasTotal:
    """What all jobs take of one gas.

    Attributes:
        gas: its name, a key.
        total: as a volume.
        by_weight: the same by weight; None for oxygen, which is not weighed.
        jobs: places of the jobs that take it.
    """

    gas: str
    total: Total
    by_weight: Total | None
    jobs: tuple[int, ...]


@dataclass(frozen=True)
class CylinderKind:
    """What makes two cylinders or bundles alike.

    Attributes:
        gas: its name, a key.
        size_si: water capacity of oxygen's [m3], full content of the others' [kg]; None where it
            is not stated.
        coupled: cylinders in a bundle, 1 for a single one.
        size: the same as it was stated.
    """

    gas: str
    size_si: float | None
    coupled: int
    size: Measure | None = field(default=None, compare=False)


@dataclass(frozen=True)
class Fetch:
    """Cylinders or bundles of one kind: needed, on hand, to fetch.

    Attributes:
        kind: what they are.
        one: usable gas of one, as it is counted.
        is_full: True where that is a full one; False where it is the fullest that is stated.
        takes: what the jobs take from them.
        on_hand: how many there are.
        available: usable gas in all of those.
        beside: how many must be open at once, the most of all jobs; None where nothing limits it.
        needed: full ones for all of the jobs.
        fetch: how many of those are to be fetched.
        jobs: places of the jobs that take from them.
        notes: what was assumed, and what is not known.
    """

    kind: CylinderKind
    one: Estimate
    is_full: bool
    takes: Total
    on_hand: int
    available: Estimate
    beside: Estimate | None
    needed: Estimate
    fetch: Estimate
    jobs: tuple[int, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FromOutlet:
    """What the jobs take from a main or a tank.

    Attributes:
        gas: its name, a key.
        supply: where it comes from.
        takes: what the jobs take.
        available: content of the tank; withheld for a main, or where it is not stated.
        jobs: places of the jobs that take from it.
    """

    gas: str
    supply: Literal["main", "tank"]
    takes: Total
    available: Estimate
    jobs: tuple[int, ...]

    @property
    def is_short(self) -> bool:
        """True where the tank holds less than the jobs take."""
        has, takes = self.available.value_si, self.takes.estimate.value_si
        return has is not None and takes is not None and has < takes


@dataclass(frozen=True)
class NozzleNeed:
    """A nozzle to fetch.

    Attributes:
        kind: which.
        bore: as it is shown.
        jobs: places of the jobs that are cut with it.
    """

    kind: NozzleKind
    bore: Estimate
    jobs: tuple[int, ...]


@dataclass(frozen=True)
class Pack:
    """Jobs that are done together.

    Attributes:
        jobs: in the proposed order; drafts come last.
        changes: what that order changes.
        changes_as_given: what the order in which they were given changes.
        gases: oxygen first.
        cylinders: by gas and kind.
        outlets: mains and tanks.
        nozzles: in the order in which they are needed.
        no_nozzle: jobs without a draft's stop whose nozzle is not known.
        flame_time, clock_time: of all jobs together.
        units: in which everything is shown.
        paper: that of the first job.
        program_version: of the program that made it.
        language: code of the language that its texts are in.
    """

    jobs: tuple[PackedJob, ...]
    changes: Changes
    changes_as_given: Changes
    gases: tuple[GasTotal, ...]
    cylinders: tuple[Fetch, ...]
    outlets: tuple[FromOutlet, ...]
    nozzles: tuple[NozzleNeed, ...]
    no_nozzle: tuple[Missing, ...]
    flame_time: Total
    clock_time: Total
    units: UnitSystem = METRIC
    paper: str = "A4"
    program_version: str = ""
    language: str = ENGLISH.code

    @property
    def drafts(self) -> tuple[PackedJob, ...]:
        """Jobs that may not be cut as planned; they count in no sum."""
        return tuple(job for job in self.jobs if job.is_draft)

    @property
    def to_cut(self) -> tuple[PackedJob, ...]:
        """Jobs that may be cut, in the proposed order."""
        return tuple(job for job in self.jobs if not job.is_draft)


def places_text(places: Iterable[int]) -> str:
    """Write places of jobs, those that follow each other drawn together.

    >>> places_text([1, 2, 3, 5, 7, 8])
    '1–3, 5, 7, 8'
    """
    runs: list[list[int]] = []
    for place in sorted(places):
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    parts = [
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(str(one) for one in run)
        for run in runs
    ]
    return ", ".join(parts)
