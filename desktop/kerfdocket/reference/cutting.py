"""Speed, gas flow, kerf and start times by thickness."""

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from kerfdocket.physics.gas import Gas
from kerfdocket.reference.table import (
    ATMOSPHERE_BAR,
    Range,
    Row,
    TableError,
    Tables,
    join_sources,
    to_mm,
    weakest,
)

__all__ = ["CarvillRow", "Cutting", "PurityRow", "SpeedRow", "Topic", "read_cutting"]

Topic = Literal["speed", "oxygen_flow", "fuel_flow", "kerf", "start_time"]

_THINNEST_MM = 3.0  # the tables begin at 3.2 mm (1/8 in); 3 mm plate may use their first row


class SpeedRow(Row):
    """Speed and flow ranges for one thickness."""

    size_in: str
    thickness_mm: float = Field(gt=0)
    orifice_low_mm: float = Field(gt=0)
    orifice_high_mm: float = Field(gt=0)
    speed_low_mm_min: float = Field(gt=0)
    speed_high_mm_min: float = Field(gt=0)
    oxygen_low_m3_h: float = Field(gt=0)
    oxygen_high_m3_h: float = Field(gt=0)
    acetylene_low_m3_h: float = Field(gt=0)
    acetylene_high_m3_h: float = Field(gt=0)
    propane_low_m3_h: float = Field(gt=0)
    propane_high_m3_h: float = Field(gt=0)
    natural_gas_low_m3_h: float = Field(gt=0)
    natural_gas_high_m3_h: float = Field(gt=0)


class CarvillRow(Row):
    """A printed pairing of thickness, bore, pressures and speed, for comparison."""

    thickness_mm: float = Field(gt=0)
    bore_mm: float = Field(gt=0)
    acetylene_bar: float = Field(gt=0)
    cutting_oxygen_bar: float = Field(gt=0)
    speed_mm_min: float = Field(gt=0)


class _KerfRow(Row):
    nozzle_from_mm: float = Field(gt=0)
    nozzle_to_mm: float = Field(gt=0)
    thickness_mm: float = Field(gt=0)
    kerf_mm: float = Field(gt=0)


class _KerfBoundRow(Row):
    thickness_to_mm: float = Field(gt=0)
    kerf_at_most_mm: float = Field(gt=0)


class _StartRow(Row):
    thickness_mm: float = Field(gt=0)
    time_low_s: float = Field(gt=0)
    time_high_s: float = Field(gt=0)


class _ThinStartRow(Row):
    thickness_from_mm: float = Field(gt=0)
    thickness_below_mm: float = Field(gt=0)
    time_low_s: float = Field(ge=0)
    time_value_s: float = Field(gt=0)
    time_high_s: float = Field(gt=0)


class _FactorRow(Row):
    factor: str
    factor_low: float = Field(gt=0)
    factor_value: float = Field(gt=0)
    factor_high: float = Field(gt=0)
    meaning: str


class PurityRow(Row):
    """One thing that oxygen purity does; numbers in percent."""

    rule: str
    value_low_percent: float
    value_percent: float
    value_high_percent: float
    meaning: str


class _ModeRow(Row):
    mode: str
    place_in_range: float = Field(ge=0, le=1)


def _log_linear(axis: Sequence[float], values: Sequence[float], at: float) -> float:
    """Interpolate in the logarithm of the axis; below the first row the first row holds."""
    if at <= axis[0]:
        return values[0]
    right = min(bisect_right(axis, at), len(axis) - 1)
    left = right - 1
    share = math.log(at / axis[left]) / math.log(axis[right] / axis[left])
    return values[left] + share * (values[right] - values[left])


def _linear(axis: Sequence[float], values: Sequence[float], at: float) -> float:
    right = min(bisect_right(axis, at), len(axis) - 1)
    left = right - 1
    share = (at - axis[left]) / (axis[right] - axis[left])
    return values[left] + share * (values[right] - values[left])


@dataclass(frozen=True, slots=True)
class Cutting:
    """The cutting tables; every method wants the thickness in metres."""

    speed_rows: tuple[SpeedRow, ...]
    carvill: tuple[CarvillRow, ...]
    kerf_rows: tuple[_KerfRow, ...]
    kerf_bound: _KerfBoundRow
    start_rows: tuple[_StartRow, ...]
    thin_start: _ThinStartRow
    factors: Mapping[str, Range]
    purity: Mapping[str, PurityRow]
    modes: Mapping[str, _ModeRow]

    def why_none(self, topic: Topic, thickness_m: float) -> str | None:
        """Return why a topic has no value at a thickness; None where it has one."""
        thickness = to_mm(thickness_m)
        low, high, what = self._domain(topic)
        if low <= thickness <= high:
            return None
        return f"no source for {what} at {thickness:g} mm; the tables cover {low:g} to {high:g} mm"

    def _domain(self, topic: Topic) -> tuple[float, float, str]:
        speed_end = self.speed_rows[-1].thickness_mm
        domains: dict[Topic, tuple[float, float, str]] = {
            "speed": (_THINNEST_MM, speed_end, "the cutting speed"),
            "oxygen_flow": (_THINNEST_MM, speed_end, "the cutting oxygen flow"),
            "fuel_flow": (_THINNEST_MM, speed_end, "the fuel gas flow"),
            "kerf": (
                self.kerf_rows[0].nozzle_from_mm,
                self.kerf_bound.thickness_to_mm,
                "the kerf width",
            ),
            "start_time": (
                self.thin_start.thickness_from_mm,
                self.start_rows[-1].thickness_mm,
                "the heating time of a start",
            ),
        }
        if topic not in domains:
            raise ValueError(f"topic={topic!r} must be one of {sorted(domains)}")
        return domains[topic]

    def _between(self, column: str, unit: str, thickness: float) -> tuple[float, float, str]:
        axis = [row.thickness_mm for row in self.speed_rows]
        low, high = (
            _log_linear(
                axis, [getattr(row, f"{column}_{end}_{unit}") for row in self.speed_rows], thickness
            )
            for end in ("low", "high")
        )
        note = "between rows linear in the logarithm of thickness"
        if thickness < axis[0]:
            note = f"the first row, {axis[0]:g} mm, stands for {thickness:g} mm"
        elif thickness in axis:
            note = ""
        return low, high, note

    def speed(self, thickness_m: float, mode: str) -> Range | None:
        """Return the speed range [m/s], its value placed by mode; None outside the table."""
        if mode not in self.modes:
            raise ValueError(f"mode={mode!r} must be one of {sorted(self.modes)}")
        if self.why_none("speed", thickness_m):
            return None
        place = self.modes[mode]
        low, high, note = self._between("speed", "mm_min", to_mm(thickness_m))
        value = low + place.place_in_range * (high - low)
        row = self.speed_rows[0]
        placed = f"value placed at {place.place_in_range:g} of the range for {mode} cutting"
        return Range(
            low / 6e4,
            value / 6e4,
            high / 6e4,
            row.source,
            weakest(row.trust, place.trust),
            "; ".join(part for part in (placed, place.source, note) if part),
        )

    def flow(self, gas: Gas, column: str, thickness_m: float) -> Range:
        """Return a flow range of the speed table as mass flow; the value is the middle. [kg/s]"""
        low, high, note = self._between(column, "m3_h", to_mm(thickness_m))
        row = self.speed_rows[0]
        low_kg_s, high_kg_s = (gas.mass_kg(flow * ATMOSPHERE_BAR) / 3600.0 for flow in (low, high))
        notes = ("value is the middle of the range", note)
        return Range(
            low_kg_s,
            (low_kg_s + high_kg_s) / 2.0,
            high_kg_s,
            row.source,
            row.trust,
            "; ".join(part for part in notes if part),
        )

    def kerf(self, thickness_m: float, bore_m: float) -> Range | None:
        """Return the kerf width [m]; None above the published bound's thickness."""
        bore = to_mm(bore_m)
        if self.why_none("kerf", thickness_m):
            return None
        thickness = to_mm(thickness_m)
        last = self.kerf_rows[-1]
        if thickness <= last.thickness_mm:
            return self._kerf_in_table(thickness, bore)
        bound = self.kerf_bound
        axis = (last.thickness_mm, bound.thickness_to_mm)
        line = _log_linear(axis, (last.kerf_mm, bound.kerf_at_most_mm), thickness)
        low = max(last.kerf_mm, bore)
        high = max(bound.kerf_at_most_mm, 1.5 * bore)
        value = min(max(line, low), high)
        note = (
            f"derived and unverified: from {last.kerf_mm:g} mm at {last.thickness_mm:g} mm to the "
            f"published bound {bound.kerf_at_most_mm:g} mm at {bound.thickness_to_mm:g} mm; "
            "low not under the bore, high not under 1.5 bores"
        )
        # It stands on a recalled row, so it is no better than that row.
        return Range(
            low / 1e3,
            value / 1e3,
            high / 1e3,
            join_sources(last.source, bound.source),
            weakest("derived", last.trust, bound.trust),
            note,
        )

    def _kerf_in_table(self, thickness: float, bore: float) -> Range:
        widths = {row.nozzle_to_mm: row.kerf_mm for row in self.kerf_rows}
        ends = sorted(widths)
        place = next(index for index, end in enumerate(ends) if thickness <= end)
        table = widths[ends[place]]
        first, last = place == 0, place == len(ends) - 1
        low = bore if first else widths[ends[place - 1]]
        high = self.kerf_bound.kerf_at_most_mm if last else widths[ends[place + 1]]
        value = max(table, bore)
        note = (
            ("low is the bore" if first else "low is that of the next thinner nozzle range")
            + "; "
            + ("high is the published bound" if last else "high is that of the next thicker one")
        )
        if bore > table:
            note += f"; the table's {table:g} mm is narrower than the bore, so the bore stands"
        low, high = min(max(low, bore), value), max(high, value)
        row = self.kerf_rows[0]
        source = join_sources(row.source, self.kerf_bound.source if last else "")
        return Range(low / 1e3, value / 1e3, high / 1e3, source, row.trust, note)

    def start_time(self, thickness_m: float) -> Range | None:
        """Return the heating time before an edge start [s]; None outside the tables."""
        if self.why_none("start_time", thickness_m):
            return None
        thickness = to_mm(thickness_m)
        thin = self.thin_start
        if thickness < thin.thickness_below_mm:
            return Range(
                thin.time_low_s, thin.time_value_s, thin.time_high_s, thin.source, thin.trust
            )
        axis = [row.thickness_mm for row in self.start_rows]
        low = _linear(axis, [row.time_low_s for row in self.start_rows], thickness)
        high = _linear(axis, [row.time_high_s for row in self.start_rows], thickness)
        row = self.start_rows[0]
        note = "oxy-acetylene; propane takes a few seconds longer; value is the middle"
        return Range(low, (low + high) / 2.0, high, row.source, row.trust, note)


def read_cutting(tables: Tables) -> Cutting:
    """Read the cutting tables."""
    start_rows = tables.rows("cutting/start_times", _StartRow)
    (thin_start,) = tables.rows("cutting/start_times_thin", _ThinStartRow)
    if thin_start.thickness_below_mm != start_rows[0].thickness_mm:
        raise TableError("cutting/start_times_thin must end where cutting/start_times begins")
    (kerf_bound,) = tables.rows("cutting/kerf_bound", _KerfBoundRow)
    factors = {
        row.factor: Range(
            row.factor_low, row.factor_value, row.factor_high, row.source, row.trust, row.meaning
        )
        for row in tables.rows("cutting/factors", _FactorRow)
    }
    return Cutting(
        speed_rows=tables.rows("cutting/speed_and_flow", SpeedRow),
        carvill=tables.rows("cutting/carvill", CarvillRow),
        kerf_rows=tables.rows("cutting/kerf", _KerfRow),
        kerf_bound=kerf_bound,
        start_rows=start_rows,
        thin_start=thin_start,
        factors=factors,
        purity={row.rule: row for row in tables.rows("cutting/purity", PurityRow)},
        modes={row.mode: row for row in tables.rows("cutting/mode", _ModeRow)},
    )
