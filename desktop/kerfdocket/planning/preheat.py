"""Fuel gas to heat the plate along its cuts before they are made, and how long that takes."""

from kerfdocket.job import Job
from kerfdocket.language import marked
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.heat import preheat_gas_kg
from kerfdocket.physics.plate import mass_kg
from kerfdocket.planning.keys import Span
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.steel import SteelResult

__all__ = ["NO_PREHEAT", "WARM_ENOUGH", "band_m", "preheat_fuel_kg"]

_ROOM_K = 293.15
# Share of the fuel's heat that reaches the plate: 0.2 to 0.4 assumed, common practice, no source.
_EFFICIENCY = Span(0.4, 0.3, 0.2)  # in the order that gives the least gas first
# Heat capacity of steel at 20 °C, EN 1993-1-2:2005, 3.4.1.2; below it it falls a little.
_COLD_STEEL_J_KG_K = 440.0
NO_PREHEAT = marked("no preheat is asked for")
WARM_ENOUGH = marked("the plate is as warm already")
_OUTSIDE = marked("the preheat is outside what the heat content formula is good for")


def band_m(plate: PlateResult) -> float:
    """Return the width of the heated band: two thicknesses on each side of the cut. [m]"""
    return 4.0 * plate.thickness_m


def preheat_fuel_kg(
    job: Job, plate: PlateResult, steel: SteelResult, length_m: float, fuel: Gas
) -> Span | str:
    """Return the fuel gas that heats a band along all cuts once [kg], or why there is none.

    Args:
        job: the job, for the temperature of the plate.
        plate: the plate stage.
        steel: the steel stage.
        length_m: length of all cuts. [m]
        fuel: the fuel gas.

    Returns:
        The span, or a reason that is a key: `_` says it.
    """
    plate_k = job.site.temperature.si
    if steel.preheat_k is None:
        return NO_PREHEAT
    if steel.preheat_k <= plate_k:
        return WARM_ENOUGH
    metre_kg = mass_kg(1.0, band_m(plate), plate.thickness_m)
    # The heat content formula begins at 20 °C; a colder plate needs this before.
    cold_j_kg = _COLD_STEEL_J_KG_K * max(min(steel.preheat_k, _ROOM_K) - plate_k, 0.0)
    start_k = max(plate_k, _ROOM_K)
    heat_j_kg = fuel.lower_heating_value_j_kg
    amounts = []
    try:
        for share in _EFFICIENCY:
            each_kg = metre_kg * cold_j_kg / (share * heat_j_kg)
            if steel.preheat_k > start_k:
                each_kg += preheat_gas_kg(metre_kg, start_k, steel.preheat_k, heat_j_kg, share)
            amounts.append(each_kg * length_m)
    except ValueError:
        return _OUTSIDE
    return Span(*amounts)
