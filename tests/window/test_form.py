"""Typing into the form: checked as one types, told at the field, nothing lost."""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QLineEdit, QWidget
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from kerfdocket.job import load_job
from kerfdocket.window.looks import ElidedLabel
from kerfdocket.window.main_window import MainWindow
from window.conftest import WAIT_MS, OpenWindow
from window.helpers import choose, clear, cut_off, fill_in, show_all_fields, type_in

SAMPLE = Path(__file__).parents[2] / "samples" / "base-plates-12mm.toml"


def _notes(window: MainWindow, where: str) -> str:
    return window.panes.form.field(where).notes.text


def test_an_empty_form_says_what_is_needed_and_scolds_nobody(open_window: OpenWindow) -> None:
    window = open_window()
    assert window.panes.findings.title == "Findings: 5 still needed"
    assert {row.where for row in window.panes.findings.model.rows} == {
        "about.number",
        "about.title",
        "plate.grade",
        "plate.thickness",
        "fuel.gas",
    }
    assert all(not field.notes.notes for field in window.panes.form.fields())
    assert not window.export_action.isEnabled()
    assert "appears here" in window.panes.state


def test_a_wrong_unit_is_told_at_its_field_and_the_text_stays(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window()
    type_in(qtbot, window, "oxygen.hose.length", "10 bar")
    field = window.panes.form.field("oxygen.hose.length")
    assert field.text == "10 bar"
    assert "Mend: '10 bar' is not a length" in _notes(window, "oxygen.hose.length")
    assert field.notes.isVisible()
    assert "10 bar" in field.editor.accessibleDescription()
    qtbot.keyClick(field.editor, Qt.Key.Key_Backspace)
    qtbot.keyClick(field.editor, Qt.Key.Key_Backspace)
    qtbot.keyClick(field.editor, Qt.Key.Key_Backspace)
    qtbot.keyClicks(field.editor, "m")
    assert field.text == "10 m"
    assert not field.notes.notes
    assert field.notes.isHidden()


def test_nothing_typed_is_reformatted(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    fill_in(qtbot, window)
    clear(qtbot, window, "plate.thickness")
    with qtbot.waitSignal(window.planned, timeout=WAIT_MS):
        type_in(qtbot, window, "plate.thickness", "12,50mm")
    assert window.panes.form.field("plate.thickness").text == "12,50mm"
    assert window.document.raw["plate"]["thickness"] == "12,50mm"


def test_an_emptied_field_leaves_it_to_the_default(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    type_in(qtbot, window, "oxygen.hose.length", "20 m")
    assert window.document.raw["oxygen"] == {"hose": {"length": "20 m"}}
    clear(qtbot, window, "oxygen.hose.length")
    assert "oxygen" not in window.document.raw
    editor = window.panes.form.field("oxygen.hose.length").editor
    assert isinstance(editor, QLineEdit)
    assert editor.placeholderText() == "10 m (assumed)"


def test_undo_is_the_fields_own(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    type_in(qtbot, window, "about.number", "A")
    editor = window.panes.form.field("about.number").editor
    qtbot.keyClick(editor, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.panes.form.field("about.number").text == ""
    assert "about" not in window.document.raw


def test_readings_are_told_by_number(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    type_in(qtbot, window, "plate.readings", "12.1 mm; 12.0; 12.2 mm")
    assert "number 2: '12.0' is not a length: the unit is missing" in _notes(
        window, "plate.readings"
    )


def test_a_choice_says_its_default_first(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    box = window.panes.form.field("torch.kind").editor
    assert isinstance(box, QComboBox)
    assert [box.itemText(n) for n in range(box.count())] == [
        "hand (assumed)",
        "hand",
        "tractor",
        "machine",
    ]
    choose(qtbot, window, "torch.kind", "machine")
    assert window.document.raw["torch"] == {"kind": "machine"}
    choose(qtbot, window, "torch.kind", "hand (assumed)")
    assert "torch" not in window.document.raw


def test_yes_and_no_are_stated_as_such(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    choose(qtbot, window, "fuel.arrestor.fitted", "no")
    assert window.document.raw["fuel"]["arrestor"]["fitted"] is False


def test_a_passing_wheel_changes_no_choice(open_window: OpenWindow) -> None:
    window = open_window()
    box = window.panes.form.field("torch.kind").editor
    box.setFocus()
    turn = QWheelEvent(
        QPointF(5, 5),
        QPointF(5, 5),
        QPoint(0, -120),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(box, turn)
    assert window.document.raw == {"kerfdocket-job": 1}


def test_cylinders_come_and_go(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    for _ in range(2):
        window.panes.form.add_wanted.emit("oxygen.cylinders")
    type_in(qtbot, window, "oxygen.cylinders.0.gauge", "150 bar")
    type_in(qtbot, window, "oxygen.cylinders.1.gauge", "80 bar(a)")
    assert "absolute pressure" in _notes(window, "oxygen.cylinders.1.gauge")
    window.panes.form.remove_wanted.emit("oxygen.cylinders", 0)
    assert window.document.raw["oxygen"]["cylinders"] == [{"gauge": "80 bar(a)"}]
    assert window.panes.form.field("oxygen.cylinders.0.gauge").text == "80 bar(a)"
    assert "absolute pressure" in _notes(window, "oxygen.cylinders.0.gauge")
    with pytest.raises(KeyError):
        window.panes.form.field("oxygen.cylinders.1.gauge")


def _edit_cell(qtbot: QtBot, window: MainWindow, where: str, text: str) -> QLineEdit:
    table = window.panes.form.parts
    table.edit(where)
    row, column = table.model.cell(where)
    line = table.view.indexWidget(table.model.index(row, column))
    assert isinstance(line, QLineEdit)
    qtbot.keyClicks(line, text)
    return line


def _confirm(qtbot: QtBot, line: QLineEdit) -> None:
    with qtbot.waitSignal(line.destroyed, timeout=WAIT_MS):
        qtbot.keyClick(line, Qt.Key.Key_Return)


def test_parts_are_checked_as_one_types(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    table = window.panes.form.parts
    qtbot.mouseClick(table.add_button, Qt.MouseButton.LeftButton)
    assert window.document.raw["parts"] == [{}]
    line = _edit_cell(qtbot, window, "parts.0.cut_length", "1600 bar")
    # Not yet confirmed, and told already; what is typed stands as it was typed.
    assert line.text() == "1600 bar"
    assert window.document.raw["parts"] == [{"cut_length": "1600 bar"}]
    assert "row 1, Cut length: '1600 bar' is not a length" in table.notes.text
    for _ in range(3):
        qtbot.keyClick(line, Qt.Key.Key_Backspace)
    qtbot.keyClicks(line, "mm")
    assert "Cut length" not in table.notes.text
    _confirm(qtbot, line)
    _edit_cell(qtbot, window, "parts.0.count", "six")
    assert "row 1, Pieces: 'six' cannot be used" in table.notes.text
    assert window.document.raw["parts"] == [{"cut_length": "1600 mm", "count": "six"}]
    qtbot.mouseClick(table.remove_button, Qt.MouseButton.LeftButton)
    assert "parts" not in window.document.raw


def test_a_strange_choice_in_a_row_stays_until_another_is_chosen(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text('kerfdocket-job = 1\n[[parts]]\nname = "a"\nstart = "middle"\n')
    window = open_window(path)
    table = window.panes.form.parts
    table.edit("parts.0.start")
    box = table.view.viewport().findChild(QComboBox)
    assert isinstance(box, QComboBox)
    assert box.currentText() == "middle (not a choice)"
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    table.view.setFocus()
    assert window.document.raw["parts"][0]["start"] == "middle"
    assert not window.document.is_changed


def test_models_are_sound(
    qtmodeltester: ModelTester, qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window(SAMPLE)
    if not window.is_current:
        qtbot.waitSignal(window.sheet_drawn, timeout=WAIT_MS).wait()
    qtmodeltester.check(window.panes.form.parts.model)
    qtmodeltester.check(window.panes.findings.model)


def test_findings_stand_at_their_fields_and_lead_there(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window()
    fill_in(qtbot, window)
    window.panes.form.add_wanted.emit("parts")
    with qtbot.waitSignal(window.planned, timeout=WAIT_MS):
        _confirm(qtbot, _edit_cell(qtbot, window, "parts.0.name", "a"))
        _edit_cell(qtbot, window, "parts.0.cut_length", "1 m")
    assert _notes(window, "plate.readings") == "Caution: no reading stated"
    assert "row 1, Cut length: an invented word" in window.panes.form.parts.notes.text
    severities = [row.severity for row in window.panes.findings.model.rows]
    assert severities == ["caution", "caution", "note", "note"]

    def focus_after(where: str) -> QWidget:
        rows = [row.where for row in window.panes.findings.model.rows]
        window.panes.findings.go_to(rows.index(where))
        focused = window.focusWidget()
        assert focused is not None
        return focused

    assert focus_after("plate.readings") is window.panes.form.field("plate.readings").editor
    assert focus_after("oxygen.hose") is window.panes.form.field("oxygen.hose.bore").editor
    assert focus_after("parts.0.cut_length") is window.panes.form.parts.view
    assert window.panes.form.parts.view.currentIndex().column() == 2


def test_a_finding_unfolds_what_hides_its_field(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    field = window.panes.form.field("chart.speed")
    assert not field.isVisible()
    window.panes.form.reveal("chart.speed")
    assert field.isVisible()
    assert window.focusWidget() is field.editor
    qtbot.keyClicks(field.editor, "350 mm")
    assert "is not a speed" in field.notes.text


def test_every_field_is_named_for_whoever_cannot_see_it(open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    for field in window.panes.form.fields():
        label = field.findChild(QLabel)
        assert isinstance(label, QLabel)
        assert label.buddy() is field.editor
        assert field.spec.title.casefold() in field.editor.accessibleName().casefold()
        assert field.editor.focusPolicy() & Qt.FocusPolicy.TabFocus
    for tile in window.panes.results.tiles.values():
        assert tile.accessibleName()


def test_no_two_fields_are_called_alike(open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    form = window.panes.form
    for where in ("oxygen.cylinders", "fuel.cylinders", "fuel.cylinders"):
        form.add_wanted.emit(where)
    names = [field.editor.accessibleName() for field in form.fields()]
    assert sorted(set(names)) == sorted(names)

    def name(where: str) -> str:
        return form.field(where).editor.accessibleName()

    assert name("oxygen.hose.length") == "Oxygen hose length"
    assert name("oxygen.heating.hose.length") == "Heating oxygen hose length"
    assert name("fuel.hose.length") == "Fuel hose length"
    assert name("fuel.regulator.gas_letters") == "Fuel regulator: gas letter"
    assert name("fuel.cylinders.1.weight_now") == "Fuel cylinders, row 2: Weight now (needed)"
    assert name("plate.thickness") == "Nominal thickness (needed)"
    label = form.field("fuel.hose.length").findChild(QLabel)
    assert isinstance(label, QLabel)
    assert label.text() == "Hose length"


@pytest.mark.parametrize("units", ["metric", "US customary"])
def test_on_a_small_screen_nothing_is_cut_off(
    qtbot: QtBot, open_window: OpenWindow, units: str
) -> None:
    window = open_window()
    seen = show_all_fields(window)
    choose(qtbot, window, "units", units)
    qtbot.waitUntil(lambda: cut_off(seen) == [], timeout=WAIT_MS)
    assert max(field.editor_room for field in seen) > 100  # of pixels: it is measured
    form = window.panes.form
    table = form.parts.view
    assert table.horizontalScrollBar().maximum() == 0
    for column in range(table.model().columnCount()):
        assert table.columnWidth(column) >= table.sizeHintForColumn(column)
    for hint in form.findChildren(ElidedLabel):
        assert hint.shown == hint.text()
        assert not hint.toolTip()


def test_a_hint_without_room_ends_in_dots_and_is_told_whole(qtbot: QtBot) -> None:
    hint = ElidedLabel("Where it is cut, and how well")
    qtbot.addWidget(hint)
    hint.resize(60, 20)
    hint.show()
    assert hint.shown.endswith("…")
    assert hint.toolTip() == hint.text()
    hint.resize(600, 20)
    qtbot.waitUntil(lambda: not hint.toolTip(), timeout=WAIT_MS)
    assert hint.shown == hint.text()


def test_what_a_file_writes_otherwise_is_shown_as_the_choice_that_it_is(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        'kerfdocket-job = 1\n[torch]\noxygen_hoses = "2"\n[oxygen.regulator]\nrated_class = 3\n'
        '[oxygen.arrestor]\nfunctions = ["NV", "FA"]\nfitted = "yes"\n'
    )
    window = open_window(path)
    form = window.panes.form
    assert form.field("torch.oxygen_hoses").text == "2"
    assert form.field("oxygen.regulator.rated_class").text == "3"
    assert form.field("oxygen.arrestor.functions").text == "NV, FA"
    assert form.field("oxygen.arrestor.fitted").text == "yes (not a choice)"
    mends = {row.where for row in window.panes.findings.model.rows if row.severity == "mend"}
    assert mends == {"oxygen.arrestor.fitted"}
    assert not window.document.is_changed


def test_tab_goes_through_the_form_in_its_order(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    window.activateWindow()
    fields = list(window.panes.form.fields())
    fields[0].editor.setFocus()
    seen = [window.focusWidget()]
    for _ in range(200):
        qtbot.keyClick(window.focusWidget(), Qt.Key.Key_Tab)
        if window.focusWidget() in seen:
            break
        seen.append(window.focusWidget())
    visible = [field.editor for field in fields if field.isVisible()]
    assert [widget for widget in seen if widget in visible] == visible
    assert window.panes.form.parts.view in seen  # and Tab leads out of it again
    assert window.panes.findings.view in seen
    assert window.panes.sheet.view in seen


def test_no_line_of_a_long_note_is_cut_off(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    type_in(qtbot, window, "oxygen.arrestor.flow_limit", "a very long text that is no gas flow")
    window.panes.form.reveal("oxygen.arrestor.flow_limit")
    notes = window.panes.form.field("oxygen.arrestor.flow_limit").notes

    def shown() -> list[QLabel]:
        # Notes of earlier keystrokes are hidden at once and deleted when Qt comes to it.
        return [one for one in notes.findChildren(QLabel) if one.isVisible()]

    qtbot.waitUntil(lambda: len(shown()) == 1, timeout=WAIT_MS)
    [label] = shown()
    qtbot.waitUntil(lambda: label.height() > 3 * label.fontMetrics().height(), timeout=WAIT_MS)
    qtbot.waitUntil(lambda: label.height() >= label.heightForWidth(label.width()), timeout=WAIT_MS)


def test_it_fits_a_small_screen_in_large_print(open_window: OpenWindow) -> None:
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    before = application.font()
    large = application.font()
    large.setPointSizeF(15)
    application.setFont(large)
    try:
        window = open_window(SAMPLE)
        least = window.minimumSizeHint()
        assert least.width() <= 1366
        assert least.height() <= 768
    finally:
        application.setFont(before)


def test_the_sample_fills_the_form(open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    form = window.panes.form
    assert form.field("plate.readings").text == "12.1 mm; 12.0 mm; 12.2 mm; 12.1 mm"
    assert form.field("about.date").text == "2026-11-25"
    assert form.field("oxygen.cylinders.0.gauge").text == "150 bar"
    assert form.field("prices.hour").isVisible()  # stated, so not folded up
    assert form.parts.model.rowCount() == 2
    assert load_job(SAMPLE).about.number == form.field("about.number").text
    assert not window.document.is_changed
