"""Oxygen cylinders against CoolProp."""

from collections.abc import Mapping
from typing import Any

import pytest

from gas_values import OXYGEN
from kerfdocket.physics.cylinder import (
    oxygen_compressibility,
    oxygen_gauge_after_temperature_pa,
    oxygen_mass_kg,
)
from published.cases import Vector, cases


def _content(given: Mapping[str, Any]) -> dict[str, float]:
    mass = oxygen_mass_kg(
        given["V_L"] / 1000.0, given["p_barg"] * 1e5, 101325.0, given["T_C"] + 273.15, OXYGEN
    )
    return {"V15": OXYGEN.volume_m3(mass)}


def _gauge(given: Mapping[str, Any]) -> dict[str, float]:
    gauge = oxygen_gauge_after_temperature_pa(
        given["p_barg_1"] * 1e5, 101325.0, given["T1_C"] + 273.15, given["T2_C"] + 273.15
    )
    return {"p": gauge / 1e5}


def _compressibility(given: Mapping[str, Any]) -> dict[str, float]:
    return {"Z": oxygen_compressibility(given["p_bar"] * 1e5, given["T_K"])}


_SERVED = {
    "cylinder_content_m3": _content,
    "cylinder_pressure_at_T_barg": _gauge,
    "oxygen_Z": _compressibility,
}


@pytest.mark.parametrize("vector", cases(2))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector.given))
