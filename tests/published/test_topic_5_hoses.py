"""Hoses against fluids, and hose with bore against fluids coupled with CoolProp."""

from collections.abc import Mapping
from typing import Any

import pytest

from gas_values import GASES, OXYGEN
from kerfdocket.physics.hose import (
    friction_factor,
    hose_inlet_gauge_pa,
    hose_outlet_gauge_pa,
    torch_gauge_pa,
)
from published.cases import Vector, cases

_AIR_PA = 101325.0


def _outlet(given: Mapping[str, Any]) -> dict[str, float]:
    outlet = hose_outlet_gauge_pa(
        GASES[given["gas"]],
        given["p1_barg"] * 1e5,
        _AIR_PA,
        given["m_kgh"] / 3600.0,
        given["D_mm"] / 1000.0,
        given["L_m"],
        given["T_C"] + 273.15,
        given["rough_mm"] / 1000.0,
    )
    return {"p2": outlet / 1e5}


def _inlet(given: Mapping[str, Any]) -> dict[str, float]:
    inlet = hose_inlet_gauge_pa(
        GASES[given["gas"]],
        given["p2_barg"] * 1e5,
        _AIR_PA,
        given["m_kgh"] / 3600.0,
        given["D_mm"] / 1000.0,
        given["L_m"],
        288.15,
    )
    return {"p1": inlet / 1e5}


def _torch(given: Mapping[str, Any]) -> dict[str, float]:
    torch, flow = torch_gauge_pa(
        OXYGEN,
        given["p_reg_barg"] * 1e5,
        _AIR_PA,
        given["D_mm"] / 1000.0,
        given["L_m"],
        given["d_mm"] / 1000.0,
        288.15,
    )
    return {"p_torch": torch / 1e5, "m": flow * 3600.0}


def _friction(given: Mapping[str, Any]) -> dict[str, float]:
    return {"f": friction_factor(given["Re"], given["eD"])}


_SERVED = {
    "hose_outlet_barg": _outlet,
    "hose_inlet_barg": _inlet,
    "coupled_torch_barg": _torch,
    "friction": _friction,
}


@pytest.mark.parametrize("vector", cases(5))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector.given))
