"""The fields of a sheet to be filled in: their names for ever, their meaning for a person."""

import re
from dataclasses import replace

import pytest

from kerfdocket.language import PSEUDO, speaking
from kerfdocket.planning.model import Plan
from kerfdocket.sheet import sheet_html, sheet_pdf
from kerfdocket.sheet.context import Layout
from kerfdocket.sheet.fields import FIELD_TITLES, field_title
from sheet.hand_plan import hand_plan, with_changes
from sheet.reading import Reading

# Who reads filled-in sheets goes by these: a name is not changed, nor given another meaning.
NAMES = [
    "nozzle_maker",
    "nozzle_type",
    "nozzle_range",
    "nozzle_pressure",
    "chart_cutting_oxygen",
    "chart_heating_oxygen",
    "chart_fuel",
    "measured_perpendicularity",
    "measured_roughness",
    "measured_size",
    "oxygen_before",
    "oxygen_after",
    "fuel_before",
    "fuel_after",
    "begun",
    "ended",
    "oxygen_changes",
    "fuel_changes",
    "remarks",
    "cutter_name",
    "cutter_time",
    "supervisor_name",
    "supervisor_time",
]


# Only where the plan changes cylinders of the gas.
WHERE_CHANGED = {"oxygen_changes", "fuel_changes"}


def _changing_plan() -> Plan:
    return with_changes(hand_plan(), oxygen=1, fuel=1)


@pytest.fixture(scope="module")
def fillable() -> Reading:
    return Reading(sheet_pdf(_changing_plan(), is_fillable=True))


def test_each_is_there_once_and_come_to_in_the_order_in_which_it_is_written(
    fillable: Reading,
) -> None:
    met = [str(kid.T) for one in fillable.elements for kid in one.annotations]
    assert met == NAMES
    assert sorted(str(one.T) for one in fillable.widgets) == sorted(NAMES)
    assert list(FIELD_TITLES) == NAMES


def test_each_says_what_it_is_for(fillable: Reading) -> None:
    said = {str(one.T): str(one.TU) for one in fillable.widgets}
    assert said == FIELD_TITLES
    assert len(set(said.values())) == len(NAMES)
    for text in said.values():
        assert len(text.split()) > 1
        assert "_" not in text


def test_each_is_empty_and_on_the_paper(fillable: Reading) -> None:
    for page in fillable.pages:
        left, low, right, high = (float(one) for one in page.MediaBox)
        for one in page.get("/Annots", []):
            assert str(one.get("/V", "")) == ""
            x = sorted(float(side) for side in list(one.Rect)[::2])
            y = sorted(float(side) for side in list(one.Rect)[1::2])
            assert left < x[0] < x[1] - 20 < right  # room for a word
            assert low < y[0] < y[1] - 8 < high  # and its letters


def test_a_sheet_of_which_nothing_is_changed_asks_for_no_change() -> None:
    html = sheet_html(hand_plan(), Layout(is_fillable=True))
    named = re.findall(r'<input [^>]*name="(\w+)"', html)
    assert named == [name for name in NAMES if name not in WHERE_CHANGED]


def test_names_stay_where_another_language_is_spoken() -> None:
    with speaking(PSEUDO):
        html = sheet_html(replace(_changing_plan(), language=PSEUDO.code), Layout(is_fillable=True))
        titles = [field_title(name) for name in NAMES]
    assert re.findall(r'<input [^>]*name="(\w+)"', html) == NAMES
    assert re.findall(r'<input [^>]*title="([^"]+)"', html) == titles
    assert all(title.startswith("⟦") for title in titles)


def test_a_field_without_a_meaning_is_an_error() -> None:
    with pytest.raises(KeyError):
        field_title("other")
