"""Stage 11: the work in order, with this job's own values in each step.

The order of the steps is common practice, no source; the equipment's own instructions come first.
"""

import math
from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.planning.before import DRIFT_K, BeforeLighting, purge_s
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.line import LineResult
from kerfdocket.planning.model import ChangeOver, Estimate, StageResult, Step, SupplyLine
from kerfdocket.planning.nozzle import NozzleResult
from kerfdocket.planning.steel import SteelResult
from kerfdocket.quantity import LENGTH
from kerfdocket.reference import Reference

__all__ = ["StepsResult", "plan_steps"]


# What is done first is a property of the torch, never a matter of taste.
_LIGHTING = {
    None: "Light in the order that the torch's instructions give.",
    "fuel first": "Open the fuel valve a little, light it, open it until the flame stops smoking; "
    "then the oxygen.",
    "oxygen first": "Open the heating oxygen a little, then the fuel valve, and light at once.",
}


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
    line: LineResult,
    before: BeforeLighting,
    cut: CutResult,
    supplies: tuple[SupplyLine, ...],
    change_overs: tuple[ChangeOver, ...],
) -> StepsResult:
    """Write the steps.

    Args:
        job: the job.
        reference: the tables.
        steel: the steel stage.
        nozzle: the nozzle stage.
        line: the line stage.
        before: blowing out and testing the line.
        cut: the cut stage.
        supplies: the cylinders on hand.
        change_overs: in which order they are emptied.

    Returns:
        The tests before lighting and the steps; no steps where the material cannot be cut or
        there is no nozzle.
    """
    if nozzle.bore_m is None:
        return StepsResult("steps", before.estimates, before.findings)
    steps = (
        *_check(job, reference),
        *_assemble(job, reference, nozzle),
        *_open(job, supplies),
        *_leak_test(job, line, before),
        *_purge_and_set(job, line, before),
        *_light(job, reference),
        *_cut(job, steel, cut),
        *_change(change_overs),
        *_shut_down(job),
    )
    return StepsResult("steps", before.estimates, before.findings, steps)


def _spread(one: Estimate) -> str:
    return f"{one.range_text or one.value_text.split()[0]} {one.unit_text}".strip()


def _reading(one: Estimate) -> str:
    """A setting as an instruction, or the word that it is none."""
    if one.is_withheld:
        return "the pressure of the nozzle's chart"
    if one.is_unverified:
        return f"the pressure of the nozzle's chart (guide only: {_spread(one)})"
    return one.value_text


def _check(job: Job, reference: Reference) -> tuple[Step, ...]:
    unit = job.unit_system.unit("m")
    away = math.ceil(LENGTH.from_si(reference.hot_work_distance_m().value, unit) - 0.01)
    return (
        Step(
            "Before anything else",
            f"Clear or cover what can burn within {away} {unit}; extinguisher and fire watch in "
            "place; permit where the place asks for one.",
            "Sparks and slag fly and roll far.",
        ),
        Step(
            "Before anything else",
            "Look over regulators, arrestors, hoses, torch and nozzle: no damage, no oil or "
            "grease, in date. Put on protective equipment.",
            "Damaged or oily equipment burns or leaks; oil catches fire by itself in oxygen.",
        ),
    )


def _valve(job: Job, gas: str) -> str:
    """What is opened and shut for a gas: a cylinder's valve, or the outlet of a main or tank."""
    supply = job.oxygen if gas == "oxygen" else job.fuel
    if not supply.comes_from_main:
        return f"{gas} cylinder valve"
    return f"{gas} outlet of the {supply.supply or 'main'}"


def _assemble(job: Job, reference: Reference, nozzle: NozzleResult) -> tuple[Step, ...]:
    oxygen, fuel = reference.gas("oxygen"), reference.gas(job.fuel.gas)
    fuel_name = job.fuel.gas
    in_cylinders = [
        name
        for name, supply in (("oxygen", job.oxygen), (fuel_name, job.fuel))
        if not supply.comes_from_main
    ]
    outlets = [name for name in ("oxygen", fuel_name) if name not in in_cylinders]
    place = f"Cylinders upright and tied, {' and '.join(in_cylinders)}; caps off."
    closed = f"Outlet of {' and '.join(outlets)} closed and tagged."
    said = [place] * bool(in_cylinders) + [closed] * bool(outlets)
    steps = [Step("Assemble", " ".join(said), "A cylinder that falls can lose its valve.")]
    if in_cylinders:
        outdoors = (
            " Fuel gas only in the open air, away from any flame."
            if fuel_name in in_cylinders
            else ""
        )
        steps.append(
            Step(
                "Assemble",
                "Stand to one side. Open each cylinder valve a little for a moment, close it: blow "
                f"the outlet clean.{outdoors}",
                "Dust in the regulator can catch fire in oxygen, or make it creep.",
            )
        )
    return (
        *steps,
        Step(
            "Assemble",
            f"Fit the regulators, then an arrestor on each: oxygen {oxygen.thread_hand}-hand "
            f"thread, {fuel_name} {fuel.thread_hand}-hand thread ({fuel.nut}). Hand-tight, then "
            "with the fitting spanner; no sealant, no oil.",
            "The two hands of thread keep the gases from being mixed up.",
        ),
        Step(
            "Assemble",
            f"Hoses: {'; '.join(_hoses(job, reference))}. Look along the whole length. Blow each "
            "out before the torch goes on.",
            "Other countries have other colours: read the marking. Talc and dust block the torch.",
        ),
        Step(
            "Assemble",
            f"Nozzle with {nozzle['nozzle.bore'].value_text} cutting bore for {fuel_name}. "
            "Read maker, type and cutting range off it and write them down. Seat clean; tighten as "
            "the torch's instructions say.",
            "A nozzle of another torch or gas, or a dirty seat, leads to flashback.",
        ),
    )


def _hoses(job: Job, reference: Reference) -> list[str]:
    """Each hose with the colour and the letter that it must have here, and its size."""
    lines = [("oxygen", "oxygen", job.oxygen.hose)]
    if job.torch.oxygen_hoses == 2:
        lines.append(("heating oxygen", "oxygen", job.oxygen.heating.hose))
    lines.append((job.fuel.gas, job.fuel.gas, job.fuel.hose))
    units = job.unit_system
    return [
        f"{word} {reference.hose_colour(gas, job.region).text}, "
        f"{reference.gas(gas).letter}, {units.stated(hose.bore)} × {units.stated(hose.length)}"
        for word, gas, hose in lines
    ]


def _open(job: Job, supplies: tuple[SupplyLine, ...]) -> tuple[Step, ...]:
    gauges = [line.text for line in supplies if line.gas == "oxygen" and not line.is_assumed]
    expected = f" Expected: {'; '.join(gauges)}." if gauges else ""
    if job.fuel.gas == "acetylene" and not job.fuel.comes_from_main:
        fuel = "Open the acetylene cylinder valve no more than 1½ turns; leave the key on it."
    else:
        fuel = f"Open the {_valve(job, job.fuel.gas)} slowly."
    if job.oxygen.comes_from_main:
        oxygen = f"Stand aside of the regulator. Open the {_valve(job, 'oxygen')} slowly."
    else:
        oxygen = (
            "Stand aside of the regulator. Open the oxygen cylinder valve slowly, then fully. "
            f"Write down the contents gauge.{expected}"
        )
    return (
        Step(
            "Open",
            "All regulator screws turned out until loose; all torch valves closed.",
            "A rush of gas into a loaded regulator can burst its diaphragm.",
        ),
        Step("Open", oxygen, "Oxygen let in fast heats up and can set fire to the regulator."),
        Step("Open", fuel, "It must be shut at once in an emergency."),
    )


def _leak_test(job: Job, line: LineResult, before: BeforeLighting) -> tuple[Step, ...]:
    oxygen = _reading(line["line.oxygen_regulator_pressure"])
    fuel = _reading(line["line.fuel_regulator_pressure"])
    minutes = max(job.oxygen.standing_test.time.si, job.fuel.standing_test.time.si) / 60.0
    heating = (
        f" heating oxygen to {_reading(line['line.heating_oxygen_regulator_pressure'])},"
        if job.torch.oxygen_hoses == 2
        else ""
    )
    shown = (
        f"oxygen {before['steps.oxygen_smallest_leak'].value_text}, "
        f"{job.fuel.gas} {before['steps.fuel_smallest_leak'].value_text} or more"
    )
    drifts = [
        drift.value_text
        for drift in (before["steps.oxygen_test_drift"], before["steps.fuel_test_drift"])
        if not drift.is_withheld
    ]
    warmth = (
        f" {job.unit_system.degrees(DRIFT_K)} of warmth alone move it {' and '.join(drifts)}."
        if drifts
        else ""
    )
    return (
        Step(
            "Leak test",
            f"Torch valves closed: turn the regulator screws in, oxygen to {oxygen},{heating} fuel "
            f"gas to {fuel}. Brush every joint from cylinder to torch with leak-detection fluid. "
            "Never test with a flame.",
            "A leak feeds a fire, and a flame finds it first.",
        ),
        Step(
            "Leak test",
            f"Close the supply valves; the gauges must stand still for {minutes:.0f} minutes (this "
            f"shows gross leaks only: {shown}).{warmth} Bubbles or a falling gauge: shut, vent, "
            "put it right, test again. Do not light.",
            "The fluid stays the fine test: a gauge shows a leak only by what it loses.",
        ),
    )


def _let_flow(purge: Estimate) -> str:
    """How long to let it flow."""
    seconds = purge_s(purge)
    if seconds is None:
        return "Let it flow for some seconds, then close it."
    return f"Let it flow for {seconds:.0f} s, then close it."


def _purge_and_set(job: Job, line: LineResult, before: BeforeLighting) -> tuple[Step, ...]:
    oxygen = _reading(line["line.oxygen_regulator_pressure"])
    fuel = _reading(line["line.fuel_regulator_pressure"])
    heating = (
        " The heating oxygen the same way, with its own valve and regulator: "
        f"{_reading(line['line.heating_oxygen_regulator_pressure'])}."
        if job.torch.oxygen_hoses == 2
        else ""
    )
    return (
        Step(
            "Blow out and set",
            f"Cutting oxygen valve open: set the oxygen regulator to {oxygen} while it flows. "
            f"{_let_flow(before['steps.oxygen_purge'])}{heating}",
            "A pressure set without flow drops as soon as gas is drawn.",
        ),
        Step(
            "Blow out and set",
            "Fuel valve open, in the open air and away from any flame: set the fuel regulator to "
            f"{fuel} while it flows. {_let_flow(before['steps.fuel_purge'])}",
            "A hose that holds both gases makes a flashback when lit.",
        ),
    )


def _light(job: Job, reference: Reference) -> tuple[Step, ...]:
    neutral = (
        "Open heating oxygen until the cones at the nozzle are short, sharp and bright: the "
        "neutral flame."
    )
    if job.torch.flame == "neutral":
        flame = f"{neutral} Open cutting oxygen, set the flame neutral again, close it."
    else:
        kind = reference.flame(job.fuel.gas).kinds[job.torch.flame]
        flame = (
            f"{neutral} Then set it {job.torch.flame}, as planned: {kind.look} Open cutting "
            "oxygen, set the flame again, close it."
        )
    return (
        Step(
            "Light",
            f"{_LIGHTING[job.torch.lighting]} Spark lighter, nozzle away from people, hoses and "
            "cylinders.",
            "Some torches are lit with fuel gas alone, some with a little oxygen: their "
            "instructions say it.",
        ),
        Step("Light", flame, "Drawing cutting oxygen lowers the pressure of the heating flame."),
    )


def _cut(job: Job, steel: SteelResult, cut: CutResult) -> tuple[Step, ...]:
    steps: list[Step] = []
    if steel.preheat_k is not None:
        steps.append(
            Step(
                "Cut",
                f"Heat the plate to {job.unit_system.temperature(steel.preheat_k)} along the whole "
                "cut; measure beside the cut, and keep it there.",
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


def _change(change_overs: tuple[ChangeOver, ...]) -> tuple[Step, ...]:
    if all(len(one.spells) < 2 for one in change_overs):
        return ()
    return (
        Step(
            "Cut",
            "Changing a cylinder (order: front): flame out; close it, vent its line, release the "
            "regulator. Next one on, leak-test the joint, open slowly, set again under flow.",
            "Air or the other gas in the line makes a flashback when it is lit again.",
        ),
    )


def _guide(one: Estimate) -> str:
    if one.is_withheld:
        return ""
    return f" (guide only: {_spread(one)})" if one.is_unverified else f" ({one.value_text})"


def _shut_down(job: Job) -> tuple[Step, ...]:
    return (
        Step(
            "Shut down",
            "Close cutting oxygen. Close fuel gas first, then heating oxygen, unless the torch's "
            "instructions give another order.",
            "Without fuel the flame is out at once.",
        ),
        Step(
            "Shut down",
            f"Close the {_valve(job, job.fuel.gas)} and the {_valve(job, 'oxygen')}.",
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
