"""Hoses, safety devices and what people wear."""

from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import Field

from kerfdocket.reference.hazards import When
from kerfdocket.reference.table import Figure, Row, Tables

__all__ = ["ArrestorRow", "Equipment", "HoseDutyRow", "ProtectiveRow", "read_equipment"]


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
    function: str
    meaning: str


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
    protective: tuple[ProtectiveRow, ...]

    def hose_bores_m(self) -> tuple[float, ...]:
        """Return the standard hose bores, rising [m]."""
        return tuple(row.bore_mm / 1e3 for row in self.bores)

    def hose_limit_gauge_pa(self, duty: str) -> Figure:
        """Return the highest working pressure of `normal`, `light` or `acetylene` hose [Pa]."""
        if duty not in self.duties:
            raise ValueError(f"duty={duty!r} must be one of {sorted(self.duties)}")
        row = self.duties[duty]
        return Figure(row.pressure_max_mpa * 1e6, row.source, row.trust)


def read_equipment(tables: Tables) -> Equipment:
    """Read the equipment tables."""
    return Equipment(
        bores=tables.rows("hoses/bores", _HoseBoreRow),
        duties={row.duty: row for row in tables.rows("hoses/duty", HoseDutyRow)},
        arrestors=tables.rows("equipment/arrestors", ArrestorRow),
        protective=tables.rows("equipment/protective", ProtectiveRow),
    )
