"""Liquefied propane in a cylinder: pressure, vaporisation and self-cooling.

The vapour pressure alone is also given for propylene, n-butane and propyne.

All property fits are derived: against CoolProp 8.0.0 (HEOS), saturation states.
"""

import math
from collections.abc import Iterator
from typing import Literal, NamedTuple

from kerfdocket.physics import _checks

__all__ = [
    "Liquid",
    "boiling_temperature_k",
    "bubble_pressure_abs_pa",
    "latent_heat_j_kg",
    "liquid_density_kg_m3",
    "liquid_temperature_k",
    "runtime_s",
    "steady_vaporisation_kg_s",
    "vapour_pressure_abs_pa",
    "wetted_area_m2",
]

_LOWEST_K, _HIGHEST_K = 243.15, 323.15  # -30 to 50 °C, the range of the vapour-pressure fits
_LOWEST_LIQUID_K = 233.15

Liquid = Literal["propane", "propylene", "n-butane", "propyne"]


class _Fit(NamedTuple):
    """log10(p/bar) = a - b/(θ + c), θ in °C."""

    a: float
    b: float
    c: float
    lowest_k: float = _LOWEST_K


_PROPANE = _Fit(4.13089, 898.512, 260.070)
_FITS: dict[str, _Fit] = {
    "propane": _PROPANE,
    "propylene": _Fit(4.17368, 893.858, 262.328),
    "n-butane": _Fit(3.99050, 961.851, 241.867),
    # Below 0 °C the equation of state that it was fitted to ends.
    "propyne": _Fit(4.39267, 1049.88, 264.468, lowest_k=273.15),
}
_STEEL_HEAT_CAPACITY_J_KG_K = 470.0  # carbon steel near 0 °C, assumed
_STEEL_SHARE_DRY = 0.35  # share of the steel that follows the liquid when it is gone, assumed
_STEP_S = 30.0
_LONGEST_STEP_S = 600.0


def _check_temperature(name: str, temperature_k: float, lowest: float = _LOWEST_K) -> None:
    _checks.within(name, temperature_k, lowest, _HIGHEST_K, "K")


def _antoine_pa(fit: _Fit, temperature_k: float) -> float:
    exponent = fit.a - fit.b / (temperature_k - _checks.ZERO_CELSIUS_K + fit.c)
    return float(10.0**exponent) * 1.0e5


def vapour_pressure_abs_pa(temperature_k: float, liquid: Liquid = "propane") -> float:
    """Return the vapour pressure of a pure liquefied gas.

    log10(p/bar) = A - B/(θ + C), θ in °C, within the difference given of CoolProp 8.0.0:

    - propane: 4.13089, 898.512, 260.070; -30 to 50 °C; 0.17 %
    - propylene: 4.17368, 893.858, 262.328; -30 to 50 °C; 0.19 %
    - n-butane: 3.99050, 961.851, 241.867; -30 to 50 °C; 0.07 %
    - propyne: 4.39267, 1049.88, 264.468; 0 to 50 °C; 0.3 %

    CoolProp's equation of state for propyne ends at 0 °C. The fit lies 3.1 % above the Wagner
    equation of [2] there, 1.6 % at 10 °C, and within 1 % of it from 20 °C.

    Args:
        temperature_k: temperature of the liquid, within the range of its fit. [K]
        liquid: `propane`, `propylene`, `n-butane` or `propyne`. [-]

    Returns:
        Absolute pressure. [Pa]

    Raises:
        ValueError: the liquid is not known or the temperature is outside the range of its fit.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.
        [2] McGarry, Correlation and prediction of the vapor pressures of pure liquids over
            large pressure ranges, Ind. Eng. Chem. Process Des. Dev. 22 (1983) 313-322, as
            chemicals 1.5.2 holds it.

    >>> round(vapour_pressure_abs_pa(273.15) / 1e5, 2)
    4.74
    >>> round(vapour_pressure_abs_pa(273.15, "propylene") / 1e5, 2)
    5.84
    """
    if liquid not in _FITS:
        raise ValueError(f"liquid={liquid!r}: accepted is one of {sorted(_FITS)}")
    fit = _FITS[liquid]
    _check_temperature("temperature_k", temperature_k, fit.lowest_k)
    return _antoine_pa(fit, temperature_k)


def bubble_pressure_abs_pa(temperature_k: float, propane_mole_fraction: float) -> float:
    """Return the vapour pressure of a liquid mixture of propane and n-butane.

    Raoult's law on the two vapour pressures; within 3.4 % of the mixture model of CoolProp
    8.0.0. The vapour takes propane first, so the rest gets weaker.

    Args:
        temperature_k: temperature of the liquid, -30 to 50 °C. [K]
        propane_mole_fraction: propane in the liquid; the rest is n-butane. [mol/mol]

    Returns:
        Absolute pressure. [Pa]

    Raises:
        ValueError: the temperature is outside the range of the fits or the fraction not 0 to 1.

    References:
        [1] derived; CoolProp 8.0.0 HEOS; Raoult's law.

    >>> round(bubble_pressure_abs_pa(263.15, 0.5) / 1e5, 1)
    2.1
    """
    _checks.within("propane_mole_fraction", propane_mole_fraction, 0.0, 1.0, "mol/mol")
    propane = vapour_pressure_abs_pa(temperature_k, "propane")
    butane = vapour_pressure_abs_pa(temperature_k, "n-butane")
    return propane_mole_fraction * propane + (1.0 - propane_mole_fraction) * butane


def boiling_temperature_k(pressure_abs_pa: float) -> float:
    """Return the temperature at which propane has a vapour pressure.

    Inverse of `vapour_pressure_abs_pa`.

    Args:
        pressure_abs_pa: absolute pressure, 1.68 to 17.2 bar. [Pa]

    Returns:
        Temperature of the liquid. [K]

    Raises:
        ValueError: the pressure belongs to a temperature outside -30 to 50 °C.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.

    >>> round(boiling_temperature_k(2.51325e5) - 273.15, 1)
    -19.2
    """
    lowest, highest = _antoine_pa(_PROPANE, _LOWEST_K), _antoine_pa(_PROPANE, _HIGHEST_K)
    _checks.within("pressure_abs_pa", pressure_abs_pa, lowest, highest, "Pa")
    a, b, c, _lowest_k = _PROPANE
    return b / (a - math.log10(pressure_abs_pa / 1.0e5)) - c + _checks.ZERO_CELSIUS_K


def latent_heat_j_kg(temperature_k: float) -> float:
    """Return the heat of vaporisation of propane.

    374.926 - 1.39132 θ - 6.0324e-3 θ² - 4.1438e-5 θ³ kJ/kg, θ in °C; within 0.1 %.

    Args:
        temperature_k: temperature of the liquid, -40 to 50 °C. [K]

    Returns:
        Heat of vaporisation. [J/kg]

    Raises:
        ValueError: the temperature is outside the range of the fit.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.

    >>> round(latent_heat_j_kg(273.15) / 1000)
    375
    """
    _check_temperature("temperature_k", temperature_k, _LOWEST_LIQUID_K)
    t = temperature_k - _checks.ZERO_CELSIUS_K
    return 1000.0 * (374.926 - 1.39132 * t - 6.0324e-3 * t**2 - 4.1438e-5 * t**3)


def liquid_density_kg_m3(temperature_k: float) -> float:
    """Return the density of liquid propane at its vapour pressure.

    528.643 - 1.34639 θ - 3.5315e-3 θ² - 2.7390e-5 θ³ kg/m3, θ in °C; within 0.05 %.

    Args:
        temperature_k: temperature of the liquid, -40 to 50 °C. [K]

    Returns:
        Density. [kg/m3]

    Raises:
        ValueError: the temperature is outside the range of the fit.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.

    >>> round(liquid_density_kg_m3(293.15))
    500
    """
    _check_temperature("temperature_k", temperature_k, _LOWEST_LIQUID_K)
    t = temperature_k - _checks.ZERO_CELSIUS_K
    return 528.643 - 1.34639 * t - 3.5315e-3 * t**2 - 2.7390e-5 * t**3


def _liquid_heat_capacity_j_kg_k(temperature_k: float) -> float:
    """Fit against CoolProp 8.0.0, -40 to 50 °C, within 0.4 %."""
    t = temperature_k - _checks.ZERO_CELSIUS_K
    return 2491.21 + 7.3279 * t + 5.7762e-2 * t**2 + 6.1239e-4 * t**3


def steady_vaporisation_kg_s(
    heat_transfer_w_m2_k: float,
    wetted_area_m2: float,
    air_temperature_k: float,
    liquid_temperature_k: float,
) -> float:
    """Return the draw at which the air just replaces the heat of vaporisation.

    ṁ = U A (T_air - T_liq)/h_fg. U is 8.2 to 9.8 W/(m2 K) in still air (derived: free
    convection and radiation on an upright cylinder); 5 to 10 with frost and crowding is assumed.

    Args:
        heat_transfer_w_m2_k: heat transfer from the air, U. [W/(m2 K)]
        wetted_area_m2: cylinder wall that the liquid touches. [m2]
        air_temperature_k: temperature of the air. [K]
        liquid_temperature_k: temperature of the liquid, -40 to 50 °C, not above the air. [K]

    Returns:
        Mass flow. [kg/s]

    Raises:
        ValueError: an argument is outside its range.

    References:
        [1] heat balance; heat of vaporisation as in `latent_heat_j_kg`.

    >>> round(steady_vaporisation_kg_s(8.0, 0.364, 293.15, 253.92) * 3600, 2)
    1.03
    """
    _checks.above_zero("heat_transfer_w_m2_k", heat_transfer_w_m2_k, 1000.0, "W/(m2 K)")
    _checks.within("wetted_area_m2", wetted_area_m2, 0.0, 1000.0, "m2")
    _check_temperature("air_temperature_k", air_temperature_k, _LOWEST_LIQUID_K)
    latent = latent_heat_j_kg(liquid_temperature_k)
    difference = air_temperature_k - liquid_temperature_k
    if difference < 0.0:
        raise ValueError(
            f"liquid_temperature_k={liquid_temperature_k} K: accepted is up to "
            f"air_temperature_k={air_temperature_k} K"
        )
    return heat_transfer_w_m2_k * wetted_area_m2 * difference / latent


def wetted_area_m2(diameter_m: float, liquid_mass_kg: float, temperature_k: float) -> float:
    """Return the wall area that the liquid in an upright cylinder touches.

    π D h + π D²/4 with the height h of the liquid; the bottom is taken as flat.

    Args:
        diameter_m: inner diameter of the cylinder. [m]
        liquid_mass_kg: mass of the liquid. [kg]
        temperature_k: temperature of the liquid, -40 to 50 °C. [K]

    Returns:
        Area. [m2]

    Raises:
        ValueError: an argument is outside its range.

    References:
        [1] geometry; density as in `liquid_density_kg_m3`.

    >>> round(wetted_area_m2(0.300, 11.0, 293.15), 3)
    0.364
    """
    _checks.above_zero("diameter_m", diameter_m, 10.0, "m")
    _checks.within("liquid_mass_kg", liquid_mass_kg, 0.0, 1e5, "kg")
    volume_m3 = liquid_mass_kg / liquid_density_kg_m3(temperature_k)
    return 4.0 * volume_m3 / diameter_m + 0.25 * math.pi * diameter_m**2


def _check_cylinder(
    liquid_mass_kg: float,
    diameter_m: float,
    steel_mass_kg: float,
    heat_transfer_w_m2_k: float,
    air_temperature_k: float,
    draw_kg_s: float,
) -> None:
    _checks.above_zero("liquid_mass_kg", liquid_mass_kg, 1e4, "kg")
    _checks.above_zero("diameter_m", diameter_m, 10.0, "m")
    _checks.within("steel_mass_kg", steel_mass_kg, 1.0, 1e5, "kg")
    _checks.above_zero("heat_transfer_w_m2_k", heat_transfer_w_m2_k, 1000.0, "W/(m2 K)")
    _check_temperature("air_temperature_k", air_temperature_k)
    _checks.above_zero("draw_kg_s", draw_kg_s, 1.0, "kg/s")


def _cooling(
    liquid_mass_kg: float,
    diameter_m: float,
    steel_mass_kg: float,
    heat_transfer_w_m2_k: float,
    air_temperature_k: float,
    draw_kg_s: float,
    start_temperature_k: float | None = None,
) -> Iterator[tuple[float, float, float]]:
    """Yield (time, mass left, liquid temperature) until the liquid is gone or below -40 °C."""
    start = air_temperature_k if start_temperature_k is None else start_temperature_k
    time_s, mass, temperature = 0.0, liquid_mass_kg, start
    # Longer steps only for draws that last weeks.
    longest = min(max(_STEP_S, liquid_mass_kg / draw_kg_s / 1e5), _LONGEST_STEP_S)
    while True:
        yield time_s, mass, temperature
        if mass <= 0.0 or temperature < _LOWEST_LIQUID_K:
            return
        share = _STEEL_SHARE_DRY + (1.0 - _STEEL_SHARE_DRY) * mass / liquid_mass_kg
        capacity = mass * _liquid_heat_capacity_j_kg_k(temperature)
        capacity += share * steel_mass_kg * _STEEL_HEAT_CAPACITY_J_KG_K
        area = wetted_area_m2(diameter_m, mass, temperature)
        conductance = heat_transfer_w_m2_k * area
        gain = conductance * (air_temperature_k - temperature)
        loss = draw_kg_s * latent_heat_j_kg(temperature)
        step = min(longest, mass / draw_kg_s, 0.2 * capacity / conductance)
        time_s += step
        left = mass - draw_kg_s * step
        mass = left if left > 1e-12 * liquid_mass_kg else 0.0
        temperature += (gain - loss) / capacity * step


def liquid_temperature_k(
    liquid_mass_kg: float,
    diameter_m: float,
    steel_mass_kg: float,
    heat_transfer_w_m2_k: float,
    air_temperature_k: float,
    draw_kg_s: float,
    time_s: float,
) -> float:
    """Return how cold the liquid in a cylinder is after a time of steady draw.

    The stepping of `runtime_s`, from a start at the temperature of the air.

    Args:
        liquid_mass_kg: liquid at the start. [kg]
        diameter_m: inner diameter of the cylinder. [m]
        steel_mass_kg: mass of the empty cylinder, at least 1 kg. [kg]
        heat_transfer_w_m2_k: heat transfer from the air; 8 in still air, derived. [W/(m2 K)]
        air_temperature_k: temperature of the air, -30 to 50 °C. [K]
        draw_kg_s: steady draw. [kg/s]
        time_s: time since the start. [s]

    Returns:
        Temperature of the liquid. [K]

    Raises:
        ValueError: an argument is outside its range, or the liquid would be gone or colder
            than -40 °C by then.

    References:
        [1] derived: heat balance; the numerics agree with scipy 1.17.1, CoolProp 8.0.0.

    >>> after = liquid_temperature_k(11.0, 0.300, 12.0, 8.0, 293.15, 2.0 / 3600.0, 3600.0)
    >>> round(after - 273.15)
    0
    """
    _check_cylinder(
        liquid_mass_kg,
        diameter_m,
        steel_mass_kg,
        heat_transfer_w_m2_k,
        air_temperature_k,
        draw_kg_s,
    )
    _checks.within("time_s", time_s, 0.0, liquid_mass_kg / draw_kg_s, "s")
    before = (0.0, air_temperature_k)
    for now_s, _mass, temperature in _cooling(
        liquid_mass_kg,
        diameter_m,
        steel_mass_kg,
        heat_transfer_w_m2_k,
        air_temperature_k,
        draw_kg_s,
    ):
        if now_s >= time_s * (1.0 - 1e-12):
            part = 1.0 if now_s == before[0] else (time_s - before[0]) / (now_s - before[0])
            return before[1] + part * (temperature - before[1])
        before = (now_s, temperature)
    raise ValueError(
        f"time_s={time_s} s: the liquid is colder than -40 °C by then; "
        f"accepted is up to {before[0]:.0f} s"
    )


def runtime_s(
    liquid_mass_kg: float,
    diameter_m: float,
    steel_mass_kg: float,
    heat_transfer_w_m2_k: float,
    air_temperature_k: float,
    draw_kg_s: float,
    minimum_gauge_pa: float,
    ambient_abs_pa: float,
    start_temperature_k: float | None = None,
) -> tuple[float, float]:
    """Return how long a cylinder holds a pressure under steady draw, and what is left then.

    Explicit 30 s steps of C dT/dt = U A(m) (T_air - T) - ṁ h_fg(T), C the liquid and
    0.35 + 0.65 m/m0 of the steel (assumed). Within 1.2 % of an
    adaptive solution with CoolProp 8.0.0 properties; U itself is the uncertainty.

    Args:
        liquid_mass_kg: liquid at the start. [kg]
        diameter_m: inner diameter of the cylinder. [m]
        steel_mass_kg: mass of the empty cylinder, at least 1 kg. [kg]
        heat_transfer_w_m2_k: heat transfer from the air; 8 in still air, derived. [W/(m2 K)]
        air_temperature_k: temperature of the air, -30 to 50 °C. [K]
        draw_kg_s: steady draw. [kg/s]
        minimum_gauge_pa: gauge pressure needed in the cylinder, regulator drop included. [Pa]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]
        start_temperature_k: liquid at the start, -30 to 50 °C; as the air where it is None. [K]

    Returns:
        Time until the pressure no longer holds or the liquid is gone [s], mass left [kg].

    Raises:
        ValueError: an argument is outside its range; the pressure must belong to a liquid
            between -30 and 50 °C (about 0.67 bar gauge or more).

    References:
        [1] derived: heat balance; the numerics agree with scipy 1.17.1, CoolProp 8.0.0.

    >>> time_s, left_kg = runtime_s(
    ...     11.0, 0.300, 12.0, 8.0, 293.15, 1.0 / 3600.0, 1.5e5, 101325.0)
    >>> round(time_s / 3600, 1), round(left_kg, 1)
    (4.8, 6.2)
    """
    _check_cylinder(
        liquid_mass_kg,
        diameter_m,
        steel_mass_kg,
        heat_transfer_w_m2_k,
        air_temperature_k,
        draw_kg_s,
    )
    _checks.ambient(ambient_abs_pa)
    lowest = _antoine_pa(_PROPANE, _LOWEST_K) - ambient_abs_pa
    highest = _antoine_pa(_PROPANE, _HIGHEST_K) - ambient_abs_pa
    _checks.within("minimum_gauge_pa", minimum_gauge_pa, lowest, highest, "Pa gauge")
    coldest = boiling_temperature_k(minimum_gauge_pa + ambient_abs_pa)
    start = air_temperature_k if start_temperature_k is None else start_temperature_k
    _check_temperature("start_temperature_k", start)
    if min(air_temperature_k, start) < coldest:
        return 0.0, liquid_mass_kg
    # The bottom alone brings enough heat: the pressure holds to the last drop.
    bottom = heat_transfer_w_m2_k * 0.25 * math.pi * diameter_m**2
    if bottom * (air_temperature_k - coldest) > draw_kg_s * latent_heat_j_kg(coldest):
        return liquid_mass_kg / draw_kg_s, 0.0
    before = (0.0, liquid_mass_kg, start)
    for now in _cooling(
        liquid_mass_kg,
        diameter_m,
        steel_mass_kg,
        heat_transfer_w_m2_k,
        air_temperature_k,
        draw_kg_s,
        start,
    ):
        if now[2] <= coldest:
            fall = before[2] - now[2]
            part = 0.0 if fall == 0.0 else (before[2] - coldest) / fall
            return (
                before[0] + part * (now[0] - before[0]),
                before[1] + part * (now[1] - before[1]),
            )
        before = now
    return before[0], 0.0
