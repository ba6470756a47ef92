"""Properties and refusals of carbon equivalents, preheat and hardness."""

import math
from dataclasses import FrozenInstanceError, fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kerfdocket.physics.steel import (
    Composition,
    carbon_equivalent_cet,
    carbon_equivalent_iiw,
    carbon_equivalent_pcm,
    cut_edge_cooling_time_s,
    cutting_preheat_k,
    duren_hardness_hv,
    edge_heat_j_m2,
    hardness_band_hv,
    maynier_hardness_hv,
    preheat_en1011_k,
    yurioka_hardness_hv,
)

# Assumed composition, near a structural steel of 355 MPa.
_STEEL = Composition(carbon=0.18, silicon=0.45, manganese=1.5, chromium=0.05, nickel=0.05)
_times = st.floats(0.1, 1000.0)


@pytest.mark.parametrize("element", [field.name for field in fields(Composition)])
def test_no_element_lowers_a_carbon_equivalent(element: str) -> None:
    richer = replace(_STEEL, **{element: getattr(_STEEL, element) + 0.01})
    for equivalent in (carbon_equivalent_iiw, carbon_equivalent_cet, carbon_equivalent_pcm):
        assert equivalent(richer) >= equivalent(_STEEL)


@given(one=_times, other=_times)
def test_slower_cooling_never_harder(one: float, other: float) -> None:
    fast, slow = sorted((one, other))
    for hardness in (duren_hardness_hv, yurioka_hardness_hv):
        assert hardness(_STEEL, slow) <= hardness(_STEEL, fast) + 1e-9
    low, high = hardness_band_hv(_STEEL, fast)
    assert low <= high


@given(carbon=st.floats(0.0, 0.5), time=_times)
def test_more_carbon_never_softer(carbon: float, time: float) -> None:
    steel = replace(_STEEL, carbon=carbon)
    harder = replace(_STEEL, carbon=carbon + 0.05)
    assert duren_hardness_hv(harder, time) >= duren_hardness_hv(steel, time)


def test_band_spans_the_two_formulas() -> None:
    # Values of 439 and 449 HV at 2 s, 260 and 252 HV at 30 s: mpmath 1.3.0 on the published
    # formulas, for .18C .45Si 1.50Mn .05Cu .05Cr .05Ni .01Mo .005V .02Nb.
    steel = replace(_STEEL, copper=0.05, molybdenum=0.01, vanadium=0.005, niobium=0.02)
    assert [round(value) for value in hardness_band_hv(steel, 2.0)] == [439, 449]
    assert [round(value) for value in hardness_band_hv(steel, 30.0)] == [252, 260]


def test_boron_steel_gets_no_number() -> None:
    boron = replace(_STEEL, boron=0.002)
    for hardness in (yurioka_hardness_hv, hardness_band_hv):
        with pytest.raises(ValueError, match=r"^boron=0\.002.*accepted is"):
            hardness(boron, 5.0)


def test_high_carbon_gets_no_number() -> None:
    steel = replace(_STEEL, carbon=0.7)
    with pytest.raises(ValueError, match=r"^carbon=0\.7.*accepted is"):
        hardness_band_hv(steel, 5.0)
    with pytest.raises(ValueError, match=r"^carbon=0\.7.*accepted is"):
        maynier_hardness_hv(steel, 50.0)


def test_yurioka_refuses_what_turns_its_times_round() -> None:
    with pytest.raises(ValueError, match="leaner steel"):
        yurioka_hardness_hv(Composition(carbon=0.4, silicon=3.0, manganese=3.0, nickel=20.0), 5.0)


@given(
    heat=st.floats(10e6, 80e6),
    one=st.floats(253.15, 700.0),
    other=st.floats(253.15, 700.0),
)
def test_a_warmer_plate_never_cools_faster(heat: float, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    slow = cut_edge_cooling_time_s(heat, warm)
    assert slow >= cut_edge_cooling_time_s(heat, cold) * (1.0 - 1e-9)


def test_preheating_lengthens_the_cooling_time_as_stated() -> None:
    # By hand: 1/(500-Tp)² - 1/(800-Tp)² grows 1.56, 2.15, 3.1 and 7.8 times from 20 °C; the
    # constant 4300 - 4.3 Tp of EN 1011-2 falls as (1000 - Tp)/980.
    base = cut_edge_cooling_time_s(30e6, 293.15)
    for celsius, ratio, digit in (
        (100, 1.56, 0.005),
        (150, 2.15, 0.005),
        (200, 3.1, 0.05),
        (300, 7.8, 0.05),
    ):
        time_s = cut_edge_cooling_time_s(30e6, celsius + 273.15)
        grown = time_s / base * 980.0 / (1000.0 - celsius)
        assert grown == pytest.approx(ratio, abs=digit), celsius


@given(kerf=st.floats(0.0005, 0.01))
def test_edge_heat_is_a_range(kerf: float) -> None:
    low, high = edge_heat_j_m2(kerf)
    assert 0.0 < low < high


@given(cet=st.floats(0.2, 0.49), thickness=st.floats(0.010, 0.090), heat=st.floats(0.5e6, 4e6))
def test_a_richer_steel_never_wants_less_preheat(cet: float, thickness: float, heat: float) -> None:
    cooler = preheat_en1011_k(cet, thickness, 5.0, heat)
    assert preheat_en1011_k(cet + 0.01, thickness, 5.0, heat) > cooler
    # The rule's own coefficient: 697 + 53 Q per 1 %.
    slope = (preheat_en1011_k(cet + 0.01, thickness, 5.0, heat) - cooler) / 0.01
    assert slope == pytest.approx(697.0 + 53.0 * heat / 1e6, rel=1e-6)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((0.53, 0.020, 5.0, 1e6), "carbon_equivalent_percent=0.53"),
        ((0.19, 0.020, 5.0, 1e6), "carbon_equivalent_percent=0.19"),
        ((0.30, 0.008, 5.0, 1e6), "thickness_m=0.008"),
        ((0.30, 0.100, 5.0, 1e6), "thickness_m=0.1"),
        ((0.30, 0.020, 0.5, 1e6), "hydrogen_ml_100g=0.5"),
        ((0.30, 0.020, 5.0, 1.0), "heat_input_j_m=1.0"),
    ],
)
def test_preheat_refuses_outside_the_rule(
    arguments: tuple[float, float, float, float], named: str
) -> None:
    with pytest.raises(ValueError, match=f"^{named}.*accepted is"):
        preheat_en1011_k(*arguments)


def test_cutting_preheat() -> None:
    # 900 CE - 350, Polish welding textbook, section 11.2, p. 221; worked out by hand.
    for ce, celsius in ((0.39, 1.0), (0.45, 55.0), (0.50, 100.0), (0.60, 190.0), (0.70, 280.0)):
        assert cutting_preheat_k(ce) - 273.15 == pytest.approx(celsius, abs=1e-9)
    for ce in (0.05, 1.6, math.nan):
        with pytest.raises(ValueError, match=r"^carbon_equivalent_percent=.*accepted is"):
            cutting_preheat_k(ce)


def test_a_composition_holds_shares_and_does_not_change() -> None:
    with pytest.raises(ValueError, match=r"^carbon=-0\.1.*accepted is"):
        Composition(carbon=-0.1)
    with pytest.raises(ValueError, match=r"^nickel=nan.*accepted is"):
        Composition(nickel=math.nan)
    with pytest.raises(ValueError, match="sum to 120"):
        Composition(manganese=60.0, chromium=60.0)
    with pytest.raises(FrozenInstanceError):
        _STEEL.carbon = 0.2  # type: ignore[misc]


@pytest.mark.parametrize("time", [0.0, 0.05, 2000.0, math.nan])
def test_refuses_cooling_times_outside_the_range(time: float) -> None:
    with pytest.raises(ValueError, match=r"^cooling_time_s=.*accepted is"):
        hardness_band_hv(_STEEL, time)
