"""Properties, a check by hand, and refusals of flashback arrestors."""

import math

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given
from hypothesis import strategies as st

from gas_values import ACETYLENE, OXYGEN, PROPANE
from kerfdocket.physics.air import AIR
from kerfdocket.physics.arrestor import arrestor_inlet_gauge_pa
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.hose import CannotPass

_AIR_PA = 101325.0
# A point as a diagram gives it: inlet [Pa gauge], loss as a share of that, flow [kg/s].
_points = st.tuples(st.floats(0.05e5, 5e5), st.floats(0.01, 0.9), st.floats(1e-4, 0.01))
_gases = st.sampled_from([OXYGEN, ACETYLENE, PROPANE])
_gauges = st.floats(0.0, 3e5)
_flows = st.floats(0.0, 5e-3)
_temperatures = st.floats(253.15, 323.15)


def _inlet(
    gas: Gas,
    outlet: float,
    flow: float,
    point: tuple[float, float, float],
    temperature: float = 288.15,
) -> float:
    """Inlet gauge pressure, infinite when the flow cannot pass."""
    gauge, share, read_flow = point
    try:
        return arrestor_inlet_gauge_pa(
            gas, outlet, _AIR_PA, flow, AIR, gauge, share * gauge, read_flow, temperature
        )
    except CannotPass:
        return math.inf


@given(gas=st.sampled_from([AIR, OXYGEN, ACETYLENE, PROPANE]), point=_points)
def test_gives_back_its_own_point(gas: Gas, point: tuple[float, float, float]) -> None:
    gauge, share, flow = point
    loss = share * gauge
    inlet = arrestor_inlet_gauge_pa(
        gas, gauge - loss, _AIR_PA, flow, gas, gauge, loss, flow, 288.15
    )
    assert inlet == pytest.approx(gauge, rel=1e-9)


@given(gas=_gases, outlet=_gauges, one=_flows, other=_flows, point=_points, kelvin=_temperatures)
def test_more_flow_never_less_loss(
    gas: Gas,
    outlet: float,
    one: float,
    other: float,
    point: tuple[float, float, float],
    kelvin: float,
) -> None:
    less, more = sorted((one, other))
    low = _inlet(gas, outlet, less, point, kelvin)
    assert outlet <= low <= _inlet(gas, outlet, more, point, kelvin) + 1e-6


@given(gas=_gases, flow=_flows, one=_gauges, other=_gauges, point=_points)
def test_more_pressure_never_more_loss(
    gas: Gas, flow: float, one: float, other: float, point: tuple[float, float, float]
) -> None:
    low, high = sorted((one, other))
    at_low, at_high = _inlet(gas, low, flow, point), _inlet(gas, high, flow, point)
    assume(math.isfinite(at_low) and math.isfinite(at_high))
    assert at_high - high <= at_low - low + 1e-6


@given(gas=_gases, outlet=_gauges, point=_points)
def test_no_flow_no_loss(gas: Gas, outlet: float, point: tuple[float, float, float]) -> None:
    assert _inlet(gas, outlet, 0.0, point) == outlet


def test_by_hand() -> None:
    # Worked by hand from p1² - p2² = k ṁ² Z R T.
    # Point: air, 1 bar gauge, 0.2 bar lost, 0.01 kg/s: p1 201 325, p2 181 325 Pa, difference of
    # the squares 7.653e9 Pa²; R T = 8.31446/0.0289644 * 288.15 = 82 716 J/kg, Z = 0.99915:
    # k = 7.653e9/(1e-4 * 0.99915 * 82 716) = 9.260e8 1/m4.
    # Oxygen, 0.02 kg/s to 5 bar gauge: R T = 74 872 J/kg, Z = 0.99532, so p1² = 601 325² +
    # 9.260e8 * 4e-4 * 0.99532 * 74 872 = 3.61592e11 + 2.7603e10, p1 = 623 855 Pa: 22 530 Pa lost.
    inlet = arrestor_inlet_gauge_pa(OXYGEN, 5e5, _AIR_PA, 0.02, AIR, 1e5, 0.2e5, 0.01, 288.15)
    assert inlet - 5e5 == pytest.approx(22_530.0, abs=10.0)


@pytest.mark.parametrize(("gas", "fluid"), [(OXYGEN, "Oxygen"), (PROPANE, "Propane")])
def test_a_small_loss_goes_with_flow_squared_over_density(gas: Gas, fluid: str) -> None:
    # Without compression Δp = ζ ṁ²/(2 ρ A²); densities: CoolProp 8.0.0.
    read_loss, read_flow, flow, kelvin = 1000.0, 4e-3, 3e-3, 278.15
    read_density = PropsSI("D", "P", 2e5 + _AIR_PA, "T", 288.15, "Air")
    density = PropsSI("D", "P", 2e5 + _AIR_PA, "T", kelvin, fluid)
    expected = read_loss * (flow / read_flow) ** 2 * read_density / density
    inlet = arrestor_inlet_gauge_pa(gas, 2e5, _AIR_PA, flow, AIR, 2e5, read_loss, read_flow, kelvin)
    assert inlet - 2e5 == pytest.approx(expected, rel=0.01)


def test_says_what_cannot_pass() -> None:
    with pytest.raises(CannotPass, match=r"this arrestor at 0\.5 bar gauge.*accepted is"):
        arrestor_inlet_gauge_pa(PROPANE, 0.5e5, _AIR_PA, 0.5, AIR, 1e5, 0.5e5, 0.005, 288.15)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"outlet_gauge_pa": -1.0}, "outlet_gauge_pa=-1.0"),
        ({"ambient_abs_pa": 1.0}, "ambient_abs_pa=1.0"),
        ({"flow_kg_s": -1e-3}, "flow_kg_s=-0.001"),
        ({"flow_kg_s": math.nan}, "flow_kg_s=nan"),
        ({"read_inlet_gauge_pa": -1.0}, "read_inlet_gauge_pa=-1.0"),
        ({"read_loss_pa": 0.0}, "read_loss_pa=0.0"),
        ({"read_loss_pa": 1.01e5}, "read_loss_pa=101000.0"),  # below the air behind it
        ({"read_loss_pa": 2.1e5}, "read_loss_pa=210000.0"),  # more than there is
        ({"read_flow_kg_s": 0.0}, "read_flow_kg_s=0.0"),
        ({"temperature_k": 20.0}, "temperature_k=20.0"),
    ],
)
def test_refuses_what_no_arrestor_has(change: dict[str, float], named: str) -> None:
    good = {
        "outlet_gauge_pa": 2e5,
        "ambient_abs_pa": _AIR_PA,
        "flow_kg_s": 1e-3,
        "read_inlet_gauge_pa": 1e5,
        "read_loss_pa": 0.2e5,
        "read_flow_kg_s": 5e-3,
        "temperature_k": 288.15,
    }
    with pytest.raises(ValueError, match=f"^{named}.*accepted is"):
        arrestor_inlet_gauge_pa(gas=OXYGEN, read_gas=AIR, **(good | change))
