"""Safety signs of a plan: called for by its facts, and none besides."""

import json

import pytest

from jobs import SAMPLES, make_job
from kerfdocket.job import load_job
from kerfdocket.language import PSEUDO, speaking
from kerfdocket.planning import make_plan, plan_json
from kerfdocket.reference import load_reference

REFERENCE = load_reference()
ROWS = {row.sign: row for row in REFERENCE.signs}


def numbers(**changes):
    return {sign.number for sign in make_plan(make_job(**changes), REFERENCE).signs}


@pytest.mark.parametrize(
    ("changes", "more"),
    [
        ({"plate__surface": "zinc"}, {"W016", "M017"}),
        ({"plate__surface": "paint"}, {"W016", "M017"}),
        ({"plate__surface": "oil"}, {"M017"}),
        ({"site__place": "confined space"}, {"W041", "M017", "M048"}),
        ({"parts": [{"name": "A", "cut_length": "1 m", "start": "pierce"}]}, {"M019"}),
    ],
    ids=str,
)
def test_a_fact_of_the_job_brings_its_signs(changes, more):
    plain = numbers()
    assert not plain & more
    assert numbers(**changes) - plain == more


def test_a_shield_takes_the_place_of_goggles():
    pierced = [{"name": "A", "cut_length": "1 m", "start": "pierce"}]
    assert "M007" in numbers()
    assert "M007" not in numbers(parts=pierced)


def test_a_heavy_plate_hangs_overhead():
    small = {"plate__length": "200 mm", "plate__width": "200 mm"}
    assert not {"W015", "M014"} & numbers(**small)
    assert {"W015", "M014"} <= numbers(plate__length="3 m", plate__width="2 m")


def test_no_cylinder_sign_where_no_cylinder_stands():
    signs = {"W029", "M046"}
    assert signs <= numbers()
    assert signs <= numbers(fuel__gas="natural gas")  # the oxygen comes from cylinders
    assert not signs & numbers(fuel__gas="natural gas", oxygen__supply="tank")


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_every_sign_says_what_the_plan_says(path):
    plan = make_plan(load_job(path), REFERENCE)
    cautions = {caution.key for caution in plan.cautions}
    items = {protection.item for protection in plan.protections}
    assert plan.signs
    for sign in plan.signs:
        row = ROWS[sign.number]
        assert cautions & set(row.cautions) or items & set(row.items)
        assert (sign.meaning, sign.source, sign.trust) == (row.referent, row.source, row.trust)
    called = {sign.number for sign in plan.signs}
    for row in REFERENCE.signs:
        if items & set(row.items):
            assert row.sign in called or any(ROWS[one].instead_of == row.sign for one in called)


def test_what_is_special_here_comes_first():
    plan = make_plan(make_job(plate__surface="zinc", site__place="confined space"), REFERENCE)
    assert [sign.number for sign in plan.signs][:2] == ["W041", "W016"]


def test_the_plan_for_programs_has_them_with_their_source():
    plan = make_plan(make_job(), REFERENCE)
    signs = json.loads(plan_json(plan))["signs"]
    assert [one["number"] for one in signs] == [sign.number for sign in plan.signs]
    assert all("ISO 7010" in one["source"] and one["trust"] for one in signs)


def test_meaning_and_condition_are_said_in_the_language():
    with speaking(PSEUDO):
        signs = make_plan(make_job(), REFERENCE).signs
    for sign in signs:
        assert sign.meaning.startswith("⟦")
        assert not sign.condition or sign.condition.startswith("⟦")
