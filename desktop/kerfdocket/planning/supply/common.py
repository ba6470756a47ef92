"""What oxygen and fuel have in common: one cylinder or bundle, and running short."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from kerfdocket.job import Outlet
from kerfdocket.physics.gas import Gas
from kerfdocket.planning.keys import Span, estimate, withheld
from kerfdocket.planning.model import Basis, ChangeOver, Estimate, Finding, Trust, least
from kerfdocket.quantity import UnitSystem

__all__ = [
    "Unit",
    "changes_estimate",
    "one_by_one",
    "tank_content_kg",
    "too_little",
    "whole",
]

_NUMBER_SLACK = 1e-9


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
        for _ in range(count):
            units.append(Unit(str(len(units) + 1), row, text, coupled, holds_kg))
    return units


def changes_estimate(key: str, change_over: ChangeOver | str, trust: Trust) -> Estimate:
    """Return how often another cylinder takes over, or why that is not known."""
    if isinstance(change_over, str):
        return withheld(key, change_over)
    basis = Basis(
        "Times that another cylinder or bundle takes over, the fullest last; all that is on hand "
        "counted.",
        "derived",
        least("derived", trust),
    )
    return estimate(key, Span.exact(float(max(len(change_over.spells) - 1, 0))), basis)


def whole(span: Span) -> Span:
    """Return whole numbers, rounded up."""
    return Span(*(float(math.ceil(number - _NUMBER_SLACK)) for number in span))


def tank_content_kg(outlet: Outlet, gas: Gas) -> float | None:
    """Return what a tank holds as stated, None where nothing is. [kg]"""
    if outlet.content is not None:
        return gas.mass_kg(outlet.content.si)
    return outlet.content_weight.si if outlet.content_weight is not None else None


def too_little(
    where: str,
    name: str,
    have: Span,
    need: Span,
    gas: Gas,
    units: UnitSystem,
    remedy: str = "Have more cylinders at hand before lighting; see the number needed.",
) -> Finding:
    """Say that what is on hand does not last."""
    return Finding(
        "caution",
        where,
        f"{name} on hand: {units.gas_volume(gas.volume_m3(have.value))}; the job takes "
        f"{units.gas_volume(gas.volume_m3(need.value))} (up to "
        f"{units.gas_volume(gas.volume_m3(need.high))}).",
        remedy,
        "derived",
    )
