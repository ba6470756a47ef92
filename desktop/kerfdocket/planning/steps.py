"""Stage 11: the work in order, with this job's own values in each step.

The order of the steps is common practice, no source; the equipment's own instructions come first.
"""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.physics.gas import STANDARD_ATMOSPHERE_PA, Gas
from kerfdocket.physics.hose import hose_volume_m3
from kerfdocket.physics.leak import purge_time_s
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.line import LineResult
from kerfdocket.planning.model import Estimate, StageResult, Step, SupplyLine
from kerfdocket.planning.nozzle import NozzleResult
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.steel import SteelResult
from kerfdocket.quantity import value_text
from kerfdocket.reference import Reference

__all__ = ["StepsResult", "plan_steps"]

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
    """Write the steps.

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
        The steps; none where the material cannot be cut or there is no nozzle.
    """
    if nozzle.bore_m is None:
        return StepsResult("steps")
    steps = (
        *_check(reference),
        *_assemble(job, reference, nozzle),
        *_open(job, supplies),
        *_leak_test(line),
        *_purge_and_set(job, setting, line),
        *_light(),
        *_cut(steel, cut),
        *_shut_down(job),
    )
    return StepsResult("steps", steps=steps)


def _spread(one: Estimate) -> str:
    return f"{one.range_text or one.value_text.split()[0]} {one.unit_text}".strip()


def _reading(one: Estimate) -> str:
    """A setting as an instruction, or the word that it is none."""
    if one.is_withheld:
        return "the pressure of the nozzle's chart"
    if one.is_unverified:
        return f"the pressure of the nozzle's chart (guide only: {_spread(one)})"
    return one.value_text


def _is_main(job: Job) -> bool:
    return (job.fuel.supply or ("main" if job.fuel.gas == "natural gas" else "cylinders")) == "main"


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
    if _is_main(job):
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
    if _is_main(job):
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


def _leak_test(line: LineResult) -> tuple[Step, ...]:
    oxygen = _reading(line["line.oxygen_regulator_pressure"])
    fuel = _reading(line["line.fuel_regulator_pressure"])
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
            "Close the supply valves; the gauges must stand still for 5 minutes. Bubbles or a "
            "falling gauge: shut, vent, put it right, test again. Do not light.",
            "The gauge shows gross leaks; the fluid shows fine ones.",
        ),
    )


def _purge_s(job: Job, gas: Gas, flow: Estimate, bore_m: float, length_m: float) -> int:
    if flow.value_si is None or flow.low_si is None or flow.low_si <= 0:
        return 0
    seconds = purge_time_s(
        gas,
        hose_volume_m3(bore_m, length_m),
        flow.low_si,
        # The hose stands under pressure; at the air's pressure its content would go sooner.
        STANDARD_ATMOSPHERE_PA,
        job.site.temperature.si,
    )
    return max(round(seconds), _SHORTEST_PURGE_S)


def _purge_and_set(job: Job, setting: SettingResult, line: LineResult) -> tuple[Step, ...]:
    oxygen_s = _purge_s(
        job,
        setting.oxygen,
        setting["setting.cutting_oxygen_flow"],
        job.oxygen.hose.bore.si,
        job.oxygen.hose.length.si,
    )
    fuel_s = _purge_s(
        job,
        setting.fuel,
        setting["setting.fuel_flow"],
        job.fuel.hose.bore.si,
        job.fuel.hose.length.si,
    )
    oxygen = _reading(line["line.oxygen_regulator_pressure"])
    fuel = _reading(line["line.fuel_regulator_pressure"])
    wait = "Let it flow for at least {} s, then close it."
    return (
        Step(
            "Blow out and set",
            f"Cutting oxygen valve open: set the oxygen regulator to {oxygen} while it flows. "
            + (wait.format(oxygen_s) if oxygen_s else "Close it."),
            "A pressure set without flow drops as soon as gas is drawn.",
        ),
        Step(
            "Blow out and set",
            f"Fuel valve open, in the open air and away from any flame: set the fuel regulator to "
            f"{fuel} while it flows. " + (wait.format(fuel_s) if fuel_s else "Close it."),
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
    fuel_source = "fuel outlet of the main" if _is_main(job) else "fuel cylinder valve"
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
