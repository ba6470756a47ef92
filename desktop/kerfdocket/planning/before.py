"""Blowing out and testing the line before the torch is lit: what it takes and what it can show."""

import math
from dataclasses import dataclass

from kerfdocket.job import Hose, Job, Regulator
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.hose import hose_volume_m3
from kerfdocket.physics.leak import (
    purge_time_s,
    smallest_visible_leak_m3_s,
    thermal_pressure_change_pa,
)
from kerfdocket.planning.keys import Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.line import LineResult
from kerfdocket.planning.model import Basis, Estimate, least
from kerfdocket.planning.setting import SettingResult
from kerfdocket.quantity import UnitSystem

__all__ = ["DRIFT_K", "TEST_MIN", "BeforeLighting", "plan_before_lighting", "purge_s"]

# A standing test of the usual length, and the least change that a usual outlet gauge shows; both
# common practice, no source.
TEST_MIN = 5
_OXYGEN_STEP_PA, _FUEL_STEP_PA = 20_000.0, 5_000.0
_SHORTEST_PURGE_S = 5  # shorter cannot be judged by hand: common practice, no source
# A hose that lay in the sun or comes in from the cold drifts by some degrees while it is tested:
# assumed, common practice, no source.
DRIFT_K = 5.0


@dataclass(frozen=True)
class BeforeLighting:
    """Purge times [s], smallest leaks shown [kg/s], drift of the gauges by warmth [Pa]."""

    oxygen_purge: Estimate
    fuel_purge: Estimate
    oxygen_leak: Estimate
    fuel_leak: Estimate
    oxygen_drift: Estimate
    fuel_drift: Estimate

    @property
    def estimates(self) -> tuple[Estimate, ...]:
        """All of them, in the order in which they are shown."""
        return (
            self.oxygen_purge,
            self.fuel_purge,
            self.oxygen_leak,
            self.fuel_leak,
            self.oxygen_drift,
            self.fuel_drift,
        )

    def shown_in(self, units: UnitSystem) -> "BeforeLighting":
        """Return the same with its values written in a system's units."""
        return BeforeLighting(*(estimate.shown_in(units) for estimate in self.estimates))


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
        Purge times, the smallest leaks that a standing test shows, and what warmth alone does.
    """
    oxygen_pressure = line["line.oxygen_regulator_pressure"]
    fuel_pressure = line["line.fuel_regulator_pressure"]
    oxygen, fuel = job.oxygen, job.fuel
    return BeforeLighting(
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
        ),
        _leak(
            job,
            "steps.fuel_smallest_leak",
            setting.fuel,
            fuel.hose,
            fuel.regulator,
            _FUEL_STEP_PA,
        ),
        _drift(job, "steps.oxygen_test_drift", oxygen_pressure),
        _drift(job, "steps.fuel_test_drift", fuel_pressure),
    )


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
    except ValueError as error:
        return withheld(key, f"outside what the formula is good for: {error}")
    basis = Basis(
        "Until 1 % of what was in the hose is left, well mixed, which is the slowest case.",
        "derived",
        least("derived", flow.basis.trust),
        "t = V / q · ln(100)",
        (
            ("hose", units.capacity(volume_m3)),
            ("pressure in it", units.gauge(gauge_pa)),
            (
                "flow",
                f"{units.gas_flow(gas.volume_m3(rate.value))} at {units.gas_reference}",
            ),
        ),
    )
    return estimate(key, Span(*times), basis)


def _leak(
    job: Job, key: str, gas: Gas, hose: Hose, regulator: Regulator, usual_step_pa: float
) -> Estimate:
    stated, units = regulator.gauge_step, job.unit_system
    step_pa = stated.si if stated else usual_step_pa
    volume_m3 = hose_volume_m3(hose.bore.si, hose.length.si)
    leak_m3_s = smallest_visible_leak_m3_s(volume_m3, step_pa, TEST_MIN * 60.0)
    basis = Basis(
        f"A change of {units.gauge(step_pa)} is the least that the gauge shows "
        f"({'as stated' if stated else 'assumed'}); over {TEST_MIN} minutes, hose volume alone, "
        "temperature steady.",
        "derived" if stated else "derived; gauge assumed: common practice, no source",
        "derived" if stated else "common practice, no source",
        "q = V · Δp / (1 bar · t)",
        (("hose", units.capacity(volume_m3)),),
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
        f"For a change of {units.degrees(DRIFT_K)} in the hose, up or down: falling, it looks "
        "like a leak; rising, it hides one. Up to 8 % more for propane, as a real gas.",
        "derived: gas law",
        "derived",
        "Δp = p_abs · ΔT / T",
        (
            ("set pressure", units.gauge(gauge_pa)),
            ("air", f"{units.air(job.site.air_abs_pa)} absolute"),
            ("temperature", units.stated(job.site.temperature)),
        ),
    )
    return estimate(key, Span.exact(change_pa), basis)
