"""Bores against real-gas isentropic and Fanno flow."""

from dataclasses import replace

import pytest

from gas_values import GASES, OXYGEN
from kerfdocket.physics.orifice import (
    bore_flow_kg_s,
    density_kg_m3,
    exit_area_ratio,
    friction_discharge_coefficient,
)
from published.cases import Vector, cases


def _flow(vector: Vector) -> dict[str, float]:
    given = vector.given
    gas = GASES[given["gas"]]
    if "Z=1" in vector.source:  # the ideal formula is meant
        gas = replace(gas, compressibility_slope_per_pa=0.0)
    flow = bore_flow_kg_s(
        gas,
        given["d_mm"] / 1000.0,
        given["p_barg"] * 1e5,
        given.get("p_amb_bar", 1.01325) * 1e5,
        given["T_C"] + 273.15,
        given["Cd"],
    )
    return {"m": flow * 3600.0}


def _fanno(vector: Vector) -> dict[str, float]:
    given = vector.given
    ratio = GASES[given["gas"]].heat_capacity_ratio
    return {"Cd_friction": friction_discharge_coefficient(given["fLD"], ratio)}


def _exit_area(vector: Vector) -> dict[str, float]:
    given = vector.given
    return {"A_ratio": exit_area_ratio(GASES[given["gas"]], given["p_barg"] * 1e5, 101325.0)}


def _density(vector: Vector) -> dict[str, float]:
    given = vector.given
    return {"rho": density_kg_m3(GASES[given["gas"]], given["p_bar"] * 1e5, given["T_K"])}


def _volume(vector: Vector) -> dict[str, float]:
    given = vector.given
    mass = OXYGEN.mass_kg(given["m3_15C_1bar"])
    return {"V": mass / density_kg_m3(OXYGEN, given["p_bar"] * 1e5, given["T_K"])}


_SERVED = {
    "nozzle_flow_kgh": _flow,
    "fanno_discharge": _fanno,
    "exit_area_ratio": _exit_area,
    "ideal_density": _density,
    "volume_convert_m3": _volume,
}


@pytest.mark.parametrize("vector", cases(1))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector))
