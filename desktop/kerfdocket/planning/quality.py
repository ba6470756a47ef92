"""Stage 9: the limits that the finished cut is measured against."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _
from kerfdocket.planning.keys import Span, estimate, withheld
from kerfdocket.planning.model import Basis, Estimate, StageResult
from kerfdocket.planning.plate import PlateResult
from kerfdocket.reference import Figure, Reference

__all__ = ["QualityResult", "plan_quality"]

_COMMON_SIZE_M = 0.5  # stands for the column 315 to 1000 mm, which most parts fall into


@dataclass(frozen=True)
class QualityResult(StageResult):
    """Limits to ISO 9013."""


def plan_quality(job: Job, reference: Reference, plate: PlateResult) -> QualityResult:
    """Look up the limits of the wanted ranges.

    Args:
        job: the job.
        reference: the tables.
        plate: the plate stage.

    Returns:
        u [m], Rz5 [m] and the limit deviation of sizes from 315 to 1000 mm [m].
    """
    thickness_m, wanted = plate.thickness_m, job.quality
    inset = reference.measuring_inset_m(thickness_m)
    away = ""
    if inset is not None:
        away = _(
            "Measured at least {inset} away from both edges.",
            inset=job.unit_system.size(inset.value),
        )
    u = reference.perpendicularity_limit_m(wanted.perpendicularity_range, thickness_m)
    rz5 = reference.roughness_limit_m(wanted.roughness_range, thickness_m)
    size = reference.size_deviation_m(wanted.tolerance_class, thickness_m, _COMMON_SIZE_M)
    return QualityResult(
        "quality",
        (
            _limit(
                "quality.perpendicularity_limit",
                u,
                _("ISO 9013 range {number}.", number=wanted.perpendicularity_range),
                away,
            ),
            _limit(
                "quality.roughness_limit",
                rz5,
                _("ISO 9013 range {number}.", number=wanted.roughness_range),
                away,
            ),
            _limit(
                "quality.size_deviation",
                size,
                _("ISO 9013 class {number}.", number=wanted.tolerance_class),
            ),
        ),
    )


def _limit(key: str, figure: Figure | None, *sentences: str) -> Estimate:
    if figure is None:
        return withheld(key, _("ISO 9013 gives no limit here"))
    note = f"{figure.note}." if figure.note else ""
    text = " ".join(part for part in (*sentences, note) if part)
    return estimate(key, Span.exact(figure.value), Basis(text, figure.source, figure.trust))
