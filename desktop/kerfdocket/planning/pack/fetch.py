"""Cylinders to fetch for all jobs together: one may serve several of them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kerfdocket.job import OxygenCylinder
from kerfdocket.language import _, counted
from kerfdocket.planning.keys import NONE, Span, span_of
from kerfdocket.planning.model import Basis, Estimate, Trust, least
from kerfdocket.planning.pack.digest import Digest, Placed, not_known, taken, use_key
from kerfdocket.planning.pack.model import CylinderKind, Fetch, FromOutlet, Total, places_text
from kerfdocket.planning.sources import DERIVED, PLANNER
from kerfdocket.planning.supply.common import ACETYLENE_STAYS_IN, whole
from kerfdocket.quantity import COUNT, GAS_VOLUME, Measure, UnitSystem

__all__ = ["plan_fetch", "plan_outlets"]

_SIDE_BY_SIDE = "supply.fuel_side_by_side"


@dataclass(frozen=True)
class _Row:
    """Cylinders on hand, alike.

    Attributes:
        count: how many.
        usable: what may be taken from one, None where that is not known. [kg]
        is_assumed: True where none is stated and the plan assumes one; it is not there.
    """

    kind: CylinderKind
    count: int
    usable: Span | None
    is_assumed: bool

    @property
    def together(self) -> Span:
        """Usable gas in all of them, none where it is not known or not there. [kg]"""
        if self.usable is None or self.is_assumed:
            return NONE
        return self.usable.scaled(self.count)


def plan_outlets(gas: str, jobs: Sequence[Placed], units: UnitSystem) -> tuple[FromOutlet, ...]:
    """Return what jobs take of a gas from mains and from tanks.

    Args:
        gas: its name, a key.
        jobs: those that take it and may be cut.
        units: in which it is shown.
    """
    found = []
    for supply in ("main", "tank"):
        of_it = [(place, one) for place, one in jobs if _supply(one, gas) == supply]
        if of_it:
            # All take from the same one: the most that a job states is in it.
            contents = [one.estimates[_available_key(gas)] for _place, one in of_it]
            most = max(contents, key=lambda content: content.value_si or -1.0)
            found.append(
                FromOutlet(
                    gas,
                    "main" if supply == "main" else "tank",
                    taken(gas, of_it, units),
                    most.shown_in(units),
                    tuple(place for place, _one in of_it),
                )
            )
    return tuple(found)


def plan_fetch(gas: str, jobs: Sequence[Placed], units: UnitSystem) -> tuple[Fetch, ...]:
    """Return how many cylinders of a gas the jobs need, and how many are to be fetched.

    A job takes from cylinders of the kind of the fullest that it states; from those, jobs take one
    after the other, so that one may serve several. Cylinders that several jobs state are taken for
    the same ones: of each kind there is as much as the job states that states most.

    Args:
        gas: its name, a key.
        jobs: those that take it and may be cut.
        units: in which it is shown.
    """
    rows = {place: _rows(one, gas) for place, one in jobs if _supply(one, gas) == "cylinders"}
    main = {place: _main(own) for place, own in rows.items() if own and not own[0].is_assumed}
    kinds = list(dict.fromkeys(main.values()))
    if not kinds and rows:
        assumed = [row.kind for own in rows.values() for row in own]
        kinds = [assumed[0] if assumed else CylinderKind(gas, None, 1)]
    # Whoever states none takes from what most take from, which is all that can be said.
    usual = max(kinds, key=list(main.values()).count, default=None)
    joined = {place: usual for place in rows if place not in main}
    kind_of = {**main, **{place: kind for place, kind in joined.items() if kind is not None}}
    stock = _stock(rows, main)
    return tuple(
        _fetch(
            gas,
            kind,
            [(place, one) for place, one in jobs if kind_of.get(place) == kind],
            [row for stated in rows.values() for row in stated if row.kind == kind],
            stock.get(kind, (0, NONE)),
            [place for place in joined if joined[place] == kind],
            units,
        )
        for kind in kinds
    )


def _supply(one: Digest, gas: str) -> str:
    side = one.job.oxygen if gas == "oxygen" else one.job.fuel
    if not side.comes_from_main:
        return "cylinders"
    return side.supply or "main"


def _rows(one: Digest, gas: str) -> list[_Row]:
    """Cylinders that a job states, or that its plan assumes."""
    contents = [span_of(line.content) for line in one.lines if line.gas == gas]
    if any(line.is_assumed for line in one.lines if line.gas == gas):
        size: Measure = OxygenCylinder.model_fields["capacity"].default
        return [_Row(_kind(gas, size, 1), 1, contents[0], is_assumed=True)]
    kinds: list[tuple[int, CylinderKind]]
    if gas == "oxygen":
        kinds = [
            (row.count, _kind(gas, row.capacity, row.coupled)) for row in one.job.oxygen.cylinders
        ]
    else:
        kinds = [
            (row.count, _kind(gas, row.full_content, row.coupled)) for row in one.job.fuel.cylinders
        ]
    # Where the contents cannot be told the plan lists none.
    known = contents if len(contents) == len(kinds) else [None] * len(kinds)
    return [
        _Row(kind, count, _usable(kind, content), is_assumed=False)
        for (count, kind), content in zip(kinds, known, strict=True)
    ]


def _kind(gas: str, size: Measure | None, coupled: int) -> CylinderKind:
    # To the gram and the millilitre, as one size may be stated in several units.
    return CylinderKind(gas, round(size.si, 6) if size else None, coupled, size)


def _usable(kind: CylinderKind, content: Span | None) -> Span | None:
    """What may be taken from a fuel cylinder: of acetylene some stays in. [kg]"""
    if content is None or kind.gas != "acetylene":
        return content
    full = content.value if kind.size_si is None else kind.size_si
    return Span(*(max(end - ACETYLENE_STAYS_IN * full, 0.0) for end in content))


def _available_key(gas: str) -> str:
    return "supply.oxygen_available" if gas == "oxygen" else "supply.fuel_available"


def _main(rows: Iterable[_Row]) -> CylinderKind:
    return max(rows, key=lambda row: row.usable.value if row.usable else -1.0).kind


def _stock(
    rows: dict[int, list[_Row]], main: dict[int, CylinderKind]
) -> dict[CylinderKind, tuple[int, Span]]:
    """Return number and usable gas [kg] on hand by the kind that is fetched.

    A kind that no job mainly takes from counts for the first job that states it.
    """
    stock: dict[CylinderKind, tuple[int, Span]] = {}
    every = dict.fromkeys(row.kind for stated in rows.values() for row in stated)
    fetched = set(main.values())
    for kind in every:
        most, most_count, owner = NONE, 0, kind
        for place, stated in rows.items():
            of_kind = [row for row in stated if row.kind == kind and not row.is_assumed]
            if not of_kind:
                continue
            if kind not in fetched and owner == kind:
                owner = main[place]
            together = NONE
            for row in of_kind:
                together = together.plus(row.together)
            count = sum(row.count for row in of_kind)
            if (together.value, count) > (most.value, most_count):
                most, most_count = together, count
        count, span = stock.get(owner, (0, NONE))
        stock[owner] = (count + most_count, span.plus(most))
    return stock


def _fetch(
    gas: str,
    kind: CylinderKind,
    jobs: list[Placed],
    rows: list[_Row],
    on_hand: tuple[int, Span],
    joined: list[int],
    units: UnitSystem,
) -> Fetch:
    takes = taken(gas, jobs, units)
    one, one_basis = _one(kind, rows)
    beside, notes = _beside(gas, jobs)
    count, available = on_hand
    needed, fetch = _numbers(gas, takes, one, one_basis, count, available, beside)
    unit, density = units.unit("m3", GAS_VOLUME), _density(gas, jobs)

    def volume(key: str, label: str, span: Span | None, basis: Basis) -> Estimate:
        if span is None or density is None:
            reason = _("no content is known")
            return not_known(f"pack.{gas}.{key}", label, GAS_VOLUME, unit, reason)
        return Estimate(
            f"pack.{gas}.{key}",
            label,
            GAS_VOLUME,
            unit,
            span.value,
            span.low,
            span.high,
            basis,
            density,
        )

    stock_basis = Basis(
        _("Counted once, as much as the job states that states most of it."),
        PLANNER,
        "stated",
    )
    return Fetch(
        kind=kind,
        one=volume("one", _("Usable gas in one"), one, one_basis),
        is_full=kind.size_si is not None and gas != "oxygen",
        takes=takes,
        on_hand=count,
        available=volume("on_hand", _("Usable gas on hand"), available, stock_basis),
        beside=beside,
        needed=needed,
        fetch=fetch,
        jobs=tuple(place for place, _one in jobs),
        notes=(*_notes(gas, jobs, joined), *notes),
    )


def _one(kind: CylinderKind, rows: list[_Row]) -> tuple[Span | None, Basis]:
    """Usable gas in one to fetch [kg]: a full one where that is stated, else the fullest there."""
    if kind.size_si is not None and kind.gas != "oxygen":
        text = _("What it holds when full, as stated.")
        if kind.gas == "acetylene":
            text = _("What it holds when full, as stated, less a tenth that is left in it.")
        basis = Basis(text, PLANNER, "stated")
        return _usable(kind, Span.exact(kind.size_si)), basis
    stated = [row for row in rows if row.usable is not None and not row.is_assumed]
    assumed = [row for row in rows if row.usable is not None]
    trust: Trust = "stated" if stated else "common practice, no source"
    text = _("Like the fullest one that is stated; a full one holds no less.")
    if not stated:
        text = _("As the plans assume it, as none is stated.")
    usable = [row.usable for row in stated or assumed if row.usable is not None]
    most = max(usable, key=lambda span: span.value, default=None)
    return most, Basis(text, DERIVED, least("derived", trust))


def _beside(gas: str, jobs: list[Placed]) -> tuple[Estimate | None, list[str]]:
    """How many must be open at once, the most of all jobs; and of whom it is not known."""
    if gas == "oxygen":
        return None, []
    notes, most, trusts = [], NONE, list[Trust]()
    for place, one in jobs:
        own = one.estimates.get(_SIDE_BY_SIDE)
        span = span_of(own) if own is not None else None
        if own is None or span is None:
            if own is not None and one.job.fuel.cylinders:
                said = _(
                    "Job {place}: how many side by side is not known: {reason}.",
                    place=place,
                    reason=own.basis.text,
                )
                notes.append(said)
            continue
        most, trusts = _greater(most, span), [*trusts, own.basis.trust]
    if not trusts:
        return None, notes
    basis = Basis(_("The most that one of the jobs needs open at once."), DERIVED, least(*trusts))
    key = f"pack.{gas}.beside"
    return _count(key, _("Open at once, side by side"), most, basis), notes


def _numbers(
    gas: str,
    takes: Total,
    one: Span | None,
    one_basis: Basis,
    count: int,
    available: Span,
    beside: Estimate | None,
) -> tuple[Estimate, Estimate]:
    """How many full ones are needed, and how many of them to fetch."""
    needed, fetch = _("Cylinders needed"), _("Cylinders to fetch")
    need = span_of(takes.estimate)
    reason = ""
    if need is None:
        reason = takes.estimate.basis.text
    elif one is None:
        reason = _("no {gas} cylinder with a known content is stated", gas=_(gas))
    elif one.low <= 0.0:
        reason = _("the fullest that is stated holds nothing that may be taken")
    if reason or need is None or one is None:
        return (
            not_known(f"pack.{gas}.needed", needed, COUNT, "", reason),
            not_known(f"pack.{gas}.fetch", fetch, COUNT, "", reason),
        )
    at_once = (span_of(beside) if beside else None) or NONE
    lacks = Span(
        max(need.low - available.high, 0.0),
        max(need.value - available.value, 0.0),
        max(need.high - available.low, 0.0),
    )
    trusts = [takes.estimate.basis.trust, one_basis.trust]
    trusts += [beside.basis.trust] if beside else []
    trust = least("derived", *trusts)
    return (
        _count(
            f"pack.{gas}.needed",
            needed,
            _greater(whole(need.over(one)), at_once),
            Basis(
                _(
                    "What the jobs take together over what one holds, rounded up; at least as many "
                    "as must be open at once."
                ),
                DERIVED,
                trust,
                "n = max(⌈m / m_one⌉, n_at_once)",
            ),
        ),
        _count(
            f"pack.{gas}.fetch",
            fetch,
            _greater(whole(lacks.over(one)), Span(*(max(end - count, 0.0) for end in at_once))),
            Basis(
                _(
                    "What the jobs take together less what is on hand, over what one holds, "
                    "rounded up; with those on hand at least as many as must be open at once."
                ),
                DERIVED,
                trust,
                "n = max(⌈(m − m_on_hand) / m_one⌉, n_at_once − n_on_hand)",
            ),
        ),
    )


def _notes(gas: str, jobs: list[Placed], joined: list[int]) -> list[str]:
    notes = []
    if joined:
        said = counted(
            "Job {places} states no cylinder; counted as if it took from these.",
            "Jobs {places} state no cylinder; counted as if they took from these.",
            len(joined),
            places=places_text(joined),
        )
        notes.append(said)
    for place, one in jobs:
        own = one.estimates[_available_key(gas)]
        if own.is_withheld and place not in joined:
            said = _(
                "Job {place}: what is on hand is not counted: {reason}.",
                place=place,
                reason=own.basis.text,
            )
            notes.append(said)
    return notes


def _density(gas: str, jobs: list[Placed]) -> float | None:
    """Of the gas at the state that volumes are meant at [kg/m3]; None where nothing tells it."""
    for _place, one in jobs:
        for own in (
            one.estimates[use_key(gas)],
            *(line.content for line in one.lines if line.gas == gas),
        ):
            if own.gas_density_kg_m3 is not None:
                return own.gas_density_kg_m3
    return None


def _greater(one: Span, other: Span) -> Span:
    return Span(*(max(pair) for pair in zip(one, other, strict=True)))


def _count(key: str, label: str, span: Span, basis: Basis) -> Estimate:
    return Estimate(key, label, COUNT, "", span.value, span.low, span.high, basis)
