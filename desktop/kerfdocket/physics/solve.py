"""The one root finder that the formulas need."""

from collections.abc import Callable

__all__ = ["falling_root"]


def falling_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Return where a falling function crosses zero between two ends, by bisection.

    Bisection because some functions here jump (laminar to turbulent) and none is slow.

    Args:
        function: falls from `low` to `high`; of its result the sign alone counts. [any]
        low: where it is above zero, or zero. [as the function takes it]
        high: where it is below zero, or zero. [as the function takes it]

    Returns:
        The crossing, to 13 digits; an end where it does not cross. [as the function takes it]

    >>> round(falling_root(lambda side: 2.0 - side * side, 0.0, 2.0), 9)
    1.414213562
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
