"""Flow of gas through a nozzle bore: choked, subsonic, and what friction takes of it.

The bore of a divergent nozzle is its throat, never its outlet.
"""

import math

from kerfdocket.physics import _checks
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.solve import falling_root

__all__ = [
    "bore_flow_kg_s",
    "bore_pressure_gauge_pa",
    "critical_pressure_ratio",
    "density_kg_m3",
    "exit_area_ratio",
    "friction_discharge_coefficient",
    "linear_compressibility",
]

_LARGEST_BORE_M = 0.05


def critical_pressure_ratio(heat_capacity_ratio: float) -> float:
    """Return the ratio of back pressure to stagnation pressure at which a bore chokes.

    r* = (2/(γ+1))^(γ/(γ-1)); see [1].

    Args:
        heat_capacity_ratio: c_p/c_v, γ. [-]

    Returns:
        Absolute pressure ratio; at or below it the flow is choked. [-]

    Raises:
        ValueError: `heat_capacity_ratio` is not above 1 and at most 5/3.

    References:
        [1] Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, 1953,
            isentropic flow; the equation is from memory and checked against CoolProp 8.0.0.

    >>> round(critical_pressure_ratio(1.39564), 3)
    0.529
    """
    gamma = heat_capacity_ratio
    if not (math.isfinite(gamma) and 1.0 < gamma <= 5.0 / 3.0 + 1e-9):
        raise ValueError(f"heat_capacity_ratio={gamma}: accepted is above 1, up to 5/3")
    return float((2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))


def linear_compressibility(gas: Gas, pressure_abs_pa: float) -> float:
    """Return the compressibility factor of a gas at line pressure, Z = 1 - k p.

    The slopes k are derived: fits near 15 °C against CoolProp 8.0.0 (acetylene: virial
    coefficients of chemicals 1.5.2). For cylinder pressures see `oxygen_compressibility`.

    Args:
        gas: properties of the gas; k in 1/Pa. [-]
        pressure_abs_pa: absolute pressure. [Pa]

    Returns:
        Compressibility factor. [-]

    Raises:
        ValueError: the pressure is negative, above 50 bar, or so high that |k p| passes 0.15.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> round(linear_compressibility(oxygen, 6.0e5), 4)
    0.9955
    """
    limit = _checks.highest_line_abs_pa(gas)
    _checks.within("pressure_abs_pa", pressure_abs_pa, 0.0, limit, "Pa")
    return 1.0 - gas.compressibility_slope_per_pa * pressure_abs_pa


def density_kg_m3(gas: Gas, pressure_abs_pa: float, temperature_k: float) -> float:
    """Return the density of a gas at line pressure, p/(Z R T) with Z = 1 - k p.

    Args:
        gas: properties of the gas. [-]
        pressure_abs_pa: absolute pressure. [Pa]
        temperature_k: gas temperature. [K]

    Returns:
        Density. [kg/m3]

    Raises:
        ValueError: pressure or temperature outside what `linear_compressibility` is good for.

    References:
        [1] ideal-gas law with the derived slopes of `linear_compressibility`.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> round(density_kg_m3(oxygen, 1.0e5, 288.15), 4)
    1.3366
    """
    _checks.gas_temperature(temperature_k)
    factor = linear_compressibility(gas, pressure_abs_pa)
    return pressure_abs_pa / (factor * gas.specific_gas_constant_j_kg_k * temperature_k)


def _mass_flux_kg_m2_s(
    gas: Gas, stagnation_abs_pa: float, back_abs_pa: float, temperature_k: float
) -> float:
    """Isentropic mass flux, corrected by 1/√Z at the stagnation state."""
    gamma = gas.heat_capacity_ratio
    r_t = gas.specific_gas_constant_j_kg_k * temperature_k
    ratio = back_abs_pa / stagnation_abs_pa
    if ratio <= critical_pressure_ratio(gamma):
        power = (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (2.0 * (gamma - 1.0)))
        ideal = stagnation_abs_pa * math.sqrt(gamma / r_t) * power
    else:
        term = max(0.0, ratio ** (2.0 / gamma) - ratio ** ((gamma + 1.0) / gamma))
        ideal = stagnation_abs_pa * math.sqrt(2.0 * gamma / ((gamma - 1.0) * r_t) * term)
    return float(ideal / math.sqrt(linear_compressibility(gas, stagnation_abs_pa)))


def _check_bore(bore_m: float, temperature_k: float, discharge_coefficient: float) -> None:
    _checks.above_zero("bore_m", bore_m, _LARGEST_BORE_M, "m")
    _checks.gas_temperature(temperature_k)
    _checks.above_zero("discharge_coefficient", discharge_coefficient, 1.0, "")


def bore_flow_kg_s(
    gas: Gas,
    bore_m: float,
    pressure_gauge_pa: float,
    ambient_abs_pa: float,
    temperature_k: float,
    discharge_coefficient: float = 1.0,
) -> float:
    """Return the mass flow of a gas through a bore into the open air.

    Choked: ṁ = Cd A p0 √(γ/(R T0)) (2/(γ+1))^((γ+1)/(2(γ-1))) / √Z, see [1]; subsonic below
    the critical pressure ratio: ṁ = Cd A p0 √(2γ/((γ-1) R T0) (r^(2/γ) - r^((γ+1)/γ))) / √Z.
    With Cd = 1 within 0.7 % of real-gas isentropic flow (CoolProp 8.0.0) for oxygen to
    10 bar gauge and for fuel gases to 1.5 bar gauge. The fuel bore of an injector torch
    draws in gas besides and does not follow it.

    Args:
        gas: properties of the gas. [-]
        bore_m: narrowest diameter of the bore, its throat. [m]
        pressure_gauge_pa: gauge pressure right before the bore, under flow. [Pa]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]
        temperature_k: gas temperature before the bore. [K]
        discharge_coefficient: real flow over ideal flow; 0.80 to 0.95 for straight bores. [-]

    Returns:
        Mass flow, 0 at 0 gauge. [kg/s]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, 1953,
            isentropic flow; the equation is from memory and checked against CoolProp 8.0.0.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> round(oxygen.volume_m3(bore_flow_kg_s(oxygen, 1.0e-3, 5.0e5, 101325.0, 288.15)) * 3600, 2)
    3.19
    """
    _check_bore(bore_m, temperature_k, discharge_coefficient)
    _checks.line_gauge("pressure_gauge_pa", pressure_gauge_pa, ambient_abs_pa, gas)
    area = 0.25 * math.pi * bore_m**2
    stagnation = pressure_gauge_pa + ambient_abs_pa
    flux = _mass_flux_kg_m2_s(gas, stagnation, ambient_abs_pa, temperature_k)
    return discharge_coefficient * area * flux


def bore_pressure_gauge_pa(
    gas: Gas,
    bore_m: float,
    flow_kg_s: float,
    ambient_abs_pa: float,
    temperature_k: float,
    discharge_coefficient: float = 1.0,
) -> float:
    """Return the gauge pressure that drives a mass flow through a bore.

    Inverse of `bore_flow_kg_s`, by bisection.

    Args:
        gas: properties of the gas. [-]
        bore_m: narrowest diameter of the bore, its throat. [m]
        flow_kg_s: mass flow. [kg/s]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]
        temperature_k: gas temperature before the bore. [K]
        discharge_coefficient: real flow over ideal flow. [-]

    Returns:
        Gauge pressure right before the bore. [Pa]

    Raises:
        ValueError: an argument is outside its range, or the flow would need a pressure beyond
            the range of `linear_compressibility`.

    References:
        [1] Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, 1953,
            isentropic flow; the equation is from memory and checked against CoolProp 8.0.0.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> flow = bore_flow_kg_s(oxygen, 1.0e-3, 5.0e5, 101325.0, 288.15)
    >>> round(bore_pressure_gauge_pa(oxygen, 1.0e-3, flow, 101325.0, 288.15))
    500000
    """
    _check_bore(bore_m, temperature_k, discharge_coefficient)
    _checks.ambient(ambient_abs_pa)
    highest = (_checks.highest_line_abs_pa(gas) - ambient_abs_pa) * (1.0 - 1e-12)

    def flow_at(gauge_pa: float) -> float:
        return bore_flow_kg_s(
            gas, bore_m, gauge_pa, ambient_abs_pa, temperature_k, discharge_coefficient
        )

    _checks.within("flow_kg_s", flow_kg_s, 0.0, flow_at(highest), "kg/s")
    if flow_kg_s == 0.0:
        return 0.0
    return falling_root(lambda gauge_pa: flow_kg_s - flow_at(gauge_pa), 0.0, highest)


def friction_discharge_coefficient(friction_number: float, heat_capacity_ratio: float) -> float:
    """Return the discharge coefficient that wall friction alone leaves a straight bore.

    Adiabatic flow in a constant duct (Fanno line [1]), choked at the exit: solves
    f L/d = (1-M²)/(γM²) + (γ+1)/(2γ) ln((γ+1)M²/(2+(γ-1)M²)) for the inlet Mach number M; then
    Cd = M ((2/(γ+1)) (1+(γ-1)M²/2))^(-(γ+1)/(2(γ-1))) (derived). Within 0.06 % of a
    real-gas Fanno line (CoolProp 8.0.0) to f L/d = 1. The entrance loss comes on top.

    Args:
        friction_number: Darcy friction factor times length over diameter, f L/d. [-]
        heat_capacity_ratio: c_p/c_v, γ. [-]

    Returns:
        Discharge coefficient, 1 without friction. [-]

    Raises:
        ValueError: `friction_number` is outside 0 to 100, or γ is out of range.

    References:
        [1] Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, 1953,
            Fanno line; the equation is from memory and checked against CoolProp 8.0.0.

    >>> round(friction_discharge_coefficient(0.4, 1.39564), 3)
    0.862
    """
    _checks.within("friction_number", friction_number, 0.0, 100.0, "")
    critical_pressure_ratio(heat_capacity_ratio)
    gamma = heat_capacity_ratio
    if friction_number == 0.0:
        return 1.0

    def excess(mach: float) -> float:
        square = mach * mach
        logarithm = math.log((gamma + 1.0) * square / (2.0 + (gamma - 1.0) * square))
        length = (1.0 - square) / (gamma * square) + (gamma + 1.0) / (2.0 * gamma) * logarithm
        return length - friction_number

    mach = falling_root(excess, 1e-3, 1.0)
    base = 2.0 / (gamma + 1.0) * (1.0 + 0.5 * (gamma - 1.0) * mach * mach)
    # The last digit may round up to just above 1 when there is hardly any friction.
    return min(1.0, mach * float(base ** (-(gamma + 1.0) / (2.0 * (gamma - 1.0)))))


def exit_area_ratio(gas: Gas, pressure_gauge_pa: float, ambient_abs_pa: float) -> float:
    """Return outlet area over throat area of a divergent bore that expands to ambient.

    Ideal-gas isentropic relations [1]; within 0.4 % of the real gas (CoolProp 8.0.0) for
    oxygen from 2 to 10 bar gauge.

    Args:
        gas: properties of the gas. [-]
        pressure_gauge_pa: gauge pressure right before the bore, under flow. [Pa]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]

    Returns:
        Area ratio for a fully expanded jet. [-]

    Raises:
        ValueError: an argument is outside its range, or the pressure does not choke the bore.

    References:
        [1] Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, 1953,
            isentropic flow; the equation is from memory and checked against CoolProp 8.0.0.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> round(exit_area_ratio(oxygen, 5.0e5, 101325.0), 1)
    1.5
    """
    _checks.line_gauge("pressure_gauge_pa", pressure_gauge_pa, ambient_abs_pa, gas)
    gamma = gas.heat_capacity_ratio
    ratio = ambient_abs_pa / (pressure_gauge_pa + ambient_abs_pa)
    critical = critical_pressure_ratio(gamma)
    if ratio > critical:
        choking = ambient_abs_pa / critical - ambient_abs_pa
        raise ValueError(
            f"pressure_gauge_pa={pressure_gauge_pa} Pa does not choke the bore: "
            f"accepted is {choking:.0f} Pa gauge or more"
        )
    square = 2.0 / (gamma - 1.0) * (ratio ** (-(gamma - 1.0) / gamma) - 1.0)
    base = 2.0 / (gamma + 1.0) * (1.0 + 0.5 * (gamma - 1.0) * square)
    return float(base ** ((gamma + 1.0) / (2.0 * (gamma - 1.0))) / math.sqrt(square))
