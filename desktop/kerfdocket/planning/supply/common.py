"""What oxygen and fuel have in common: what is on hand, a tank or main, and running short."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kerfdocket.job import Fuel, Oxygen
from kerfdocket.language import _, titled
from kerfdocket.physics.gas import Gas
from kerfdocket.planning.keys import NONE, Span, estimate, from_stated, withheld
from kerfdocket.planning.model import Basis, ChangeOver, Estimate, Finding, SupplyLine, Trust, least
from kerfdocket.planning.sources import DERIVED, PLANNER
from kerfdocket.quantity import GAS_VOLUME, UnitSystem

__all__ = [
    "ACETYLENE_STAYS_IN",
    "COLDEST_OXYGEN_K",
    "TEMPERATURE_DOUBT_K",
    "WARMEST_OXYGEN_K",
    "WEIGHING_DOUBT_KG",
    "GasSupply",
    "Unit",
    "all_on_hand",
    "changes_estimate",
    "no_changes",
    "no_cylinders",
    "not_limited",
    "one_by_one",
    "outlet_content",
    "too_little",
    "whole",
]

# Share of its full content with which an acetylene cylinder is changed: the last of it carries
# solvent along. Common practice, no source.
ACETYLENE_STAYS_IN = 0.1
# Not knowing a cylinder's temperature is the largest error of its content; 5 K assumed.
TEMPERATURE_DOUBT_K = 5.0
COLDEST_OXYGEN_K, WARMEST_OXYGEN_K = 253.15, 323.15  # the fit of its compressibility ends here
WEIGHING_DOUBT_KG = 0.1  # of a platform scale, each time: assumed, common practice, no source
_NUMBER_SLACK = 1e-9


@dataclass(frozen=True)
class GasSupply:
    """Estimates, lines for the sheet, findings and the change-over plan of one gas."""

    estimates: tuple[Estimate, ...]
    lines: tuple[SupplyLine, ...] = ()
    findings: tuple[Finding, ...] = ()
    change_over: ChangeOver | None = None


@dataclass(frozen=True)
class Unit:
    """One cylinder, or one bundle, which empties as one.

    Attributes:
        name: its number among those of its gas, in the order in which they are stated.
        row: of the job's list that it stands in.
        text: what it is and what was read off it.
        coupled: cylinders in it.
        holds_kg: usable gas with its range. [kg]
    """

    name: str
    row: int
    text: str
    coupled: int
    holds_kg: Span


def one_by_one(rows: Iterable[tuple[int, str, int, Span]]) -> list[Unit]:
    """Return every cylinder and bundle by itself, numbered from 1.

    Args:
        rows: number, what each is, cylinders in each, what each holds.
    """
    units: list[Unit] = []
    for row, (count, text, coupled, holds_kg) in enumerate(rows):
        for _one in range(count):
            units.append(Unit(str(len(units) + 1), row, text, coupled, holds_kg))
    return units


def changes_estimate(key: str, change_over: ChangeOver | str, trust: Trust) -> Estimate:
    """Return how often another cylinder takes over, or why that is not known."""
    if isinstance(change_over, str):
        return withheld(key, change_over)
    basis = Basis(
        _(
            "Times that another cylinder or bundle takes over, the fullest last; all that is on "
            "hand counted."
        ),
        DERIVED,
        least("derived", trust),
    )
    return estimate(key, Span.exact(float(max(len(change_over.spells) - 1, 0))), basis)


def whole(span: Span) -> Span:
    """Return whole numbers, rounded up."""
    return Span(*(float(math.ceil(number - _NUMBER_SLACK)) for number in span))


def all_on_hand(
    key: str,
    gas_word: str,
    rows: Sequence[tuple[int, str, Span]],
    basis: Basis,
    gas: Gas,
    *,
    is_assumed: bool = False,
) -> tuple[Span, tuple[SupplyLine, ...]]:
    """Return what all cylinders and bundles hold together [kg], and their lines for the sheet.

    Args:
        key: of the estimate that a line carries.
        gas_word: the gas's name, a key.
        rows: number, what each is, what each holds. [kg]
        basis: of what each holds.
        gas: its properties.
        is_assumed: nothing is stated, the rows are assumed.
    """
    total = NONE
    for count, _each, content in rows:
        total = total.plus(content.scaled(count))
    lines = tuple(
        SupplyLine(gas_word, count, text, estimate(key, content, basis, gas), is_assumed)
        for count, text, content in rows
    )
    return total, lines


def outlet_content(
    key: str,
    field: str,
    gas_word: str,
    side: Oxygen | Fuel,
    gas: Gas,
    need: Span | None,
    units: UnitSystem,
) -> tuple[Estimate, tuple[SupplyLine, ...], tuple[Finding, ...]]:
    """Return what a tank or main has to give, its line for the sheet, and what it lacks.

    Args:
        key: of the estimate.
        field: of the job that a lack belongs to.
        gas_word: the gas's name, a key.
        side: what is stated of this gas.
        gas: its properties.
        need: what the job takes, None if that is not known. [kg]
        units: in which a finding is written.

    Returns:
        The content of a tank as stated; withheld for a main, which gives without end, and for a
        tank of which nothing is stated.
    """
    if side.supply != "tank":
        return withheld(key, not_limited(side)), (), ()
    outlet, content_kg = side.outlet, None
    if outlet.content is not None:
        content_kg = gas.mass_kg(outlet.content.si)
    elif outlet.content_weight is not None:
        content_kg = outlet.content_weight.si
    if content_kg is None:
        return withheld(key, _("the content of the tank is not stated")), (), ()
    available = from_stated(key, content_kg, _("content of the tank"), gas)
    lines = (SupplyLine(gas_word, 1, _("tank"), available, False),)
    if need is None or content_kg >= need.value:
        return available, lines, ()
    remedy = _("Have the tank filled before the work begins.")
    have = Span.exact(content_kg)
    name = titled(_(gas_word))
    return available, lines, (too_little(field, name, have, need, gas, units, remedy),)


def too_little(
    where: str,
    name: str,
    have: Span,
    need: Span,
    gas: Gas,
    units: UnitSystem,
    remedy: str = "",
) -> Finding:
    """Say that what is on hand does not last; without another remedy, to have more cylinders."""
    volume, needed, most = units.apart(
        GAS_VOLUME, *(gas.volume_m3(one) for one in (have.value, need.value, need.high))
    )
    return Finding(
        "caution",
        where,
        _(
            "{gas} on hand: {volume}; the job takes {needed} (up to {most}).",
            gas=name,
            volume=volume,
            needed=needed,
            most=units.at_state(most),
        ),
        remedy or _("Have more cylinders at hand before lighting; see the number needed."),
        DERIVED,
    )


def not_limited(side: Oxygen | Fuel) -> str:
    """Say why no cylinder limits what a tank or main gives."""
    if side.supply == "tank":
        return _("from a tank; not limited by a cylinder")
    return _("from a main; not limited by a cylinder")


def no_cylinders(key: str, side: Oxygen | Fuel) -> Estimate:
    """Return that no cylinder is needed where a tank or main gives the gas."""
    text = _("From a tank.") if side.supply == "tank" else _("From a main.")
    return estimate(key, NONE, Basis(text, PLANNER, "stated"))


def no_changes(key: str, side: Oxygen | Fuel) -> Estimate:
    """Withhold how often a cylinder is changed where a tank or main gives the gas."""
    if side.supply == "tank":
        return withheld(key, _("from a tank: nothing is changed"))
    return withheld(key, _("from a main: nothing is changed"))
