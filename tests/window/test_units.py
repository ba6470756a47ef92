"""The form in metric and in US customary units: what is shown follows, what is stated stays."""

import copy
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from kerfdocket.job import read_raw
from kerfdocket.quantity import (
    ABSOLUTE_PRESSURE,
    CAPACITY,
    GAS_FLOW,
    GAUGE_PRESSURE,
    KINDS,
    LENGTH,
    MASS,
    METRIC,
    SPEED,
    TEMPERATURE,
    US_CUSTOMARY,
    Kind,
    Measure,
    UnitSystem,
    parse_measure,
)
from kerfdocket.window.document import Document
from kerfdocket.window.form import FoldView
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.specs import shown_text_of, spec_at, value_typed
from kerfdocket.window.units import UNIT_NAMES, in_units, system_of
from window.conftest import WAIT_MS, Answers, OpenWindow
from window.helpers import choose, clear, fill_in, type_in

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))
SAMPLE = next(path for path in SAMPLES if path.stem == "base-plates-12mm")


def _use_by_menu(window: MainWindow, name: str) -> None:
    next(action for action in window.menus.units.actions() if action.data() == name).trigger()


def _shown(window: MainWindow) -> dict[str, str]:
    form = window.panes.form
    shown = {field.where: field.text for field in form.fields() if field.where != "units"}
    model = form.parts.model
    for row in range(model.rowCount()):
        for column in range(model.columnCount()):
            shown[model.path(row, column)] = str(model.index(row, column).data())
    return shown


# The conversions: 25.4 mm to the inch, 0.3048 m to the foot, 0.45359237 kg to the pound are exact
# (NIST SP 811, 2008, B.8); psi there 6894.757 Pa; (F - 32) / 1.8 = C. Gas: ideal gas from 15 °C and
# 1 bar to 70 °F and 14.696 psi, 294.26 K / 288.15 K / 1.01325 / 0.3048^3 = 35.59 ft3; derived.
@pytest.mark.parametrize(
    ("text", "kind", "shown"),
    [
        ("20 mm", LENGTH, "0.787 in"),
        ("12,50mm", LENGTH, "0.4921 in"),
        ("0.8 mm", LENGTH, "0.0315 in"),
        ("0.01 mm", LENGTH, "0.000394 in"),
        ("10 m", LENGTH, "32.8 ft"),
        ("0 m", LENGTH, "0.0 ft"),
        ("-500 m", LENGTH, "−1640 ft"),
        ("66.2 kg", MASS, "145.9 lb"),
        ("150 bar", GAUGE_PRESSURE, "2176 psi"),
        ("0.02 bar", GAUGE_PRESSURE, "0.290 psi"),
        ("1013.25 hPa", ABSOLUTE_PRESSURE, "14.70 psi"),
        ("50 L", CAPACITY, "3051 in³"),
        ("30 m3/h", GAS_FLOW, "1068 ft³/h"),
        ("350 mm/min", SPEED, "13.78 in/min"),
        ("17 °C", TEMPERATURE, "63 °F"),
        ("-18 °C", TEMPERATURE, "0 °F"),
        ("17.5 °C", TEMPERATURE, "63.5 °F"),
        # In such units already, or no quantity: as it was written.
        ("1/2 in", LENGTH, "1/2 in"),
        ("0,50in", LENGTH, "0,50in"),
        ("20 bar", LENGTH, "20 bar"),
        ("about 20 mm", LENGTH, "about 20 mm"),
        ("", LENGTH, ""),
    ],
)
def test_a_stated_quantity_in_us_units(text: str, kind: Kind, shown: str) -> None:
    assert in_units(text, kind, US_CUSTOMARY) == shown


def test_a_quantity_stated_in_us_units_is_shown_in_metric_ones() -> None:
    assert in_units("36 psi", GAUGE_PRESSURE, METRIC) == "2.48 bar"  # 36 x 6894.757 Pa
    assert in_units("0.8 in", LENGTH, METRIC) == "20.3 mm"
    assert in_units("3051 in3", CAPACITY, METRIC) == "50.00 L"


@given(
    kind=st.sampled_from(KINDS),
    number=st.decimals("0.001", "9999", places=3),
    system=st.sampled_from([METRIC, US_CUSTOMARY]),
    data=st.data(),
)
def test_what_is_shown_says_what_was_stated(
    kind: Kind, number: Decimal, system: UnitSystem, data: st.DataObject
) -> None:
    """It can be read again, is within half a percent or degree, and nothing becomes nothing."""
    stated = Measure(number, data.draw(st.sampled_from(sorted(kind.units))), kind)
    shown = parse_measure(in_units(str(stated), kind, system), kind)
    assert shown.unit == system.unit(stated.unit, kind)
    if kind == TEMPERATURE:
        assert shown.si == pytest.approx(stated.si, abs=0.51)
    else:
        assert shown.si == pytest.approx(stated.si, rel=0.0051)
        assert shown.si > 0


READINGS = ["12.1 mm", "12.0 mm", 12, "12.2 mm"]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.476 in; 0.472 in; 12; 0.480 in", READINGS),
        ("0.476 in; 0.47 in; 12; 0.480 in", ["12.1 mm", "0.47 in", 12, "12.2 mm"]),
        ("0.476 in; 0.472 in; 12; 0.480 in; 0.48 in", [*READINGS, "0.48 in"]),
        ("0.48 in; 0.472 in; 12; 0.480 in", ["0.48 in", *READINGS[1:]]),
        ("0.472 in; 12; 0.480 in", READINGS[1:]),
        ("0.476 in", ["12.1 mm"]),
        ("0.5 in", ["0.5 in"]),
        ("", None),
    ],
)
def test_of_a_list_only_what_is_changed_by_hand_changes(text: str, value: Any) -> None:
    spec = spec_at("plate.readings", US_CUSTOMARY)
    assert shown_text_of(READINGS, spec) == "0.476 in; 0.472 in; 12; 0.480 in"
    assert value_typed(text, spec, READINGS) == value


@pytest.mark.parametrize(
    ("where", "metric", "us"),
    [
        ("plate.thickness", "mm", "in"),
        ("site.altitude", "m", "ft"),
        ("oxygen.outlet.content", "m³", "ft³"),
        ("oxygen.cylinders.0.capacity", "L", "in³"),
        ("chart.start_time", "s", "s"),
        ("about.number", "", ""),
    ],
)
def test_the_unit_that_a_field_asks_for_is_one_in_use(where: str, metric: str, us: str) -> None:
    assert spec_at(where).unit == metric
    assert spec_at(where, US_CUSTOMARY).unit == us


def test_units_that_are_not_known_are_metric() -> None:
    for units in (None, "imperial", 5, {}, ["US customary"]):
        assert system_of(Document({"units": units})) == METRIC
    assert [name for name, _ in UNIT_NAMES] == [METRIC.name, US_CUSTOMARY.name]


def test_there_and_back_leaves_every_sample_as_it_was(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window()
    for sample in SAMPLES:
        path = tmp_path / sample.name
        path.write_bytes(sample.read_bytes())
        assert window.files.open_path(path)
        before, shown = copy.deepcopy(window.document.raw), _shown(window)
        if "units" in before:
            continue  # it is in US customary units already
        choose(qtbot, window, "units", "US customary")
        assert window.document.raw == {**before, "units": "US customary"}
        in_us = _shown(window)
        for where, text in in_us.items():
            spec, stated = spec_at(where, US_CUSTOMARY), window.document.value(where)
            if spec.kind is not None and stated is not None:
                for one in text.split("; "):
                    assert parse_measure(one, spec.kind).unit not in US_CUSTOMARY.foreign
                assert text == shown_text_of(stated, spec)
        assert in_us != shown
        window.menus.save.trigger()
        lines = path.read_text().splitlines()
        assert [line for line in lines if line not in sample.read_text().splitlines()] == [
            'units = "US customary"'
        ]
        choose(qtbot, window, "units", "metric (assumed)")
        assert window.document.raw == before
        assert _shown(window) == shown
        window.menus.save.trigger()
        assert path.read_bytes() == sample.read_bytes()
    assert not answers.told


def test_the_menu_and_the_field_are_one(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    before = copy.deepcopy(window.document.raw)
    field = window.panes.form.field("units")

    def marked() -> list[str]:
        return [action.data() for action in window.menus.units.actions() if action.isChecked()]

    assert marked() == ["metric"]
    _use_by_menu(window, "metric")
    assert window.document.raw == before
    _use_by_menu(window, "US customary")
    assert field.text == "US customary"
    assert window.panes.form.field("plate.thickness").text == "0.472 in"
    choose(qtbot, window, "units", "metric")
    assert marked() == ["metric"]
    _use_by_menu(window, "US customary")
    _use_by_menu(window, "metric")
    assert field.text == "metric (assumed)"
    assert window.document.raw == before
    assert not window.document.is_changed


def test_a_job_opens_in_its_units_and_the_next_begins_in_them(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(SAMPLE.read_text().replace("[about]", 'units = "US customary"\n[about]', 1))
    window = open_window(path)
    assert window.panes.form.field("plate.thickness").text == "0.472 in"
    window.menus.new.trigger()
    assert window.document.raw == {"kerfdocket-job": 1, "units": "US customary"}
    assert not window.document.is_changed
    window.panes.form.add_wanted.emit("oxygen.cylinders")
    editor = window.panes.form.field("oxygen.cylinders.0.capacity").editor
    assert isinstance(editor, QLineEdit)
    assert editor.placeholderText() == "3051 in³ (assumed)"
    _use_by_menu(window, "metric")
    assert window.document.raw["units"] == "metric"
    assert editor.placeholderText() == "50 L (assumed)"


def test_units_that_are_no_choice_are_told_and_kept(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(SAMPLE.read_text().replace("[about]", 'units = "imperial"\n[about]', 1))
    window = open_window(path)
    assert window.panes.form.field("units").text == "imperial (not a choice)"
    assert window.panes.form.field("plate.thickness").text == "12 mm"
    assert "'US customary'" in window.panes.form.field("units").notes.text
    assert not window.document.is_changed


def test_what_is_assumed_wanted_and_told_follows(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    form = window.panes.form
    _use_by_menu(window, "US customary")

    def placeholder(where: str) -> str:
        editor = form.field(where).editor
        assert isinstance(editor, QLineEdit)
        return editor.placeholderText()

    assert placeholder("oxygen.reserve") == "145 psi (assumed)"  # 10 bar / 6894.757 Pa
    assert placeholder("site.altitude") == "not stated (ft)"
    assert placeholder("plate.thickness") == "needed (in)"
    assert placeholder("plate.readings") == "one or more, such as 0.476 in; 0.469 in"
    assert placeholder("torch.idle_share") == "25 % (assumed)"
    thickness = form.field("plate.thickness")
    for told in (
        thickness.help_text,
        thickness.editor.toolTip(),
        thickness.editor.accessibleDescription(),
    ):
        assert "Stated as 12 mm." in told
        assert "39.37 in" in told  # 1000 mm
    assert "70 °F" in form.field("oxygen.regulator.flow_limit").help_text
    window.activateWindow()
    thickness.editor.setFocus()
    assert "Stated as 12 mm." in form._help.text()
    clear(qtbot, window, "plate.thickness")
    assert "Stated as" not in form._help.text()
    type_in(qtbot, window, "plate.thickness", "12")
    assert "such as '12 in'" in thickness.notes.text
    _use_by_menu(window, "metric")
    assert "such as '12 mm'" in thickness.notes.text
    assert thickness.text == "12"
    assert placeholder("plate.thickness") == "needed (mm)"
    assert "1000 mm" in form._help.text()


def test_what_is_typed_is_what_is_stated(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    _use_by_menu(window, "US customary")
    before = copy.deepcopy(window.document.raw)
    clear(qtbot, window, "plate.thickness")
    type_in(qtbot, window, "plate.thickness", "1/2 in")
    assert window.document.raw["plate"]["thickness"] == "1/2 in"
    clear(qtbot, window, "plate.thickness")
    type_in(qtbot, window, "plate.thickness", "0,50in")
    assert window.document.raw["plate"]["thickness"] == "0,50in"
    assert window.panes.form.field("plate.thickness").text == "0,50in"
    _use_by_menu(window, "metric")
    assert window.panes.form.field("plate.thickness").text == "12.7 mm"
    assert "Stated as 0,50in." in window.panes.form.field("plate.thickness").help_text
    before["plate"]["thickness"] = "0,50in"
    assert window.document.raw == {key: before[key] for key in before if key != "units"}


def test_typing_back_what_was_shown_takes_back_what_was_stated(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window(SAMPLE)
    _use_by_menu(window, "US customary")
    type_in(qtbot, window, "plate.thickness", "x")
    assert window.document.raw["plate"]["thickness"] == "0.472 inx"
    qtbot.keyClick(window.panes.form.field("plate.thickness").editor, Qt.Key.Key_Backspace)
    assert window.document.raw["plate"]["thickness"] == "12 mm"
    type_in(qtbot, window, "plate.readings", "; 0.49 in")
    assert window.document.raw["plate"]["readings"] == [
        *("12.1 mm", "12.0 mm", "12.2 mm", "12.1 mm"),
        "0.49 in",
    ]


def _open_cell(window: MainWindow, where: str) -> QLineEdit:
    table = window.panes.form.parts
    table.edit(where)
    line = table.view.indexWidget(table.model.index(*table.model.cell(where)))
    assert isinstance(line, QLineEdit)
    return line


def test_parts_are_shown_in_the_units_and_an_opened_cell_stays(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window(SAMPLE)
    _use_by_menu(window, "US customary")
    before = copy.deepcopy(window.document.raw)
    model = window.panes.form.parts.model
    index = model.index(0, 2)
    assert index.data() == "62.99 in"
    assert "62.99 in, stated as 1600 mm" in index.data(Qt.ItemDataRole.ToolTipRole)

    line = _open_cell(window, "parts.0.cut_length")
    assert line.text() == "62.99 in"
    with qtbot.waitSignal(line.destroyed, timeout=WAIT_MS):
        qtbot.keyClick(line, Qt.Key.Key_Return)
    assert window.document.raw == before

    line = _open_cell(window, "parts.0.cut_length")
    qtbot.keyClick(line, Qt.Key.Key_End)
    qtbot.keyClick(line, Qt.Key.Key_Backspace)
    assert window.document.raw["parts"][0]["cut_length"] == "62.99 i"
    qtbot.keyClicks(line, "n")
    assert window.document.raw == before

    line.selectAll()
    qtbot.keyClicks(line, "5.25 ft")
    assert window.document.raw["parts"][0]["cut_length"] == "5.25 ft"
    _use_by_menu(window, "metric")  # while the cell is still open
    assert index.data() == "1.600 m"  # 5.25 x 0.3048
    assert window.document.raw["parts"][0]["cut_length"] == "5.25 ft"
    window.panes.form.add_wanted.emit("parts")
    assert model.index(2, 2).data() == "needed (mm)"


def test_a_plan_is_made_in_the_units_wanted(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    fill_in(qtbot, window)
    with qtbot.waitSignal(window.follow_up.planned, timeout=WAIT_MS) as planned:
        _use_by_menu(window, "US customary")
    assert planned.args is not None
    assert planned.args[0].job.units == "US customary"


NEW_PLACES = {
    "units": "units",
    "torch.flame": "torch.flame",
    "oxygen.outlet": "oxygen.outlet.pressure",
    "oxygen.outlet.content_weight": "oxygen.outlet.content_weight",
    "fuel.outlet.pressure": "fuel.outlet.pressure",
    "fuel.draw_share": "fuel.draw_share",
    "oxygen.arrestor.loss_gas": "oxygen.arrestor.loss_gas",
    "fuel.regulator.rated_class": "fuel.regulator.rated_class",
    "oxygen.heating": "oxygen.heating.regulator.outlet_limit",
    "oxygen.heating.regulator": "oxygen.heating.regulator.outlet_limit",
    "oxygen.heating.arrestor": "oxygen.heating.arrestor.fitted",
    "oxygen.heating.hose": "oxygen.heating.hose.bore",
    "oxygen.heating.hose.joints": "oxygen.heating.hose.joints",
    "prices.fuel_lb": "prices.fuel_lb",
}


@pytest.mark.parametrize(("where", "field"), NEW_PLACES.items())
def test_a_finding_leads_to_its_field_and_unfolds_it(
    open_window: OpenWindow, where: str, field: str
) -> None:
    window = open_window()
    window.panes.form.reveal(where)
    editor = window.panes.form.field(field).editor
    assert window.focusWidget() is editor
    assert editor.isVisible()


def _fold(window: MainWindow, where: str) -> FoldView:
    field: QWidget | None = window.panes.form.field(where)
    while not isinstance(field, FoldView):
        assert field is not None
        field = field.parentWidget()
    return field


@pytest.mark.parametrize(
    ("chosen_at", "chosen", "opens"),
    [
        ("oxygen.supply", "tank", "oxygen.outlet.pressure"),
        ("fuel.supply", "main", "fuel.outlet.pressure"),
        ("fuel.gas", "natural gas", "fuel.outlet.pressure"),
        ("torch.oxygen_hoses", "2", "oxygen.heating.hose.bore"),
    ],
)
def test_a_choice_unfolds_what_it_calls_for(
    qtbot: QtBot, open_window: OpenWindow, chosen_at: str, chosen: str, opens: str
) -> None:
    window = open_window()
    form = window.panes.form
    form.reveal(chosen_at)
    target = form.field(opens)
    assert not target.isVisible()
    bar = form._area.verticalScrollBar()
    qtbot.waitUntil(lambda: bar.maximum() > 0, timeout=WAIT_MS)
    at = form.field(chosen_at)

    def height() -> int:
        return at.mapTo(form, at.rect().topLeft()).y()

    before = height()
    choose(qtbot, window, chosen_at, chosen)
    assert target.isVisible()
    qtbot.waitUntil(lambda: abs(height() - before) <= 2, timeout=WAIT_MS)


def test_a_fold_says_what_is_the_matter_inside(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    fold = _fold(window, "oxygen.heating.hose.length")
    assert fold.text == "Heating oxygen with a hose of its own"
    window.panes.form.reveal("oxygen.heating.hose.length")
    type_in(qtbot, window, "oxygen.heating.hose.length", "10 bar")
    assert fold.text == "Heating oxygen with a hose of its own: 1 to mend"
    clear(qtbot, window, "oxygen.heating.hose.length")
    assert fold.text == "Heating oxygen with a hose of its own"


def test_what_few_jobs_state_is_folded_until_it_is_stated(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    window = open_window(SAMPLE)
    folds = window.panes.form.findChildren(FoldView)
    opened = [fold.text for fold in folds if next(fold.fields()).isVisible()]
    assert opened == ["What the shop pays"]  # the sample states prices
    path = tmp_path / "job.toml"
    path.write_text(
        'kerfdocket-job = 1\n[torch]\noxygen_hoses = 2\n[fuel]\nsupply = "tank"\n'
        '[oxygen.arrestor]\nfunctions = "NV FA"\n'
    )
    assert window.files.open_path(path)
    assert read_raw(path) == tomllib.loads(path.read_text())
    opened = [next(fold.fields()).where for fold in folds if next(fold.fields()).isVisible()]
    assert opened == [
        "oxygen.regulator.rated_class",
        "oxygen.heating.regulator.outlet_limit",
        "fuel.outlet.pressure",
    ]


def _prices(window: MainWindow) -> list[str]:
    """The prices that are to be seen, in the order of their places."""
    form = window.panes.form
    form.reveal("prices.currency")
    QApplication.processEvents()
    seen = [f for f in form.fields() if f.where.startswith("prices.") and f.isVisible()]
    seen.sort(key=lambda field: (field.y(), field.x()))
    return [field.where.removeprefix("prices.") for field in seen]


def test_prices_are_asked_for_in_the_units_in_use(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    assert _prices(window) == ["currency", "oxygen_m3", "fuel_kg", "hour"]
    type_in(qtbot, window, "prices.fuel_kg", "4.5")
    _use_by_menu(window, "US customary")
    assert _prices(window) == ["currency", "oxygen_100ft3", "fuel_lb", "hour", "fuel_kg"]
    type_in(qtbot, window, "prices.fuel_lb", "2")
    notes = window.panes.form.field("prices.fuel_lb").notes.text
    assert "stated already at 'Fuel gas, per kg'" in notes
    clear(qtbot, window, "prices.fuel_kg")
    assert not window.panes.form.field("prices.fuel_lb").notes.text
    assert "fuel_kg" in _prices(window)  # nothing vanishes under one's hands
    _use_by_menu(window, "metric")
    assert _prices(window) == ["currency", "oxygen_m3", "fuel_kg", "hour", "fuel_lb"]


def test_a_job_that_states_a_price_in_other_units_shows_it(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text("kerfdocket-job = 1\n[prices]\noxygen_100ft3 = 12.5\n")
    window = open_window(path)
    assert _prices(window) == ["currency", "oxygen_m3", "fuel_kg", "hour", "oxygen_100ft3"]
    window.panes.form.reveal("prices.fuel_lb")
    assert window.panes.form.field("prices.fuel_lb").isVisible()


def test_a_fraction_of_an_inch_is_kept_as_typed(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    _use_by_menu(window, "US customary")
    for where, text, shown in (
        ("plate.thickness", "1-1/2 in", "38.1 mm"),
        ("oxygen.hose.length", "50 ft 6 in", "15392 mm"),  # 606 in x 25.4 mm
        ("plate.readings", '1-1/2"; 1 15/32 in', "38.1 mm; 37.31 mm"),
    ):
        type_in(qtbot, window, where, text)
        assert not window.panes.form.field(where).notes.text
        assert window.panes.form.field(where).text == text
        _use_by_menu(window, "metric")
        assert window.panes.form.field(where).text == shown
        _use_by_menu(window, "US customary")
        assert window.panes.form.field(where).text == text
    assert window.document.raw["plate"] == {
        "thickness": "1-1/2 in",
        "readings": ['1-1/2"', "1 15/32 in"],
    }


def test_the_units_box_is_a_choice_like_any_other(open_window: OpenWindow) -> None:
    window = open_window()
    box = window.panes.form.field("units").editor
    assert isinstance(box, QComboBox)
    assert [box.itemText(n) for n in range(box.count())] == [
        "metric (assumed)",
        "metric",
        "US customary",
    ]
