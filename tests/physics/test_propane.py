"""Properties and refusals of liquefied propane."""

import math
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kerfdocket.physics.propane import (
    Liquid,
    boiling_temperature_k,
    bubble_pressure_abs_pa,
    latent_heat_j_kg,
    liquid_density_kg_m3,
    liquid_temperature_k,
    runtime_s,
    steady_vaporisation_kg_s,
    vapour_pressure_abs_pa,
    wetted_area_m2,
)

_AIR_PA = 101325.0
_temperatures = st.floats(243.15, 323.15)


_LIQUIDS: tuple[Liquid, ...] = get_args(Liquid)


@given(
    liquid=st.sampled_from(_LIQUIDS),
    one=st.floats(273.15, 323.15),
    other=st.floats(273.15, 323.15),
)
def test_warmer_liquid_never_has_less_pressure(liquid: Liquid, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert vapour_pressure_abs_pa(warm, liquid) >= vapour_pressure_abs_pa(cold, liquid)


@given(temperature=st.floats(273.15, 323.15))
def test_liquids_stand_in_the_order_of_their_pressure(temperature: float) -> None:
    # CoolProp 8.0.0 at 0 °C: 5.84, 4.74, 2.65 and 1.03 bar.
    order: tuple[Liquid, ...] = ("propylene", "propane", "propyne", "n-butane")
    pressures = [vapour_pressure_abs_pa(temperature, liquid) for liquid in order]
    assert pressures == sorted(pressures, reverse=True)


@given(temperature=_temperatures)
def test_propane_is_meant_where_no_liquid_is_named(temperature: float) -> None:
    assert vapour_pressure_abs_pa(temperature) == vapour_pressure_abs_pa(temperature, "propane")


@given(temperature=_temperatures)
def test_boiling_is_the_inverse_of_vapour_pressure(temperature: float) -> None:
    again = boiling_temperature_k(vapour_pressure_abs_pa(temperature))
    assert again == pytest.approx(temperature, abs=1e-6)


@given(temperature=_temperatures, one=st.floats(0.0, 1.0), other=st.floats(0.0, 1.0))
def test_butane_takes_pressure_away(temperature: float, one: float, other: float) -> None:
    poor, rich = sorted((one, other))
    low = bubble_pressure_abs_pa(temperature, poor)
    assert low <= bubble_pressure_abs_pa(temperature, rich) * (1.0 + 1e-12)
    assert bubble_pressure_abs_pa(temperature, 1.0) == vapour_pressure_abs_pa(temperature)
    butane = vapour_pressure_abs_pa(temperature, "n-butane")
    assert bubble_pressure_abs_pa(temperature, 0.0) == butane


@given(one=st.floats(233.15, 323.15), other=st.floats(233.15, 323.15))
def test_warmer_liquid_is_lighter_and_boils_with_less_heat(one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert liquid_density_kg_m3(warm) <= liquid_density_kg_m3(cold)
    assert latent_heat_j_kg(warm) <= latent_heat_j_kg(cold)


@settings(max_examples=25, deadline=None)
@given(
    mass=st.floats(3.0, 33.0),
    air=st.floats(258.15, 308.15),
    draw=st.floats(0.3, 4.0),
    more=st.floats(1.0, 3.0),
)
def test_a_harder_draw_never_lasts_longer(
    mass: float, air: float, draw: float, more: float
) -> None:
    def run(kg_h: float) -> tuple[float, float]:
        return runtime_s(mass, 0.3, 12.0, 8.0, air, kg_h / 3600.0, 1.5e5, _AIR_PA)

    time_s, left_kg = run(draw)
    shorter_s, more_left_kg = run(draw * more)
    assert shorter_s <= time_s * (1.0 + 1e-9) + 1.0
    assert more_left_kg >= left_kg - 0.01
    assert left_kg == pytest.approx(mass - draw / 3600.0 * time_s, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(air=st.floats(258.15, 300.0), warmer=st.floats(0.0, 10.0), draw=st.floats(0.3, 4.0))
def test_warmer_air_never_shortens_the_run(air: float, warmer: float, draw: float) -> None:
    def run(air_k: float) -> float:
        return runtime_s(11.0, 0.3, 12.0, 8.0, air_k, draw / 3600.0, 1.5e5, _AIR_PA)[0]

    assert run(air + warmer) >= run(air) * (1.0 - 1e-9) - 1.0


def test_the_temperature_at_the_end_of_the_run_is_the_boiling_temperature() -> None:
    arguments = (11.0, 0.3, 12.0, 8.0, 293.15, 2.0 / 3600.0)
    time_s, _left_kg = runtime_s(*arguments, 1.5e5, _AIR_PA)
    boiling = boiling_temperature_k(1.5e5 + _AIR_PA)
    assert liquid_temperature_k(*arguments, time_s) == pytest.approx(boiling, abs=1e-6)
    assert liquid_temperature_k(*arguments, 0.0) == 293.15


def test_a_cold_cylinder_never_holds_the_pressure() -> None:
    assert runtime_s(11.0, 0.3, 12.0, 8.0, 248.15, 1e-4, 1.5e5, _AIR_PA) == (0.0, 11.0)


def test_a_small_draw_empties_the_cylinder() -> None:
    time_s, left_kg = runtime_s(11.0, 0.3, 12.0, 8.0, 293.15, 1e-8, 1.5e5, _AIR_PA)
    assert left_kg == 0.0
    assert time_s == pytest.approx(11.0 / 1e-8)


def test_stepping_reaches_the_last_drop_too() -> None:
    # 0.21 kg/h: the bottom alone is not enough, the warm wall carries it to the end.
    draw = 0.21 / 3600.0
    time_s, left_kg = runtime_s(2.0, 0.3, 12.0, 8.0, 293.15, draw, 1.5e5, _AIR_PA)
    assert left_kg == 0.0
    assert time_s == pytest.approx(2.0 / draw, rel=1e-9)


@settings(max_examples=50, deadline=None)
@given(
    mass=st.floats(2.0, 33.0),
    gauge=st.floats(0.7e5, 2.0e5),
    one=st.floats(0.0, 60.0),
    other=st.floats(0.0, 60.0),
)
def test_colder_air_never_gives_a_greater_steady_draw(
    mass: float, gauge: float, one: float, other: float
) -> None:
    liquid = boiling_temperature_k(gauge + _AIR_PA)
    cold, warm = sorted(min(liquid + more, 323.15) for more in (one, other))
    area = wetted_area_m2(0.3, mass, liquid)
    draw = steady_vaporisation_kg_s(8.0, area, cold, liquid)
    assert 0.0 <= draw <= steady_vaporisation_kg_s(8.0, area, warm, liquid)


@settings(max_examples=15, deadline=None)
@given(
    mass=st.floats(3.0, 33.0),
    gauge=st.floats(0.7e5, 2.0e5),
    draw=st.floats(0.3, 4.0),
    one=st.floats(243.15, 318.15),
    other=st.floats(243.15, 318.15),
)
def test_colder_air_never_gives_a_longer_run(
    mass: float, gauge: float, draw: float, one: float, other: float
) -> None:
    cold, warm = sorted((one, other))

    def run(air_k: float) -> float:
        return runtime_s(mass, 0.3, 12.0, 8.0, air_k, draw / 3600.0, gauge, _AIR_PA)[0]

    assert run(cold) <= run(warm) * (1.0 + 1e-9) + 1.0


@given(area=st.floats(0.01, 2.0), air=st.floats(253.15, 313.15), cooler=st.floats(0.0, 20.0))
def test_steady_draw_balances_heat(area: float, air: float, cooler: float) -> None:
    liquid = air - cooler
    flow = steady_vaporisation_kg_s(8.0, area, air, liquid)
    assert flow * latent_heat_j_kg(liquid) == pytest.approx(8.0 * area * (air - liquid))


def test_a_long_gentle_draw_settles_at_the_steady_draw() -> None:
    # Two independent uses of the heat balance. At 1 K below the air the liquid needs about
    # 3.4 h to settle, and holds three weeks; after ten times 3.4 h only the slow fall of the
    # level is left, under 1 % behind.
    air = 288.15
    draw = steady_vaporisation_kg_s(8.0, wetted_area_m2(0.3, 1000.0, air), air, air - 1.0)
    time_s = 122_000.0
    reached = liquid_temperature_k(1000.0, 0.3, 1.0, 8.0, air, draw, time_s)
    area = wetted_area_m2(0.3, 1000.0 - draw * time_s, reached)
    assert steady_vaporisation_kg_s(8.0, area, air, reached) == pytest.approx(draw, rel=0.015)


@pytest.mark.parametrize("temperature", [243.0, 323.3, -10.0, math.nan])
def test_refuses_temperatures_outside_the_fit(temperature: float) -> None:
    with pytest.raises(ValueError, match=r"^temperature_k=.*accepted is"):
        vapour_pressure_abs_pa(temperature)


@pytest.mark.parametrize(
    ("liquid", "lowest"),
    [("propane", 243.15), ("propylene", 243.15), ("n-butane", 243.15), ("propyne", 273.15)],
)
def test_each_liquid_keeps_to_its_own_range(liquid: Liquid, lowest: float) -> None:
    assert 0.0 < vapour_pressure_abs_pa(lowest, liquid) < vapour_pressure_abs_pa(323.15, liquid)
    for outside in (lowest - 0.1, 323.25, math.inf):
        with pytest.raises(ValueError, match=rf"accepted is {lowest:g} to 323.15 K"):
            vapour_pressure_abs_pa(outside, liquid)


@pytest.mark.parametrize("liquid", ["butane", "Propane", ""])
def test_an_unknown_liquid_is_refused(liquid: str) -> None:
    with pytest.raises(ValueError, match=rf"^liquid='{liquid}': accepted is one of"):
        vapour_pressure_abs_pa(293.15, liquid)  # type: ignore[arg-type]


@pytest.mark.parametrize("pressure", [1.6e5, 17.5e5, 0.0])
def test_refuses_pressures_outside_the_fit(pressure: float) -> None:
    with pytest.raises(ValueError, match=r"^pressure_abs_pa=.*accepted is"):
        boiling_temperature_k(pressure)


@pytest.mark.parametrize(
    ("position", "value", "named"),
    [
        (0, 0.0, "liquid_mass_kg"),
        (1, 0.0, "diameter_m"),
        (2, 0.0, "steel_mass_kg"),
        (3, -8.0, "heat_transfer_w_m2_k"),
        (4, 20.0, "air_temperature_k"),
        (5, 0.0, "draw_kg_s"),
        (6, 0.5e5, "minimum_gauge_pa"),
        (7, 1.0, "ambient_abs_pa"),
    ],
)
def test_refuses_what_no_cylinder_has(position: int, value: float, named: str) -> None:
    arguments = [11.0, 0.3, 12.0, 8.0, 293.15, 1e-4, 1.5e5, _AIR_PA]
    arguments[position] = value
    with pytest.raises(ValueError, match=f"^{named}=.*accepted is"):
        runtime_s(*arguments)


def test_refuses_a_time_after_the_liquid_is_too_cold() -> None:
    with pytest.raises(ValueError, match=r"colder than -40 °C.*accepted is"):
        liquid_temperature_k(11.0, 0.3, 12.0, 8.0, 293.15, 10.0 / 3600.0, 3600.0)


def test_refuses_liquid_warmer_than_the_air() -> None:
    with pytest.raises(ValueError, match="liquid_temperature_k=300"):
        steady_vaporisation_kg_s(8.0, 0.3, 290.0, 300.0)
