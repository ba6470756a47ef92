"""Pressure loss of a gas in a flashback arrestor, from one point of the arrestor's own diagram."""

import math

from kerfdocket.physics import _checks
from kerfdocket.physics.gas import REFERENCE_TEMPERATURE_K, STANDARD_ATMOSPHERE_PA, Gas
from kerfdocket.physics.hose import CannotPass
from kerfdocket.physics.orifice import linear_compressibility

__all__ = ["arrestor_inlet_gauge_pa"]

_LARGEST_FLOW_KG_S = 1.0


def _resistance(gas: Gas, inlet_gauge_pa: float, loss_pa: float, flow_kg_s: float) -> float:
    """k in p1² - p2² = k ṁ² Z R T from a point at 15 °C and standard atmosphere. [1/m4]"""
    _checks.line_gauge("read_inlet_gauge_pa", inlet_gauge_pa, STANDARD_ATMOSPHERE_PA, gas)
    # Behind the arrestor is at least the air it blows into.
    _checks.above_zero("read_loss_pa", loss_pa, inlet_gauge_pa, "Pa")
    _checks.above_zero("read_flow_kg_s", flow_kg_s, _LARGEST_FLOW_KG_S, "kg/s")
    inlet = inlet_gauge_pa + STANDARD_ATMOSPHERE_PA
    z_r_t = linear_compressibility(gas, inlet) * gas.specific_gas_constant_j_kg_k
    z_r_t *= REFERENCE_TEMPERATURE_K
    return loss_pa * (2.0 * inlet - loss_pa) / (flow_kg_s**2 * z_r_t)


def arrestor_inlet_gauge_pa(
    gas: Gas,
    outlet_gauge_pa: float,
    ambient_abs_pa: float,
    flow_kg_s: float,
    read_gas: Gas,
    read_inlet_gauge_pa: float,
    read_loss_pa: float,
    read_flow_kg_s: float,
    temperature_k: float,
) -> float:
    """Return the gauge pressure that an arrestor needs at its inlet under flow.

    p1² - p2² = k ṁ² Z R T, a quadratic resistance in isothermal flow (derived: [1] with the
    friction and the acceleration in one number k), Z at the inlet. One point of the arrestor's
    own diagram, at 15 °C and standard atmosphere, gives k. A sintered element also has a
    share of loss that goes with the flow itself, and a valve in it an opening pressure: below
    the flow of the point the real loss is then larger than this, above it smaller. Read the
    point near the flow and pressure of the job.

    Args:
        gas: properties of the gas that flows. [-]
        outlet_gauge_pa: gauge pressure wanted at the outlet, under flow. [Pa]
        ambient_abs_pa: absolute pressure of the surrounding air. [Pa]
        flow_kg_s: mass flow. [kg/s]
        read_gas: properties of the gas of the diagram. [-]
        read_inlet_gauge_pa: inlet gauge pressure of the point. [Pa]
        read_loss_pa: pressure loss of the point, at most its inlet gauge pressure. [Pa]
        read_flow_kg_s: mass flow of the point. [kg/s]
        temperature_k: gas temperature. [K]

    Returns:
        Gauge pressure at the inlet. [Pa]

    Raises:
        ValueError: an argument is not finite or outside its range, or the point is impossible.
        CannotPass: the inlet pressure would pass the range of `linear_compressibility`.

    References:
        [1] Crane, Flow of Fluids Through Valves, Fittings and Pipe, Technical Paper 410,
            isothermal flow in long pipe lines (equation from memory).

    >>> oxygen = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.33664, 2.0e-5)
    >>> air = Gas("air", 0.02896442, 1.4002, 4.2e-9, 1.2095, 1.796e-5)
    >>> inlet = arrestor_inlet_gauge_pa(
    ...     oxygen, 5.0e5, 101325.0, oxygen.mass_kg(15.0 / 3600.0),
    ...     air, 5.0e5, 0.2e5, air.mass_kg(20.0 / 3600.0), 288.15)
    >>> round(inlet / 1e5, 2)
    5.12
    """
    _checks.line_gauge("outlet_gauge_pa", outlet_gauge_pa, ambient_abs_pa, gas)
    _checks.within("flow_kg_s", flow_kg_s, 0.0, _LARGEST_FLOW_KG_S, "kg/s")
    _checks.gas_temperature(temperature_k)
    resistance = _resistance(read_gas, read_inlet_gauge_pa, read_loss_pa, read_flow_kg_s)
    if flow_kg_s == 0.0:
        return outlet_gauge_pa
    outlet = outlet_gauge_pa + ambient_abs_pa
    drop = resistance * flow_kg_s**2 * gas.specific_gas_constant_j_kg_k * temperature_k
    # With Z = 1 - s p1 the equation is p1² + drop s p1 - (p2² + drop) = 0.
    half = 0.5 * drop * gas.compressibility_slope_per_pa
    inlet = math.sqrt(half * half + outlet * outlet + drop) - half
    if inlet > _checks.highest_line_abs_pa(gas):
        raise CannotPass(
            f"flow_kg_s={flow_kg_s:.6g} kg/s cannot pass this arrestor at "
            f"{outlet_gauge_pa / 1e5:.4g} bar gauge at its outlet: accepted is a smaller flow or "
            "an arrestor for more flow"
        )
    # Rounding must not make a gain of a small loss.
    return max(outlet_gauge_pa, inlet - ambient_abs_pa)
