"""Table interpolation against scipy's PchipInterpolator."""

import math

import pytest

from kerfdocket.physics.interpolate import pchip_log_thickness
from published.cases import Vector, cases


@pytest.mark.parametrize("vector", cases(10))
def test_agrees_with_the_reference(vector: Vector) -> None:
    given = vector.given
    points = [(math.exp(x) / 1000.0, y) for x, y in zip(given["x"], given["y"], strict=True)]
    vector.hold({"v": pchip_log_thickness(points, math.exp(given["xq"]) / 1000.0)})
