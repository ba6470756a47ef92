"""Oxygen on hand: cylinders and bundles by pressure and temperature, a tank, a main."""

from kerfdocket.job import Job, OxygenCylinder
from kerfdocket.language import _, marked
from kerfdocket.physics.cylinder import oxygen_gauge_pa, oxygen_mass_kg
from kerfdocket.physics.gas import Gas
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import Span, estimate, span_of, withheld
from kerfdocket.planning.model import (
    Basis,
    ChangeOver,
    Estimate,
    Finding,
    Trust,
    least,
)
from kerfdocket.planning.sources import DERIVED, NO_SOURCE, THIS_PROGRAM
from kerfdocket.planning.supply.changeover import plan_change_over
from kerfdocket.planning.supply.common import (
    COLDEST_OXYGEN_K,
    TEMPERATURE_DOUBT_K,
    WARMEST_OXYGEN_K,
    GasSupply,
    Unit,
    all_on_hand,
    changes_estimate,
    no_changes,
    no_cylinders,
    one_by_one,
    outlet_content,
    too_little,
    whole,
)
from kerfdocket.planning.use import UseResult
from kerfdocket.quantity import GAUGE_PRESSURE, parse_measure

__all__ = ["plan_oxygen"]

_AVAILABLE, _NUMBER = "supply.oxygen_available", "supply.oxygen_cylinders"
_CHANGES = "supply.oxygen_changes"
_ASSUMED = OxygenCylinder(gauge=parse_measure("200 bar", GAUGE_PRESSURE))


def plan_oxygen(job: Job, oxygen: Gas, cut: CutResult, use: UseResult) -> GasSupply:
    """Compare the oxygen on hand with what the job takes.

    Args:
        job: the job.
        oxygen: its properties.
        cut: the cut stage.
        use: the use stage.

    Returns:
        Content above the reserve, number of cylinders or bundles, change-overs.
    """
    if job.oxygen.comes_from_main:
        return _from_outlet(job, oxygen, use)
    stated = job.oxygen.cylinders
    cylinders = stated or (_ASSUMED,)
    temperatures = [_temperature_k(job, one) for one in cylinders]
    if not all(COLDEST_OXYGEN_K - 1e-6 <= t <= WARMEST_OXYGEN_K + 1e-6 for t in temperatures):
        reason = _(
            "the cylinders are outside {low} to {high}, where the formula for oxygen ends",
            low=job.unit_system.temperature(COLDEST_OXYGEN_K),
            high=job.unit_system.temperature(WARMEST_OXYGEN_K),
        )
        finding = Finding(
            "caution",
            "oxygen.cylinders",
            _("Oxygen not counted: {reason}.", reason=reason),
            _("State the temperature of the cylinders."),
            THIS_PROGRAM,
        )
        keys = (_AVAILABLE, _NUMBER, _CHANGES)
        return GasSupply(tuple(withheld(key, reason) for key in keys), (), (finding,))
    contents = [_content(job, one, oxygen) for one in cylinders]
    basis = _content_basis(job, "stated" if stated else "common practice, no source")
    rows = [
        (one.count, _text(job, one), content)
        for one, content in zip(cylinders, contents, strict=True)
    ]
    total, lines = all_on_hand(_AVAILABLE, "oxygen", rows, basis, oxygen, is_assumed=not stated)
    findings: list[Finding] = []
    if not stated:
        findings.append(
            Finding(
                "caution",
                "oxygen.cylinders",
                _(
                    "No oxygen cylinder is stated; one full cylinder of {cylinder} is assumed.",
                    cylinder=_text(job, _ASSUMED),
                ),
                _("Read gauge and temperature of the cylinders on hand and enter them."),
                NO_SOURCE,
            )
        )
    available = estimate(_AVAILABLE, total, basis, oxygen)
    number, change_over = _number(job, oxygen, cut, use, contents, total, findings)
    reason = _("what it takes is withheld") if stated else _("no oxygen cylinder is stated")
    changes = changes_estimate(_CHANGES, change_over or reason, use["use.oxygen"].basis.trust)
    return GasSupply((available, number, changes), lines, tuple(findings), change_over)


def _temperature_k(job: Job, cylinder: OxygenCylinder) -> float:
    return (cylinder.temperature or job.site.temperature).si


def _volume_m3(cylinder: OxygenCylinder) -> float:
    return cylinder.capacity.si * cylinder.coupled


def _text(job: Job, cylinder: OxygenCylinder) -> str:
    units = job.unit_system
    capacity, gauge = units.stated(cylinder.capacity), units.stated(cylinder.gauge)
    if cylinder.coupled > 1:
        return _(
            "bundle of {number} × {capacity} at {gauge}",
            number=cylinder.coupled,
            capacity=capacity,
            gauge=gauge,
        )
    return _("{capacity} at {gauge}", capacity=capacity, gauge=gauge)


def _mass_kg(
    job: Job, cylinder: OxygenCylinder, gauge_pa: float, temperature_k: float, oxygen: Gas
) -> float:
    one = oxygen_mass_kg(cylinder.capacity.si, gauge_pa, job.site.air_abs_pa, temperature_k, oxygen)
    return one * cylinder.coupled


def _content(job: Job, cylinder: OxygenCylinder, oxygen: Gas) -> Span:
    """Usable oxygen of one cylinder or bundle above the reserve [kg]."""
    measured_k = _temperature_k(job, cylinder)
    masses = []
    for doubt_k in (TEMPERATURE_DOUBT_K, 0.0, -TEMPERATURE_DOUBT_K):
        temperature_k = min(max(measured_k + doubt_k, COLDEST_OXYGEN_K), WARMEST_OXYGEN_K)
        full = _mass_kg(job, cylinder, cylinder.gauge.si, temperature_k, oxygen)
        left = _mass_kg(job, cylinder, job.oxygen.reserve.si, temperature_k, oxygen)
        masses.append(max(full - left, 0.0))
    return Span(*masses)


def _content_basis(job: Job, trust: Trust) -> Basis:
    units = job.unit_system
    return Basis(
        _(
            "Gauge, water capacity and temperature by the real gas, less what stays in at the "
            "reserve of {reserve}; range for {degrees} of doubt in the temperature.",
            reserve=units.stated(job.oxygen.reserve),
            degrees=units.degrees(TEMPERATURE_DOUBT_K),
        ),
        marked("fit to CoolProp 8.0.0 (Schmidt and Wagner equation of state), within 0.35 %"),
        least("derived", trust),
        "m = V · p / (Z · R · T)",
        (
            (_("reserve"), units.stated(job.oxygen.reserve)),
            (_("air"), _("{pressure} absolute", pressure=units.air(job.site.air_abs_pa))),
        ),
    )


def _number(
    job: Job,
    oxygen: Gas,
    cut: CutResult,
    use: UseResult,
    contents: list[Span],
    total: Span,
    findings: list[Finding],
) -> tuple[Estimate, ChangeOver | None]:
    if use.oxygen_kg is None:
        return withheld(_NUMBER, _("what it takes is withheld")), None
    first = contents[0]
    if total.value < use.oxygen_kg.value:
        name = _("Oxygen") if job.oxygen.cylinders else _("Assumed oxygen")
        findings.append(
            too_little("oxygen.cylinders", name, total, use.oxygen_kg, oxygen, job.unit_system)
        )
    change_over = _change_over(job, oxygen, cut, use.oxygen_kg, contents)
    if first.low <= 0.0:
        reason = _("the first cylinder holds nothing above the reserve")
        findings.append(
            Finding(
                "caution",
                "oxygen.cylinders",
                _("Oxygen: {reason}.", reason=reason),
                _("Fetch full cylinders."),
                THIS_PROGRAM,
            )
        )
        return withheld(_NUMBER, reason), change_over
    basis = Basis(
        _("What it takes over what one cylinder or bundle like the first one holds, rounded up."),
        DERIVED,
        least("derived", use["use.oxygen"].basis.trust),
    )
    return estimate(_NUMBER, whole(use.oxygen_kg.over(first)), basis), change_over


def _change_over(
    job: Job, oxygen: Gas, cut: CutResult, need_kg: Span, contents: list[Span]
) -> ChangeOver | None:
    clock_s = span_of(cut["cut.clock_time"])
    if clock_s is None or not job.oxygen.cylinders or need_kg.low <= 0.0:
        return None
    rows = zip(job.oxygen.cylinders, contents, strict=True)
    units = one_by_one((one.count, _text(job, one), one.coupled, content) for one, content in rows)

    def left_text(unit: Unit, taken_kg: float) -> str:
        cylinder = job.oxygen.cylinders[unit.row]
        if taken_kg >= unit.holds_kg.value * (1.0 - 1e-9):
            return job.unit_system.stated(job.oxygen.reserve)
        temperature_k = _temperature_k(job, cylinder)
        full = _mass_kg(job, cylinder, cylinder.gauge.si, temperature_k, oxygen)
        gauge_pa = oxygen_gauge_pa(
            _volume_m3(cylinder), full - taken_kg, job.site.air_abs_pa, temperature_k, oxygen
        )
        return job.unit_system.gauge(gauge_pa)

    return plan_change_over(
        oxygen,
        "oxygen",
        units,
        need_kg,
        clock_s,
        cut.set_up_s,
        lambda unit, _mean: (unit.holds_kg.value, "at the reserve"),
        left_text,
    )


def _from_outlet(job: Job, oxygen: Gas, use: UseResult) -> GasSupply:
    """A main gives without end; a tank holds what is stated."""
    number, changes = no_cylinders(_NUMBER, job.oxygen), no_changes(_CHANGES, job.oxygen)
    available, lines, findings = outlet_content(
        _AVAILABLE,
        "oxygen.outlet",
        "oxygen",
        job.oxygen,
        oxygen,
        use.oxygen_kg,
        job.unit_system,
    )
    return GasSupply((available, number, changes), lines, findings)
