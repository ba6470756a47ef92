"""Refusals shared by the formulas: each names the value and what would be accepted."""

import math

from kerfdocket.physics.gas import Gas

# Outside these the gas properties near 15 °C were never compared with anything.
LOWEST_GAS_K, HIGHEST_GAS_K = 223.15, 373.15
LOWEST_AMBIENT_PA, HIGHEST_AMBIENT_PA = 40_000.0, 120_000.0
HIGHEST_LINE_ABS_PA = 5.0e6
LARGEST_COMPRESSIBILITY_SHIFT = 0.15
ZERO_CELSIUS_K = 273.15
_HAIR = 1e-9


def within(name: str, value: float, low: float, high: float, unit: str) -> None:
    """Refuse a value that is not finite or not in [low, high].

    A billionth is let through, so that -20 °C stays -20 °C after a conversion to kelvin.
    """
    low_enough = low - _HAIR * abs(low) <= value
    if not (math.isfinite(value) and low_enough and value <= high + _HAIR * abs(high)):
        unit = f" {unit}" if unit else ""
        raise ValueError(f"{name}={value}{unit}: accepted is {low:g} to {high:g}{unit}")


def above_zero(name: str, value: float, high: float, unit: str) -> None:
    """Refuse a value that is not finite or not in (0, high]."""
    if not (math.isfinite(value) and 0.0 < value <= high):
        unit = f" {unit}" if unit else ""
        raise ValueError(f"{name}={value}{unit}: accepted is above 0, up to {high:g}{unit}")


def gas_temperature(temperature_k: float, name: str = "temperature_k") -> None:
    """Refuse a gas temperature outside -50 to 100 °C."""
    within(name, temperature_k, LOWEST_GAS_K, HIGHEST_GAS_K, "K")


def ambient(ambient_abs_pa: float) -> None:
    """Refuse an air pressure that no workshop has."""
    within("ambient_abs_pa", ambient_abs_pa, LOWEST_AMBIENT_PA, HIGHEST_AMBIENT_PA, "Pa")


def highest_line_abs_pa(gas: Gas) -> float:
    """Return the highest absolute pressure at which Z = 1 - k p is used for this gas."""
    slope = abs(gas.compressibility_slope_per_pa)
    if slope == 0.0:
        return HIGHEST_LINE_ABS_PA
    return min(HIGHEST_LINE_ABS_PA, LARGEST_COMPRESSIBILITY_SHIFT / slope)


def line_gauge(name: str, gauge_pa: float, ambient_abs_pa: float, gas: Gas) -> None:
    """Refuse a gauge pressure below zero or above what Z = 1 - k p is good for."""
    ambient(ambient_abs_pa)
    within(name, gauge_pa, 0.0, highest_line_abs_pa(gas) - ambient_abs_pa, "Pa gauge")
