"""Generic nozzle systems: which bore, which pressure, which fuel pressure."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from pydantic import Field

from kerfdocket.reference.table import (
    ATMOSPHERE_BAR,
    Range,
    Row,
    TableError,
    Tables,
    Trust,
    join_sources,
    to_mm,
    weakest,
)

__all__ = ["FuelPressureRow", "Mixing", "Nozzle", "NozzleSystem", "Nozzles", "read_nozzles"]

Mixing = Literal["nozzle", "torch", "injector"]
PressureAt = Literal["torch", "regulator"]

_KGF_CM2_PA = 98_066.5  # exact: 1 kgf = 9.80665 N (CGPM 1901)
_MIXING_LETTER = {"nozzle": "N", "torch": "T", "injector": "I"}


class NozzleSystem(Row):
    """Nozzles, torch and fuel that belong together."""

    system: str
    fuel: str
    mixing: Mixing
    bores: Literal["cutting_bores", "injector_acetylene"]
    gas_letter: str
    pressure_at: PressureAt
    note: str = ""

    @property
    def key(self) -> str:
        """Gas letter and letter of the mixing, such as `A-N`."""
        return self.system


class _BoreRow(Row):
    bore_mm: float = Field(gt=0, lt=10)
    thickness_from_mm: float = Field(gt=0)
    thickness_to_mm: float = Field(gt=0)
    to_included: bool
    cutting_oxygen_low_kgf_cm2: float = Field(gt=0)
    cutting_oxygen_high_kgf_cm2: float = Field(gt=0)
    acetylene_kgf_cm2: float = Field(gt=0)


class _InjectorRow(Row):
    torch_class_mm: float = Field(gt=0)
    bore_mm: float = Field(gt=0, lt=10)
    thickness_from_mm: float = Field(gt=0)
    thickness_to_mm: float = Field(gt=0)
    to_included: bool
    oxygen_regulator_mpa: float = Field(gt=0)
    oxygen_low_m3_h: float = Field(gt=0)
    oxygen_high_m3_h: float = Field(gt=0)
    acetylene_low_l_h: float = Field(gt=0)
    acetylene_high_l_h: float = Field(gt=0)
    acetylene_supply_low_mpa: float = Field(gt=0)
    acetylene_supply_high_mpa: float = Field(gt=0)


class FuelPressureRow(Row):
    """Fuel gas pressure at the torch."""

    fuel: str
    mixing: Mixing
    pressure_low_bar: float = Field(gt=0)
    pressure_value_bar: float = Field(gt=0)
    pressure_high_bar: float = Field(gt=0)


@dataclass(frozen=True, slots=True)
class Nozzle:
    """One cutting nozzle of a generic system.

    Attributes:
        key: such as `A-N-1.2`: gas letter, mixing, bore in mm.
        system: key of its system; parts of two systems never go together.
        fuel: fuel gas.
        mixing: nozzle, torch or injector.
        bore_m: bore of the cutting oxygen channel. [m]
        thickness_from_m: thinnest plate. [m]
        thickness_to_m: thickest plate. [m]
        from_included: whether the thinnest plate itself belongs to it.
        to_included: whether the thickest plate itself belongs to it.
        oxygen_gauge_pa: cutting oxygen at the two ends of the thickness. [Pa gauge]
        pressure_at: where that pressure holds, `torch` or `regulator`.
        torch_class_m: greatest thickness of the torch it belongs to; None where it has none. [m]
        oxygen_flow_m3_s: oxygen, where the table states it, at 15 °C and 1 bar abs. [m3/s]
        fuel_flow_m3_s: fuel, where the table states it, at 15 °C and 1 bar abs. [m3/s]
        source: citation.
        trust: the weaker of system and row.
        note: what a reader should know.
    """

    key: str
    system: str
    fuel: str
    mixing: Mixing
    bore_m: float
    thickness_from_m: float
    thickness_to_m: float
    from_included: bool
    to_included: bool
    oxygen_gauge_pa: tuple[float, float]
    pressure_at: PressureAt
    torch_class_m: float | None
    oxygen_flow_m3_s: tuple[float, float] | None
    fuel_flow_m3_s: tuple[float, float] | None
    source: str
    trust: Trust
    note: str = ""

    def covers(self, thickness_m: float) -> bool:
        """Return whether a plate of this thickness belongs to the nozzle."""
        thickness = to_mm(thickness_m)
        low, high = to_mm(self.thickness_from_m), to_mm(self.thickness_to_m)
        above = thickness >= low if self.from_included else thickness > low
        below = thickness <= high if self.to_included else thickness < high
        return above and below

    def cutting_oxygen_gauge_pa(self, thickness_m: float) -> tuple[float, float, float]:
        """Return the cutting oxygen pressure: least and most of the row, and that of the plate.

        Args:
            thickness_m: plate thickness, between the ends of the row, ends included. [m]

        Returns:
            Low, value and high; the value linear in thickness between them. [Pa gauge]

        Raises:
            ValueError: the thickness lies outside the row.
        """
        thickness = to_mm(thickness_m)
        first, last = to_mm(self.thickness_from_m), to_mm(self.thickness_to_m)
        if not first <= thickness <= last:
            raise ValueError(
                f"thickness_m={thickness_m} must lie between {self.thickness_from_m} and "
                f"{self.thickness_to_m} for nozzle {self.key}"
            )
        low, high = self.oxygen_gauge_pa
        return low, low + (high - low) * (thickness - first) / (last - first), high


@dataclass(frozen=True, slots=True)
class Nozzles:
    """All systems with their nozzles, and fuel pressures."""

    systems: tuple[NozzleSystem, ...]
    by_system: Mapping[str, tuple[Nozzle, ...]]
    by_key: Mapping[str, Nozzle]
    fuel_pressures: tuple[FuelPressureRow, ...]

    def system(self, mixing: str, fuel: str) -> NozzleSystem | None:
        """Return the system of a mixing and a fuel; None where no source was found."""
        found = (row for row in self.systems if (row.mixing, row.fuel) == (mixing, fuel))
        return next(found, None)

    def nozzle_for(self, system: str, thickness_m: float) -> Nozzle | None:
        """Return the first nozzle of a system that covers a thickness; None if none does."""
        nozzles = self.by_system.get(system)
        if nozzles is None:
            raise ValueError(f"system={system!r} must be one of {sorted(self.by_system)}")
        return next((nozzle for nozzle in nozzles if nozzle.covers(thickness_m)), None)

    def fuel_pressure(self, fuel: str, mixing: str) -> Range | None:
        """Return the fuel pressure at the torch [Pa gauge]; None where no source was found."""
        for row in self.fuel_pressures:
            if (row.fuel, row.mixing) == (fuel, mixing):
                bar = (row.pressure_low_bar, row.pressure_value_bar, row.pressure_high_bar)
                low, value, high = (pressure * 1e5 for pressure in bar)
                return Range(low, value, high, row.source, row.trust)
        return None


def read_nozzles(tables: Tables) -> Nozzles:
    """Read the nozzle tables."""
    bores = tables.rows("nozzles/cutting_bores", _BoreRow)
    for before, after in pairwise(bores):
        if before.thickness_to_mm != after.thickness_from_mm:
            raise TableError(
                f"nozzles/cutting_bores: a gap or overlap at {before.thickness_to_mm} mm"
            )
    injectors = tables.rows("nozzles/injector_acetylene", _InjectorRow)
    systems = tables.rows("nozzles/systems", NozzleSystem)
    by_system: dict[str, tuple[Nozzle, ...]] = {}
    for system in systems:
        if system.key != f"{system.gas_letter}-{_MIXING_LETTER[system.mixing]}":
            raise TableError(f"nozzles/systems: {system.key!r} must be gas letter and mixing")
        if system.bores == "cutting_bores":
            by_system[system.key] = _from_bores(system, bores)
        else:
            by_system[system.key] = _from_injectors(system, injectors)
    by_key = {nozzle.key: nozzle for nozzles in by_system.values() for nozzle in nozzles}
    pressures = tables.rows("nozzles/fuel_pressures", FuelPressureRow)
    return Nozzles(systems, by_system, by_key, pressures)


def _from_bores(system: NozzleSystem, rows: tuple[_BoreRow, ...]) -> tuple[Nozzle, ...]:
    nozzles = []
    from_included = True
    for row in rows:
        nozzles.append(
            Nozzle(
                key=f"{system.key}-{row.bore_mm:.1f}",
                system=system.key,
                fuel=system.fuel,
                mixing=system.mixing,
                bore_m=row.bore_mm / 1e3,
                thickness_from_m=row.thickness_from_mm / 1e3,
                thickness_to_m=row.thickness_to_mm / 1e3,
                from_included=from_included,
                to_included=row.to_included,
                oxygen_gauge_pa=(
                    row.cutting_oxygen_low_kgf_cm2 * _KGF_CM2_PA,
                    row.cutting_oxygen_high_kgf_cm2 * _KGF_CM2_PA,
                ),
                pressure_at=system.pressure_at,
                torch_class_m=None,
                oxygen_flow_m3_s=None,
                fuel_flow_m3_s=None,
                source=join_sources(row.source, system.source),
                trust=weakest(row.trust, system.trust),
                note=system.note,
            )
        )
        # A boundary belongs to exactly one of the two rows that meet there.
        from_included = not row.to_included
    return tuple(nozzles)


def _from_injectors(system: NozzleSystem, rows: tuple[_InjectorRow, ...]) -> tuple[Nozzle, ...]:
    # Smaller torches come first, so the smallest that covers a thickness is taken.
    hourly = ATMOSPHERE_BAR / 3600.0  # m3/h at 1.013 bar to m3/s at 1 bar
    ordered = sorted(rows, key=lambda row: (row.torch_class_mm, row.bore_mm))
    return tuple(
        Nozzle(
            key=f"{system.key}-{row.bore_mm:.1f}",
            system=system.key,
            fuel=system.fuel,
            mixing=system.mixing,
            bore_m=row.bore_mm / 1e3,
            thickness_from_m=row.thickness_from_mm / 1e3,
            thickness_to_m=row.thickness_to_mm / 1e3,
            from_included=True,
            to_included=row.to_included,
            oxygen_gauge_pa=(row.oxygen_regulator_mpa * 1e6, row.oxygen_regulator_mpa * 1e6),
            pressure_at=system.pressure_at,
            torch_class_m=row.torch_class_mm / 1e3,
            oxygen_flow_m3_s=(row.oxygen_low_m3_h * hourly, row.oxygen_high_m3_h * hourly),
            fuel_flow_m3_s=(
                row.acetylene_low_l_h / 1e3 * hourly,
                row.acetylene_high_l_h / 1e3 * hourly,
            ),
            source=join_sources(row.source, system.source),
            trust=weakest(row.trust, system.trust),
            note=system.note,
        )
        for row in ordered
    )
