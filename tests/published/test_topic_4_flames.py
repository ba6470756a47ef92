"""Heating flames against cantera."""

from collections.abc import Mapping
from typing import Any

import pytest

from kerfdocket.physics.flame import (
    lower_heating_value_j_mol,
    primary_heat_j_mol,
    stoichiometric_ratio,
)
from kerfdocket.reference import load_reference
from published.cases import Vector, cases

REFERENCE = load_reference()
_FUELS = {"methane": "natural gas"}  # as the table names it; other fuels have one name


def _stoichiometric(given: Mapping[str, Any]) -> dict[str, float]:
    return {"r": stoichiometric_ratio(given["x"], given["y"])}


def _heating_value(given: Mapping[str, Any]) -> dict[str, float]:
    value = lower_heating_value_j_mol(given["x"], given["y"], given["hf_kj"] * 1000.0)
    return {"LHV": value / 1000.0}


def _primary(given: Mapping[str, Any]) -> dict[str, float]:
    value = lower_heating_value_j_mol(given["x"], given["y"], given["hf_kj"] * 1000.0)
    return {"Q": primary_heat_j_mol(given["x"], given["y"], value, given["r"]) / 1000.0}


def _temperature(given: Mapping[str, Any]) -> dict[str, float]:
    assert (given["T0"], given["p"]) == (298.15, 101325)  # the state of the table
    fuel = _FUELS.get(given["fuel"], given["fuel"])
    figure = REFERENCE.flame_temperature(fuel, given["r"])
    assert figure is not None
    return {"T_ad": figure.value}


_SERVED = {
    "o2_stoich": _stoichiometric,
    "lhv_kjmol_from_hf": _heating_value,
    "primary_heat_kjmol": _primary,
    "flame_temperature": _temperature,
}


@pytest.mark.parametrize("vector", cases(4))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector.given))
