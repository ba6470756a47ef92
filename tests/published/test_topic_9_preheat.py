"""Preheating against cantera's iron and numerical integration."""

from collections.abc import Mapping
from typing import Any

import pytest

from gas_values import PROPANE
from kerfdocket.physics.heat import band_retained, preheat_gas_kg, steel_enthalpy_j_kg
from published.cases import Vector, cases


def _enthalpy(given: Mapping[str, Any]) -> dict[str, float]:
    heat = steel_enthalpy_j_kg(given["T1_C"] + 273.15, given["T2_C"] + 273.15)
    return {"dh": heat / 1000.0}


def _gas(given: Mapping[str, Any]) -> dict[str, float]:
    per_kg = given["lhv_MJm3"] * 1e6 / PROPANE.density_reference_kg_m3
    mass = preheat_gas_kg(
        given["mass_kg"], given["T1_C"] + 273.15, given["T2_C"] + 273.15, per_kg, given["eff"]
    )
    return {"V": PROPANE.volume_m3(mass)}


def _band(given: Mapping[str, Any]) -> dict[str, float]:
    return {"f": band_retained(given["W_m"], given["t_s"], given["alpha"])}


_SERVED = {"ec3_steel_dh_kJkg": _enthalpy, "preheat_gas_m3": _gas, "band_retained": _band}


@pytest.mark.parametrize("vector", cases(9))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector.given))
