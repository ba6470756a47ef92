"""Speed, gas flow, kerf and start times by thickness."""

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from kerfdocket.language import _, marked
from kerfdocket.physics.gas import Gas
from kerfdocket.reference.table import (
    ATMOSPHERE_BAR,
    Range,
    Row,
    TableError,
    Tables,
    general_text,
    join_sources,
    said_source,
    to_mm,
    weakest,
)

__all__ = ["CarvillRow", "Cutting", "PurityRow", "SpeedRow", "Topic", "read_cutting"]

Topic = Literal["speed", "oxygen_flow", "fuel_flow", "kerf", "start_time"]

_THINNEST_MM = 3.0  # the tables begin at 3.2 mm (1/8 in); 3 mm plate may use their first row
_WHY_NONE: dict[Topic, str] = {
    "speed": marked(
        "no source for the cutting speed at {thickness} mm; the tables cover {low} to {high} mm"
    ),
    "oxygen_flow": marked(
        "no source for the cutting oxygen flow at {thickness} mm; the tables cover {low} to "
        "{high} mm"
    ),
    "fuel_flow": marked(
        "no source for the fuel gas flow at {thickness} mm; the tables cover {low} to {high} mm"
    ),
    "kerf": marked(
        "no source for the kerf width at {thickness} mm; the tables cover {low} to {high} mm"
    ),
    "start_time": marked(
        "no source for the heating time of a start at {thickness} mm; the tables cover {low} to "
        "{high} mm"
    ),
}
_PLACED = {
    "hand": marked("value placed at {share} of the range for hand cutting"),
    "tractor": marked("value placed at {share} of the range for tractor cutting"),
    "machine": marked("value placed at {share} of the range for machine cutting"),
}


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
    mode: Literal["hand", "tractor", "machine"]
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
        low, high = self._domain(topic)
        if low <= thickness <= high:
            return None
        return _(
            _WHY_NONE[topic],
            thickness=general_text(thickness),
            low=general_text(low),
            high=general_text(high),
        )

    def _domain(self, topic: Topic) -> tuple[float, float]:
        speed_end = self.speed_rows[-1].thickness_mm
        domains: dict[Topic, tuple[float, float]] = {
            "speed": (_THINNEST_MM, speed_end),
            "oxygen_flow": (_THINNEST_MM, speed_end),
            "fuel_flow": (_THINNEST_MM, speed_end),
            "kerf": (self.kerf_rows[0].nozzle_from_mm, self.kerf_bound.thickness_to_mm),
            "start_time": (self.thin_start.thickness_from_mm, self.start_rows[-1].thickness_mm),
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
        note = _("between rows linear in the logarithm of thickness")
        if thickness < axis[0]:
            note = _(
                "the first row, {first} mm, stands for {thickness} mm",
                first=general_text(axis[0]),
                thickness=general_text(thickness),
            )
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
        placed = _(_PLACED[mode], share=general_text(place.place_in_range))
        return Range(
            low / 6e4,
            value / 6e4,
            high / 6e4,
            row.source,
            weakest(row.trust, place.trust),
            "; ".join(part for part in (placed, said_source(place.source), note) if part),
        )

    def flow(self, gas: Gas, column: str, thickness_m: float) -> Range:
        """Return a flow range of the speed table as mass flow; the value is the middle. [kg/s]"""
        low, high, note = self._between(column, "m3_h", to_mm(thickness_m))
        row = self.speed_rows[0]
        low_kg_s, high_kg_s = (gas.mass_kg(flow * ATMOSPHERE_BAR) / 3600.0 for flow in (low, high))
        notes = (_("value is the middle of the range"), note)
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
        note = _(
            "derived and unverified: from {kerf} mm at {thickness} mm to the published bound "
            "{bound_kerf} mm at {bound_thickness} mm; low not under the bore, high not under 1.5 "
            "bores",
            kerf=general_text(last.kerf_mm),
            thickness=general_text(last.thickness_mm),
            bound_kerf=general_text(bound.kerf_at_most_mm),
            bound_thickness=general_text(bound.thickness_to_mm),
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
        notes = [
            _("low is the bore") if first else _("low is that of the next thinner nozzle range"),
            _("high is the published bound")
            if last
            else _("high is that of the next thicker nozzle range"),
        ]
        if bore > table:
            notes.append(
                _(
                    "the table's {kerf} mm is narrower than the bore, so the bore stands",
                    kerf=general_text(table),
                )
            )
        low, high = min(max(low, bore), value), max(high, value)
        row = self.kerf_rows[0]
        source = join_sources(row.source, self.kerf_bound.source if last else "")
        return Range(low / 1e3, value / 1e3, high / 1e3, source, row.trust, "; ".join(notes))

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
        note = _("oxy-acetylene; propane takes a few seconds longer; value is the middle")
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
