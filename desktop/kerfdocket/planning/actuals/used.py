"""How much gas was used, by gauge, by weight or by meter; withheld where that is not certain."""

from dataclasses import dataclass, replace
from typing import Literal

from kerfdocket.job import Job
from kerfdocket.language import _, counted
from kerfdocket.physics.cylinder import oxygen_mass_kg
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.orifice import density_kg_m3
from kerfdocket.planning.actuals.doubt import unit_hint
from kerfdocket.planning.actuals.fields import Side
from kerfdocket.planning.actuals.planned import Planned
from kerfdocket.planning.actuals.reading import Actuals, ActualValue
from kerfdocket.planning.keys import Span
from kerfdocket.planning.supply.common import (
    COLDEST_OXYGEN_K,
    TEMPERATURE_DOUBT_K,
    WARMEST_OXYGEN_K,
    WEIGHING_DOUBT_KG,
)
from kerfdocket.quantity import CAPACITY, GAS_VOLUME, GAUGE_PRESSURE, MASS, Measure

__all__ = ["Manner", "Used", "fuel_used", "oxygen_used"]

Manner = Literal["gauge", "weight", "meter"]
Status = Literal["counted", "not stated", "not comparable", "not sensible"]
_MANNERS: dict[str, Manner] = {
    GAUGE_PRESSURE.name: "gauge",
    MASS.name: "weight",
    GAS_VOLUME.name: "meter",
}
# No job takes a cylinder of more, and the formula for oxygen ends just above.
_HIGHEST_GAUGE_PA = 300.0e5
# How much heavier than those of the job another cylinder may be: common practice, no source; below
# the factor of 2 of two that were weighed together, far below the 10 of a lost decimal sign.
_HEAVIER = 1.5
_LARGEST_M3 = 100.0  # of `oxygen_mass_kg`: 100 coupled cylinders of 1000 L, as a job takes them


@dataclass(frozen=True)
class Used:
    """What was used, or why it is not said.

    Attributes:
        status: `counted`, or what stands in the way.
        mass_kg: with its range; only of what is counted. [kg]
        manner: how it was read.
        remarks: in sentences.
    """

    status: Status
    mass_kg: Span | None = None
    manner: Manner | None = None
    remarks: tuple[str, ...] = ()


# From the one reading to the other, of each cylinder that gave gas.
_Spells = tuple[tuple[Measure, Measure], ...]


def oxygen_used(planned: Planned, actuals: Actuals, gas: Gas) -> Used:
    """Return the oxygen that was used.

    Of cylinders the mass at the one gauge less that at the other, by water capacity and the real
    gas; 5 K of doubt in the temperature at each reading, as a cylinder is colder after the work
    than before it.

    Args:
        planned: the job and its plan.
        actuals: as they were read.
        gas: properties of oxygen.
    """
    readings = _readings(actuals, "oxygen")
    if isinstance(readings, Used):
        return readings
    job, manner = planned.job, _MANNERS[readings[0].kind.name]
    if manner == "meter":
        return _by_meter(job, actuals, "oxygen", gas, readings)
    if job.oxygen.comes_from_main:
        reason = _("The gauge of a main or tank does not show how much was taken: read its meter.")
        return Used("not comparable", None, manner, (reason,))
    told = actuals["oxygen_changes"].changes
    begins = (readings[0], *(one.then for one in told))
    if wrong := _gauge_problem(job, begins, (*(one.left for one in told), readings[1])):
        return Used("not sensible", None, manner, wrong)
    spells = _spells(planned, actuals, "oxygen", readings)
    if isinstance(spells, Used):
        return replace(spells, manner=manner)
    if rises := _rises(job, spells):
        return Used("not sensible", None, manner, (rises,))
    capacity_m3 = _capacity_m3(job, actuals["oxygen_capacity"])
    if isinstance(capacity_m3, str):
        return Used("not comparable", None, manner, (capacity_m3,))
    coldest_k, warmest_k = _temperatures_k(job)
    if not COLDEST_OXYGEN_K - 1e-6 <= coldest_k <= warmest_k <= WARMEST_OXYGEN_K + 1e-6:
        reason = _(
            "The cylinders are outside {low} to {high}, where the formula for oxygen ends.",
            low=job.unit_system.temperature(COLDEST_OXYGEN_K),
            high=job.unit_system.temperature(WARMEST_OXYGEN_K),
        )
        return Used("not comparable", None, manner, (reason,))

    def mass_kg(reading: Measure, temperature_k: float) -> float:
        kelvin = min(max(temperature_k, COLDEST_OXYGEN_K), WARMEST_OXYGEN_K)
        return oxygen_mass_kg(capacity_m3, reading.si, job.site.air_abs_pa, kelvin, gas)

    cold_k, warm_k = coldest_k - TEMPERATURE_DOUBT_K, warmest_k + TEMPERATURE_DOUBT_K
    middle_k = (coldest_k + warmest_k) / 2.0
    low = value = high = 0.0
    for begin, end in spells:
        # Gas that was warmer at first and colder afterwards than is thought is less, and the
        # reverse.
        low += max(mass_kg(begin, warm_k) - mass_kg(end, cold_k), 0.0)
        value += mass_kg(begin, middle_k) - mass_kg(end, middle_k)
        high += mass_kg(begin, cold_k) - mass_kg(end, warm_k)
    remarks = _on_changes(job, actuals["oxygen_changes"])
    used = Used("counted", Span(min(low, value), value, max(high, value)), manner, remarks)
    # The one that was open may have been fuller than the job says, so this is only remarked.
    return _within_what_was_there(job, "oxygen", gas, used, is_changed=True)


def fuel_used(planned: Planned, actuals: Actuals, gas: Gas) -> Used:
    """Return the fuel gas that was used: the one weight less the other, or by its meter.

    Args:
        planned: the job and its plan.
        actuals: as they were read.
        gas: properties of the fuel gas.
    """
    readings = _readings(actuals, "fuel")
    if isinstance(readings, Used):
        return readings
    job, units = planned.job, planned.job.unit_system
    manner = _MANNERS[readings[0].kind.name]
    if manner == "meter":
        return _by_meter(job, actuals, "fuel", gas, readings)
    is_of_tank = job.fuel.comes_from_main
    spells = (readings,) if is_of_tank else _spells(planned, actuals, "fuel", readings)
    if isinstance(spells, Used):
        return replace(spells, manner=manner)
    if wrong := _rises(job, spells):
        return Used("not sensible", None, manner, (wrong,))
    remarks = () if is_of_tank else _on_changes(job, actuals["fuel_changes"])
    value = sum(begin.si - end.si for begin, end in spells)
    doubt = 2.0 * WEIGHING_DOUBT_KG * len(spells)
    used = Used("counted", Span(max(value - doubt, 0.0), value, value + doubt), manner, remarks)
    if is_of_tank:
        return _within_what_was_there(job, "fuel", gas, used, is_changed=False)
    together = actuals["fuel_weighed"]
    if together.problem:
        return Used("not comparable", None, manner, (together.problem,))
    beside = planned["supply.fuel_side_by_side"].span_si
    if together.count is None and beside is not None and beside.value > 1.0:
        reason = counted(
            "The plan has {count} cylinder side by side: enter how many were weighed together.",
            "The plan has {count} cylinders side by side: enter how many were weighed together.",
            round(beside.value),
        )
        return Used("not comparable", None, manner, (reason,))
    number = 1 if together.count is None else together.count
    cylinders = job.fuel.cylinders
    if number < 1:
        reason = _("No cylinder was weighed, and yet there are weights: look at both.")
        return Used("not sensible", None, manner, (reason,))
    if heavy := _too_heavy(job, number, spells):
        return Used("not sensible", None, manner, (heavy,))
    if cylinders:
        empty_kg = number * min(one.weight_empty.si for one in cylinders)
        lightest = min((end for _begin, end in spells), key=lambda end: end.si)
        if lightest.si < empty_kg - number * WEIGHING_DOUBT_KG:
            weight, empty = units.apart(MASS, lightest, empty_kg)
            reason = _(
                "{weight} is less than the cylinders weigh empty, {empty}: weigh again, and look "
                "at the tare that is stamped on them.",
                weight=weight,
                empty=empty,
            )
            return Used("not sensible", None, manner, (reason,))
    return _within_what_was_there(job, "fuel", gas, used, is_changed=len(spells) > 1)


def _too_heavy(job: Job, number: int, spells: _Spells) -> str:
    """Say which weight is far more than full cylinders; empty where none is, or it is not known."""
    fulls = [
        one.weight_empty.si + one.full_content.si
        for one in job.fuel.cylinders
        if one.full_content is not None
    ]
    if not fulls or len(fulls) < len(job.fuel.cylinders):
        return ""
    units = job.unit_system
    full_kg = number * max(fulls)
    heaviest = max((begin for begin, _end in spells), key=lambda begin: begin.si)
    if heaviest.si <= full_kg * _HEAVIER:
        return ""
    return _(
        "{weight} is far more than full cylinders weigh, {full}: look for a missing decimal sign, "
        "at how many were weighed together, and whether the cylinder was another one.",
        weight=units.stated(heaviest),
        full=units.mass(full_kg),
    )


def _held_kg(job: Job, side: Side, gas: Gas) -> float | None:
    """Return what a tank, or all cylinders that are stated, held [kg]; None where not known."""
    of_job = job.oxygen if side == "oxygen" else job.fuel
    if of_job.comes_from_main:
        outlet = of_job.outlet
        if of_job.supply != "tank":
            return None
        if outlet.content_weight is not None:
            return outlet.content_weight.si
        return gas.mass_kg(outlet.content.si) if outlet.content is not None else None
    if side == "fuel":
        rows = job.fuel.cylinders
        held = [one.count * max(one.weight_now.si - one.weight_empty.si, 0.0) for one in rows]
        return sum(held) if held else None
    try:
        masses = [
            one.count
            * one.coupled
            * oxygen_mass_kg(
                one.capacity.si,
                one.gauge.si,
                job.site.air_abs_pa,
                (one.temperature or job.site.temperature).si,
                gas,
            )
            for one in job.oxygen.cylinders
        ]
    except ValueError:
        return None  # too cold or too warm for the formula
    return sum(masses) if masses else None


def _within_what_was_there(job: Job, side: Side, gas: Gas, used: Used, *, is_changed: bool) -> Used:
    """Judge what was used by what there was; with a change, another cylinder may have come."""
    held_kg = _held_kg(job, side, gas)
    if held_kg is None or used.mass_kg is None or used.mass_kg.low <= held_kg:
        return used
    units = job.unit_system
    # Oxygen is compared by volume; what is held, with the least that may have been used.
    if side == "fuel":
        held = units.apart(MASS, held_kg, used.mass_kg.low)[0]
    else:
        low_m3 = gas.volume_m3(used.mass_kg.low)
        held = units.at_state(units.apart(GAS_VOLUME, gas.volume_m3(held_kg), low_m3)[0])
    reason = _(
        "More than the job had on hand, {held}: a reading is wrong, or another cylinder was used.",
        held=held,
    )
    if is_changed:
        return replace(used, remarks=(*used.remarks, reason))
    return Used("not sensible", None, used.manner, (reason,))


def _readings(actuals: Actuals, side: Side) -> tuple[Measure, Measure] | Used:
    """Return the readings before and after the work, both of one kind; or why there are none."""
    before, after = actuals[f"{side}_before"], actuals[f"{side}_after"]
    problems = tuple(one.problem for one in (before, after) if one.problem)
    if problems:
        return Used("not comparable", None, None, problems)
    if not before.measures or not after.measures:
        if not before.is_stated and not after.is_stated:
            return Used("not stated")
        return Used("not stated", None, None, (_("Only one of the two readings is there."),))
    begin, end = before.measures[0], after.measures[0]
    if begin.kind is not end.kind:
        reason = _(
            "Before it is {one}, after it {other}: both must be read in the same way.",
            one=_(begin.kind.name),
            other=_(end.kind.name),
        )
        return Used("not comparable", None, None, (reason,))
    return begin, end


def _spells(
    planned: Planned, actuals: Actuals, side: Side, readings: tuple[Measure, Measure]
) -> _Spells | Used:
    """Return from what to what each cylinder went, or why that is not known."""
    changed = actuals[f"{side}_changes"]
    if reason := _not_accounted(planned, side, changed):
        return Used("not comparable", None, None, (reason,))
    begin, end = readings
    spells = []
    for change in changed.changes:
        spells.append((begin, change.left))
        begin = change.then
    return (*spells, (begin, end))


def _on_changes(job: Job, changed: ActualValue) -> tuple[str, ...]:
    """Say what is remarkable in the changes that are counted."""
    if not changed.is_stated:
        return (_("No change of cylinders is entered: none is counted."),)
    return tuple(
        _(
            "At a change the next showed {then}, no more than the old, {left}: look whether they "
            "are the wrong way round.",
            then=job.unit_system.stated(one.then),
            left=job.unit_system.stated(one.left),
        )
        for one in changed.changes
        if one.then.si <= one.left.si
    )


def _not_accounted(planned: Planned, side: Side, changed: ActualValue) -> str:
    """Say what is lacking of the cylinders that were changed; empty where nothing is."""
    if changed.problem:
        return changed.problem
    if changed.count and not changed.changes:
        return counted(
            "{count} cylinder was changed: enter what the old and the next one showed; until then "
            "the use is not known.",
            "{count} cylinders were changed: enter for each what the old and the next one showed; "
            "until then the use is not known.",
            changed.count,
        )
    changes = planned.changes(side)
    if not changed.is_stated and changes:
        return counted(
            "The plan changes {count} cylinder, and nothing is entered of it: enter 0, or for each "
            "change what the old and the next one showed.",
            "The plan changes {count} cylinders, and nothing is entered of it: enter 0, or for "
            "each change what the old and the next one showed.",
            changes,
        )
    return ""


def _rises(job: Job, spells: _Spells) -> str:
    """Say which reading is more after the work than before it; empty where none is."""
    for begin, end in spells:
        if end.si > begin.si:
            after, before = job.unit_system.apart(end.kind, end, begin)
            return _(
                "{after} after the work is more than {before} before it: a reading is wrong, or a "
                "cylinder was changed and that is not entered.",
                after=after,
                before=before,
            )
    return ""


def _gauge_problem(
    job: Job, begins: tuple[Measure, ...], ends: tuple[Measure, ...]
) -> tuple[str, ...]:
    """Say which gauge cannot be; a unit that was mixed up is found by what the job states."""
    units = job.unit_system
    found = []
    for reading in (*begins, *ends):
        if reading.si > _HIGHEST_GAUGE_PA:
            shown, most = units.apart(GAUGE_PRESSURE, reading, _HIGHEST_GAUGE_PA)
            found.append(
                _(
                    "{reading} is more than an oxygen cylinder holds; accepted is up to {most}.",
                    reading=shown,
                    most=most,
                )
            )
    stated = [one.gauge.si for one in job.oxygen.cylinders]
    for begin in begins:
        hint = unit_hint(begin, min(stated), max(stated)) if stated else ""
        if not hint and begin.si > _HIGHEST_GAUGE_PA:
            hint = unit_hint(begin, 0.0, _HIGHEST_GAUGE_PA)
        found += [hint] * bool(hint)
    return tuple(dict.fromkeys(found))


def _capacity_m3(job: Job, stated: ActualValue) -> float | str:
    """Return the water capacity of what was open [m3], or why it is not known."""
    if stated.problem:
        return stated.problem
    if stated.value_si is not None:
        accepted = job.unit_system.capacity(_LARGEST_M3)
        if 0.0 < stated.value_si <= _LARGEST_M3:
            return stated.value_si
        return _("The water capacity must be above 0, up to {most}.", most=accepted)
    known = [one.capacity.si * one.coupled for one in job.oxygen.cylinders]
    if not known:
        return _("No oxygen cylinder is stated in the job: enter the water capacity.")
    if max(known) > min(known) * (1.0 + 1e-6):
        return _(
            "The job has oxygen cylinders of several sizes: enter the water capacity of the one "
            "that was used."
        )
    return known[0]


def _temperatures_k(job: Job) -> tuple[float, float]:
    """Return the lowest and highest temperature that is stated of the cylinders [K]."""
    site = job.site.temperature
    stated = [(one.temperature or site).si for one in job.oxygen.cylinders] or [site.si]
    return min(stated), max(stated)


def _by_meter(
    job: Job, actuals: Actuals, side: Side, gas: Gas, spell: tuple[Measure, Measure]
) -> Used:
    """Count by a meter: a volume at the state that its unit names, or at a pressure entered."""
    units = job.unit_system
    begin, end = spell
    before, after = actuals[f"{side}_before"], actuals[f"{side}_after"]
    if end.si < begin.si:
        reason = _(
            "{after} after the work is less than {before} before it: a meter counts up.",
            after=after.shown(units),
            before=before.shown(units),
        )
        return Used("not sensible", None, "meter", (reason,))
    pressure = actuals[f"{side}_meter_pressure"]
    if before.names_state and after.names_state:
        mass = gas.mass_kg(end.si - begin.si)
        used = Used("counted", Span.exact(mass), "meter")
    elif pressure.problem:
        return Used("not comparable", None, "meter", (pressure.problem,))
    elif pressure.value_si is None or before.names_state or after.names_state:
        reason = _(
            "{volume} by the meter: at what pressure it counts is not known. Enter the pressure at "
            "the meter, or write both readings in Nm3 or scf if it counts so.",
            volume=_meter_text(begin, end),
        )
        return Used("not comparable", None, "meter", (reason,))
    else:
        counted_m3 = _space_m3(end) - _space_m3(begin)
        air_k = job.site.temperature.si
        try:
            warm, value, cold = (
                density_kg_m3(gas, pressure.value_si + job.site.air_abs_pa, air_k + doubt)
                for doubt in (TEMPERATURE_DOUBT_K, 0.0, -TEMPERATURE_DOUBT_K)
            )
        except ValueError:
            reason = _(
                "{pressure} at the meter is beyond what the formula for {gas} is good for.",
                pressure=units.stated(pressure.measures[0]),
                gas=_(gas.name),
            )
            return Used("not comparable", None, "meter", (reason,))
        span = Span(warm, value, cold).scaled(max(counted_m3, 0.0))
        used = Used("counted", span, "meter")
    return _within_what_was_there(job, side, gas, used, is_changed=False)


def _space_m3(reading: Measure) -> float:
    """Return what a meter shows as a volume of space, at no state of the gas [m3]."""
    return CAPACITY.to_si(float(reading.number), reading.unit)


def _meter_text(begin: Measure, end: Measure) -> str:
    if begin.unit == end.unit:
        return Measure(end.number - begin.number, end.unit, end.kind).printed
    return f"{begin.printed} – {end.printed}"
