"""The one root finder that the formulas need."""

from collections.abc import Callable


def falling_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a falling function crosses zero between two ends, by bisection.

    Bisection because some functions here jump (laminar to turbulent) and none is slow.
    """
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high) or high - low <= 1e-13 * max(abs(low), abs(high)):
            break
        if function(middle) > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
