"""The standard atmosphere."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kerfdocket.physics.air import standard_air_pressure_abs_pa


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
