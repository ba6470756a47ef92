"""Hazards, protective equipment, filter shades, hot work."""

import pytest

from kerfdocket.reference import HAZARD_WORDS, load_reference

REFERENCE = load_reference()
OXYGEN_KG_M3 = 1.336640  # 15 °C, 1 bar, CoolProp 8.0.0 HEOS


def test_every_when_word_is_known_and_every_word_is_used():
    rows = (*REFERENCE.hazards, *REFERENCE.protective)
    assert {word for row in rows for word in row.when} == set(HAZARD_WORDS)


def test_there_are_enough_hazards_and_each_says_what_to_do():
    assert len(REFERENCE.hazards) >= 20
    for row in REFERENCE.hazards:
        assert row.text.endswith(".")
        assert row.action.endswith(".")
        assert row.source


def keys(*facts):
    return {row.key for row in REFERENCE.hazards_for(facts)}


def test_hazards_follow_the_facts():
    plain = keys()
    assert "no-oil" in plain
    assert not plain & {"acetylene-pressure", "fuel-heavy", "zinc", "confined", "container"}
    assert keys("acetylene") - plain == {
        "acetylene-pressure",
        "acetylene-copper",
        "acetylene-hot",
        "acetylene-draw",
        "acetylene-laid",
    }
    assert "fuel-heavy" in keys("fuel heavier than air")
    assert "fuel-heavy" not in keys("fuel lighter than air")
    assert keys("coated: zinc") - plain == {"zinc"}
    assert {"confined", "ventilation"} <= keys("confined")
    assert "pierce" in keys("pierce")


def test_unknown_fact_is_refused():
    with pytest.raises(ValueError, match="sunny"):
        REFERENCE.hazards_for(["sunny"])
    with pytest.raises(ValueError, match="sunny"):
        REFERENCE.protective_for(["sunny"])


def test_protective_equipment_follows_the_facts():
    items = {row.item for row in REFERENCE.protective_for(["confined"])}
    assert {"Gas detector", "Leather gloves"} <= items
    assert "Helmet" not in items


def shades(thickness_mm, litres_per_hour=None):
    flow = None if litres_per_hour is None else litres_per_hour / 3.6e6 * OXYGEN_KG_M3
    found = REFERENCE.filter_shades(thickness_mm / 1e3, flow)
    return {row.rule: (row.shade_low, row.shade_high) for row in found}


# 29 CFR 1910.133(a)(5), oxygen cutting: below 25 mm 3, 25 to 150 mm 4, above 150 mm 5.
@pytest.mark.parametrize(
    ("thickness", "shade"), [(3, 3), (24.9, 3), (25, 4), (150, 4), (150.1, 5), (300, 5)]
)
def test_osha_shades(thickness, shade):
    assert shades(thickness)["OSHA"] == (shade, shade)


# EN 169, oxygen cutting, oxygen flow in L/h: 900-2000 5, 2000-4000 6, 4000-8000 7.
@pytest.mark.parametrize(("flow", "shade"), [(900, 5), (1999, 5), (2000, 6), (4000, 7), (8000, 7)])
def test_en_169_shades(flow, shade):
    assert shades(12, flow)["EN 169"] == (shade, shade)


@pytest.mark.parametrize("flow", [None, 899, 8001])
def test_en_169_says_nothing_outside_its_table(flow):
    assert "EN 169" not in shades(12, flow)


def test_hot_work():
    # 29 CFR 1910.252(a)(2): 35 ft and 30 min; NFPA 51B as recalled: 60 min.
    assert REFERENCE.hot_work_distance_m().value == pytest.approx(10.7, abs=0.05)
    watch = REFERENCE.fire_watch_s()
    assert (watch.low, watch.value) == (1800, 3600)
    assert watch.trust == "from memory"


def test_texts_agree_with_the_numbers():
    texts = {row.key: row.text + " " + row.action for row in REFERENCE.hazards}
    assert "35 ft (10.7 m)" in texts["hot-work"]
    assert "23.5 %" in texts["oxygen-enrichment"]
    assert REFERENCE.protection.hot_work["oxygen high"].oxygen_percent == 23.5
    assert REFERENCE.protection.distance_m("storage").value == pytest.approx(6.1, abs=0.01)
    assert "6.1 m" in texts["storage"]
