"""Properties and refusals of hoses."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from gas_values import ACETYLENE, OXYGEN, PROPANE
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.hose import (
    CannotPass,
    friction_factor,
    hose_inlet_gauge_pa,
    hose_outlet_gauge_pa,
    hose_tail_loss_coefficient,
    hose_volume_m3,
    torch_gauge_pa,
)
from kerfdocket.physics.orifice import bore_flow_kg_s

_AIR_PA = 101325.0
_flows = st.floats(1e-6, 3e-3)
_bores = st.floats(4e-3, 13e-3)
_lengths = st.floats(1.0, 60.0)
_gauges = st.floats(0.1e5, 10e5)


def _outlet(gauge: float, flow: float, bore: float, length: float, fittings: float = 0.0) -> float:
    return hose_outlet_gauge_pa(
        OXYGEN, gauge, _AIR_PA, flow, bore, length, 288.15, fittings_k=fittings
    )


def _outlet_or_none(gauge: float, flow: float, bore: float, length: float) -> float:
    """Outlet pressure, minus one when the flow cannot pass."""
    try:
        return _outlet(gauge, flow, bore, length)
    except CannotPass:
        return -1.0


@given(gauge=_gauges, bore=_bores, length=_lengths, one=_flows, other=_flows)
def test_more_flow_never_less_loss(
    gauge: float, bore: float, length: float, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    less = _outlet_or_none(gauge, low, bore, length)
    assert _outlet_or_none(gauge, high, bore, length) <= less + 1e-4


@given(gauge=_gauges, bore=_bores, flow=_flows, one=_lengths, other=_lengths)
def test_longer_hose_never_less_loss(
    gauge: float, bore: float, flow: float, one: float, other: float
) -> None:
    short, long_ = sorted((one, other))
    near = _outlet_or_none(gauge, flow, bore, short)
    assert _outlet_or_none(gauge, flow, bore, long_) <= near + 1e-4


@given(bore=_bores, length=_lengths, flow=_flows, one=_gauges, other=_gauges)
def test_more_pressure_never_more_loss(
    bore: float, length: float, flow: float, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    outlet = _outlet_or_none(low, flow, bore, length)
    assume(outlet >= 0.0)
    assert high - _outlet(high, flow, bore, length) <= low - outlet + 1e-4


@given(
    gas=st.sampled_from([OXYGEN, ACETYLENE, PROPANE]),
    gauge=st.floats(0.1e5, 4e5),
    bore=_bores,
    length=_lengths,
    flow=_flows,
    fittings=st.floats(0.0, 50.0),
)
def test_inlet_is_the_inverse_of_outlet(
    gas: Gas, gauge: float, bore: float, length: float, flow: float, fittings: float
) -> None:
    try:
        outlet = hose_outlet_gauge_pa(
            gas, gauge, _AIR_PA, flow, bore, length, 288.15, fittings_k=fittings
        )
    except CannotPass:
        assume(False)
    # Near choking the outlet pressure says little about the inlet pressure.
    assume(outlet > 0.05 * gauge)
    inlet = hose_inlet_gauge_pa(
        gas, outlet, _AIR_PA, flow, bore, length, 288.15, fittings_k=fittings
    )
    assert inlet == pytest.approx(gauge, rel=1e-6, abs=0.01)


@given(relative_roughness=st.floats(0.0, 0.05), one=st.floats(2040.0, 1e7), factor=st.floats(1, 10))
def test_turbulent_friction_falls_with_speed_and_rises_with_roughness(
    relative_roughness: float, one: float, factor: float
) -> None:
    slow = friction_factor(one, relative_roughness)
    assert friction_factor(one * factor, relative_roughness) <= slow
    assert friction_factor(one, relative_roughness / 2.0) <= slow


def test_the_switch_to_turbulent_flow_is_on_the_safe_side() -> None:
    assert friction_factor(2039.9, 0.001) == pytest.approx(64.0 / 2039.9)
    assert friction_factor(2040.0, 0.001) > 64.0 / 2040.0


@settings(max_examples=30, deadline=None)
@given(
    gauge=st.floats(0.5e5, 10e5),
    hose=st.floats(5e-3, 10e-3),
    length=st.floats(0.0, 60.0),
    nozzle=st.floats(0.5e-3, 3e-3),
    coefficient=st.floats(0.6, 1.0),
)
def test_torch_pressure_balances_hose_and_bore(
    gauge: float, hose: float, length: float, nozzle: float, coefficient: float
) -> None:
    torch, flow = torch_gauge_pa(OXYGEN, gauge, _AIR_PA, hose, length, nozzle, 288.15, coefficient)
    assert 0.0 <= torch <= gauge
    assert flow == bore_flow_kg_s(OXYGEN, nozzle, torch, _AIR_PA, 288.15, coefficient)
    reynolds = 4.0 * flow / (math.pi * hose * OXYGEN.viscosity_pa_s)
    assume(reynolds > 2100.0)  # at the laminar limit the loss jumps and nothing balances
    assert _outlet(gauge, flow, hose, length) == pytest.approx(torch, rel=1e-6, abs=1.0)


def test_a_wide_hose_leaves_the_regulator_pressure() -> None:
    torch, _flow = torch_gauge_pa(OXYGEN, 5e5, _AIR_PA, 0.05, 1.0, 0.8e-3, 288.15)
    assert torch == pytest.approx(5e5, rel=1e-6)


def test_no_flow_no_loss() -> None:
    assert _outlet(5e5, 0.0, 0.0063, 20.0) == 5e5
    assert hose_inlet_gauge_pa(OXYGEN, 5e5, _AIR_PA, 0.0, 0.0063, 20.0, 288.15) == 5e5


def test_fittings_take_pressure_without_any_length() -> None:
    assert _outlet(5e5, 1e-3, 0.0063, 0.0) == 5e5
    assert _outlet(5e5, 1e-3, 0.0063, 0.0, fittings=10.0) < 5e5


def test_says_what_cannot_pass() -> None:
    with pytest.raises(CannotPass, match=r"6\.3 mm and length 20 m at 0\.5 bar gauge.*accepted is"):
        _outlet(0.5e5, 0.01, 0.0063, 20.0)
    with pytest.raises(CannotPass, match=r"at its outlet.*accepted is"):
        hose_inlet_gauge_pa(OXYGEN, 1e5, _AIR_PA, 0.05, 0.0063, 20.0, 288.15)


@given(gauge=st.floats(0.0, 10e5), flow=st.floats(1e-6, 0.1), bore=_bores, length=_lengths)
def test_never_answers_with_a_negative_gauge_pressure(
    gauge: float, flow: float, bore: float, length: float
) -> None:
    try:
        assert 0.0 <= _outlet(gauge, flow, bore, length) <= gauge
    except CannotPass as error:
        assert "accepted is" in str(error)  # noqa: PT017 - either outcome is allowed


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"inlet_gauge_pa": -1.0}, "inlet_gauge_pa=-1.0"),
        ({"flow_kg_s": math.inf}, "flow_kg_s=inf"),
        ({"flow_kg_s": -1e-3}, "flow_kg_s=-0.001"),
        ({"bore_m": 6.3}, "bore_m=6.3"),
        ({"length_m": -1.0}, "length_m=-1.0"),
        ({"temperature_k": 20.0}, "temperature_k=20.0"),
        ({"roughness_m": 0.01}, "roughness_m=0.01"),
        ({"fittings_k": -1.0}, "fittings_k=-1.0"),
    ],
)
def test_refuses_what_no_hose_has(change: dict[str, float], named: str) -> None:
    good = {
        "inlet_gauge_pa": 5e5,
        "ambient_abs_pa": _AIR_PA,
        "flow_kg_s": 1e-3,
        "bore_m": 0.0063,
        "length_m": 20.0,
        "temperature_k": 288.15,
    }
    with pytest.raises(ValueError, match=f"^{named}.*accepted is"):
        hose_outlet_gauge_pa(OXYGEN, **(good | change))


@given(bore=_bores, length=_lengths)
def test_volume_goes_with_length_and_the_square_of_the_bore(bore: float, length: float) -> None:
    volume = hose_volume_m3(bore, length)
    assert hose_volume_m3(bore, 2.0 * length) == pytest.approx(2.0 * volume)
    assert hose_volume_m3(2.0 * bore, length) == pytest.approx(4.0 * volume)


def _inlet_or_infinite(gas: Gas, gauge: float, flow: float, bore: float, length: float) -> float:
    """Inlet pressure that a hose needs, infinite when the flow cannot pass."""
    try:
        return hose_inlet_gauge_pa(gas, gauge, _AIR_PA, flow, bore, length, 288.15)
    except CannotPass:
        return math.inf


_hose_gases = st.sampled_from([OXYGEN, ACETYLENE, PROPANE])


@given(gas=_hose_gases, gauge=st.floats(0.0, 1.5e5), bore=_bores, length=_lengths, flow=_flows)
def test_the_inlet_is_never_below_the_outlet(
    gas: Gas, gauge: float, bore: float, length: float, flow: float
) -> None:
    assert _inlet_or_infinite(gas, gauge, flow, bore, length) >= gauge


@given(
    gas=_hose_gases,
    gauge=st.floats(0.0, 1.5e5),
    bore=_bores,
    length=_lengths,
    one=_flows,
    other=_flows,
)
def test_more_flow_never_needs_a_lower_inlet_pressure(
    gas: Gas, gauge: float, bore: float, length: float, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    less = _inlet_or_infinite(gas, gauge, low, bore, length)
    assert _inlet_or_infinite(gas, gauge, high, bore, length) >= less - 1e-4


@given(
    gas=_hose_gases,
    gauge=st.floats(0.0, 1.5e5),
    bore=_bores,
    flow=_flows,
    one=_lengths,
    other=_lengths,
)
def test_a_longer_hose_never_needs_a_lower_inlet_pressure(
    gas: Gas, gauge: float, bore: float, flow: float, one: float, other: float
) -> None:
    short, long_ = sorted((one, other))
    near = _inlet_or_infinite(gas, gauge, flow, bore, short)
    assert _inlet_or_infinite(gas, gauge, flow, bore, long_) >= near - 1e-4


@given(one=st.floats(0.3, 1.0), other=st.floats(0.3, 1.0))
def test_a_narrower_tail_never_has_less_loss(one: float, other: float) -> None:
    narrow, wide = sorted((one, other))
    assert hose_tail_loss_coefficient(narrow) >= hose_tail_loss_coefficient(wide) >= 0.0


def test_tail_by_hand() -> None:
    assert hose_tail_loss_coefficient(1.0) == 0.0
    # Half the bore: β² = 1/4, (0.5 * 0.75 + 0.75²) * 16 = 15.
    assert hose_tail_loss_coefficient(0.5) == pytest.approx(15.0)


@pytest.mark.parametrize("ratio", [0.29, 1.01, 0.0, -0.5, math.nan])
def test_refuses_what_no_tail_has(ratio: float) -> None:
    with pytest.raises(ValueError, match=r"^bore_ratio=.*accepted is 0\.3 to 1"):
        hose_tail_loss_coefficient(ratio)
