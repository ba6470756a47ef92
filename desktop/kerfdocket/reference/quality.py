"""Cut quality of ISO 9013: edge, roughness and size."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from pydantic import Field

from kerfdocket.language import _
from kerfdocket.reference.table import Figure, Row, Tables, general_text, to_mm

__all__ = ["ExecutionClassRow", "Quality", "read_quality"]

_THINNEST_MM, _THICKEST_MM = 3.0, 300.0  # ISO 9013:2017, scope, flame cuts
_DIMENSION_EDGES = (0, 3, 10, 35, 125, 315, 1000, 2000, 4000, 6000, 8000)


class _PerpendicularityRow(Row):
    quality_range: int = Field(ge=1, le=5)
    constant_mm: float = Field(gt=0)
    slope_mm_per_mm: float = Field(gt=0)


class _RoughnessRow(Row):
    quality_range: int = Field(ge=1, le=4)
    constant_um: float = Field(gt=0)
    slope_um_per_mm: float = Field(gt=0)


class _InsetRow(Row):
    thickness_over_mm: float = Field(ge=0)
    thickness_to_mm: float = Field(gt=0)
    inset_mm: float = Field(gt=0)


class _DeviationRow(Row):
    tolerance_class: int = Field(ge=1, le=2)
    thickness_over_mm: float = Field(ge=0)
    thickness_to_mm: float = Field(gt=0)
    from_0_below_3_mm: float | None = Field(default=None, gt=0)
    from_3_below_10_mm: float | None = Field(default=None, gt=0)
    from_10_below_35_mm: float | None = Field(default=None, gt=0)
    from_35_below_125_mm: float | None = Field(default=None, gt=0)
    from_125_below_315_mm: float | None = Field(default=None, gt=0)
    from_315_below_1000_mm: float | None = Field(default=None, gt=0)
    from_1000_below_2000_mm: float | None = Field(default=None, gt=0)
    from_2000_below_4000_mm: float | None = Field(default=None, gt=0)
    from_4000_below_6000_mm: float | None = Field(default=None, gt=0)
    from_6000_below_8000_mm: float | None = Field(default=None, gt=0)


class ExecutionClassRow(Row):
    """Ranges of u and Rz5 that an execution class of EN 1090-2 asks for."""

    execution_class: str
    perpendicularity_range: int
    roughness_range: int


@dataclass(frozen=True, slots=True)
class Quality:
    """The quality tables; every method wants lengths in metres and gives metres."""

    perpendicularity: tuple[_PerpendicularityRow, ...]
    roughness: tuple[_RoughnessRow, ...]
    insets: tuple[_InsetRow, ...]
    deviations: tuple[_DeviationRow, ...]
    execution_classes: Mapping[str, ExecutionClassRow]

    def perpendicularity_limit_m(self, quality_range: int, thickness_m: float) -> Figure | None:
        """Return u at a cut thickness [m]; None outside 3 to 300 mm."""
        thickness = to_mm(thickness_m)
        found = {line.quality_range: line for line in self.perpendicularity}
        if quality_range not in found:
            raise ValueError(f"quality_range={quality_range} must be one of {sorted(found)}")
        row = found[quality_range]
        if not _in_scope(thickness):
            return None
        value = (row.constant_mm + row.slope_mm_per_mm * thickness) / 1e3
        note = _(
            "{constant} mm + {slope} × thickness",
            constant=general_text(row.constant_mm),
            slope=general_text(row.slope_mm_per_mm),
        )
        return Figure(value, row.source, row.trust, note)

    def roughness_limit_m(self, quality_range: int, thickness_m: float) -> Figure | None:
        """Return Rz5 at a cut thickness [m]; None outside 3 to 300 mm."""
        thickness = to_mm(thickness_m)
        found = {line.quality_range: line for line in self.roughness}
        if quality_range not in found:
            raise ValueError(f"quality_range={quality_range} must be one of {sorted(found)}")
        row = found[quality_range]
        if not _in_scope(thickness):
            return None
        value = (row.constant_um + row.slope_um_per_mm * thickness) / 1e6
        note = _(
            "{constant} µm + {slope} µm/mm × thickness",
            constant=general_text(row.constant_um),
            slope=general_text(row.slope_um_per_mm),
        )
        return Figure(value, row.source, row.trust, note)

    def size_deviation_m(
        self, tolerance_class: int, thickness_m: float, dimension_m: float
    ) -> Figure | None:
        """Return the limit deviation (plus or minus) [m]; None where the standard gives none."""
        thickness, dimension = to_mm(thickness_m), to_mm(dimension_m)
        classes = sorted({line.tolerance_class for line in self.deviations})
        if tolerance_class not in classes:
            raise ValueError(f"tolerance_class={tolerance_class} must be one of {classes}")
        for low, below in pairwise(_DIMENSION_EDGES):
            if low <= dimension < below:
                column = f"from_{low}_below_{below}_mm"
                break
        else:
            return None
        for row in self.deviations:
            inside = row.thickness_over_mm < thickness <= row.thickness_to_mm
            if row.tolerance_class == tolerance_class and inside:
                cell: float | None = getattr(row, column)
                return None if cell is None else Figure(cell / 1e3, row.source, row.trust)
        return None

    def measuring_inset_m(self, thickness_m: float) -> Figure | None:
        """Return the strip at top and bottom where u and Rz5 are not measured [m]."""
        thickness = to_mm(thickness_m)
        for row in self.insets:
            if row.thickness_over_mm < thickness <= row.thickness_to_mm:
                return Figure(row.inset_mm / 1e3, row.source, row.trust)
        return None


def _in_scope(thickness: float) -> bool:
    return _THINNEST_MM <= thickness <= _THICKEST_MM


def read_quality(tables: Tables) -> Quality:
    """Read the quality tables."""
    return Quality(
        perpendicularity=tables.rows("quality/perpendicularity", _PerpendicularityRow),
        roughness=tables.rows("quality/roughness", _RoughnessRow),
        insets=tables.rows("quality/measuring_inset", _InsetRow),
        deviations=tables.rows("quality/limit_deviations", _DeviationRow),
        execution_classes={
            row.execution_class: row
            for row in tables.rows("quality/execution_classes", ExecutionClassRow)
        },
    )
