"""Mass, thermal growth and kerf compensation of plate."""

import math

from kerfdocket.physics import _checks

__all__ = ["kerf_offset_area_m2", "kerf_offset_length_m", "mass_kg", "thermal_growth_m"]

_LONGEST_M = 1000.0


def mass_kg(
    length_m: float, width_m: float, thickness_m: float, density_kg_m3: float = 7850.0
) -> float:
    """Return the mass of a rectangular plate.

    Args:
        length_m: length. [m]
        width_m: width. [m]
        thickness_m: thickness. [m]
        density_kg_m3: density of the steel; 7850 as EN 1993-1-2:2005, 3.2.2 has it. [kg/m3]

    Returns:
        Mass. [kg]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] geometry; density from EN 1993-1-2:2005, 3.2.2 (clause from memory).

    >>> round(mass_kg(6.0, 2.0, 0.010), 3)
    942.0
    """
    _checks.above_zero("length_m", length_m, _LONGEST_M, "m")
    _checks.above_zero("width_m", width_m, _LONGEST_M, "m")
    _checks.above_zero("thickness_m", thickness_m, 2.0, "m")
    _checks.within("density_kg_m3", density_kg_m3, 1000.0, 25000.0, "kg/m3")
    return length_m * width_m * thickness_m * density_kg_m3


def _elongation(temperature_k: float) -> float:
    celsius = temperature_k - _checks.ZERO_CELSIUS_K
    return 1.2e-5 * celsius + 0.4e-8 * celsius**2 - 2.416e-4


def thermal_growth_m(length_m: float, start_k: float, end_k: float) -> float:
    """Return how much an unrestrained length of carbon steel grows between two temperatures.

    Difference of ΔL/L = 1.2e-5 θ + 0.4e-8 θ² - 2.416e-4 (θ in °C), see [1]. A part measured
    warm comes out short when cold.

    Args:
        length_m: length at 20 °C. [m]
        start_k: first temperature, 20 to 750 °C. [K]
        end_k: second temperature, 20 to 750 °C. [K]

    Returns:
        Growth, negative for cooling. [m]

    Raises:
        ValueError: the length is negative or a temperature outside the range of the clause.

    References:
        [1] EN 1993-1-2:2005, 3.4.1.1 (equation read in copies, clause from memory).

    >>> round(thermal_growth_m(1.0, 293.15, 373.15) * 1000, 4)
    0.9984
    """
    _checks.within("length_m", length_m, 0.0, _LONGEST_M, "m")
    for name, value in (("start_k", start_k), ("end_k", end_k)):
        _checks.within(name, value, 293.15, 1023.15, "K")
    return length_m * (_elongation(end_k) - _elongation(start_k))


def kerf_offset_length_m(contour_length_m: float, offset_m: float) -> float:
    """Return the length of the path that runs beside a convex contour.

    L' = L + 2πδ with round corners (Steiner [1]). Outward (δ positive) it is exact for every
    convex contour; inward (δ negative) only where the contour has no corner and no radius
    smaller than the offset.

    Args:
        contour_length_m: length of the closed convex contour. [m]
        offset_m: distance of the path, half the kerf; negative is inward. [m]

    Returns:
        Length of the path. [m]

    Raises:
        ValueError: an argument is not finite or out of range, or nothing is left inside.

    References:
        [1] Steiner's formula for parallel bodies; derived.

    >>> round(kerf_offset_length_m(1.0, 0.001), 6)
    1.006283
    """
    _checks.above_zero("contour_length_m", contour_length_m, 1e5, "m")
    _checks.within("offset_m", offset_m, -1.0, 1.0, "m")
    length = contour_length_m + 2.0 * math.pi * offset_m
    if length <= 0.0:
        inward = contour_length_m / (2.0 * math.pi)
        raise ValueError(
            f"offset_m={offset_m} m leaves nothing inside: accepted is above {-inward:g} m"
        )
    return length


def kerf_offset_area_m2(contour_length_m: float, area_m2: float, offset_m: float) -> float:
    """Return the area inside the path that runs beside a convex contour.

    A' = A + Lδ + πδ² with round corners (Steiner [1]); see `kerf_offset_length_m` for where
    it is exact.

    Args:
        contour_length_m: length of the closed convex contour. [m]
        area_m2: area inside the contour. [m2]
        offset_m: distance of the path, half the kerf; negative is inward. [m]

    Returns:
        Area inside the path. [m2]

    Raises:
        ValueError: an argument is not finite or out of range, the area is larger than a circle
            of that length holds, or nothing is left inside.

    References:
        [1] Steiner's formula for parallel bodies; derived.

    >>> round(kerf_offset_area_m2(1.0, 0.06, 0.001), 7)
    0.0610031
    """
    kerf_offset_length_m(contour_length_m, offset_m)
    largest = contour_length_m**2 / (4.0 * math.pi)
    _checks.above_zero("area_m2", area_m2, largest * (1.0 + 1e-9), "m2")
    area = area_m2 + contour_length_m * offset_m + math.pi * offset_m**2
    if area <= 0.0:
        raise ValueError(
            f"offset_m={offset_m} m leaves nothing inside: accepted is a smaller inward offset"
        )
    return area
