"""Properties and refusals of heating flames."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kerfdocket.physics.flame import (
    air_oxygen_share,
    lower_heating_value_j_mol,
    neutral_ratio,
    primary_heat_j_mol,
    stoichiometric_ratio,
)

_FUELS = {"acetylene": (2, 2, 1257040.0), "propane": (3, 8, 2043140.0), "methane": (1, 4, 802560.0)}
# cantera 3.2.0, nasa_gas.yaml: lower heating values as above.


@given(
    fuel=st.sampled_from(sorted(_FUELS)),
    one=st.floats(0.0, 1.0),
    other=st.floats(0.0, 1.0),
)
def test_more_oxygen_never_less_heat(fuel: str, one: float, other: float) -> None:
    carbon, hydrogen, value = _FUELS[fuel]
    low, high = neutral_ratio(carbon), stoichiometric_ratio(carbon, hydrogen)
    lean, rich = sorted(low + share * (high - low) for share in (one, other))
    heat = primary_heat_j_mol(carbon, hydrogen, value, lean)
    assert 0.0 < heat <= primary_heat_j_mol(carbon, hydrogen, value, rich) <= value * (1 + 1e-12)


@pytest.mark.parametrize("fuel", _FUELS)
def test_all_oxygen_gives_all_heat(fuel: str) -> None:
    carbon, hydrogen, value = _FUELS[fuel]
    full = stoichiometric_ratio(carbon, hydrogen)
    assert primary_heat_j_mol(carbon, hydrogen, value, full) == value


def test_acetylene_is_neutral_at_one_to_one() -> None:
    # Balance of the elements: C2H2 + O2 -> 2 CO + H2.
    assert neutral_ratio(2) == 1.0


@pytest.mark.parametrize("ratio", [0.9, 2.6, float("nan")])
def test_refuses_ratios_with_soot_or_spare_oxygen(ratio: float) -> None:
    with pytest.raises(ValueError, match=r"^ratio=.*accepted is"):
        primary_heat_j_mol(2, 2, 1257040.0, ratio)


def test_refuses_what_is_no_fuel() -> None:
    with pytest.raises(ValueError, match="accepted is a fuel"):
        stoichiometric_ratio(0, 0)
    with pytest.raises(ValueError, match="carbon=-1"):
        neutral_ratio(-1)
    with pytest.raises(ValueError, match="leaves no heat"):
        lower_heating_value_j_mol(1, 0, -393510.0)


@given(one=st.floats(0.0, 10.0), other=st.floats(0.0, 10.0), complete=st.floats(0.5, 8.0))
def test_more_oxygen_never_takes_more_air(one: float, other: float, complete: float) -> None:
    less, more = sorted((one, other))
    share = air_oxygen_share(less, complete)
    assert 0.0 <= air_oxygen_share(more, complete) <= share <= 1.0


def test_the_air_gives_what_the_torch_does_not() -> None:
    # Balance of the elements: C3H8 + 5 O2; at 3.75 from the torch the air gives a quarter.
    assert air_oxygen_share(3.75, 5.0) == 0.25
    assert air_oxygen_share(0.0, 5.0) == 1.0
    assert air_oxygen_share(5.0, 5.0) == 0.0
    assert air_oxygen_share(5.5, 5.0) == 0.0


@pytest.mark.parametrize(
    ("ratio", "complete", "named"),
    [(-0.1, 2.5, "ratio"), (float("nan"), 2.5, "ratio"), (1.0, 0.0, "complete_ratio")],
)
def test_refuses_a_share_of_nothing(ratio: float, complete: float, named: str) -> None:
    with pytest.raises(ValueError, match=f"^{named}=.*accepted is"):
        air_oxygen_share(ratio, complete)
