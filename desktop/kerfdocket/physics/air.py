"""The air: its pressure at an altitude, and its properties as a test gas."""

from typing import Final

from kerfdocket.physics import _checks
from kerfdocket.physics.gas import STANDARD_ATMOSPHERE_PA, Gas

__all__ = ["AIR", "standard_air_pressure_abs_pa"]

# The gas that makers of arrestors measure with. Molar mass: ISO 2533:1975. Heat capacity ratio
# (ideal gas), compressibility slope, density and viscosity at 15 °C, 1 bar absolute: CoolProp
# 8.0.0.
AIR: Final = Gas(
    name="air",
    molar_mass_kg_mol=0.028_964_42,
    heat_capacity_ratio=1.4002,
    compressibility_slope_per_pa=4.2e-9,
    density_reference_kg_m3=1.2095,
    viscosity_pa_s=1.796e-5,
)

_LAPSE_K_M = 0.0065  # ISO 2533:1975, troposphere
_SEA_LEVEL_K = 288.15  # ISO 2533:1975
_EXPONENT = 5.255876  # g M / (R L) with the constants of ISO 2533:1975
_LOWEST_M, _HIGHEST_M = -500.0, 6000.0


def standard_air_pressure_abs_pa(altitude_m: float) -> float:
    """Return the air pressure of the standard atmosphere.

    p = 101325 Pa (1 - 0.0065 h / 288.15)^5.2559, see [1]. Weather moves the real pressure by
    some 3 % either way (from memory); a barometer comes first.

    Args:
        altitude_m: altitude above sea level, -500 to 6000. [m]

    Returns:
        Absolute pressure. [Pa]

    Raises:
        ValueError: the altitude is not finite or outside its range.

    References:
        [1] ISO 2533:1975, Standard atmosphere; constants seen in independent copies.

    >>> round(standard_air_pressure_abs_pa(3000.0))
    70109
    """
    _checks.within("altitude_m", altitude_m, _LOWEST_M, _HIGHEST_M, "m")
    share = 1.0 - _LAPSE_K_M * altitude_m / _SEA_LEVEL_K
    return float(STANDARD_ATMOSPHERE_PA * share**_EXPONENT)
