"""Carbon equivalents, preheat, cooling time and hardness against independent arithmetic.

These guard against typing errors in the formulas; they do not prove the formulas.
"""

from collections.abc import Mapping
from typing import Any

import pytest

from kerfdocket.physics.steel import (
    Composition,
    carbon_equivalent_cet,
    carbon_equivalent_iiw,
    carbon_equivalent_pcm,
    cut_edge_cooling_time_s,
    duren_hardness_hv,
    maynier_hardness_hv,
    preheat_en1011_k,
    yurioka_hardness_hv,
)
from published.cases import Vector, cases

_BORON = "boron steel: the method's boron term is not known here, so the value is withheld"
_REFUSED = {
    "Tp_0.37_100_2_1": "100 mm is outside the rule's range of 10 to 90 mm",
    "yurioka_S690QL-like_t3": _BORON,
    "yurioka_S690QL-like_t10": _BORON,
    "yurioka_AR400-like_t3": _BORON,
    "yurioka_AR400-like_t10": _BORON,
}


def _composition(given: Mapping[str, Any]) -> Composition:
    return Composition(
        carbon=given["C"],
        silicon=given["Si"],
        manganese=given["Mn"],
        chromium=given["Cr"],
        molybdenum=given["Mo"],
        vanadium=given["V"],
        nickel=given["Ni"],
        copper=given["Cu"],
        boron=given["B"],
        niobium=given["Nb"],
    )


def _preheat(given: Mapping[str, Any]) -> dict[str, float]:
    temperature = preheat_en1011_k(
        given["cet"], given["d_mm"] / 1000.0, given["HD"], given["Q_kJmm"] * 1e6
    )
    return {"Tp": temperature - 273.15}


def _cooling(given: Mapping[str, Any]) -> dict[str, float]:
    heat_j_m2 = given["Q_kJmm"] * 1e6 / (given["d_mm"] / 1000.0)
    return {"t": cut_edge_cooling_time_s(heat_j_m2, given["Tp_C"] + 273.15)}


def _maynier(given: Mapping[str, Any]) -> dict[str, float]:
    structures = maynier_hardness_hv(_composition(given), given["Vr_Kh"] / 3600.0)
    return dict(zip(("HVM", "HVB", "HVFP"), structures, strict=True))


_SERVED = {
    "CE_IIW": lambda given: {"CE_IIW": carbon_equivalent_iiw(_composition(given))},
    "CET": lambda given: {"CET": carbon_equivalent_cet(_composition(given))},
    "Pcm": lambda given: {"Pcm": carbon_equivalent_pcm(_composition(given))},
    "preheat_en1011_C": _preheat,
    "t85_s": _cooling,
    "yurioka_HV": lambda given: {
        "HV_clamped": yurioka_hardness_hv(_composition(given), given["t85"])
    },
    "duren_HV": lambda given: {"HV": duren_hardness_hv(_composition(given), given["t85"])},
    "maynier_HV": _maynier,
}


@pytest.mark.parametrize("vector", cases(8, _REFUSED))
def test_agrees_with_the_reference(vector: Vector) -> None:
    vector.hold(_SERVED[vector.form](vector.given))
