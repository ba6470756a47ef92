"""Properties and refusals of table interpolation."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kerfdocket.physics.interpolate import pchip_log_thickness

_tables = st.lists(
    st.tuples(st.integers(1, 300), st.floats(-1e3, 1e3)),
    min_size=2,
    max_size=12,
    unique_by=lambda row: row[0],
).map(lambda rows: [(thickness / 1000.0, value) for thickness, value in sorted(rows)])


@given(points=_tables, share=st.floats(0.0, 1.0))
def test_never_leaves_the_two_neighbouring_rows(
    points: list[tuple[float, float]], share: float
) -> None:
    for (left, low), (right, high) in pairwise(points):
        thickness = min(max(left * (right / left) ** share, left), right)
        value = pchip_log_thickness(points, thickness)
        hair = 1e-9 * (1.0 + max(abs(low), abs(high)))
        assert min(low, high) - hair <= value <= max(low, high) + hair


@given(points=_tables)
def test_a_row_gives_its_own_value(points: list[tuple[float, float]]) -> None:
    for thickness, value in points:
        assert pchip_log_thickness(points, thickness) == pytest.approx(value, abs=1e-9)


def test_two_rows_are_joined_by_a_line_in_the_logarithm() -> None:
    middle = math.sqrt(0.010 * 0.040)
    assert pchip_log_thickness([(0.010, 1.0), (0.040, 3.0)], middle) == pytest.approx(2.0)


@pytest.mark.parametrize("thickness", [0.0099, 0.0401, 0.0, -1.0, math.nan, math.inf])
def test_refuses_outside_the_rows(thickness: float) -> None:
    with pytest.raises(ValueError, match=r"^thickness_m=.*accepted is 0\.01 to 0\.04 m"):
        pchip_log_thickness([(0.010, 1.0), (0.040, 3.0)], thickness)


@pytest.mark.parametrize(
    ("points", "says"),
    [
        ([], "0 rows"),
        ([(0.01, 1.0)], "1 rows"),
        ([(0.01, 1.0), (0.01, 2.0)], "strictly rising"),
        ([(0.02, 1.0), (0.01, 2.0)], "strictly rising"),
        ([(0.0, 1.0), (0.01, 2.0)], "row 1"),
        ([(0.01, 1.0), (0.02, math.nan)], "row 2"),
    ],
)
def test_refuses_bad_rows(points: list[tuple[float, float]], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        pchip_log_thickness(points, 0.01)
