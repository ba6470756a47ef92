"""Hoses, safety devices and what people wear."""

from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import Field

from kerfdocket.reference.hazards import When
from kerfdocket.reference.table import Figure, Row, Tables, Trust

__all__ = [
    "ArrestorRow",
    "Equipment",
    "HoseDutyRow",
    "ProtectiveRow",
    "RegulatorClass",
    "read_equipment",
]


class _HoseBoreRow(Row):
    bore_mm: float = Field(gt=0, lt=100)


class HoseDutyRow(Row):
    """Highest working pressure of a kind of hose."""

    duty: str
    pressure_max_mpa: float = Field(gt=0)
    bore_max_mm: float | None = Field(default=None, gt=0)
    temperature_low_c: float
    temperature_high_c: float


class ArrestorRow(Row):
    """One function of a safety device."""

    letters: str
    name: str
    meaning: str


class _RegulatorClassRow(Row):
    gas: str
    rated_class: str = Field(min_length=1)
    outlet_bar: float = Field(gt=0, lt=50)
    flow_m3_h: float = Field(gt=0)


@dataclass(frozen=True, slots=True)
class RegulatorClass:
    """What a class of cylinder regulator is rated for.

    Attributes:
        outlet_gauge_pa: rated outlet pressure. [Pa gauge]
        flow_m3_s: rated flow, volume taken as at 15 °C and 1 bar absolute. [m3/s]
        source: the citation, readable.
        trust: how far the numbers may be trusted.
    """

    outlet_gauge_pa: float
    flow_m3_s: float
    source: str
    trust: Trust


class ProtectiveRow(Row):
    """One piece of protective equipment."""

    item: str
    when: When
    text: str

    def applies(self, facts: frozenset[str]) -> bool:
        """Return whether any of the row's words is among the facts."""
        return not facts.isdisjoint(self.when)


@dataclass(frozen=True, slots=True)
class Equipment:
    """The equipment tables."""

    bores: tuple[_HoseBoreRow, ...]
    duties: Mapping[str, HoseDutyRow]
    arrestors: tuple[ArrestorRow, ...]
    regulators: Mapping[tuple[str, str], RegulatorClass]
    protective: tuple[ProtectiveRow, ...]

    def hose_bores_m(self) -> tuple[float, ...]:
        """Return the standard hose bores, rising [m]."""
        return tuple(row.bore_mm / 1e3 for row in self.bores)

    def duty(self, duty: str) -> HoseDutyRow:
        """Return the row of `normal`, `light` or `acetylene` hose."""
        if duty not in self.duties:
            raise ValueError(f"duty={duty!r} must be one of {sorted(self.duties)}")
        return self.duties[duty]

    def hose_limit_gauge_pa(self, duty: str) -> Figure:
        """Return the highest working pressure of `normal`, `light` or `acetylene` hose [Pa]."""
        row = self.duty(duty)
        return Figure(row.pressure_max_mpa * 1e6, row.source, row.trust)

    def arrestor_function(self, letters: str) -> ArrestorRow:
        """Return the function that letters on a safety device, such as `FA`, stand for."""
        for row in self.arrestors:
            if row.letters == letters:
                return row
        known = sorted(row.letters for row in self.arrestors)
        raise ValueError(f"letters={letters!r} must be one of {known}")


def read_equipment(tables: Tables) -> Equipment:
    """Read the equipment tables."""
    return Equipment(
        bores=tables.rows("hoses/bores", _HoseBoreRow),
        duties={row.duty: row for row in tables.rows("hoses/duty", HoseDutyRow)},
        arrestors=tables.rows("equipment/arrestors", ArrestorRow),
        regulators={
            (row.gas, row.rated_class): RegulatorClass(
                row.outlet_bar * 1e5, row.flow_m3_h / 3600.0, row.source, row.trust
            )
            for row in tables.rows("equipment/regulator_classes", _RegulatorClassRow)
        },
        protective=tables.rows("equipment/protective", ProtectiveRow),
    )
