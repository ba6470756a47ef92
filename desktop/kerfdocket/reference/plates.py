"""Tolerance on the thickness of plate."""

from dataclasses import dataclass

from pydantic import Field

from kerfdocket.reference.table import Row, Tables, Trust, to_mm

__all__ = ["Plates", "ThicknessTolerance", "read_plates"]


class _ToleranceRow(Row):
    tolerance_class: str = Field(pattern="^[A-D]$")
    thickness_from_mm: float = Field(gt=0)
    thickness_to_mm: float = Field(gt=0)
    to_included: bool
    lower_mm: float = Field(le=0)
    upper_mm: float = Field(gt=0)


@dataclass(frozen=True, slots=True)
class ThicknessTolerance:
    """Deviations from the nominal thickness.

    Attributes:
        lower_m: not above 0. [m]
        upper_m: above 0. [m]
        source: citation.
        trust: how far it may be trusted.
    """

    lower_m: float
    upper_m: float
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class Plates:
    """The plate tables."""

    tolerances: tuple[_ToleranceRow, ...]

    def thickness_tolerance(
        self, nominal_m: float, tolerance_class: str
    ) -> ThicknessTolerance | None:
        """Return the tolerance of a nominal thickness [m]; None outside the table."""
        classes = sorted({row.tolerance_class for row in self.tolerances})
        if tolerance_class not in classes:
            raise ValueError(f"tolerance_class={tolerance_class!r} must be one of {classes}")
        nominal = to_mm(nominal_m)
        for row in self.tolerances:
            below = nominal < row.thickness_to_mm or (
                row.to_included and nominal == row.thickness_to_mm
            )
            if (
                row.tolerance_class == tolerance_class
                and row.thickness_from_mm <= nominal
                and below
            ):
                return ThicknessTolerance(
                    row.lower_mm / 1e3, row.upper_mm / 1e3, row.source, row.trust
                )
        return None


def read_plates(tables: Tables) -> Plates:
    """Read the plate tables."""
    return Plates(tables.rows("plates/thickness_tolerance", _ToleranceRow))
