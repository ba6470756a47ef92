"""Properties and refusals of preheating, purging and leak tests."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gas_values import GASES, OXYGEN
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.heat import (
    band_retained,
    preheat_gas_kg,
    soak_time_s,
    steel_enthalpy_j_kg,
)
from kerfdocket.physics.hose import hose_volume_m3
from kerfdocket.physics.leak import (
    leak_rate_kg_s,
    purge_time_s,
    smallest_visible_leak_m3_s,
    thermal_pressure_change_pa,
)

_AIR_PA = 101325.0
_warm = st.floats(293.15, 873.15)


@given(one=_warm, other=_warm, third=_warm)
def test_heat_adds_up_and_rises_with_temperature(one: float, other: float, third: float) -> None:
    cold, middle, hot = sorted((one, other, third))
    total = steel_enthalpy_j_kg(cold, hot)
    assert total >= 0.0
    parts = steel_enthalpy_j_kg(cold, middle) + steel_enthalpy_j_kg(middle, hot)
    assert parts == pytest.approx(total, abs=1e-6)


@given(
    width=st.floats(0.01, 2.0),
    one=st.floats(0.0, 1e5),
    other=st.floats(0.0, 1e5),
)
def test_a_band_loses_heat_with_time(width: float, one: float, other: float) -> None:
    early, late = sorted((one, other))
    kept = band_retained(width, late)
    assert 0.0 < kept <= band_retained(width, early) + 1e-9 <= 1.0 + 1e-9


@given(time=st.floats(1.0, 1e5), width=st.floats(0.01, 1.0), wider=st.floats(1.0, 5.0))
def test_a_wider_band_keeps_more(time: float, width: float, wider: float) -> None:
    assert band_retained(width * wider, time) >= band_retained(width, time) - 1e-9


def test_no_time_no_loss() -> None:
    assert band_retained(0.1, 0.0) == 1.0
    assert band_retained(0.1, 1e-6) == pytest.approx(1.0, abs=1e-4)


def test_soak_times() -> None:
    # d²/(2α) with α = 1.3e-5 m²/s, by hand.
    for thickness, seconds in ((0.025, 24), (0.050, 96), (0.100, 385)):
        assert round(soak_time_s(thickness)) == seconds


def test_heat_refusals() -> None:
    with pytest.raises(ValueError, match=r"^end_k=900.*accepted is"):
        steel_enthalpy_j_kg(293.15, 900.0)
    with pytest.raises(ValueError, match=r"^start_k=278.15.*accepted is"):
        steel_enthalpy_j_kg(278.15, 400.0)
    with pytest.raises(ValueError, match=r"end_k=300\.0 K: accepted is start_k=400\.0 K or more"):
        preheat_gas_kg(10.0, 400.0, 300.0, 46e6, 0.3)
    with pytest.raises(ValueError, match=r"^efficiency=30.*accepted is"):
        preheat_gas_kg(10.0, 300.0, 400.0, 46e6, 30.0)
    with pytest.raises(ValueError, match=r"^width_m=0.*accepted is"):
        band_retained(0.0, 60.0)
    with pytest.raises(ValueError, match=r"^thickness_m=nan.*accepted is"):
        soak_time_s(math.nan)


@given(
    gas=st.sampled_from(sorted(GASES.values(), key=lambda gas: gas.name)),
    length=st.floats(1.0, 60.0),
    flow=st.floats(1e-5, 1e-2),
    left=st.floats(0.001, 0.5),
)
def test_purging_takes_longer_for_longer_hoses_and_cleaner_gas(
    gas: Gas, length: float, flow: float, left: float
) -> None:
    def time(metres: float, share: float) -> float:
        volume = hose_volume_m3(0.0063, metres)
        return purge_time_s(gas, volume, flow, 1.2e5, 288.15, share)

    assert time(2.0 * length, left) == pytest.approx(2.0 * time(length, left))
    assert time(length, left / 2.0) > time(length, left)


def test_one_percent_takes_4_6_volumes() -> None:
    # ln(100) = 4.605: mass balance of a stirred volume, by hand.
    flow = OXYGEN.mass_kg(1e-3)  # 1 L/s at 15 °C and 1 bar absolute
    assert purge_time_s(OXYGEN, 1e-3, flow, 1e5, 288.15) == pytest.approx(4.605, abs=1e-3)


@given(
    gas=st.sampled_from(sorted(GASES.values(), key=lambda gas: gas.name)),
    volume=st.floats(1e-4, 1e-2),
    gauge=st.floats(0.5e5, 4e5),
    fall=st.floats(0.0, 0.4e5),
    temperature=st.floats(273.15, 303.15),
)
def test_a_larger_fall_is_a_larger_leak(
    gas: Gas, volume: float, gauge: float, fall: float, temperature: float
) -> None:
    start = gauge + _AIR_PA
    leak = leak_rate_kg_s(gas, volume, start, temperature, start - fall, temperature, 600.0)
    assert leak >= 0.0
    more = leak_rate_kg_s(gas, volume, start, temperature, start - fall - 1.0, temperature, 600.0)
    assert more > leak


def test_a_drift_of_temperature_explains_its_own_pressure_change() -> None:
    # Oxygen's slope of Z is small: what is left is under 1 % of the fake leak without the term.
    start = 6e5 + _AIR_PA
    end = start + thermal_pressure_change_pa(start, 293.15, -1.0)
    blind = leak_rate_kg_s(OXYGEN, 5e-4, start, 293.15, end, 293.15, 300.0)
    seeing = leak_rate_kg_s(OXYGEN, 5e-4, start, 293.15, end, 292.15, 300.0)
    assert abs(seeing) < 0.01 * blind
    assert OXYGEN.volume_m3(blind) * 3600e6 == pytest.approx(141.0, rel=0.02)


def test_a_gain_shows_as_a_negative_leak() -> None:
    assert leak_rate_kg_s(OXYGEN, 5e-4, 7.0e5, 293.15, 7.1e5, 293.15, 300.0) < 0.0


def test_smallest_visible_leak_is_the_leak_of_one_step_of_the_gauge() -> None:
    visible = smallest_visible_leak_m3_s(5e-4, 5000.0, 600.0)
    leak = leak_rate_kg_s(OXYGEN, 5e-4, 2.05e5, 288.15, 2.0e5, 288.15, 600.0)
    assert OXYGEN.volume_m3(leak) == pytest.approx(visible, rel=0.005)


def test_leak_refusals() -> None:
    with pytest.raises(ValueError, match=r"^volume_m3=0.*accepted is"):
        leak_rate_kg_s(OXYGEN, 0.0, 7e5, 293.15, 6.9e5, 293.15, 300.0)
    with pytest.raises(ValueError, match=r"^end_temperature_k=20.*accepted is"):
        leak_rate_kg_s(OXYGEN, 5e-4, 7e5, 293.15, 6.9e5, 20.0, 300.0)
    with pytest.raises(ValueError, match=r"remaining_share=0\.0: accepted is"):
        purge_time_s(OXYGEN, 1e-3, 1e-3, 1e5, 288.15, 0.0)
    with pytest.raises(ValueError, match=r"^resolution_pa=-1.*accepted is"):
        smallest_visible_leak_m3_s(5e-4, -1.0, 600.0)
    with pytest.raises(ValueError, match=r"^change_k=inf.*accepted is"):
        thermal_pressure_change_pa(6e5, 288.15, math.inf)
