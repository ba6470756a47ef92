"""Plate mass, thermal growth and kerf offset against pint, scipy and shapely."""

from collections.abc import Mapping
from typing import Any

import pytest

from kerfdocket.physics.plate import (
    kerf_offset_area_m2,
    kerf_offset_length_m,
    mass_kg,
    thermal_growth_m,
)
from published.cases import Vector, cases


def _mass(given: Mapping[str, Any]) -> dict[str, float]:
    sides = (given[key] / 1000.0 for key in ("l_mm", "w_mm", "t_mm"))
    return {"m": mass_kg(*sides, given["rho"])}


def _growth(given: Mapping[str, Any]) -> dict[str, float]:
    growth = thermal_growth_m(given["L_mm"] / 1e3, given["T1_C"] + 273.15, given["T2_C"] + 273.15)
    return {"dL": growth * 1000.0}


def _offset(given: Mapping[str, Any]) -> dict[str, float]:
    length, offset = given["L_mm"] / 1000.0, given["delta_mm"] / 1000.0
    area = kerf_offset_area_m2(length, given["A_mm2"] * 1e-6, offset)
    return {"L": kerf_offset_length_m(length, offset) * 1000.0, "A": area * 1e6}


_SERVED = {"plate_mass_kg": _mass, "thermal_growth_mm": _growth, "kerf_offset_convex": _offset}


@pytest.mark.parametrize("vector", cases(12))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector.given))
