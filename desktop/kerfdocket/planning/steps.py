"""Stage 11: the work in order, with this job's own values in each step.

The order of the steps is common practice, no source; the equipment's own instructions come first.
"""

import math
from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, counted, decimal_text, listed, marked, sense
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
    None: marked("Light in the order that the torch's instructions give."),
    "fuel first": marked(
        "Open the fuel valve a little, light it, open it until the flame stops smoking; then the "
        "oxygen."
    ),
    "oxygen first": marked(
        "Open the heating oxygen a little, then the fuel valve, and light at once."
    ),
}
_THREADS = {"left": marked("left-hand thread"), "right": marked("right-hand thread")}


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
    """What to set something to: a setting as an instruction, or the word that it is none."""
    if one.is_withheld:
        return _("the pressure of the nozzle's chart")
    if one.is_unverified:
        return _("the pressure of the nozzle's chart (guide only: {range})", range=_spread(one))
    return one.value_text


def _check(job: Job, reference: Reference) -> tuple[Step, ...]:
    group = sense("heading of steps", "Before anything else")
    unit = job.unit_system.unit("m")
    away = math.ceil(LENGTH.from_si(reference.hot_work_distance_m().value, unit) - 0.01)
    return (
        Step(
            group,
            _(
                "Clear or cover what can burn within {distance}; extinguisher and fire watch in "
                "place; permit where the place asks for one.",
                distance=f"{away} {unit}",
            ),
            _("Sparks and slag fly and roll far."),
        ),
        Step(
            group,
            _(
                "Look over regulators, arrestors, hoses, torch and nozzle: no damage, no oil or "
                "grease, in date. Put on protective equipment."
            ),
            _("Damaged or oily equipment burns or leaks; oil catches fire by itself in oxygen."),
        ),
    )


def _valve(job: Job, gas: str) -> str:
    """What is opened and shut for a gas: a cylinder's valve, or the outlet of a main or tank."""
    supply = job.oxygen if gas == "oxygen" else job.fuel
    if not supply.comes_from_main:
        return _("{gas} cylinder valve", gas=_(gas))
    if supply.supply == "tank":
        return _("{gas} outlet of the tank", gas=_(gas))
    return _("{gas} outlet of the main", gas=_(gas))


def _assemble(job: Job, reference: Reference, nozzle: NozzleResult) -> tuple[Step, ...]:
    group = sense("heading of steps", "Assemble")
    oxygen, fuel = reference.gas("oxygen"), reference.gas(job.fuel.gas)
    fuel_name = _(job.fuel.gas)
    names = ((_("oxygen"), job.oxygen), (fuel_name, job.fuel))
    in_cylinders = [name for name, supply in names if not supply.comes_from_main]
    outlets = [name for name, supply in names if supply.comes_from_main]
    said = []
    if in_cylinders:
        gases = listed(in_cylinders)
        said.append(_("Cylinders upright and tied, {gases}; caps off.", gases=gases))
    if outlets:
        said.append(_("Outlet of {gases} closed and tagged.", gases=listed(outlets)))
    steps = [Step(group, " ".join(said), _("A cylinder that falls can lose its valve."))]
    if in_cylinders:
        blow = _(
            "Stand to one side. Open each cylinder valve a little for a moment, close it: blow "
            "the outlet clean."
        )
        if not job.fuel.comes_from_main:
            outdoors = _("Fuel gas only in the open air, away from any flame.")
            blow = f"{blow} {outdoors}"
        steps.append(
            Step(
                group,
                blow,
                _("Dust in the regulator can catch fire in oxygen, or make it creep."),
            )
        )
    return (
        *steps,
        Step(
            group,
            _(
                "Fit the regulators, then an arrestor on each: oxygen {oxygen_thread}, {fuel} "
                "{fuel_thread} ({fuel_nut}). Hand-tight, then with the fitting spanner; no "
                "sealant, no oil.",
                oxygen_thread=_(_THREADS[oxygen.thread_hand]),
                fuel=fuel_name,
                fuel_thread=_(_THREADS[fuel.thread_hand]),
                fuel_nut=_(fuel.nut),
            ),
            _("The two hands of thread keep the gases from being mixed up."),
        ),
        Step(
            group,
            _(
                "Hoses: {hoses}. Look along the whole length. Blow each out before the torch goes "
                "on.",
                hoses="; ".join(_hoses(job, reference)),
            ),
            _(
                "Other countries have other colours: read the marking. Talc and dust block the "
                "torch."
            ),
        ),
        Step(
            group,
            _(
                "Nozzle with {bore} cutting bore for {fuel}. Read maker, type and cutting range "
                "off it and write them down. Seat clean; tighten as the torch's instructions say.",
                bore=nozzle["nozzle.bore"].value_text,
                fuel=fuel_name,
            ),
            _("A nozzle of another torch or gas, or a dirty seat, leads to flashback."),
        ),
    )


def _hoses(job: Job, reference: Reference) -> list[str]:
    """Each hose with the colour and the letter that it must have here, and its size."""
    lines = [(_("oxygen"), "oxygen", job.oxygen.hose)]
    if job.torch.oxygen_hoses == 2:
        lines.append((_("heating oxygen"), "oxygen", job.oxygen.heating.hose))
    lines.append((_(job.fuel.gas), job.fuel.gas, job.fuel.hose))
    units = job.unit_system
    return [
        _(
            "{hose} {colour}, {letter}, {bore} × {length}",
            hose=name,
            colour=_(reference.hose_colour(gas, job.region).text),
            letter=reference.gas(gas).letter,
            bore=units.stated(hose.bore),
            length=units.stated(hose.length),
        )
        for name, gas, hose in lines
    ]


def _open(job: Job, supplies: tuple[SupplyLine, ...]) -> tuple[Step, ...]:
    group = sense("heading of steps", "Open")
    gauges = [line.text for line in supplies if line.gas == "oxygen" and not line.is_assumed]
    if job.fuel.gas == "acetylene" and not job.fuel.comes_from_main:
        fuel = _("Open the acetylene cylinder valve no more than 1½ turns; leave the key on it.")
    else:
        fuel = _("Open the {valve} slowly.", valve=_valve(job, job.fuel.gas))
    if job.oxygen.comes_from_main:
        valve = _valve(job, "oxygen")
        oxygen = _("Stand aside of the regulator. Open the {valve} slowly.", valve=valve)
    else:
        oxygen = _(
            "Stand aside of the regulator. Open the oxygen cylinder valve slowly, then fully. "
            "Write down the contents gauge."
        )
        if gauges:
            expected = _("Expected: {gauges}.", gauges="; ".join(gauges))
            oxygen = f"{oxygen} {expected}"
    return (
        Step(
            group,
            _("All regulator screws turned out until loose; all torch valves closed."),
            _("A rush of gas into a loaded regulator can burst its diaphragm."),
        ),
        Step(group, oxygen, _("Oxygen let in fast heats up and can set fire to the regulator.")),
        Step(group, fuel, _("It must be shut at once in an emergency.")),
    )


def _leak_test(job: Job, line: LineResult, before: BeforeLighting) -> tuple[Step, ...]:
    group = sense("heading of steps", "Leak test")
    oxygen = _reading(line["line.oxygen_regulator_pressure"])
    fuel = _reading(line["line.fuel_regulator_pressure"])
    minutes = max(job.oxygen.standing_test.time.si, job.fuel.standing_test.time.si) / 60.0
    if job.torch.oxygen_hoses == 2:
        load = _(
            "Torch valves closed: turn the regulator screws in, oxygen to {oxygen}, heating "
            "oxygen to {heating}, fuel gas to {fuel}.",
            oxygen=oxygen,
            heating=_reading(line["line.heating_oxygen_regulator_pressure"]),
            fuel=fuel,
        )
    else:
        load = _(
            "Torch valves closed: turn the regulator screws in, oxygen to {oxygen}, fuel gas to "
            "{fuel}.",
            oxygen=oxygen,
            fuel=fuel,
        )
    brush = _(
        "Brush every joint from cylinder to torch with leak-detection fluid. Never test with a "
        "flame."
    )
    stand = [
        counted(
            "Close the supply valves; the gauges must stand still for {count} minute (this "
            "shows gross leaks only: oxygen {oxygen_leak}, {fuel} {fuel_leak} or more).",
            "Close the supply valves; the gauges must stand still for {count} minutes (this "
            "shows gross leaks only: oxygen {oxygen_leak}, {fuel} {fuel_leak} or more).",
            round(minutes),
            oxygen_leak=before["steps.oxygen_smallest_leak"].value_text,
            fuel=_(job.fuel.gas),
            fuel_leak=before["steps.fuel_smallest_leak"].stated_text,
        )
    ]
    drifts = [
        drift.value_text
        for drift in (before["steps.oxygen_test_drift"], before["steps.fuel_test_drift"])
        if not drift.is_withheld
    ]
    if drifts:
        stand.append(
            _(
                "{degrees} warmer or colder alone moves it {drifts}.",
                degrees=job.unit_system.degrees(DRIFT_K),
                drifts=listed(drifts),
            )
        )
    stand.append(
        _("Bubbles or a falling gauge: shut, vent, put it right, test again. Do not light.")
    )
    return (
        Step(group, f"{load} {brush}", _("A leak feeds a fire, and a flame finds it first.")),
        Step(
            group,
            " ".join(stand),
            _("The fluid stays the fine test: a gauge shows a leak only by what it loses."),
        ),
    )


def _let_flow(purge: Estimate) -> str:
    """How long to let it flow."""
    seconds = purge_s(purge)
    if seconds is None:
        return _("Let it flow for some seconds, then close it.")
    return _("Let it flow for {seconds} s, then close it.", seconds=decimal_text(seconds))


def _purge_and_set(job: Job, line: LineResult, before: BeforeLighting) -> tuple[Step, ...]:
    group = sense("heading of steps", "Blow out and set")
    oxygen = [
        _(
            "Cutting oxygen valve open: set the oxygen regulator to {pressure} while it flows.",
            pressure=_reading(line["line.oxygen_regulator_pressure"]),
        ),
        _let_flow(before["steps.oxygen_purge"]),
    ]
    if job.torch.oxygen_hoses == 2:
        oxygen.append(
            _(
                "The heating oxygen the same way, with its own valve and regulator: {pressure}.",
                pressure=_reading(line["line.heating_oxygen_regulator_pressure"]),
            )
        )
    fuel = [
        _(
            "Fuel valve open, in the open air and away from any flame: set the fuel regulator to "
            "{pressure} while it flows.",
            pressure=_reading(line["line.fuel_regulator_pressure"]),
        ),
        _let_flow(before["steps.fuel_purge"]),
    ]
    return (
        Step(
            group,
            " ".join(oxygen),
            _("A pressure set without flow drops as soon as gas is drawn."),
        ),
        Step(
            group,
            " ".join(fuel),
            _("A hose that holds both gases makes a flashback when lit."),
        ),
    )


def _light(job: Job, reference: Reference) -> tuple[Step, ...]:
    group = sense("heading of steps", "Light")
    flame = [
        _(
            "Open heating oxygen until the cones at the nozzle are short, sharp and bright: the "
            "neutral flame."
        )
    ]
    if job.torch.flame == "neutral":
        flame.append(_("Open cutting oxygen, set the flame neutral again, close it."))
    else:
        look = _(reference.flame(job.fuel.gas).kinds[job.torch.flame].look)
        flame.append(
            _("Then set it {flame}, as planned: {look}", flame=_(job.torch.flame), look=look)
        )
        flame.append(_("Open cutting oxygen, set the flame again, close it."))
    order = _(_LIGHTING[job.torch.lighting])
    lighter = _("Spark lighter, nozzle away from people, hoses and cylinders.")
    return (
        Step(
            group,
            f"{order} {lighter}",
            _(
                "Some torches are lit with fuel gas alone, some with a little oxygen: their "
                "instructions say it."
            ),
        ),
        Step(
            group,
            " ".join(flame),
            _("Drawing cutting oxygen lowers the pressure of the heating flame."),
        ),
    )


def _cut(job: Job, steel: SteelResult, cut: CutResult) -> tuple[Step, ...]:
    group = sense("heading of steps", "Cut")
    steps: list[Step] = []
    if steel.preheat_k is not None:
        steps.append(
            Step(
                group,
                _(
                    "Heat the plate to {temperature} along the whole cut; measure beside the cut, "
                    "and keep it there.",
                    temperature=job.unit_system.temperature(steel.preheat_k),
                ),
                _("This steel hardens and can crack at a cold edge."),
            )
        )
    start, pierce, speed = cut["cut.start_time"], cut["cut.pierce_time"], cut["cut.speed"]
    if cut.edge_starts:
        steps.append(
            Step(
                group,
                _(
                    "Edge start: heat the upper edge until it glows bright red{time}, then open "
                    "cutting oxygen slowly.",
                    time=_guide(start),
                ),
                _("Steel must reach its ignition temperature before oxygen can burn it."),
            )
        )
    if cut.pierces:
        steps.append(
            Step(
                group,
                _(
                    "Pierce: heat until bright{time}, raise the nozzle, open cutting oxygen "
                    "slowly, move sideways, never straight away from you; lower it when it is "
                    "through.",
                    time=_guide(pierce),
                ),
                _("Slag is thrown up until the jet is through."),
            )
        )
    steps.append(
        Step(
            group,
            _(
                "Move evenly{speed}. The slag must leave downwards with little drag; slower if it "
                "does not, faster if the upper edge melts.",
                speed=_guide(speed),
            ),
            _("The sound and the slag show more than a number does."),
        )
    )
    return tuple(steps)


def _change(change_overs: tuple[ChangeOver, ...]) -> tuple[Step, ...]:
    changing = [one for one in change_overs if len(one.spells) > 1]
    if not changing:
        return ()
    change = _(
        "Changing a cylinder (order: front): flame out; close it, vent its line, release "
        "the regulator. Next one on, leak-test the joint, open slowly, set again under "
        "flow."
    )
    return (
        Step(
            sense("heading of steps", "Cut"),
            " ".join((change, *map(_noted, changing))),
            _("Air or the other gas in the line makes a flashback when it is lit again."),
        ),
    )


def _noted(one: ChangeOver) -> str:
    """What to write down at a change: without it nobody knows afterwards what was used."""
    if one.gas == "oxygen":
        return _(
            "Oxygen: write down its gauge (back) before closing the old, after opening the next."
        )
    if one.is_side_by_side:
        return _(
            "Fuel gas: weigh old and next, those side by side added up; write both down (back)."
        )
    return _("Fuel gas: weigh old and next; write both down (back).")


def _guide(one: Estimate) -> str:
    """A value in brackets after what it belongs to, nothing where it is withheld."""
    if one.is_withheld:
        return ""
    if one.is_unverified:
        return _(" (guide only: {range})", range=_spread(one))
    return f" ({one.value_text})"


def _shut_down(job: Job) -> tuple[Step, ...]:
    group = sense("heading of steps", "Shut down")
    return (
        Step(
            group,
            _(
                "Close cutting oxygen. Close fuel gas first, then heating oxygen, unless the "
                "torch's instructions give another order."
            ),
            _("Without fuel the flame is out at once."),
        ),
        Step(
            group,
            _(
                "Close the {fuel_valve} and the {oxygen_valve}.",
                fuel_valve=_valve(job, job.fuel.gas),
                oxygen_valve=_valve(job, "oxygen"),
            ),
            _("A torch valve alone does not hold for a break or overnight."),
        ),
        Step(
            group,
            _(
                "Vent one line at a time: open fuel at the torch until both its gauges stand at "
                "zero, close; then oxygen the same way. Away from flames."
            ),
            _("One after the other, so that neither gas can run into the other's hose."),
        ),
        Step(
            group,
            _(
                "Turn all regulator screws out until loose. Take apart in reverse order; caps "
                "on. Write down the contents gauge and weights."
            ),
            _("A regulator left under spring tension takes the next opening as a blow."),
        ),
        Step(
            group,
            _(
                "Mark hot parts. Fire watch: at least 30 minutes after the last cut, longer where "
                "local rules say so."
            ),
            _("Fires from cutting often break out after work has stopped."),
        ),
    )
