"""Heat and gas to preheat a band of plate."""

import math

from kerfdocket.physics import _checks

__all__ = ["band_retained", "preheat_gas_kg", "soak_time_s", "steel_enthalpy_j_kg"]

_DIFFUSIVITY_M2_S = 1.3e-5  # carbon steel, assumed


def _enthalpy_j_kg(celsius: float) -> float:
    """Integral of c = 425 + 0.773 θ - 1.69e-3 θ² + 2.22e-6 θ³ from 0 °C."""
    return (
        425.0 * celsius
        + 0.773 / 2.0 * celsius**2
        - 1.69e-3 / 3.0 * celsius**3
        + 2.22e-6 / 4.0 * celsius**4
    )


def steel_enthalpy_j_kg(start_k: float, end_k: float) -> float:
    """Return the heat that takes one kilogram of carbon steel from one temperature to another.

    Integral of c = 425 + 0.773 θ - 1.69e-3 θ² + 2.22e-6 θ³ J/(kg K), θ in °C, see [1]. Within
    0.4 % of pure iron (cantera 3.2.0) to 400 °C, 1.4 % to 600 °C.

    Args:
        start_k: first temperature, 20 to 600 °C. [K]
        end_k: second temperature, 20 to 600 °C. [K]

    Returns:
        Heat per mass, negative for cooling. [J/kg]

    Raises:
        ValueError: a temperature is outside the range of the clause.

    References:
        [1] EN 1993-1-2:2005, 3.4.1.2 (equation read in copies, clause from memory).

    >>> round(steel_enthalpy_j_kg(293.15, 423.15) / 1000, 1)
    62.2
    """
    for name, value in (("start_k", start_k), ("end_k", end_k)):
        _checks.within(name, value, 293.15, 873.15, "K")
    zero = _checks.ZERO_CELSIUS_K
    return _enthalpy_j_kg(end_k - zero) - _enthalpy_j_kg(start_k - zero)


def preheat_gas_kg(
    mass_kg: float,
    start_k: float,
    end_k: float,
    lower_heating_value_j_kg: float,
    efficiency: float,
) -> float:
    """Return the fuel gas that heats a mass of steel, m Δh/(η LHV).

    The efficiency decides the result: 0.2 to 0.4 is assumed, no source. Heat that leaves the
    band meanwhile is not in it; divide by `band_retained`.

    Args:
        mass_kg: mass of the heated band. [kg]
        start_k: temperature before, 20 to 600 °C. [K]
        end_k: temperature after, not below `start_k`. [K]
        lower_heating_value_j_kg: lower heating value of the fuel. [J/kg]
        efficiency: share of the heating value that reaches the steel. [-]

    Returns:
        Mass of fuel gas. [kg]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] EN 1993-1-2:2005, 3.4.1.2 (equation read in copies, clause from memory);
            heat balance.

    >>> round(preheat_gas_kg(39.25, 293.15, 423.15, 46.333e6, 0.25), 3)
    0.211
    """
    _checks.within("mass_kg", mass_kg, 0.0, 1e6, "kg")
    _checks.above_zero("lower_heating_value_j_kg", lower_heating_value_j_kg, 1.5e8, "J/kg")
    _checks.above_zero("efficiency", efficiency, 1.0, "")
    enthalpy = steel_enthalpy_j_kg(start_k, end_k)
    if enthalpy < 0.0:
        raise ValueError(f"end_k={end_k} K: accepted is start_k={start_k} K or more")
    return mass_kg * enthalpy / (efficiency * lower_heating_value_j_kg)


def band_retained(width_m: float, time_s: float, diffusivity: float = _DIFFUSIVITY_M2_S) -> float:
    """Return the share of the heat that is still inside a band when its heating ends.

    Heat released evenly over the band at a constant rate in an endless plate, conducted
    sideways in one dimension: the mean over the elapsed time τ of
    erf(u) - (1 - exp(-u²))/(u√π) with u = W/(2√(ατ)), in closed form (derived from
    [1]). Surface losses are not in it.

    Args:
        width_m: width of the heated band. [m]
        time_s: duration of the heating. [s]
        diffusivity: thermal diffusivity of the steel; 1.3e-5 is assumed. [m2/s]

    Returns:
        Share, 1 at the start. [-]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] Green function of the one-dimensional heat equation; derived.

    >>> round(band_retained(0.2, 600.0), 3)
    0.675
    """
    _checks.above_zero("width_m", width_m, 1000.0, "m")
    _checks.within("time_s", time_s, 0.0, 1e6, "s")
    _checks.within("diffusivity", diffusivity, 1e-7, 1e-3, "m2/s")
    if time_s == 0.0:
        return 1.0
    # With u = c/√τ: the two integrals over τ reduce to erf, exp and `decay`.
    c = width_m / (2.0 * math.sqrt(diffusivity))
    root_t, root_pi = math.sqrt(time_s), math.sqrt(math.pi)
    fade = math.exp(-c * c / time_s)
    decay = 2.0 * root_t * fade - 2.0 * c * root_pi * math.erfc(c / root_t)
    kept = time_s * math.erf(c / root_t) + c / root_pi * decay
    lost = 2.0 / 3.0 * (time_s * root_t * (1.0 - fade) + c * c * decay)
    return (kept - lost / (c * root_pi)) / time_s


def soak_time_s(thickness_m: float) -> float:
    """Return how long heat takes to even out through the plate, d²/(2α) with α = 1.3e-5 m²/s.

    Derived; wait this long before measuring the temperature on the far side.

    Args:
        thickness_m: plate thickness. [m]

    Returns:
        Time. [s]

    Raises:
        ValueError: the thickness is not finite or outside its range.

    References:
        [1] derived; diffusion time of one-dimensional heat conduction.

    >>> round(soak_time_s(0.050))
    96
    """
    _checks.above_zero("thickness_m", thickness_m, 2.0, "m")
    return thickness_m**2 / (2.0 * _DIFFUSIVITY_M2_S)
