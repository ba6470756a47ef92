"""Acetylene density, and liquefied propane against CoolProp and an adaptive ODE solver."""

from collections.abc import Mapping
from typing import Any

import pytest

from gas_values import GASES
from kerfdocket.physics.orifice import density_kg_m3
from kerfdocket.physics.propane import (
    Liquid,
    bubble_pressure_abs_pa,
    latent_heat_j_kg,
    liquid_temperature_k,
    runtime_s,
    steady_vaporisation_kg_s,
    vapour_pressure_abs_pa,
)
from published.cases import Vector, cases

# Geometry of the two cylinders in the vectors' names; assumed by whoever made the vectors.
_CYLINDERS = {"11kg": (11.0, 0.300, 12.0), "33kg": (33.0, 0.375, 35.0)}
# The vectors bring the constants of their liquid; the first of them tells which it is.
_LIQUIDS: dict[float, Liquid] = {
    4.13089: "propane",
    4.17368: "propylene",
    3.9905: "n-butane",
    4.39267: "propyne",
}


def _density(vector: Vector) -> dict[str, float]:
    given = vector.given
    return {"rho": density_kg_m3(GASES[given["gas"]], given["p_bar"] * 1e5, given["T_K"])}


def _vapour_pressure(vector: Vector) -> dict[str, float]:
    given = vector.given
    liquid = _LIQUIDS[given["A"]]
    assert liquid in vector.name.lower()
    return {"p": vapour_pressure_abs_pa(given["T_C"] + 273.15, liquid) / 1e5}


def _bubble(vector: Vector) -> dict[str, float]:
    given = vector.given
    return {"p": bubble_pressure_abs_pa(given["T_C"] + 273.15, given["x_propane"]) / 1e5}


def _steady(vector: Vector) -> dict[str, float]:
    given: Mapping[str, Any] = vector.given
    liquid = given["T_liq_C"] + 273.15
    flow = steady_vaporisation_kg_s(
        given["U_W_m2K"], given["A_wet_m2"], given["T_amb_C"] + 273.15, liquid
    )
    # The vector brings its own heat of vaporisation; ours is compared with CoolProp elsewhere.
    return {"m": flow * 3600.0 * latent_heat_j_kg(liquid) / (given["hfg_kJkg"] * 1000.0)}


def _runtime(vector: Vector) -> dict[str, float]:
    given = vector.given
    time_s, left_kg = runtime_s(
        given["m0_kg"],
        given["D_m"],
        given["steel_kg"],
        given["U"],
        given["T_amb_C"] + 273.15,
        given["m_kgh"] / 3600.0,
        given["p_min_barg"] * 1e5,
        101325.0,
    )
    return {"t_h": time_s / 3600.0, "m_left": left_kg}


def _liquid_temperature(vector: Vector) -> dict[str, float]:
    # The reference is the full heat balance; area and capacity in the vector are its means.
    given = vector.given
    [cylinder] = [size for key, size in _CYLINDERS.items() if key in vector.name]
    assert given["T_start_C"] == given["T_amb_C"]
    temperature = liquid_temperature_k(
        *cylinder,
        given["U"],
        given["T_amb_C"] + 273.15,
        given["m_dot_kgh"] / 3600.0,
        given["t_h"] * 3600.0,
    )
    return {"T": temperature - 273.15}


_SERVED = {
    "ideal_density": _density,
    "antoine_bar": _vapour_pressure,
    "lpg_bubble_bar": _bubble,
    "vaporisation_steady_kgh": _steady,
    "lpg_runtime_h": _runtime,
    "liquid_temp_C": _liquid_temperature,
}


@pytest.mark.parametrize("vector", cases(3))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector))
