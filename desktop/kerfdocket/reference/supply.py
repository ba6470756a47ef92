"""Cylinders and what may be drawn from them."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from pydantic import Field, model_validator

from kerfdocket.language import _
from kerfdocket.reference.table import Figure, Row, TableError, Tables, general_text

__all__ = [
    "AcetyleneRule",
    "CylinderRow",
    "PropaneCylinder",
    "PropaneWithdrawal",
    "Supply",
    "read_supply",
]

_PSI_PA = 6_894.757293  # 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)2, exact definitions


class AcetyleneRule(Row):
    """One limit on acetylene; the columns of one kind are filled."""

    rule: str
    pressure_bar: float | None = Field(default=None, gt=0)
    pressure_psi: float | None = Field(default=None, gt=0)
    contents_divisor_per_hour: float | None = Field(default=None, gt=0)
    flow_low_l_h: float | None = Field(default=None, gt=0)
    flow_high_l_h: float | None = Field(default=None, gt=0)
    flow_ft3_h: float | None = Field(default=None, gt=0)
    minutes: float | None = Field(default=None, gt=0)
    temperature_c: float | None = None
    copper_percent: float | None = Field(default=None, gt=0, le=100)
    turns: float | None = Field(default=None, gt=0)
    meaning: str

    @model_validator(mode="after")
    def _one_kind(self) -> "AcetyleneRule":
        flow_l_h = self.flow_high_l_h if self.flow_low_l_h is None else self.flow_low_l_h
        kinds = (
            self.pressure_bar,
            self.pressure_psi,
            self.contents_divisor_per_hour,
            flow_l_h,
            self.flow_ft3_h,
            self.minutes,
            self.temperature_c,
            self.copper_percent,
            self.turns,
        )
        if sum(kind is not None for kind in kinds) != 1:
            raise ValueError("the columns of exactly one kind must be filled")
        return self


class _AcetylenePressureRow(Row):
    temperature_c: float
    pressure_bar: float = Field(gt=0)


class CylinderRow(Row):
    """A typical cylinder, for comparison only."""

    cylinder: str
    gas: str
    water_capacity_l: float | None = Field(default=None, gt=0)
    filling_pressure_bar: float | None = Field(default=None, gt=0)
    filling_pressure_psi: float | None = Field(default=None, gt=0)
    contents_m3: float | None = Field(default=None, gt=0)
    contents_ft3: float | None = Field(default=None, gt=0)


class PropaneCylinder(Row):
    """Assumed build of a propane cylinder."""

    contents_kg: float = Field(gt=0)
    diameter_m: float = Field(gt=0, lt=2)
    steel_mass_kg: float = Field(gt=0)


class PropaneWithdrawal(Row):
    """What a propane cylinder gives at about 10 to 15 °C."""

    contents_kg: float = Field(gt=0)
    short_kg_h: float = Field(gt=0)
    intermittent_kg_h: float = Field(gt=0)
    continuous_kg_h: float = Field(gt=0)


@dataclass(frozen=True, slots=True)
class Supply:
    """The supply tables."""

    acetylene_rules: Mapping[str, AcetyleneRule]
    acetylene_pressures: tuple[_AcetylenePressureRow, ...]
    cylinders: tuple[CylinderRow, ...]
    propane_cylinders: tuple[PropaneCylinder, ...]
    propane_withdrawals: tuple[PropaneWithdrawal, ...]

    def acetylene_limit_gauge_pa(self, where: Literal["europe", "usa"]) -> Figure:
        """Return the highest acetylene working pressure [Pa gauge]."""
        row = self._rule(f"pressure {where}")
        if row.pressure_bar is not None:
            return Figure(row.pressure_bar * 1e5, row.source, row.trust, row.meaning)
        if row.pressure_psi is not None:
            return Figure(row.pressure_psi * _PSI_PA, row.source, row.trust, row.meaning)
        raise TableError(f"supply/acetylene_limits: {row.rule!r} has no pressure")

    def acetylene_withdrawal_per_s(self, use: Literal["continuous", "intermittent"]) -> Figure:
        """Return the share of a cylinder's full contents that may be drawn in a second [1/s]."""
        row = self._rule(f"withdrawal {use}")
        if row.contents_divisor_per_hour is None:
            raise TableError(f"supply/acetylene_limits: {row.rule!r} has no share")
        note = _(
            "contents / {divisor} in an hour",
            divisor=general_text(row.contents_divisor_per_hour),
        )
        return Figure(1.0 / row.contents_divisor_per_hour / 3600.0, row.source, row.trust, note)

    def acetylene_cylinder_gauge_pa(self, temperature_k: float) -> Figure | None:
        """Return the pressure of a full acetylene cylinder [Pa gauge]; None outside -10..50 °C."""
        celsius = round(temperature_k - 273.15, 6)
        for left, right in pairwise(self.acetylene_pressures):
            if left.temperature_c <= celsius <= right.temperature_c:
                share = (celsius - left.temperature_c) / (right.temperature_c - left.temperature_c)
                bar = left.pressure_bar + share * (right.pressure_bar - left.pressure_bar)
                return Figure(bar * 1e5, left.source, left.trust)
        return None

    def propane_cylinder(self, contents_kg: float) -> PropaneCylinder | None:
        """Return the assumed build of a cylinder of these contents, to half a kilogram."""
        close = (row for row in self.propane_cylinders if abs(row.contents_kg - contents_kg) <= 0.5)
        return next(close, None)

    def _rule(self, rule: str) -> AcetyleneRule:
        if rule not in self.acetylene_rules:
            raise ValueError(f"rule={rule!r} must be one of {sorted(self.acetylene_rules)}")
        return self.acetylene_rules[rule]


def read_supply(tables: Tables) -> Supply:
    """Read the supply tables."""
    rules = tables.rows("supply/acetylene_limits", AcetyleneRule)
    return Supply(
        acetylene_rules={row.rule: row for row in rules},
        acetylene_pressures=tables.rows("supply/acetylene_pressure", _AcetylenePressureRow),
        cylinders=tables.rows("supply/cylinders", CylinderRow),
        propane_cylinders=tables.rows("supply/propane_cylinders", PropaneCylinder),
        propane_withdrawals=tables.rows("supply/propane_withdrawal", PropaneWithdrawal),
    )
