"""Iron in the kerf and the oxygen it takes."""

from typing import Final, Literal

from kerfdocket.physics import _checks

__all__ = ["energy_bound_oxygen_kg_m", "iron_mass_kg_m", "oxygen_demand_kg_m", "oxygen_utilisation"]

_LARGEST_THICKNESS_M = 2.0
_LARGEST_KERF_M = 0.05
# Standard atomic weights (IUPAC 2021, abridged): Fe 55.845, O 15.999.
_OXYGEN_PER_IRON: Final = {
    "FeO": 15.999 / 55.845,
    "Fe3O4": 4.0 * 15.999 / (3.0 * 55.845),
    "Fe2O3": 3.0 * 15.999 / (2.0 * 55.845),
}
# Derived: burn x to liquid FeO, melt 1 - x, all at 1809 K from 298 K without losses: x = 0.315.
_ENERGY_BOUND_KG_PER_KG = 0.0902


def iron_mass_kg_m(thickness_m: float, kerf_m: float, density_kg_m3: float = 7850.0) -> float:
    """Return the mass of iron in one metre of kerf.

    Args:
        thickness_m: plate thickness. [m]
        kerf_m: width of the kerf. [m]
        density_kg_m3: density of the steel; 7850 as EN 1993-1-2:2005, 3.2.2 has it. [kg/m3]

    Returns:
        Mass per length of cut. [kg/m]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] geometry; density from EN 1993-1-2:2005, 3.2.2 (clause from memory).

    >>> round(iron_mass_kg_m(0.025, 0.0018), 3)
    0.353
    """
    _checks.above_zero("thickness_m", thickness_m, _LARGEST_THICKNESS_M, "m")
    _checks.above_zero("kerf_m", kerf_m, _LARGEST_KERF_M, "m")
    _checks.within("density_kg_m3", density_kg_m3, 5000.0, 10000.0, "kg/m3")
    return thickness_m * kerf_m * density_kg_m3


def oxygen_demand_kg_m(iron_mass_kg_m: float, oxide: Literal["FeO", "Fe3O4", "Fe2O3"]) -> float:
    """Return the oxygen that burning all iron of the kerf to one oxide takes.

    Args:
        iron_mass_kg_m: iron per length of cut. [kg/m]
        oxide: the oxide that forms. [-]

    Returns:
        Oxygen per length of cut. [kg/m]

    Raises:
        ValueError: the iron mass is negative or not finite, or the oxide is unknown.

    References:
        [1] derived from the standard atomic weights, IUPAC 2021, abridged.

    >>> round(oxygen_demand_kg_m(1.0, "FeO"), 4)
    0.2865
    """
    _checks.within("iron_mass_kg_m", iron_mass_kg_m, 0.0, 1e4, "kg/m")
    if oxide not in _OXYGEN_PER_IRON:
        raise ValueError(f"oxide={oxide!r}: accepted is one of {', '.join(_OXYGEN_PER_IRON)}")
    return iron_mass_kg_m * _OXYGEN_PER_IRON[oxide]


def energy_bound_oxygen_kg_m(iron_mass_kg_m: float) -> float:
    """Return the oxygen below which the cut cannot keep itself hot.

    0.0902 kg/kg (derived): the heat of burning 31.5 % of the iron to liquid FeO just melts the
    rest, all at 1809 K, with no losses. A hard limit, not an expectation.

    Args:
        iron_mass_kg_m: iron per length of cut. [kg/m]

    Returns:
        Oxygen per length of cut. [kg/m]

    Raises:
        ValueError: the iron mass is negative or not finite.

    References:
        [1] derived; enthalpies of cantera 3.2.0, nasa_condensed.yaml.

    >>> round(energy_bound_oxygen_kg_m(0.3532), 4)
    0.0319
    """
    _checks.within("iron_mass_kg_m", iron_mass_kg_m, 0.0, 1e4, "kg/m")
    return _ENERGY_BOUND_KG_PER_KG * iron_mass_kg_m


def oxygen_utilisation(
    thickness_m: float, kerf_m: float, speed_m_s: float, oxygen_flow_kg_s: float
) -> float:
    """Return the share of the supplied oxygen that burning the whole kerf to FeO needs.

    Derived: about 73 to 87 % of the iron must burn for the heat that flows into the plate;
    a share above 1/0.73 is therefore impossible, and a very small one wasteful or mistyped.

    Args:
        thickness_m: plate thickness. [m]
        kerf_m: width of the kerf. [m]
        speed_m_s: cutting speed. [m/s]
        oxygen_flow_kg_s: cutting oxygen. [kg/s]

    Returns:
        Share, above 1 when the oxygen would not do. [-]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] derived from `oxygen_demand_kg_m` with density 7850 kg/m3.

    >>> round(oxygen_utilisation(0.025, 0.0018, 0.007, 0.00239), 2)
    0.3
    """
    _checks.above_zero("speed_m_s", speed_m_s, 1.0, "m/s")
    _checks.above_zero("oxygen_flow_kg_s", oxygen_flow_kg_s, 1.0, "kg/s")
    iron = iron_mass_kg_m(thickness_m, kerf_m)
    return oxygen_demand_kg_m(iron, "FeO") * speed_m_s / oxygen_flow_kg_s
