"""Purging and leak tests against CoolProp and an ODE solver."""

from collections.abc import Mapping
from typing import Any

import pytest

from gas_values import GASES, OXYGEN
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.leak import leak_rate_kg_s, purge_time_s, thermal_pressure_change_pa
from published.cases import Vector, cases

_AIR_PA = 101325.0


def _gas_in(name: str) -> Gas:
    [gas] = [gas for gas in GASES.values() if gas.name.capitalize() in name]
    return gas


def _purge(vector: Vector) -> dict[str, float]:
    given: Mapping[str, Any] = vector.given
    flow = OXYGEN.mass_kg(given["q_m3h"] / 3600.0)
    volume = given["V_L"] / 1000.0
    time_s = purge_time_s(OXYGEN, volume, flow, given["p_abs_bar"] * 1e5, 288.15, given["c_end"])
    return {"t": time_s}


def _leak(vector: Vector) -> dict[str, float]:
    given = vector.given
    gas = _gas_in(vector.name)
    leak = leak_rate_kg_s(
        gas,
        given["V_L"] / 1000.0,
        given["p1_barg"] * 1e5 + _AIR_PA,
        given["T1_C"] + 273.15,
        given["p2_barg"] * 1e5 + _AIR_PA,
        given["T2_C"] + 273.15,
        given["dt_min"] * 60.0,
    )
    return {"q": gas.volume_m3(leak) * 3600e6}


def _thermal(vector: Vector) -> dict[str, float]:
    given = vector.given
    change = thermal_pressure_change_pa(
        given["p_barg"] * 1e5 + _AIR_PA, given["T_C"] + 273.15, given["dT_K"]
    )
    return {"dp": change / 100.0}


_SERVED = {
    "purge_time_s": _purge,
    "leak_rate_cm3h": _leak,
    "thermal_pressure_change_mbar": _thermal,
}


@pytest.mark.parametrize("vector", cases(6))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector))
