"""Every actual value of a finished job: what it is, how it is written, what it stands against."""

from dataclasses import dataclass
from typing import Literal

from kerfdocket.job import Job
from kerfdocket.language import marked
from kerfdocket.quantity import (
    CAPACITY,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    LENGTH,
    MASS,
    SPEED,
    Kind,
)

__all__ = ["ACTUAL_FIELDS", "ActualField", "Form", "Side", "place_kinds", "place_unit"]

Form = Literal["text", "quantity", "range", "time", "count", "changes"]
Side = Literal["oxygen", "fuel"]
OnSheet = Literal["always", "where changed", "never"]


@dataclass(frozen=True)
class ActualField:
    """One actual value.

    Attributes:
        title: what it is for; said with `_`.
        form: how it is written: `text` as it comes; `quantity` a number with its unit; `range` one
            or two of them, of several that were measured the least and the greatest; `time` a time
            of day with or without its date; `count` a whole number; `changes` a number, or for each
            change the reading of the old and of the next cylinder.
        kinds: what it may measure.
        unit: metric unit that stands beside its place; empty where none does.
        compared_with: keys of the plan's values that it stands against.
        on_sheet: which sheets have a place for it: `always` all, `where changed` those whose plan
            changes cylinders of its gas, `never` none, as only the office enters it. Of one plan
            `Planned.asks_for` says it.
        side: gas whose cylinders or meter are read; None for all else.
        may_be_negative: True for a deviation.
    """

    title: str
    form: Form
    kinds: tuple[Kind, ...] = ()
    unit: str = ""
    compared_with: tuple[str, ...] = ()
    on_sheet: OnSheet = "always"
    side: Side | None = None
    may_be_negative: bool = False


_CUTTING, _HEATING, _FUEL = (
    "setting.cutting_oxygen_pressure",
    "setting.heating_oxygen_pressure",
    "setting.fuel_pressure",
)
_OXYGEN_READINGS = (GAUGE_PRESSURE, GAS_VOLUME)
_FUEL_READINGS = (MASS, GAS_VOLUME)
_FUEL_USE = ("use.fuel_mass", "use.fuel")


def _pressure(title: str, key: str, on_sheet: OnSheet = "always") -> ActualField:
    form: Form = "quantity" if on_sheet == "never" else "range"
    return ActualField(title, form, (GAUGE_PRESSURE,), "bar", (key,), on_sheet)


def _oxygen(title: str) -> ActualField:
    return ActualField(title, "quantity", _OXYGEN_READINGS, "bar", ("use.oxygen",), side="oxygen")


def _fuel(title: str) -> ActualField:
    return ActualField(title, "quantity", _FUEL_READINGS, "kg", _FUEL_USE, side="fuel")


# In the order in which they are written on the sheet, then what the office enters. Forms come back
# with these names: they never change their meaning.
ACTUAL_FIELDS: dict[str, ActualField] = {
    "nozzle_maker": ActualField(marked("Nozzle: maker, read off it"), "text"),
    "nozzle_type": ActualField(marked("Nozzle: type, read off it"), "text"),
    # Nozzles are marked in the units of their makers, so no unit stands on the sheet.
    "nozzle_range": ActualField(
        marked("Nozzle: cutting range, read off it"),
        "range",
        (LENGTH,),
        compared_with=("plate.thickness",),
    ),
    "nozzle_pressure": ActualField(
        marked("Nozzle: oxygen pressure, read off it"),
        "range",
        (GAUGE_PRESSURE,),
        compared_with=(_CUTTING,),
    ),
    "chart_cutting_oxygen": _pressure(
        marked("Cutting oxygen: pressure from the nozzle’s chart"), _CUTTING
    ),
    "chart_heating_oxygen": _pressure(
        marked("Heating oxygen: pressure from the nozzle’s chart"), _HEATING
    ),
    "chart_fuel": _pressure(marked("Fuel gas: pressure from the nozzle’s chart"), _FUEL),
    "measured_perpendicularity": ActualField(
        marked("Perpendicularity u, measured"),
        "range",
        (LENGTH,),
        "mm",
        ("quality.perpendicularity_limit",),
    ),
    "measured_roughness": ActualField(
        marked("Roughness Rz5, measured"),
        "range",
        (LENGTH,),
        "µm",
        ("quality.roughness_limit",),
    ),
    "measured_size": ActualField(
        marked("Deviation of size, measured"),
        "range",
        (LENGTH,),
        "mm",
        ("quality.size_deviation",),
        may_be_negative=True,
    ),
    "oxygen_before": _oxygen(marked("Oxygen before the work: gauge or meter")),
    "oxygen_after": _oxygen(marked("Oxygen after the work: gauge or meter")),
    "fuel_before": _fuel(marked("Fuel gas before the work: weight or meter")),
    "fuel_after": _fuel(marked("Fuel gas after the work: weight or meter")),
    "begun": ActualField(marked("Work begun at"), "time", compared_with=("cut.clock_time",)),
    "ended": ActualField(marked("Work ended at"), "time", compared_with=("cut.clock_time",)),
    "oxygen_changes": ActualField(
        marked("Oxygen cylinders changed: for each, the gauge of the old and of the next"),
        "changes",
        _OXYGEN_READINGS[:1],
        "bar",
        ("supply.oxygen_changes", "use.oxygen"),
        on_sheet="where changed",
        side="oxygen",
    ),
    "fuel_changes": ActualField(
        marked("Fuel cylinders changed: for each, the weight of the old and of the next"),
        "changes",
        _FUEL_READINGS[:1],
        "kg",
        ("supply.fuel_changes", *_FUEL_USE),
        on_sheet="where changed",
        side="fuel",
    ),
    "remarks": ActualField(marked("Remarks on the work"), "text"),
    "cutter_name": ActualField(marked("Cutter: name"), "text"),
    "cutter_time": ActualField(marked("Cutter: date and time"), "time"),
    "supervisor_name": ActualField(marked("Supervisor: name"), "text"),
    "supervisor_time": ActualField(marked("Supervisor: date and time"), "time"),
    # From here on the office alone.
    "nozzle_bore": ActualField(
        marked("Cutting oxygen bore of the nozzle that was fitted"),
        "quantity",
        (LENGTH,),
        "mm",
        ("nozzle.bore",),
        on_sheet="never",
    ),
    # What a cutter sets is the regulator, with the torch valves open; the torch has no gauge.
    "set_cutting_oxygen": _pressure(
        marked("Oxygen regulator: pressure that was set, under flow"),
        "line.oxygen_regulator_pressure",
        on_sheet="never",
    ),
    "set_heating_oxygen": _pressure(
        marked("Heating oxygen regulator: pressure that was set, under flow"),
        "line.heating_oxygen_regulator_pressure",
        on_sheet="never",
    ),
    "set_fuel": _pressure(
        marked("Fuel gas regulator: pressure that was set, under flow"),
        "line.fuel_regulator_pressure",
        on_sheet="never",
    ),
    # What was set, not what was reached: time on the flame is not measured, and from begun to ended
    # there are pauses, so no speed follows from them.
    "set_speed": ActualField(
        marked("Cutting speed that was set on the machine"),
        "range",
        (SPEED,),
        "mm/min",
        ("cut.speed",),
        on_sheet="never",
    ),
    "oxygen_capacity": ActualField(
        marked("Oxygen: water capacity of what was open, all cylinders together"),
        "quantity",
        (CAPACITY,),
        "L",
        on_sheet="never",
    ),
    "oxygen_meter_pressure": ActualField(
        marked("Oxygen meter: gauge pressure of the gas that it counts"),
        "quantity",
        (GAUGE_PRESSURE,),
        "bar",
        ("use.oxygen",),
        on_sheet="never",
    ),
    "fuel_weighed": ActualField(
        marked("Fuel cylinders that gave gas side by side and were weighed together"),
        "count",
        compared_with=("supply.fuel_side_by_side",),
        on_sheet="never",
    ),
    "fuel_meter_pressure": ActualField(
        marked("Fuel meter: gauge pressure of the gas that it counts"),
        "quantity",
        (GAUGE_PRESSURE,),
        "bar",
        _FUEL_USE,
        on_sheet="never",
    ),
}


def _is_metered(field: ActualField, job: Job) -> bool:
    side = {"oxygen": job.oxygen, "fuel": job.fuel, None: None}[field.side]
    return side is not None and side.comes_from_main


def place_kinds(job: Job, name: str) -> tuple[Kind, ...]:
    """Return what may be written in a place, the kind that the sheet asks for first.

    Raises:
        KeyError: no actual value has that name.
    """
    field = ACTUAL_FIELDS[name]
    return tuple(reversed(field.kinds)) if _is_metered(field, job) else field.kinds


def place_unit(job: Job, name: str) -> str:
    """Return the unit that stands beside a place, which a bare number takes; empty if none does.

    Cylinders are read on a gauge or scale, whose unit is on the sheet; of a meter it is not known.

    Raises:
        KeyError: no actual value has that name.
    """
    field = ACTUAL_FIELDS[name]
    if not field.unit or _is_metered(field, job):
        return ""
    return job.unit_system.unit(field.unit, field.kinds[0])
