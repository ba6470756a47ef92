"""Content of an oxygen cylinder. Volume times pressure is wrong by 7 to 25 %."""

from kerfdocket.physics import _checks
from kerfdocket.physics.gas import REFERENCE_PRESSURE_ABS_PA, REFERENCE_TEMPERATURE_K, Gas
from kerfdocket.physics.solve import falling_root

__all__ = [
    "oxygen_compressibility",
    "oxygen_gauge_after_temperature_pa",
    "oxygen_gauge_pa",
    "oxygen_mass_kg",
]

_OXYGEN_MOLAR_MASS_KG_MOL = 0.0319988
_HIGHEST_ABS_PA = 305.0e5
_LOWEST_K, _HIGHEST_K = 253.15, 323.15
_REFERENCE_COMPRESSIBILITY = 0.99925  # derived: CoolProp 8.0.0, 15 °C and 1 bar


def oxygen_compressibility(pressure_abs_pa: float, temperature_k: float) -> float:
    """Return the compressibility factor of oxygen at cylinder pressure.

    Z = 1 + q (0.240061 - 0.549075 x - 1.0975 x²) + q² (-0.0879715 + 0.31304 x)
    + 0.00135958 q³ with q = p/100 bar and x = 100 K/T. Derived: a minimax fit against
    CoolProp 8.0.0, within 0.35 % over the whole range.

    Args:
        pressure_abs_pa: absolute pressure, 0 to 305 bar. [Pa]
        temperature_k: gas temperature, -20 to 50 °C. [K]

    Returns:
        Compressibility factor. [-]

    Raises:
        ValueError: pressure or temperature is outside the range of the fit.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.

    >>> round(oxygen_compressibility(201.0e5, 288.15), 3)
    0.928
    """
    _checks.within("pressure_abs_pa", pressure_abs_pa, 0.0, _HIGHEST_ABS_PA, "Pa")
    _checks.within("temperature_k", temperature_k, _LOWEST_K, _HIGHEST_K, "K")
    q, x = pressure_abs_pa / 1.0e7, 100.0 / temperature_k
    return (
        1.0
        + q * (0.240061 - 0.549075 * x - 1.0975 * x * x)
        + q * q * (-0.0879715 + 0.31304 * x)
        + 0.00135958 * q**3
    )


def oxygen_mass_kg(
    water_capacity_m3: float,
    pressure_gauge_pa: float,
    ambient_abs_pa: float,
    temperature_k: float,
    gas: Gas,
) -> float:
    """Return the mass of oxygen in a cylinder from its gauge.

    V15 = V p/(Z T) · 288.15 K/1 bar · Z15 with Z of `oxygen_compressibility` and
    Z15 = 0.99925; the mass is V15 times the reference density. The gauge must have settled:
    after a fast draw-off the gas is cold and the gauge under-reports.

    Args:
        water_capacity_m3: inner volume of the cylinder. [m3]
        pressure_gauge_pa: gauge pressure of the cylinder. [Pa]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]
        temperature_k: temperature of the gas in the cylinder. [K]
        gas: properties of oxygen; another gas is refused. [-]

    Returns:
        Mass of all oxygen inside, the part below ambient pressure included. [kg]

    Raises:
        ValueError: an argument is outside its range, or `gas` is not oxygen.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> mass = oxygen_mass_kg(0.050, 200.0e5, 101325.0, 288.15, oxygen)
    >>> round(oxygen.volume_m3(mass), 1)
    10.8
    """
    if abs(gas.molar_mass_kg_mol / _OXYGEN_MOLAR_MASS_KG_MOL - 1.0) > 1e-3:
        raise ValueError(f"gas={gas.name!r}: accepted is oxygen, the fit is for it alone")
    _checks.above_zero("water_capacity_m3", water_capacity_m3, 100.0, "m3")
    _checks.ambient(ambient_abs_pa)
    highest = _HIGHEST_ABS_PA - ambient_abs_pa
    _checks.within("pressure_gauge_pa", pressure_gauge_pa, 0.0, highest, "Pa gauge")
    pressure = pressure_gauge_pa + ambient_abs_pa
    factor = oxygen_compressibility(pressure, temperature_k)
    volume_m3 = (
        water_capacity_m3
        * pressure
        / (factor * temperature_k)
        * REFERENCE_TEMPERATURE_K
        / REFERENCE_PRESSURE_ABS_PA
        * _REFERENCE_COMPRESSIBILITY
    )
    return gas.mass_kg(volume_m3)


def oxygen_gauge_pa(
    water_capacity_m3: float,
    mass_kg: float,
    ambient_abs_pa: float,
    temperature_k: float,
    gas: Gas,
) -> float:
    """Return what the gauge of an oxygen cylinder shows with a mass of gas in it.

    Inverse of `oxygen_mass_kg`, by bisection; with the gas settled at the temperature.

    Args:
        water_capacity_m3: water capacity of the cylinder. [m3]
        mass_kg: all oxygen in it. [kg]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]
        temperature_k: gas temperature, -20 to 50 °C. [K]
        gas: properties of oxygen. [-]

    Returns:
        Gauge pressure; 0 for what is left at the pressure of the air or less. [Pa]

    Raises:
        ValueError: an argument is outside its range, or the mass is more than 305 bar absolute
            would hold.

    References:
        [1] derived from the function named.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> mass = oxygen_mass_kg(0.05, 2.0e7, 101325.0, 288.15, oxygen)
    >>> round(oxygen_gauge_pa(0.05, mass, 101325.0, 288.15, oxygen) / 1e5, 3)
    200.0
    """
    _checks.within("mass_kg", mass_kg, 0.0, 1e5, "kg")
    highest = _HIGHEST_ABS_PA - ambient_abs_pa

    def lacks(gauge_pa: float) -> float:
        return mass_kg - oxygen_mass_kg(
            water_capacity_m3, gauge_pa, ambient_abs_pa, temperature_k, gas
        )

    if lacks(highest) > 0.0:
        raise ValueError(
            f"mass_kg={mass_kg} kg is more than {water_capacity_m3} m3 holds at 305 bar absolute"
        )
    return 0.0 if lacks(0.0) <= 0.0 else falling_root(lacks, 0.0, highest)


def oxygen_gauge_after_temperature_pa(
    pressure_gauge_pa: float,
    ambient_abs_pa: float,
    temperature_k: float,
    new_temperature_k: float,
) -> float:
    """Return what the gauge of a closed oxygen cylinder reads at another temperature.

    p/(Z T) stays constant, with Z of `oxygen_compressibility`; against CoolProp 8.0.0 at constant
    density within 0.7 % from 200 bar at 15 °C and 0.9 % over the whole range. Pressure in
    proportion to T would be 9 % too high at -20 °C.

    Args:
        pressure_gauge_pa: gauge pressure at the first temperature. [Pa]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]
        temperature_k: gas temperature when the gauge was read. [K]
        new_temperature_k: gas temperature afterwards. [K]

    Returns:
        Gauge pressure at the new temperature, negative if it falls below ambient. [Pa]

    Raises:
        ValueError: an argument is outside its range, or the new pressure would pass 305 bar.

    References:
        [1] derived; CoolProp 8.0.0 HEOS.

    >>> reading = oxygen_gauge_after_temperature_pa(200.0e5, 101325.0, 288.15, 273.15)
    >>> round(reading / 1e5)
    184
    """
    _checks.ambient(ambient_abs_pa)
    highest = _HIGHEST_ABS_PA - ambient_abs_pa
    _checks.within("pressure_gauge_pa", pressure_gauge_pa, 0.0, highest, "Pa gauge")
    _checks.within("new_temperature_k", new_temperature_k, _LOWEST_K, _HIGHEST_K, "K")
    pressure = pressure_gauge_pa + ambient_abs_pa
    density = pressure / (oxygen_compressibility(pressure, temperature_k) * temperature_k)

    def missing(new_abs_pa: float) -> float:
        factor = oxygen_compressibility(new_abs_pa, new_temperature_k)
        return density - new_abs_pa / (factor * new_temperature_k)

    if missing(_HIGHEST_ABS_PA) > 0.0:
        raise ValueError(
            f"new_temperature_k={new_temperature_k} K takes {pressure_gauge_pa} Pa gauge beyond "
            "305 bar absolute: accepted is a lower temperature or pressure"
        )
    return falling_root(missing, 0.0, _HIGHEST_ABS_PA) - ambient_abs_pa
