"""Blowing out and testing the line before the torch is lit: what it takes and what it can show."""

import math
from dataclasses import dataclass

from kerfdocket.job import Fuel, Hose, Job, Oxygen, Regulator
from kerfdocket.language import _, counted, marked, sense, titled
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.hose import hose_volume_m3
from kerfdocket.physics.leak import (
    leak_rate_kg_s,
    purge_time_s,
    smallest_visible_leak_m3_s,
    thermal_pressure_change_pa,
)
from kerfdocket.planning.keys import Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.line import LineResult
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult, least
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.sources import DERIVED, GAS_LAW, NO_SOURCE, THIS_PROGRAM
from kerfdocket.quantity import GAS_FLOW
from kerfdocket.reference.table import join_sources

__all__ = ["DRIFT_K", "BeforeLighting", "plan_before_lighting", "purge_s"]

# The least change that a usual outlet gauge shows: common practice, no source.
_OXYGEN_STEP_PA, _FUEL_STEP_PA = 20_000.0, 5_000.0
_SHORTEST_PURGE_S = 5  # shorter cannot be judged by hand: common practice, no source
# A hose that lay in the sun or comes in from the cold drifts by some degrees while it is tested:
# assumed, common practice, no source.
DRIFT_K = 5.0
# A gauge that moves by fewer steps than this between nothing and the test pressure shows no leak:
# common practice, no source.
_LEAST_STEPS = 3.0
# How well the gas in a hose is known by a thermometer on it, or by none: assumed, common practice,
# no source.
_MEASURED_DOUBT_K, _UNMEASURED_DOUBT_K = 0.5, 2.0
_GAUGE_ASSUMED = join_sources(DERIVED, marked("gauge assumed: common practice, no source"))


@dataclass(frozen=True)
class BeforeLighting(StageResult):
    """Purge times [s], leaks shown and found [kg/s], drift of the gauges [Pa]."""


def purge_s(purge: Estimate) -> float | None:
    """Return how long the steps tell to let a gas flow [s]: the slow end, as the flow may be small.

    Args:
        purge: time to blow out a hose. [s]

    Returns:
        Whole seconds, never too short to be judged by hand; None where it is withheld.
    """
    if purge.high_si is None:
        return None
    return float(max(math.ceil(purge.high_si), _SHORTEST_PURGE_S))


def plan_before_lighting(job: Job, setting: SettingResult, line: LineResult) -> BeforeLighting:
    """Work out the tests before lighting.

    Args:
        job: the job.
        setting: the setting stage.
        line: the line stage.

    Returns:
        Purge times, the smallest leaks that a standing test shows, what warmth alone does, and what
        a test that was read has shown.
    """
    findings: list[Finding] = []
    oxygen_pressure = line["line.oxygen_regulator_pressure"]
    fuel_pressure = line["line.fuel_regulator_pressure"]
    oxygen, fuel = job.oxygen, job.fuel
    estimates = (
        _purge(
            job,
            "steps.oxygen_purge",
            setting.oxygen,
            setting["setting.cutting_oxygen_flow"],
            oxygen_pressure,
            oxygen.hose,
        ),
        _purge(
            job,
            "steps.fuel_purge",
            setting.fuel,
            setting["setting.fuel_flow"],
            fuel_pressure,
            fuel.hose,
        ),
        _leak(
            job,
            "steps.oxygen_smallest_leak",
            setting.oxygen,
            oxygen.hose,
            oxygen.regulator,
            _OXYGEN_STEP_PA,
            oxygen.standing_test.time.si,
        ),
        _leak(
            job,
            "steps.fuel_smallest_leak",
            setting.fuel,
            fuel.hose,
            fuel.regulator,
            _FUEL_STEP_PA,
            fuel.standing_test.time.si,
        ),
        _drift(job, "steps.oxygen_test_drift", oxygen_pressure),
        _drift(job, "steps.fuel_test_drift", fuel_pressure),
        _found(
            job,
            _Tested("oxygen", _("Oxygen"), setting.oxygen, oxygen, _OXYGEN_STEP_PA),
            findings,
        ),
        _found(
            job,
            _Tested("fuel", titled(_(fuel.gas)), setting.fuel, fuel, _FUEL_STEP_PA),
            findings,
        ),
    )
    return BeforeLighting("steps", estimates, tuple(findings))


def _purge(
    job: Job, key: str, gas: Gas, flow: Estimate, pressure: Estimate, hose: Hose
) -> Estimate:
    rate, gauge_pa, units = span_of(flow), pressure.value_si, job.unit_system
    if rate is None or gauge_pa is None:
        return withheld(key, first_reason(flow, pressure))
    volume_m3 = hose_volume_m3(hose.bore.si, hose.length.si)
    try:
        times = [
            # The hose stands at the set pressure, so more gas must pass than at the air's.
            purge_time_s(
                gas,
                volume_m3,
                flow_kg_s,
                gauge_pa + job.site.air_abs_pa,
                job.site.temperature.si,
            )
            for flow_kg_s in reversed(rate)
        ]
    except ValueError:
        return withheld(key, _("the set pressure is outside what the formula is good for"))
    basis = Basis(
        _("Until 1 % of what was in the hose is left, well mixed, which is the slowest case."),
        DERIVED,
        least("derived", flow.basis.trust),
        "t = V / q · ln(100)",
        (
            (_("hose"), units.capacity(volume_m3)),
            (_("pressure in it"), units.gauge(gauge_pa)),
            (
                _("flow"),
                units.at_state(units.gas_flow(gas.volume_m3(rate.value))),
            ),
        ),
    )
    return estimate(key, Span(*times), basis)


def _leak(
    job: Job,
    key: str,
    gas: Gas,
    hose: Hose,
    regulator: Regulator,
    usual_step_pa: float,
    time_s: float,
) -> Estimate:
    stated, units = regulator.gauge_step, job.unit_system
    step_pa = stated.si if stated else usual_step_pa
    volume_m3 = hose_volume_m3(hose.bore.si, hose.length.si)
    leak_m3_s = smallest_visible_leak_m3_s(volume_m3, step_pa, time_s)
    basis = Basis(
        counted(
            "A change of {step} is the least that the gauge shows ({known}); over {count} "
            "minute, hose volume alone, temperature steady.",
            "A change of {step} is the least that the gauge shows ({known}); over {count} "
            "minutes, hose volume alone, temperature steady.",
            round(time_s / 60),
            step=units.gauge(step_pa),
            known=_("as stated") if stated else _("assumed"),
        ),
        DERIVED if stated else _GAUGE_ASSUMED,
        "derived" if stated else "common practice, no source",
        "q = V · Δp / (1 bar · t)",
        ((_("hose"), units.capacity(volume_m3)),),
    )
    return estimate(key, Span.exact(gas.mass_kg(leak_m3_s)), basis, gas)


def _drift(job: Job, key: str, pressure: Estimate) -> Estimate:
    """What a few degrees do to the gauge of a closed line: a leak that is none, or one hidden."""
    gauge_pa, units = pressure.value_si, job.unit_system
    if gauge_pa is None:
        return withheld(key, first_reason(pressure))
    change_pa = thermal_pressure_change_pa(
        gauge_pa + job.site.air_abs_pa, job.site.temperature.si, DRIFT_K
    )
    basis = Basis(
        _(
            "For a change of {degrees} in the hose, up or down: falling, it looks like a leak; "
            "rising, it hides one. Up to 8 % more for propane, as a real gas.",
            degrees=units.degrees(DRIFT_K),
        ),
        GAS_LAW,
        "derived",
        "Δp = p_abs · ΔT / T",
        (
            (_("set pressure"), units.gauge(gauge_pa)),
            (_("air"), _("{pressure} absolute", pressure=units.air(job.site.air_abs_pa))),
            (_("temperature"), units.stated(job.site.temperature)),
        ),
    )
    return estimate(key, Span.exact(change_pa), basis)


@dataclass(frozen=True)
class _Tested:
    """One line that was tested."""

    key: str
    word: str
    gas: Gas
    line: Oxygen | Fuel
    usual_step_pa: float


def _found(job: Job, tested: _Tested, findings: list[Finding]) -> Estimate:
    """What the readings of a standing test show, with the doubt of gauge and temperature."""
    key, test, units = f"steps.{tested.key}_leak_found", tested.line.standing_test, job.unit_system
    if test.begin_gauge is None or test.end_gauge is None:
        if test.begin_gauge is None and test.end_gauge is None:
            return withheld(key, _("no readings of a standing test are stated"))
        reason = _("only one of the two readings is stated")
        findings.append(
            Finding(
                "caution",
                f"{tested.key}.standing_test",
                _("{gas}, standing test: {reason}.", gas=tested.word, reason=reason),
                _("State the gauge at the begin and at the end."),
                THIS_PROGRAM,
            )
        )
        return withheld(key, reason)
    begin_k = (test.begin_temperature or job.site.temperature).si
    end_k = (test.end_temperature or test.begin_temperature or job.site.temperature).si
    is_measured = test.begin_temperature is not None and test.end_temperature is not None
    doubt_k = _MEASURED_DOUBT_K if is_measured else _UNMEASURED_DOUBT_K
    step = tested.line.regulator.gauge_step
    step_pa = step.si if step else tested.usual_step_pa
    if test.begin_gauge.si < _LEAST_STEPS * step_pa:
        reason = _("the pressure is too low for this gauge to show anything")
        findings.append(
            Finding(
                "caution",
                f"{tested.key}.standing_test",
                _("{gas}, standing test: {reason}.", gas=tested.word, reason=reason),
                _("Test at the working pressure, with a finer gauge if need be."),
                NO_SOURCE,
            )
        )
        return withheld(key, reason)
    hose = tested.line.hose
    volume_m3 = hose_volume_m3(hose.bore.si, hose.length.si)
    ends = []
    try:
        # A change that the gauge does not show, and a warming that nobody saw, hide a leak or
        # feign one.
        for sign in (-1.0, 0.0, 1.0):
            ends.append(
                leak_rate_kg_s(
                    tested.gas,
                    volume_m3,
                    test.begin_gauge.si + job.site.air_abs_pa + sign * step_pa,
                    begin_k,
                    test.end_gauge.si + job.site.air_abs_pa,
                    end_k + sign * doubt_k,
                    test.time.si,
                )
            )
    except ValueError:
        return withheld(key, _("the readings are outside what the formula is good for"))
    span = Span(*ends)
    basis = Basis(
        _(
            "Readings of the standing test, hose volume alone; {step} of doubt in the gauge and "
            "{degrees} in the gas ({known}).",
            step=units.gauge(step_pa),
            degrees=units.degrees(doubt_k),
            known=_("thermometer on the hose") if is_measured else _("temperature not measured"),
        ),
        marked("derived: gas law with compressibility"),
        "derived",
        "q = V · (p₁/T₁ − p₂/T₂) · T₁₅ / (1 bar · t)",
        (
            (_("hose"), units.capacity(volume_m3)),
            (_("begin"), f"{units.stated(test.begin_gauge)}, {units.temperature(begin_k)}"),
            (_("end"), f"{units.stated(test.end_gauge)}, {units.temperature(end_k)}"),
            (sense("of two readings", "between"), units.stated(test.time)),
        ),
    )
    _judge(job, tested, span, findings)
    return estimate(key, span, basis, tested.gas)


def _judge(job: Job, tested: _Tested, span: Span, findings: list[Finding]) -> None:
    where = f"{tested.key}.standing_test"
    units = job.unit_system
    low, value, high = (units.text(GAS_FLOW, tested.gas.volume_m3(one), "L/h") for one in span)
    if span.low > 0.0:
        findings.append(
            Finding(
                "stop",
                where,
                _(
                    "{gas}: the standing test shows a leak of about {leak}, at least {least}.",
                    gas=tested.word,
                    leak=value,
                    least=units.at_state(low),
                ),
                _(
                    "Do not light. Shut, vent, find it with leak-detection fluid, put it right, "
                    "test again."
                ),
                GAS_LAW,
            )
        )
    elif span.high < 0.0:
        findings.append(
            Finding(
                "caution",
                where,
                _(
                    "{gas}: the gauge rose in the standing test, which shows nothing of a leak.",
                    gas=tested.word,
                ),
                _(
                    "Let the line come to rest; see whether the supply valve was shut and the "
                    "regulator does not creep; test again."
                ),
                GAS_LAW,
            )
        )
    else:
        findings.append(
            Finding(
                "note",
                where,
                _(
                    "{gas}: the standing test shows no leak; one below {leak} would not have been "
                    "seen.",
                    gas=tested.word,
                    leak=units.at_state(high),
                ),
                _("Leak-detection fluid stays the fine test."),
                GAS_LAW,
            )
        )
