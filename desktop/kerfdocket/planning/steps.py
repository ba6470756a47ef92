"""Stage 11: the work in order, with this job's own values in each step.

The order of the steps is common practice, no source; the equipment's own instructions come first.
"""

import math
from dataclasses import dataclass

from kerfdocket.job import Hose, Job, Regulator
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.hose import hose_volume_m3
from kerfdocket.physics.leak import purge_time_s, smallest_visible_leak_m3_s
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.line import LineResult
from kerfdocket.planning.model import Basis, Estimate, StageResult, Step, SupplyLine, least
from kerfdocket.planning.nozzle import NozzleResult
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.steel import SteelResult
from kerfdocket.quantity import value_text
from kerfdocket.reference import Reference

__all__ = ["StepsResult", "plan_steps"]

# A standing test of the usual length, and the least change that a usual outlet gauge shows; both
# common practice, no source.
_TEST_MIN = 5
_OXYGEN_STEP_PA, _FUEL_STEP_PA = 20_000.0, 5_000.0
_SHORTEST_PURGE_S = 5  # shorter cannot be judged by hand: common practice, no source


@dataclass(frozen=True)
class StepsResult(StageResult):
    """Attributes:
    steps: in the order of the work.
    """

    steps: tuple[Step, ...] = ()


def plan_steps(
    job: Job,
    reference: Reference,
    steel: SteelResult,
    nozzle: NozzleResult,
    setting: SettingResult,
    line: LineResult,
    cut: CutResult,
    supplies: tuple[SupplyLine, ...],
) -> StepsResult:
    """Write the steps, and work out the tests before lighting.

    Args:
        job: the job.
        reference: the tables.
        steel: the steel stage.
        nozzle: the nozzle stage.
        setting: the setting stage.
        line: the line stage.
        cut: the cut stage.
        supplies: the cylinders on hand.

    Returns:
        Purge times, the smallest leak that a standing test shows, and the steps; no steps where
        the material cannot be cut or there is no nozzle.
    """
    tests = _tests(job, setting, line)
    estimates = (tests.oxygen_purge, tests.fuel_purge, tests.oxygen_leak, tests.fuel_leak)
    if nozzle.bore_m is None:
        return StepsResult("steps", estimates)
    steps = (
        *_check(reference),
        *_assemble(job, reference, nozzle),
        *_open(job, supplies),
        *_leak_test(job, line, tests),
        *_purge_and_set(line, tests),
        *_light(),
        *_cut(steel, cut),
        *_shut_down(job),
    )
    return StepsResult("steps", estimates, steps=steps)


def _spread(one: Estimate) -> str:
    return f"{one.range_text or one.value_text.split()[0]} {one.unit_text}".strip()


def _reading(one: Estimate) -> str:
    """A setting as an instruction, or the word that it is none."""
    if one.is_withheld:
        return "the pressure of the nozzle's chart"
    if one.is_unverified:
        return f"the pressure of the nozzle's chart (guide only: {_spread(one)})"
    return one.value_text


def _check(reference: Reference) -> tuple[Step, ...]:
    metres = f"{reference.hot_work_distance_m().value:.0f} m"
    return (
        Step(
            "Before anything else",
            f"Clear or cover what can burn within {metres}; extinguisher and fire watch in place; "
            "permit where the place asks for one.",
            "Sparks and slag fly and roll far.",
        ),
        Step(
            "Before anything else",
            "Look over regulators, arrestors, hoses, torch and nozzle: no damage, no oil or "
            "grease, in date. Put on protective equipment.",
            "Damaged or oily equipment burns or leaks; oil catches fire by itself in oxygen.",
        ),
    )


def _assemble(job: Job, reference: Reference, nozzle: NozzleResult) -> tuple[Step, ...]:
    oxygen, fuel = reference.gas("oxygen"), reference.gas(job.fuel.gas)
    fuel_name = job.fuel.gas
    if job.fuel.comes_from_main:
        cylinders = (
            "Oxygen cylinder upright and tied; cap off. Fuel outlet of the main closed and tagged."
        )
        blow = (
            "Stand to one side. Open the oxygen cylinder valve a little for a moment, close it: "
            "blow the outlet clean."
        )
    else:
        cylinders = "Cylinders upright and tied, oxygen and fuel gas; caps off."
        blow = (
            "Stand to one side. Open each cylinder valve a little for a moment, close it: blow the "
            "outlet clean. Fuel gas only in the open air, away from any flame."
        )
    return (
        Step("Assemble", cylinders, "A cylinder that falls can lose its valve."),
        Step("Assemble", blow, "Dust in the regulator can catch fire in oxygen, or make it creep."),
        Step(
            "Assemble",
            f"Fit the regulators, then an arrestor on each: oxygen {oxygen.thread_hand}-hand "
            f"thread, {fuel_name} {fuel.thread_hand}-hand thread ({fuel.nut}). Hand-tight, then "
            "with the fitting spanner; no sealant, no oil.",
            "The two hands of thread keep the gases from being mixed up.",
        ),
        Step(
            "Assemble",
            f"Hoses: oxygen {oxygen.hose_colour} {job.oxygen.hose.bore} × "
            f"{job.oxygen.hose.length}, {fuel_name} {fuel.hose_colour} {job.fuel.hose.bore} × "
            f"{job.fuel.hose.length}. Look along the whole length. Blow each out before the torch "
            "goes on.",
            "Colours to ISO 3821; other countries have others. Talc and dust block the torch.",
        ),
        Step(
            "Assemble",
            f"Nozzle with {nozzle['nozzle.bore'].value_text} cutting bore for {fuel_name}. "
            "Read maker, type and cutting range off it and write them down. Seat clean; tighten as "
            "the torch's instructions say.",
            "A nozzle of another torch or gas, or a dirty seat, leads to flashback.",
        ),
    )


def _open(job: Job, supplies: tuple[SupplyLine, ...]) -> tuple[Step, ...]:
    gauges = [line.text for line in supplies if line.gas == "oxygen" and not line.is_assumed]
    expected = f" Expected: {'; '.join(gauges)}." if gauges else ""
    if job.fuel.comes_from_main:
        fuel = "Open the fuel outlet of the main slowly."
    elif job.fuel.gas == "acetylene":
        fuel = "Open the acetylene cylinder valve no more than 1½ turns; leave the key on it."
    else:
        fuel = f"Open the {job.fuel.gas} cylinder valve slowly."
    return (
        Step(
            "Open",
            "Both regulator screws turned out until loose; all torch valves closed.",
            "A rush of gas into a loaded regulator can burst its diaphragm.",
        ),
        Step(
            "Open",
            "Stand aside of the regulator. Open the oxygen cylinder valve slowly, then fully. "
            f"Write down the contents gauge.{expected}",
            "Oxygen let in fast heats up and can set fire to the regulator.",
        ),
        Step("Open", fuel, "It must be shut at once in an emergency."),
    )


def _leak_test(job: Job, line: LineResult, tests: "_Tests") -> tuple[Step, ...]:
    oxygen = _reading(line["line.oxygen_regulator_pressure"])
    fuel = _reading(line["line.fuel_regulator_pressure"])
    shown = (
        f"oxygen {tests.oxygen_leak.value_text}, "
        f"{job.fuel.gas} {tests.fuel_leak.value_text} or more"
    )
    return (
        Step(
            "Leak test",
            f"Torch valves closed: turn the regulator screws in, oxygen to {oxygen}, fuel gas to "
            f"{fuel}. Brush every joint from cylinder to torch with leak-detection fluid. Never "
            "test with a flame.",
            "A leak feeds a fire, and a flame finds it first.",
        ),
        Step(
            "Leak test",
            f"Close the supply valves; the gauges must stand still for {_TEST_MIN} minutes (this "
            f"shows gross leaks only: {shown}). Bubbles or a falling gauge: shut, vent, put it "
            "right, test again. Do not light.",
            "The fluid stays the fine test. A change of temperature moves the gauge, too: a third "
            "of a percent of the absolute pressure for each degree.",
        ),
    )


@dataclass(frozen=True)
class _Tests:
    """What the tests before lighting take and can show."""

    oxygen_purge: Estimate
    fuel_purge: Estimate
    oxygen_leak: Estimate
    fuel_leak: Estimate


def _tests(job: Job, setting: SettingResult, line: LineResult) -> _Tests:
    pressures = (line["line.oxygen_regulator_pressure"], line["line.fuel_regulator_pressure"])
    flows = (setting["setting.cutting_oxygen_flow"], setting["setting.fuel_flow"])
    return _Tests(
        _purge(job, "steps.oxygen_purge", setting.oxygen, flows[0], pressures[0], job.oxygen.hose),
        _purge(job, "steps.fuel_purge", setting.fuel, flows[1], pressures[1], job.fuel.hose),
        _leak(
            "steps.oxygen_smallest_leak",
            setting.oxygen,
            job.oxygen.hose,
            job.oxygen.regulator,
            _OXYGEN_STEP_PA,
        ),
        _leak(
            "steps.fuel_smallest_leak",
            setting.fuel,
            job.fuel.hose,
            job.fuel.regulator,
            _FUEL_STEP_PA,
        ),
    )


def _purge(
    job: Job, key: str, gas: Gas, flow: Estimate, pressure: Estimate, hose: Hose
) -> Estimate:
    rate, gauge_pa = span_of(flow), pressure.value_si
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
            ("hose", f"{volume_m3 * 1e3:.2f} L"),
            ("pressure in it", value_text(gauge_pa / 1e5, "bar")),
            ("flow", f"{flow.value_text} at 15 °C and 1 bar absolute"),
        ),
    )
    return estimate(key, Span(*times), basis)


def _leak(key: str, gas: Gas, hose: Hose, regulator: Regulator, usual_step_pa: float) -> Estimate:
    stated = regulator.gauge_step
    step_pa = stated.si if stated else usual_step_pa
    volume_m3 = hose_volume_m3(hose.bore.si, hose.length.si)
    leak_m3_s = smallest_visible_leak_m3_s(volume_m3, step_pa, _TEST_MIN * 60.0)
    basis = Basis(
        f"A change of {value_text(step_pa / 1e5, 'bar')} is the least that the gauge shows "
        f"({'as stated' if stated else 'assumed'}); over {_TEST_MIN} minutes, hose volume alone, "
        "temperature steady.",
        "derived" if stated else "derived; gauge assumed: common practice, no source",
        "derived" if stated else "common practice, no source",
        "q = V · Δp / (1 bar · t)",
        (("hose", f"{volume_m3 * 1e3:.2f} L"),),
    )
    return estimate(key, Span.exact(gas.mass_kg(leak_m3_s)), basis, gas)


def _seconds(purge: Estimate) -> str:
    """How long to let it flow: the slow end of the range, as the flow may be small."""
    if purge.high is None:
        return "Let it flow for some seconds, then close it."
    return f"Let it flow for {max(math.ceil(purge.high), _SHORTEST_PURGE_S)} s, then close it."


def _purge_and_set(line: LineResult, tests: _Tests) -> tuple[Step, ...]:
    oxygen = _reading(line["line.oxygen_regulator_pressure"])
    fuel = _reading(line["line.fuel_regulator_pressure"])
    return (
        Step(
            "Blow out and set",
            f"Cutting oxygen valve open: set the oxygen regulator to {oxygen} while it flows. "
            f"{_seconds(tests.oxygen_purge)}",
            "A pressure set without flow drops as soon as gas is drawn.",
        ),
        Step(
            "Blow out and set",
            "Fuel valve open, in the open air and away from any flame: set the fuel regulator to "
            f"{fuel} while it flows. {_seconds(tests.fuel_purge)}",
            "A hose that holds both gases makes a flashback when lit.",
        ),
    )


def _light() -> tuple[Step, ...]:
    return (
        Step(
            "Light",
            "Light in the order that the torch's instructions give, with a spark lighter, nozzle "
            "away from people, hoses and cylinders.",
            "Some torches are lit with fuel gas alone, some with a little oxygen.",
        ),
        Step(
            "Light",
            "Open heating oxygen until the cones at the nozzle are short, sharp and bright: the "
            "neutral flame. Open cutting oxygen, set the flame neutral again, close it.",
            "Drawing cutting oxygen lowers the pressure of the heating flame.",
        ),
    )


def _cut(steel: SteelResult, cut: CutResult) -> tuple[Step, ...]:
    steps: list[Step] = []
    if steel.preheat_k is not None:
        celsius = value_text(steel.preheat_k - 273.15, "°C")
        steps.append(
            Step(
                "Cut",
                f"Heat the plate to {celsius} along the whole cut; measure beside the cut, and "
                "keep it there.",
                "This steel hardens and can crack at a cold edge.",
            )
        )
    start, pierce, speed = cut["cut.start_time"], cut["cut.pierce_time"], cut["cut.speed"]
    if cut.edge_starts:
        steps.append(
            Step(
                "Cut",
                f"Edge start: heat the upper edge until it glows bright red{_guide(start)}, "
                "then open cutting oxygen slowly.",
                "Steel must reach its ignition temperature before oxygen can burn it.",
            )
        )
    if cut.pierces:
        steps.append(
            Step(
                "Cut",
                f"Pierce: heat until bright{_guide(pierce)}, raise the nozzle, open cutting "
                "oxygen slowly, move sideways, never straight away from you; lower it when it is "
                "through.",
                "Slag is thrown up until the jet is through.",
            )
        )
    steps.append(
        Step(
            "Cut",
            f"Move evenly{_guide(speed)}. The slag must leave downwards with little "
            "drag; slower if it does not, faster if the upper edge melts.",
            "The sound and the slag show more than a number does.",
        )
    )
    return tuple(steps)


def _guide(one: Estimate) -> str:
    if one.is_withheld:
        return ""
    return f" (guide only: {_spread(one)})" if one.is_unverified else f" ({one.value_text})"


def _shut_down(job: Job) -> tuple[Step, ...]:
    fuel_source = "fuel outlet of the main" if job.fuel.comes_from_main else "fuel cylinder valve"
    return (
        Step(
            "Shut down",
            "Close cutting oxygen. Close fuel gas first, then heating oxygen, unless the torch's "
            "instructions give another order.",
            "Without fuel the flame is out at once.",
        ),
        Step(
            "Shut down",
            f"Close the {fuel_source} and the oxygen cylinder valve.",
            "A torch valve alone does not hold for a break or overnight.",
        ),
        Step(
            "Shut down",
            "Vent one line at a time: open fuel at the torch until both its gauges stand at zero, "
            "close; then oxygen the same way. Away from flames.",
            "One after the other, so that neither gas can run into the other's hose.",
        ),
        Step(
            "Shut down",
            "Turn both regulator screws out until loose. Take apart in reverse order; caps on. "
            "Write down the contents gauge and weights.",
            "A regulator left under spring tension takes the next opening as a blow.",
        ),
        Step(
            "Shut down",
            "Mark hot parts. Fire watch: at least 30 minutes after the last cut, longer where "
            "local rules say so.",
            "Fires from cutting often break out after work has stopped.",
        ),
    )
