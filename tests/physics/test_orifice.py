"""Properties and refusals of flow through bores."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gas_values import GASES, HYDROGEN, OXYGEN, PROPANE
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.orifice import (
    bore_flow_kg_s,
    bore_pressure_gauge_pa,
    critical_pressure_ratio,
    density_kg_m3,
    exit_area_ratio,
    friction_discharge_coefficient,
    linear_compressibility,
)

_AIR_PA = 101325.0
_gases = st.sampled_from(sorted(GASES.values(), key=lambda gas: gas.name))
_gauges = st.floats(0.0, 4.0e5)
_bores = st.floats(0.3e-3, 5.0e-3)
_temperatures = st.floats(253.15, 323.15)


@given(gas=_gases, bore=_bores, one=_gauges, other=_gauges, temperature=_temperatures)
def test_more_pressure_never_less_flow(
    gas: Gas, bore: float, one: float, other: float, temperature: float
) -> None:
    low, high = sorted((one, other))
    less = bore_flow_kg_s(gas, bore, low, _AIR_PA, temperature)
    assert bore_flow_kg_s(gas, bore, high, _AIR_PA, temperature) >= less * (1.0 - 1e-12)


@given(bore=_bores, gauge=st.floats(1e4, 1e6), temperature=_temperatures)
def test_flow_goes_with_area_and_discharge_coefficient(
    bore: float, gauge: float, temperature: float
) -> None:
    flow = bore_flow_kg_s(OXYGEN, bore, gauge, _AIR_PA, temperature)
    double = bore_flow_kg_s(OXYGEN, 2.0 * bore, gauge, _AIR_PA, temperature, 0.5)
    assert double == pytest.approx(2.0 * flow, rel=1e-12)


@given(gas=_gases, bore=_bores, gauge=st.floats(100.0, 4.0e5), temperature=_temperatures)
def test_pressure_is_the_inverse_of_flow(
    gas: Gas, bore: float, gauge: float, temperature: float
) -> None:
    flow = bore_flow_kg_s(gas, bore, gauge, _AIR_PA, temperature, 0.9)
    again = bore_pressure_gauge_pa(gas, bore, flow, _AIR_PA, temperature, 0.9)
    assert again == pytest.approx(gauge, rel=1e-8)


@pytest.mark.parametrize("gas", GASES.values(), ids=GASES)
def test_the_two_branches_meet_where_the_bore_chokes(gas: Gas) -> None:
    choking = _AIR_PA / critical_pressure_ratio(gas.heat_capacity_ratio) - _AIR_PA
    below = bore_flow_kg_s(gas, 1e-3, choking * (1.0 - 1e-9), _AIR_PA, 288.15)
    above = bore_flow_kg_s(gas, 1e-3, choking * (1.0 + 1e-9), _AIR_PA, 288.15)
    assert below == pytest.approx(above, rel=1e-7)


def test_choking_gauge_pressures_at_sea_level() -> None:
    # Shapiro's critical ratio with CoolProp 8.0.0 heat capacity ratios; printed to 1 mbar.
    stated = {"propane": 0.740, "propylene": 0.752, "acetylene": 0.805, "methane": 0.848}
    stated |= {"hydrogen": 0.909}
    for name, bar in stated.items():
        ratio = critical_pressure_ratio(GASES[name].heat_capacity_ratio)
        assert 1.01325 / ratio - 1.01325 == pytest.approx(bar, abs=1e-3), name


def test_no_pressure_no_flow_and_back() -> None:
    assert bore_flow_kg_s(OXYGEN, 1e-3, 0.0, _AIR_PA, 288.15) == 0.0
    assert bore_pressure_gauge_pa(OXYGEN, 1e-3, 0.0, _AIR_PA, 288.15) == 0.0


@given(one=st.floats(0.0, 10.0), other=st.floats(0.0, 10.0))
def test_more_friction_never_more_flow(one: float, other: float) -> None:
    low, high = sorted((one, other))
    smooth = friction_discharge_coefficient(low, 1.4)
    assert 0.0 < friction_discharge_coefficient(high, 1.4) <= smooth + 1e-9 <= 1.0 + 1e-9


def test_discharge_coefficient_goes_to_one_without_friction() -> None:
    assert friction_discharge_coefficient(0.0, 1.4) == 1.0
    assert friction_discharge_coefficient(1e-9, 1.4) == pytest.approx(1.0, abs=1e-6)


@given(one=st.floats(1.0e5, 20.0e5), other=st.floats(1.0e5, 20.0e5))
def test_more_pressure_never_a_smaller_exit(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert exit_area_ratio(OXYGEN, high, _AIR_PA) >= exit_area_ratio(OXYGEN, low, _AIR_PA) >= 1.0


@pytest.mark.parametrize("gas", GASES.values(), ids=GASES)
def test_density_at_the_reference_state_is_the_stated_one(gas: Gas) -> None:
    # 0.06 %: what the rounding of the slopes leaves.
    computed = density_kg_m3(gas, 1.0e5, 288.15)
    assert computed == pytest.approx(gas.density_reference_kg_m3, rel=6e-4)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"bore_m": 0.0}, "bore_m=0.0"),
        ({"bore_m": 1.2}, "bore_m=1.2 m"),
        ({"bore_m": math.nan}, "bore_m=nan"),
        ({"pressure_gauge_pa": -1.0}, "pressure_gauge_pa=-1.0"),
        ({"pressure_gauge_pa": 2.0e7}, "pressure_gauge_pa=20000000.0"),
        ({"ambient_abs_pa": 1.01325}, "ambient_abs_pa=1.01325"),
        ({"temperature_k": 15.0}, "temperature_k=15.0"),
        ({"discharge_coefficient": 1.1}, "discharge_coefficient=1.1"),
        ({"discharge_coefficient": 0.0}, "discharge_coefficient=0.0"),
    ],
)
def test_refuses_what_no_bore_has(change: dict[str, float], named: str) -> None:
    good = {
        "bore_m": 1e-3,
        "pressure_gauge_pa": 5e5,
        "ambient_abs_pa": _AIR_PA,
        "temperature_k": 288.15,
    }
    with pytest.raises(ValueError, match=f"^{named}.*accepted is"):
        bore_flow_kg_s(OXYGEN, **(good | change))


def test_refuses_a_flow_beyond_the_range_of_the_pressure() -> None:
    with pytest.raises(ValueError, match=r"flow_kg_s=0\.9 .*accepted is"):
        bore_pressure_gauge_pa(OXYGEN, 1e-3, 0.9, _AIR_PA, 288.15)


def test_refuses_dense_propane_and_takes_light_hydrogen() -> None:
    with pytest.raises(ValueError, match="accepted is"):
        linear_compressibility(PROPANE, 9.0e5)
    assert linear_compressibility(HYDROGEN, 9.0e5) > 1.0


def test_refuses_an_exit_without_choking() -> None:
    with pytest.raises(ValueError, match="accepted is 90"):
        exit_area_ratio(OXYGEN, 0.5e5, _AIR_PA)


@pytest.mark.parametrize("ratio", [1.0, 0.9, 1.7, math.inf])
def test_refuses_a_heat_capacity_ratio_that_no_gas_has(ratio: float) -> None:
    with pytest.raises(ValueError, match="heat_capacity_ratio="):
        critical_pressure_ratio(ratio)
