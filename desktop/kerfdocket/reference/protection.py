"""Filter shades, hot-work distances and ventilation numbers."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from pydantic import Field, model_validator

from kerfdocket.language import _
from kerfdocket.reference.table import (
    Figure,
    Range,
    Row,
    TableError,
    Tables,
    Trust,
    join_sources,
    to_mm,
    weakest,
)

__all__ = ["FilterShade", "HotWorkRow", "Protection", "read_protection"]

_FOOT_M = 0.3048  # exact, international foot


class _ShadeRow(Row):
    rule: str
    thickness_from_mm: float | None = Field(default=None, ge=0)
    thickness_below_mm: float | None = Field(default=None, gt=0)
    below_included: bool
    oxygen_from_l_h: float | None = Field(default=None, gt=0)
    oxygen_below_l_h: float | None = Field(default=None, gt=0)
    shade_low: int = Field(ge=1, le=14)
    shade_high: int = Field(ge=1, le=14)

    @model_validator(mode="after")
    def _one_axis(self) -> "_ShadeRow":
        if (self.thickness_from_mm is None) == (self.oxygen_from_l_h is None):
            raise ValueError("a row must go by thickness or by oxygen flow, not both")
        return self

    def covers(self, thickness_mm: float, oxygen_l_h: float | None) -> bool:
        """Return whether the row speaks of this cut."""
        if self.thickness_from_mm is not None:
            at, low, below = thickness_mm, self.thickness_from_mm, self.thickness_below_mm
        elif oxygen_l_h is not None and self.oxygen_from_l_h is not None:
            at, low, below = oxygen_l_h, self.oxygen_from_l_h, self.oxygen_below_l_h
        else:
            return False
        ends = below is None or at < below or (self.below_included and at == below)
        return low <= at and ends


class HotWorkRow(Row):
    """One number on fire, air or storage; exactly one of the value columns is filled."""

    rule: str
    distance_ft: float | None = Field(default=None, gt=0)
    minutes: float | None = Field(default=None, gt=0)
    room_ft3: float | None = Field(default=None, gt=0)
    ceiling_ft: float | None = Field(default=None, gt=0)
    air_ft3_min: float | None = Field(default=None, gt=0)
    oxygen_percent: float | None = Field(default=None, gt=0, le=100)
    meaning: str

    @model_validator(mode="after")
    def _one_value(self) -> "HotWorkRow":
        values = (
            self.distance_ft,
            self.minutes,
            self.room_ft3,
            self.ceiling_ft,
            self.air_ft3_min,
            self.oxygen_percent,
        )
        if sum(value is not None for value in values) != 1:
            raise ValueError("exactly one value column must be filled")
        return self


@dataclass(frozen=True, slots=True)
class FilterShade:
    """A shade that a rule asks for or suggests.

    Attributes:
        rule: which rule.
        shade_low: least.
        shade_high: most; equal where the rule gives one number.
        source: citation.
        trust: how far it may be trusted.
    """

    rule: str
    shade_low: int
    shade_high: int
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class Protection:
    """The protection tables."""

    shades: tuple[_ShadeRow, ...]
    hot_work: Mapping[str, HotWorkRow]

    def filter_shades(
        self, thickness_m: float, oxygen_flow_m3_s: float | None
    ) -> tuple[FilterShade, ...]:
        """Return each rule's shade for a cut.

        Args:
            thickness_m: plate thickness. [m]
            oxygen_flow_m3_s: cutting oxygen at 15 °C and 1 bar abs; None leaves out the rules
                that go by it. [m3/s]
        """
        litres = None if oxygen_flow_m3_s is None else round(oxygen_flow_m3_s * 3.6e6, 6)
        found: dict[str, _ShadeRow] = {}
        for row in self.shades:
            if row.covers(to_mm(thickness_m), litres):
                # Rows rise, so a thickness that ends one row and begins the next is the former's
                # where the former includes its end.
                found.setdefault(row.rule, row)
        return tuple(
            FilterShade(row.rule, row.shade_low, row.shade_high, row.source, row.trust)
            for row in found.values()
        )

    def distance_m(self, rule: Literal["combustibles", "storage"]) -> Figure:
        """Return a distance to keep [m]."""
        row = self.hot_work[rule]
        if row.distance_ft is None:
            raise TableError(f"protection/hot_work: {rule!r} has no distance")
        return Figure(row.distance_ft * _FOOT_M, row.source, row.trust, row.meaning)

    def fire_watch_s(self) -> Range:
        """Return the fire watch after work [s]; the value is the longest of the rules."""
        rows = [row for row in self.hot_work.values() if row.rule.startswith("fire watch")]
        times = [row.minutes * 60.0 for row in rows if row.minutes is not None]
        source = join_sources(*(row.source for row in rows))
        trust = weakest(*(row.trust for row in rows))
        note = _("low is the shortest rule; the value is the longest")
        return Range(min(times), max(times), max(times), source, trust, note)


def read_protection(tables: Tables) -> Protection:
    """Read the protection tables."""
    return Protection(
        shades=tables.rows("protection/filter_shades", _ShadeRow),
        hot_work={row.rule: row for row in tables.rows("protection/hot_work", HotWorkRow)},
    )
