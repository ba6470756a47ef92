"""The standard atmosphere."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kerfdocket.physics.air import AIR, standard_air_pressure_abs_pa


@pytest.mark.parametrize(
    ("altitude_m", "hpa"),
    # ISO 2533:1975 / ICAO Doc 7488 tables, geopotential altitude (from memory).
    [(0, 1013.25), (1000, 898.75), (2000, 794.95), (3000, 701.08), (5000, 540.20)],
)
def test_agrees_with_the_printed_atmosphere(altitude_m, hpa):
    assert standard_air_pressure_abs_pa(altitude_m) / 100 == pytest.approx(hpa, abs=0.02)


@given(st.floats(-500, 5999), st.floats(0.1, 1))
def test_higher_is_thinner(altitude_m, step_m):
    low = standard_air_pressure_abs_pa(altitude_m)
    assert standard_air_pressure_abs_pa(altitude_m + step_m) < low


@pytest.mark.parametrize("altitude_m", [-501, 6001, float("nan")])
def test_refuses_what_is_no_altitude_here(altitude_m):
    with pytest.raises(ValueError, match="altitude_m"):
        standard_air_pressure_abs_pa(altitude_m)


def test_air_as_a_gas():
    # ISO 2533:1975: 28.96442 kg/kmol, 1.225 kg/m3 at sea level (15 °C, 1.01325 bar).
    assert pytest.approx(0.02896442, rel=1e-7) == AIR.molar_mass_kg_mol
    assert AIR.density_reference_kg_m3 * 1.01325 == pytest.approx(1.225, rel=5e-4)
    assert (AIR.carbon, AIR.hydrogen, AIR.lower_heating_value_j_kg) == (0, 0, 0.0)
