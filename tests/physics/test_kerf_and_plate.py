"""Properties and refusals of kerf and plate."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kerfdocket.physics.kerf import (
    energy_bound_oxygen_kg_m,
    iron_mass_kg_m,
    oxygen_demand_kg_m,
    oxygen_utilisation,
)
from kerfdocket.physics.plate import (
    kerf_offset_area_m2,
    kerf_offset_length_m,
    mass_kg,
    thermal_growth_m,
)

_warm = st.floats(293.15, 1023.15)


@given(iron=st.floats(0.0, 100.0))
def test_richer_oxides_take_more_oxygen_and_the_energy_bound_is_below_all(iron: float) -> None:
    bound = energy_bound_oxygen_kg_m(iron)
    demands = [oxygen_demand_kg_m(iron, oxide) for oxide in ("FeO", "Fe3O4", "Fe2O3")]
    assert [bound, *demands] == sorted([bound, *demands])


@given(
    thickness=st.floats(0.003, 0.3),
    kerf=st.floats(0.001, 0.01),
    speed=st.floats(1e-3, 2e-2),
    flow=st.floats(1e-4, 1e-1),
)
def test_utilisation_goes_with_speed_and_against_flow(
    thickness: float, kerf: float, speed: float, flow: float
) -> None:
    share = oxygen_utilisation(thickness, kerf, speed, flow)
    assert oxygen_utilisation(thickness, kerf, 2.0 * speed, flow) == pytest.approx(2.0 * share)
    assert oxygen_utilisation(thickness, kerf, speed, 2.0 * flow) == pytest.approx(share / 2.0)


def test_refuses_what_no_kerf_has() -> None:
    with pytest.raises(ValueError, match=r"^thickness_m=25.*accepted is"):
        iron_mass_kg_m(25.0, 0.002)
    with pytest.raises(ValueError, match=r"^kerf_m=0\.0.*accepted is"):
        iron_mass_kg_m(0.025, 0.0)
    with pytest.raises(ValueError, match="oxide='rust': accepted is one of FeO"):
        oxygen_demand_kg_m(1.0, "rust")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"^oxygen_flow_kg_s=0\.0.*accepted is"):
        oxygen_utilisation(0.025, 0.002, 0.007, 0.0)


@given(length=st.floats(0.0, 20.0), one=_warm, other=_warm)
def test_steel_grows_when_warmed_and_shrinks_back(length: float, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    growth = thermal_growth_m(length, cold, warm)
    assert growth >= 0.0
    assert thermal_growth_m(length, warm, cold) == -growth


@given(radius=st.floats(0.05, 5.0), offset=st.floats(-0.02, 0.02))
def test_offset_of_a_circle_is_a_circle(radius: float, offset: float) -> None:
    length, area = 2.0 * math.pi * radius, math.pi * radius**2
    wider = radius + offset
    assert kerf_offset_length_m(length, offset) == pytest.approx(2.0 * math.pi * wider)
    assert kerf_offset_area_m2(length, area, offset) == pytest.approx(math.pi * wider**2)


def test_offset_of_a_rectangle_with_round_corners() -> None:
    # By hand: 300 x 200 mm, 1 mm outward: four sides and one full circle of 1 mm.
    assert kerf_offset_length_m(1.0, 0.001) == pytest.approx(1.0062832, abs=5e-8)
    assert kerf_offset_area_m2(1.0, 0.06, 0.001) * 1e6 == pytest.approx(61003.1416, abs=5e-4)


def test_refuses_what_no_plate_has() -> None:
    with pytest.raises(ValueError, match=r"^width_m=2000.*accepted is"):
        mass_kg(6.0, 2000.0, 0.01)
    with pytest.raises(ValueError, match=r"^end_k=1100.*accepted is"):
        thermal_growth_m(1.0, 293.15, 1100.0)
    with pytest.raises(ValueError, match="leaves nothing inside"):
        kerf_offset_length_m(0.01, -0.002)
    with pytest.raises(ValueError, match=r"^area_m2=1\.0.*accepted is"):
        kerf_offset_area_m2(1.0, 1.0, 0.001)
    with pytest.raises(ValueError, match="leaves nothing inside"):
        kerf_offset_area_m2(1.0, 0.0005, -0.0012)
