"""Purging a hose and judging a pressure-decay test."""

import math

from kerfdocket.physics import _checks
from kerfdocket.physics.cylinder import oxygen_compressibility
from kerfdocket.physics.gas import REFERENCE_PRESSURE_ABS_PA, Gas
from kerfdocket.physics.orifice import density_kg_m3, linear_compressibility

__all__ = [
    "leak_rate_kg_s",
    "purge_time_s",
    "smallest_visible_leak_m3_s",
    "thermal_pressure_change_pa",
]

_LARGEST_VOLUME_M3 = 100.0
_LONGEST_S = 1e7


def purge_time_s(
    gas: Gas,
    volume_m3: float,
    flow_kg_s: float,
    pressure_abs_pa: float,
    temperature_k: float,
    remaining_share: float = 0.01,
) -> float:
    """Return how long a gas must flow until it has driven out what was in the hose.

    Well mixed, the slowest case: t = V/q ln(1/c), q the volume flow at hose pressure; 1 % left
    takes 4.6 hose volumes. Plug flow would take one.

    Args:
        gas: properties of the purging gas. [-]
        volume_m3: inner volume of hose and fittings. [m3]
        flow_kg_s: mass flow of the purging gas. [kg/s]
        pressure_abs_pa: absolute pressure in the hose while purging. [Pa]
        temperature_k: gas temperature. [K]
        remaining_share: share of the old gas that may remain. [-]

    Returns:
        Time. [s]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] mass balance of a stirred volume; derived.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> flow = oxygen.mass_kg(2.0 / 3600.0)
    >>> round(purge_time_s(oxygen, 1.005e-3, flow, 101325.0, 288.15), 1)
    8.4
    """
    _checks.within("volume_m3", volume_m3, 0.0, _LARGEST_VOLUME_M3, "m3")
    _checks.above_zero("flow_kg_s", flow_kg_s, 1.0, "kg/s")
    if not (math.isfinite(remaining_share) and 0.0 < remaining_share < 1.0):
        raise ValueError(f"remaining_share={remaining_share}: accepted is between 0 and 1")
    mass = volume_m3 * density_kg_m3(gas, pressure_abs_pa, temperature_k)
    return mass / flow_kg_s * math.log(1.0 / remaining_share)


def leak_rate_kg_s(
    gas: Gas,
    volume_m3: float,
    start_pressure_abs_pa: float,
    start_temperature_k: float,
    end_pressure_abs_pa: float,
    end_temperature_k: float,
    duration_s: float,
) -> float:
    """Return the leak that a fall of pressure in a closed volume shows.

    V (p1/(Z1 T1) - p2/(Z2 T2))/(R Δt); the temperatures matter: 1 K of drift looks like
    140 cm³/h on 0.5 L at 6 bar gauge in 5 min. Z = 1 - k p at line pressure; oxygen above
    50 bar uses `oxygen_compressibility` for both states.

    Args:
        gas: properties of the gas. [-]
        volume_m3: closed inner volume. [m3]
        start_pressure_abs_pa: absolute pressure at the start. [Pa]
        start_temperature_k: gas temperature at the start. [K]
        end_pressure_abs_pa: absolute pressure at the end. [Pa]
        end_temperature_k: gas temperature at the end. [K]
        duration_s: time between the readings. [s]

    Returns:
        Mass flow out; negative when the readings show a gain, so the test is void. [kg/s]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] gas law with compressibility; derived.

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> leak = leak_rate_kg_s(oxygen, 0.5e-3, 701325.0, 293.15, 691325.0, 293.15, 300.0)
    >>> round(oxygen.volume_m3(leak) * 3600e6)
    596
    """
    _checks.above_zero("volume_m3", volume_m3, _LARGEST_VOLUME_M3, "m3")
    _checks.above_zero("duration_s", duration_s, _LONGEST_S, "s")
    _checks.gas_temperature(start_temperature_k, "start_temperature_k")
    _checks.gas_temperature(end_temperature_k, "end_temperature_k")
    highest = max(start_pressure_abs_pa, end_pressure_abs_pa)
    is_cylinder = gas.name == "oxygen" and highest > _checks.highest_line_abs_pa(gas)

    def specific(pressure_abs_pa: float, temperature_k: float) -> float:
        if is_cylinder:
            factor = oxygen_compressibility(pressure_abs_pa, temperature_k)
        else:
            factor = linear_compressibility(gas, pressure_abs_pa)
        return pressure_abs_pa / (factor * temperature_k)

    change = specific(start_pressure_abs_pa, start_temperature_k)
    change -= specific(end_pressure_abs_pa, end_temperature_k)
    return volume_m3 * change / (gas.specific_gas_constant_j_kg_k * duration_s)


def smallest_visible_leak_m3_s(volume_m3: float, resolution_pa: float, duration_s: float) -> float:
    """Return the smallest leak that a pressure-decay test can see.

    V Δp/(p15 Δt): a leak below it moves the gauge by less than can be read.

    Args:
        volume_m3: closed inner volume. [m3]
        resolution_pa: smallest change that can be read off the gauge. [Pa]
        duration_s: time between the readings. [s]

    Returns:
        Leak as volume flow at 15 °C and 1 bar absolute. [m3/s]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] gas law at 15 °C; derived.

    >>> round(smallest_visible_leak_m3_s(0.5e-3, 5000.0, 600.0) * 3600e6)
    150
    """
    _checks.above_zero("volume_m3", volume_m3, _LARGEST_VOLUME_M3, "m3")
    _checks.above_zero("resolution_pa", resolution_pa, 1e7, "Pa")
    _checks.above_zero("duration_s", duration_s, _LONGEST_S, "s")
    return volume_m3 * resolution_pa / (REFERENCE_PRESSURE_ABS_PA * duration_s)


def thermal_pressure_change_pa(
    pressure_abs_pa: float, temperature_k: float, change_k: float
) -> float:
    """Return how far temperature alone moves the gauge of a closed volume, p ΔT/T.

    Ideal gas: 1.7 % low for oxygen at 5 bar gauge, 8 % low for propane at 1 bar gauge
    (CoolProp 8.0.0).

    Args:
        pressure_abs_pa: absolute pressure. [Pa]
        temperature_k: gas temperature at the start. [K]
        change_k: change of temperature, negative for cooling. [K]

    Returns:
        Change of pressure. [Pa]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] gas law; derived.

    >>> round(thermal_pressure_change_pa(601325.0, 288.15, 1.0))
    2087
    """
    _checks.above_zero("pressure_abs_pa", pressure_abs_pa, 5e7, "Pa")
    _checks.gas_temperature(temperature_k)
    _checks.within("change_k", change_k, -100.0, 100.0, "K")
    return pressure_abs_pa * change_k / temperature_k
