"""Oxygen demand of the kerf against cantera's molecular weights and enthalpies."""

import pytest

from gas_values import OXYGEN
from kerfdocket.physics.kerf import (
    energy_bound_oxygen_kg_m,
    iron_mass_kg_m,
    oxygen_demand_kg_m,
    oxygen_utilisation,
)
from published.cases import Vector, cases


def _table(vector: Vector) -> dict[str, float]:
    if "oxide" in vector.given:
        oxide = vector.given["oxide"].removesuffix("(s)")
        return {"o2_per_fe": oxygen_demand_kg_m(1.0, oxide)}
    return {"x": energy_bound_oxygen_kg_m(1.0) / oxygen_demand_kg_m(1.0, "FeO")}


def _demand(vector: Vector) -> dict[str, float]:
    given = vector.given
    iron = iron_mass_kg_m(given["t_mm"] / 1000.0, given["w_mm"] / 1000.0)
    oxygen = given["burnt_fraction"] * oxygen_demand_kg_m(iron, given["oxide"])
    return {"V": OXYGEN.volume_m3(oxygen)}


def _utilisation(vector: Vector) -> dict[str, float]:
    given = vector.given
    assert given["oxide"] == "FeO"
    share = oxygen_utilisation(
        given["t_mm"] / 1000.0,
        given["w_mm"] / 1000.0,
        given["v_mm_min"] / 60e3,
        OXYGEN.mass_kg(given["q_m3h"] / 3600.0),
    )
    return {"eta": share}


_SERVED = {"__table__": _table, "kerf_o2_m3_per_m": _demand, "o2_utilisation": _utilisation}


@pytest.mark.parametrize("vector", cases(7))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector))
