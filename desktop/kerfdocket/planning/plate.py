"""Stage 1: the plate as measured against the plate as ordered, and its mass."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, counted, marked
from kerfdocket.physics.plate import mass_kg
from kerfdocket.planning.keys import Span, estimate
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult
from kerfdocket.planning.sources import NO_SOURCE, PLANNER
from kerfdocket.quantity import LENGTH
from kerfdocket.reference import Reference

__all__ = ["PlateResult", "plan_plate"]

# A reading off by more than this share of the nominal thickness is taken for another plate or a
# slip of the pen, not for a rolling deviation (common practice, no source); EN 10029 allows 13 %
# at the most, for 3 mm plate.
_ANOTHER_PLATE = 0.2


@dataclass(frozen=True)
class PlateResult(StageResult):
    """Attributes:
    thickness_m: mean of the readings, or nominal. [m]
    chart_thickness_m: thickness to enter tables with: nominal where the readings are within the
        tolerance, else the mean. [m]
    """

    thickness_m: float = 0.0
    chart_thickness_m: float = 0.0


def plan_plate(job: Job, reference: Reference) -> PlateResult:
    """Compare the readings with the order and weigh the plate.

    Args:
        job: the job.
        reference: the tables.

    Returns:
        Thickness with its spread, mass, and what is odd about the readings.
    """
    nominal_m = job.plate.thickness.si
    readings_m = tuple(reading.si for reading in job.plate.readings)
    findings: list[Finding] = []
    within = True
    if readings_m:
        within = _judge(job, reference, nominal_m, readings_m, findings)
        mean_m = sum(readings_m) / len(readings_m)
        thickness = Span(
            min(readings_m),
            min(max(mean_m, min(readings_m)), max(readings_m)),
            max(readings_m),
        )
        source = marked("the planner's readings")
        text = counted("{count} reading.", "Mean of {count} readings.", len(readings_m))
        basis = Basis(text, source, "stated")
    else:
        thickness = Span.exact(nominal_m)
        basis = Basis(_("Nominal thickness; no reading was given."), PLANNER, "stated")
        findings.append(
            Finding(
                "note",
                "plate.readings",
                _("The plate was not measured; the nominal thickness is used."),
                _("Measure at three places or more and enter the readings."),
                NO_SOURCE,
            )
        )
    lowest = estimate("plate.thickness_lowest", Span.exact(thickness.low), basis)
    highest = estimate("plate.thickness_highest", Span.exact(thickness.high), basis)
    estimates: tuple[Estimate, ...] = (
        estimate("plate.thickness", thickness, basis),
        lowest,
        highest,
        _mass(job, thickness),
    )
    return PlateResult(
        name="plate",
        estimates=estimates,
        findings=tuple(findings),
        thickness_m=thickness.value,
        chart_thickness_m=nominal_m if within else thickness.value,
    )


def _judge(
    job: Job,
    reference: Reference,
    nominal_m: float,
    readings_m: tuple[float, ...],
    findings: list[Finding],
) -> bool:
    """Add what is odd about the readings; return whether all are within the tolerance."""
    tolerance = reference.thickness_tolerance(nominal_m, job.plate.tolerance_class)
    within = True
    units = job.unit_system
    for number, (reading, reading_m) in enumerate(zip(job.plate.readings, readings_m, strict=True)):
        where = f"plate.readings.{number}"
        off = reading_m - nominal_m
        # A hair of slack: 12.9 mm is 12 + 0.9 mm to a person, not to binary numbers.
        slack = 1e-9
        if abs(off) > _ANOTHER_PLATE * nominal_m:
            within = False
            findings.append(
                Finding(
                    "stop",
                    where,
                    _(
                        "A reading of {reading} does not belong to a plate of {nominal} nominal "
                        "thickness.",
                        reading=units.stated(reading),
                        nominal=units.stated(job.plate.thickness),
                    ),
                    _(
                        "Measure again; if the reading is right, this is another plate: correct "
                        "the nominal thickness."
                    ),
                    NO_SOURCE,
                )
            )
        elif tolerance and not (tolerance.lower_m - slack <= off <= tolerance.upper_m + slack):
            within = False
            ends = (nominal_m + tolerance.lower_m, nominal_m + tolerance.upper_m)
            shown, low, high = units.apart(LENGTH, reading, *ends)
            findings.append(
                Finding(
                    "caution",
                    where,
                    _(
                        "{reading} is outside class {tolerance_class}: {low} to {high} are "
                        "allowed.",
                        reading=shown,
                        tolerance_class=job.plate.tolerance_class,
                        low=low,
                        high=high,
                    ),
                    _(
                        "Measure again, look for wear or rust, check the delivery. The mean of "
                        "the readings is used for the settings."
                    ),
                    tolerance.source,
                )
            )
    if tolerance is None:
        findings.append(
            Finding(
                "note",
                "plate.thickness",
                _(
                    "No tolerance is known for {thickness}; the readings were not judged.",
                    thickness=units.stated(job.plate.thickness),
                ),
                _("Compare the readings with the order yourself."),
                marked("EN 10029:2010 covers 3 to 400 mm"),
            )
        )
    return within


def _mass(job: Job, thickness: Span) -> Estimate:
    length_m, width_m = job.plate.length.si, job.plate.width.si
    span = Span(*(mass_kg(length_m, width_m, t) for t in thickness))
    return estimate(
        "plate.mass",
        span,
        Basis(
            _("Length × width × thickness × 7850 kg/m³."),
            marked("density: EN 1993-1-2:2005, 3.2.2"),
            "published, second-hand",
            "m = l · w · t · 7850 kg/m³",
            (
                ("l", job.unit_system.stated(job.plate.length)),
                ("w", job.unit_system.stated(job.plate.width)),
                ("t", job.unit_system.size(thickness.value)),
            ),
        ),
    )
