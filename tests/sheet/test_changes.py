"""Changing cylinders on the sheet: a table, and a picture that says the same."""

import io
from pathlib import Path

import pypdf
import pytest

from kerfdocket.job import load_job
from kerfdocket.planning import Plan, make_plan
from kerfdocket.planning.model import ChangeOver, Spell
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_html, sheet_pdf
from kerfdocket.sheet.context import Layout, traveller_context
from kerfdocket.sheet.figure import change_over_figure, names_text
from sheet.hand_plan import hand_plan, stop, with_changes, with_findings

SAMPLES = Path(__file__).parents[2] / "samples"


def _plan(name: str, units: str = "metric") -> Plan:
    job = load_job(SAMPLES / f"{name}.toml").model_copy(update={"units": units})
    return make_plan(job, load_reference())


def _spell(name: str, begins: float, ends: float, gives: float, is_changed: bool) -> Spell:
    return Spell(
        "oxygen", (name,), "50 L", begins, (ends, ends, ends), 10.0, gives, "x", is_changed, ""
    )


def _two() -> ChangeOver:
    spells = (_spell("1", 0.0, 3600.0, 10.0, True), _spell("2", 3600.0, 5400.0, 5.0, False))
    return ChangeOver("oxygen", spells, ("3",), 5400.0, 0.0, 1.3)


def test_the_picture_by_hand() -> None:
    figure = change_over_figure((_two(),))
    first, waits, second = figure.lines[0], figure.lines[2], figure.lines[3]
    # Empty after two thirds of the time; the second is full until then, and half empty at the end.
    x = round(figure.left + (figure.right - figure.left) * 2 / 3, 2)
    assert first.points == f"{figure.left},{figure.top} {x},{figure.bottom}"
    assert waits.look == "waiting"
    assert waits.points == f"{figure.left},{figure.top} {x},{figure.top}"
    half = round((figure.top + figure.bottom) / 2, 2)
    assert second.points == f"{x},{figure.top} {figure.right},{half}"
    assert "oxygen 1 from 0 to 60 min; oxygen 2 from 60 to 90 min" in figure.text


def test_nothing_is_drawn_outside_the_picture() -> None:
    for name in ("winter-yard-30mm", "ring-blanks-bundle-25mm", "shear-blanks-40mm"):
        plans = tuple(one for one in _plan(name).change_overs if one.spells)
        figure = change_over_figure(plans)
        for line in figure.lines:
            for point in line.points.split():
                x, y = (float(number) for number in point.split(","))
                assert figure.left <= x <= figure.right
                assert figure.top <= y <= figure.bottom
        assert all(0 <= one.x <= figure.width for one in figure.labels)


def test_one_cylinder_that_lasts_needs_no_plan() -> None:
    assert traveller_context(hand_plan()).front.change_overs == ()
    assert "Changing cylinders" not in sheet_html(hand_plan())


@pytest.mark.parametrize("units", ["metric", "US customary"])
def test_the_table_says_what_the_plan_says(units: str) -> None:
    plan = _plan("winter-yard-30mm", units)
    reader = pypdf.PdfReader(io.BytesIO(sheet_pdf(plan)))
    assert len(reader.pages) == 2
    front = "".join(reader.pages[0].extract_text().split())
    assert "Changingcylinders" in front
    for change_over in plan.change_overs:
        for spell in change_over.spells:
            assert "".join(spell.left_text.split()) in front
            if spell.is_changed:
                assert f"{spell.ends_s[1] / 60:.0f}({spell.ends_s[0] / 60:.0f}–" in front
    assert "arelacking" in front


def test_the_picture_can_be_read_without_seeing_it() -> None:
    html = sheet_html(_plan("winter-yard-30mm"))
    assert 'role="img"' in html
    assert "Content of the cylinders over the time of the job: oxygen 1 from 0" in html


def test_pictures_are_left_out_before_a_second_sheet_of_paper() -> None:
    plan = _plan("winter-yard-30mm")
    assert traveller_context(plan, Layout(room="packed")).front.figure is not None
    bare = traveller_context(plan, Layout(room="no pictures")).front
    assert bare.figure is None
    assert bare.change_overs


def test_cylinders_are_named_by_their_numbers_and_runs() -> None:
    assert names_text(("1", "2", "3", "8", "9", "6")) == "1–3, 6, 8, 9"
    assert names_text(("7", "4", "5"), "+") == "4+5+7"
    assert names_text(("10", "9")) == "9, 10"


def test_what_is_on_hand_has_the_numbers_that_the_order_names() -> None:
    front = traveller_context(_plan("ramp-feet-1in")).front
    assert front.gases[0].on_hand.startswith("1, 2: ")
    assert "; 3: " in front.gases[0].on_hand


def _places(plan: Plan) -> dict[str, tuple[str, int, bool]]:
    back = traveller_context(plan).back
    return {one.field: (" ".join(one.ask.split()), one.pairs, one.goes_on) for one in back.changed}


def test_the_back_asks_for_what_cylinders_showed_only_of_those_that_the_plan_changes() -> None:
    plan = hand_plan()
    assert _places(plan) == {}
    assert _places(with_changes(plan, 0, 0)) == {}
    assert _places(with_changes(plan, 2, 0)) == {
        "oxygen_changes": ("gauge: old → next, bar", 2, False)
    }
    assert _places(with_changes(plan, 5, 3)) == {
        "oxygen_changes": ("gauge: old → next, bar", 3, True),
        "fuel_changes": ("weight: old → next, kg", 3, False),
    }
    (ask, _pairs, _goes_on) = _places(with_changes(plan, 0, 1, beside=2))["fuel_changes"]
    assert ask == "weights side by side added up: old → next, kg"


def test_a_draft_does_not_ask_what_cylinders_showed() -> None:
    assert _places(with_findings(with_changes(hand_plan(), 2, 2), stop())) == {}


@pytest.mark.parametrize("name", ["press-bed-120mm", "base-plates-12mm", "refused-stainless"])
def test_where_nothing_is_changed_nothing_is_asked(name: str) -> None:
    assert _places(_plan(name)) == {}
    assert "cylinders changed" not in sheet_html(_plan(name))


def test_who_changes_a_cylinder_is_told_what_to_write_down() -> None:
    (step,) = (one.text for one in _plan("ramp-feet-1in").steps if "Changing" in one.text)
    assert "Oxygen: write down its gauge (back) before closing the old" in step
    assert "Fuel gas" not in step


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("oxygen", "fuel", "beside"), [(1, 1, 1), (5, 6, 2)])
@pytest.mark.parametrize("is_fillable", [False, True])
def test_room_for_what_cylinders_showed_takes_no_page_more(
    paper: str, oxygen: int, fuel: int, beside: int, is_fillable: bool
) -> None:
    job = load_job(SAMPLES / "ramp-feet-1in.toml").model_copy(update={"paper": paper})
    plan = with_changes(make_plan(job, load_reference()), oxygen, fuel, beside)
    pages = pypdf.PdfReader(io.BytesIO(sheet_pdf(plan, is_fillable))).pages
    assert len(pages) == 2
    back = " ".join(pages[1].extract_text().split())
    assert "Oxygen cylinders changed gauge: old → next, psi" in back
    assert "Fuel cylinders changed weight" in back
    assert "→ next, lb" in back
    # An arrow for each pair, besides the one of each label.
    pairs = 0 if is_fillable else min(oxygen, 3) + min(fuel, 3)
    assert back.count("→") == pairs + 2
