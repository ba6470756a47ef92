"""Reading a value between the rows of a table over thickness."""

import math
from collections.abc import Sequence
from itertools import pairwise

__all__ = ["pchip_log_thickness"]


def _end_slope(near: float, next_: float, width: float, next_width: float) -> float:
    """One-sided slope that keeps the curve monotone, as Fritsch and Butland shape it."""
    slope = ((2.0 * width + next_width) * near - width * next_) / (width + next_width)
    if slope * near <= 0.0:
        return 0.0
    if near * next_ <= 0.0 and abs(slope) > 3.0 * abs(near):
        return 3.0 * near
    return slope


def _slopes(widths: list[float], secants: list[float]) -> list[float]:
    if len(secants) == 1:
        return [secants[0], secants[0]]
    inner = []
    for (left, right), (before, after) in zip(pairwise(widths), pairwise(secants), strict=True):
        if before * after <= 0.0:
            inner.append(0.0)
            continue
        weight_before, weight_after = 2.0 * right + left, right + 2.0 * left
        total = weight_before + weight_after
        inner.append(total / (weight_before / before + weight_after / after))
    first = _end_slope(secants[0], secants[1], widths[0], widths[1])
    last = _end_slope(secants[-1], secants[-2], widths[-1], widths[-2])
    return [first, *inner, last]


def pchip_log_thickness(points: Sequence[tuple[float, float]], thickness_m: float) -> float:
    """Return a table's value at a thickness by monotone cubic interpolation in ln(thickness).

    Between two rows the curve never leaves their values [1]. Use it within the rows of one
    bore only, never across a change of bore.

    Args:
        points: rows of (thickness in m, value), thickness strictly rising, two or more. [m, any]
        thickness_m: thickness asked for, within the rows. [m]

    Returns:
        Value in the unit of the rows. [any]

    Raises:
        ValueError: fewer than two rows, a row out of order or not finite, or a thickness
            outside the rows.

    References:
        [1] Fritsch and Butland, A method for constructing local monotone piecewise cubic
            interpolants, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304 (method from memory,
            agrees with scipy 1.17.1).

    >>> round(pchip_log_thickness([(0.005, 500.0), (0.010, 430.0), (0.020, 350.0)], 0.010), 6)
    430.0
    """
    if len(points) < 2:
        raise ValueError(f"points has {len(points)} rows: accepted is two or more")
    for number, (thickness, value) in enumerate(points, start=1):
        if not (math.isfinite(thickness) and thickness > 0.0 and math.isfinite(value)):
            raise ValueError(
                f"points row {number} is ({thickness}, {value}): accepted is a finite "
                "thickness above 0 and a finite value"
            )
    for (before, _), (after, _) in pairwise(points):
        if after <= before:
            raise ValueError(f"points: {after} m follows {before} m; accepted is strictly rising")
    first, last = points[0][0], points[-1][0]
    if not (math.isfinite(thickness_m) and first <= thickness_m <= last):
        raise ValueError(f"thickness_m={thickness_m} m: accepted is {first:g} to {last:g} m")

    x = [math.log(thickness) for thickness, _ in points]
    y = [value for _, value in points]
    widths = [after - before for before, after in pairwise(x)]
    secants = [(after - before) / h for (before, after), h in zip(pairwise(y), widths, strict=True)]
    slopes = _slopes(widths, secants)
    at = math.log(thickness_m)
    row = max(i for i in range(len(widths)) if i == 0 or x[i] <= at)
    h = widths[row]
    s = (at - x[row]) / h
    return (
        y[row] * (1.0 + 2.0 * s) * (1.0 - s) ** 2
        + y[row + 1] * s * s * (3.0 - 2.0 * s)
        + h * (slopes[row] * s * (1.0 - s) ** 2 - slopes[row + 1] * s * s * (1.0 - s))
    )
