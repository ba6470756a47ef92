"""What each field of a sheet to be filled in on a screen is for, in words to be read out."""

from kerfdocket.language import _, marked

__all__ = ["FIELD_TITLES", "field_title"]

# What comes back is read by these names: they never change their meaning.
FIELD_TITLES = {
    "nozzle_maker": marked("Nozzle: maker, read off it"),
    "nozzle_type": marked("Nozzle: type, read off it"),
    "nozzle_range": marked("Nozzle: cutting range, read off it"),
    "nozzle_pressure": marked("Nozzle: oxygen pressure, read off it"),
    "chart_cutting_oxygen": marked("Cutting oxygen: pressure from the nozzle’s chart"),
    "chart_heating_oxygen": marked("Heating oxygen: pressure from the nozzle’s chart"),
    "chart_fuel": marked("Fuel gas: pressure from the nozzle’s chart"),
    "measured_perpendicularity": marked("Perpendicularity u, measured"),
    "measured_roughness": marked("Roughness Rz5, measured"),
    "measured_size": marked("Deviation of size, measured"),
    "oxygen_before": marked("Oxygen before the work: gauge or meter"),
    "oxygen_after": marked("Oxygen after the work: gauge or meter"),
    "fuel_before": marked("Fuel gas before the work: weight or meter"),
    "fuel_after": marked("Fuel gas after the work: weight or meter"),
    "begun": marked("Work begun at"),
    "ended": marked("Work ended at"),
    "remarks": marked("Remarks on the work"),
    "cutter_name": marked("Cutter: name"),
    "cutter_time": marked("Cutter: date and time"),
    "supervisor_name": marked("Supervisor: name"),
    "supervisor_time": marked("Supervisor: date and time"),
}


def field_title(name: str) -> str:
    """Return what a field is for, in the language that is spoken.

    Raises:
        KeyError: no field of that name is known.
    """
    return _(FIELD_TITLES[name])
