"""The window in another language: what it says, what it remembers, and what stays as typed."""

import ast
import contextlib
import copy
import dataclasses
import json
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAction, QTextDocumentFragment
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QDialog,
    QFileDialog,
    QInputDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QMessageBox,
    QTextEdit,
    QTreeWidget,
    QWidget,
)
from pytestqt.qtbot import QtBot

from archive.conftest import sheet
from catalogs import messages as messages_said
from jobs import make_job
from kerfdocket.archive import hold_draft, new_draft, open_archive
from kerfdocket.errors import InputError
from kerfdocket.job import Job, load_job, read_raw
from kerfdocket.language import (
    ENGLISH,
    LANGUAGES,
    PSEUDO,
    Language,
    current_language,
    language_named,
    set_language,
    speaking,
)
from kerfdocket.planning.model import Plan, Step
from kerfdocket.quantity import KINDS, METRIC, US_CUSTOMARY, Measure, parse_measure, printed_unit
from kerfdocket.window import Services, application
from kerfdocket.window.document import Document, new_raw
from kerfdocket.window.layout import headings
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.messages import Messages
from kerfdocket.window.person import remember_person
from kerfdocket.window.preferences import remember_language, remembered_language
from kerfdocket.window.qt_texts import say_qt_texts
from kerfdocket.window.results import BasisDialog
from kerfdocket.window.services import plan_twice
from kerfdocket.window.specs import place_of, spec_at, value_of
from kerfdocket.window.units import in_units
from kerfdocket.window.values import ValuesDialog
from kerfdocket.window.work import WorkDialog
from window import fakes
from window.conftest import WAIT_MS, Answers, OpenWindow
from window.helpers import choose, cut_off, show_all_fields, type_in

SAMPLE = Path(__file__).parents[2] / "samples" / "base-plates-12mm.toml"
GERMAN = language_named("de")


def _wait_until_current(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)


def _choose_language(qtbot: QtBot, window: MainWindow, language: Language) -> None:
    """Choose it in the menu, as a person does."""
    actions = window.menus.languages.actions()
    next(action for action in actions if action.text() == language.name).trigger()
    qtbot.waitUntil(lambda: current_language() == language, timeout=WAIT_MS)


def _label(window: MainWindow, where: str) -> str:
    label = window.panes.form.field(where).findChild(QLabel)
    assert isinstance(label, QLabel)
    return label.text()


def _placeholder(window: MainWindow, where: str) -> str:
    editor = window.panes.form.field(where).editor
    assert isinstance(editor, QLineEdit)
    return editor.placeholderText()


# What it says


def test_a_german_window_speaks_german(open_window: OpenWindow) -> None:
    set_language(GERMAN)
    window = open_window()
    assert window.menus.save.text() == "&Speichern"
    assert window.windowTitle().startswith("Neuer Auftrag")
    assert _label(window, "oxygen.hose.length") == "Schlauchlänge"
    assert _placeholder(window, "oxygen.hose.bore") == "6,3 mm (angenommen)"
    assert _placeholder(window, "plate.readings").endswith("12,1 mm; 11,9 mm")
    assert window.panes.findings.title == "Befunde: 5 noch nötig"
    assert window.panes.findings.model.rows[0].place == "Der Auftrag: Auftragsnummer"
    spoken = window.panes.form.field("oxygen.hose.length").editor.accessibleName()
    assert spoken == "Sauerstoff: Schlauchlänge"


def test_choices_are_said_and_stated_as_a_file_has_them(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    set_language(GERMAN)
    window = open_window()
    choose(qtbot, window, "fuel.gas", "Erdgas")
    choose(qtbot, window, "torch.kind", "Schneidwagen")
    choose(qtbot, window, "oxygen.arrestor.fitted", "nein")
    assert window.document.value("fuel.gas") == "natural gas"
    assert window.document.value("torch.kind") == "tractor"
    assert window.document.value("oxygen.arrestor.fitted") is False
    box = window.panes.form.field("language").editor
    assert isinstance(box, QComboBox)
    assert [box.itemText(n) for n in range(1, box.count())] == ["English", "Deutsch"]
    choose(qtbot, window, "language", "English")
    assert window.document.value("language") == "en"


def test_a_choice_in_the_table_of_parts_is_said(qtbot: QtBot, open_window: OpenWindow) -> None:
    set_language(GERMAN)
    window = open_window(SAMPLE)
    table = window.panes.form.parts
    assert table.model.index(1, 4).data() == "Lochstechen"
    table.edit("parts.1.start")
    box = table.view.viewport().findChild(QComboBox)
    assert isinstance(box, QComboBox)
    assert box.currentText() == "Lochstechen"
    qtbot.keyClick(box, Qt.Key.Key_Up)
    assert window.document.value("parts.1.start") == "edge"


def test_a_choice_that_is_none_stays_as_it_is_stated(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_text('kerfdocket-job = 1\nlanguage = "fr"\n[fuel]\ngas = "Erdgas"\n')
    set_language(GERMAN)
    window = open_window(path)
    assert window.panes.form.field("fuel.gas").text == "Erdgas (keine Auswahl)"
    assert window.panes.form.field("language").text == "fr (keine Auswahl)"
    assert not window.document.is_changed


def test_qt_says_its_own_texts_in_german(qtbot: QtBot, qapp: QApplication) -> None:
    def save_button() -> str:
        box = QMessageBox()
        qtbot.addWidget(box)
        return box.addButton(QMessageBox.StandardButton.Save).text().replace("&", "")

    assert save_button() == "Save"
    say_qt_texts(qapp, GERMAN)
    say_qt_texts(qapp, GERMAN)  # again changes nothing
    assert save_button() == "Speichern"
    say_qt_texts(qapp, ENGLISH)
    assert save_button() == "Save"


def test_a_translation_that_is_not_reviewed_is_called_so(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window()
    assert not window._reviewed.isVisible()
    _choose_language(qtbot, window, GERMAN)
    assert window._reviewed.isVisible()
    assert "noch nicht" in window._reviewed.text()


def test_places_are_said_in_the_language_of_the_moment() -> None:
    assert place_of("oxygen.hose", headings()) == "Oxygen, hose"
    with speaking(GERMAN):
        assert place_of("oxygen.hose", headings()) == "Sauerstoff, Schlauch"
        assert place_of("parts.1.cut_length", headings()) == "Teile, Zeile 2: Schnittlänge"


# What is typed


@given(
    kind=st.sampled_from(KINDS),
    number=st.decimals("0.001", "9999", places=3),
    system=st.sampled_from([METRIC, US_CUSTOMARY]),
    data=st.data(),
)
def test_what_a_german_form_shows_can_be_typed(
    kind: Any, number: Decimal, system: Any, data: st.DataObject
) -> None:
    """1,181 could be a thousand and more: where a comma would be refused a point is shown."""
    stated = str(Measure(number, data.draw(st.sampled_from(sorted(kind.units))), kind))
    with speaking(GERMAN):
        shown = parse_measure(in_units(stated, kind, system), kind)
    assert shown == parse_measure(in_units(stated, kind, system), kind)


def test_a_comma_is_shown_where_it_can_be_typed() -> None:
    length = next(kind for kind in KINDS if kind.name == "a length")
    with speaking(GERMAN):
        assert in_units("20 mm", length, US_CUSTOMARY) == "0,787 in"
        assert in_units("30 mm", length, US_CUSTOMARY) == "1.181 in"


@pytest.mark.parametrize(
    ("text", "value"), [("0,175", 0.175), ("0,0003", 0.0003), ("1,175", "1,175"), ("0,17", 0.17)]
)
def test_a_decimal_comma_is_read_where_it_can_mean_nothing_else(text: str, value: object) -> None:
    assert value_of(text, spec_at("plate.certificate.carbon")) == value


# The menu


def test_another_language_is_spoken_at_once_and_nothing_typed_is_lost(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(SAMPLE.read_bytes())
    window = open_window(path)
    type_in(qtbot, window, "about.number", "9")
    type_in(qtbot, window, "plate.width", "x")  # a mistake is as typed, too
    window.panes.form.reveal("chart.speed")
    before, saved = copy.deepcopy(window.document.raw), window.document
    _choose_language(qtbot, window, GERMAN)
    assert window.document is saved
    assert window.document.raw == before
    assert window.isWindowModified()
    assert window.document.path == path
    assert window.menus.save.text() == "&Speichern"
    assert _label(window, "plate.width") == "Blechbreite"
    assert window.panes.form.field("plate.width").text == "1500 mmx"
    assert window.panes.form.field("plate.width").notes.text.startswith("Berichtigen: ")
    assert window.panes.form.field("about.number").text == "KD-01419"
    # The cursor is where it was, though that is folded up in most forms.
    assert window.focusWidget() is window.panes.form.field("chart.speed").editor
    marked = [action.text() for action in window.menus.languages.actions() if action.isChecked()]
    assert marked == ["Deutsch"]
    _choose_language(qtbot, window, ENGLISH)
    assert _label(window, "plate.width") == "Plate width"
    assert window.document.raw == before
    assert not answers.asked
    assert not answers.told
    type_in(qtbot, window, "about.number", "8")
    assert window.document.value("about.number") == "KD-014198"
    assert window.files.save()
    assert "KD-014198" in path.read_text()


def test_unsaved_work_is_kept_after_a_change_of_language(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    window = open_window(autosave_ms=0)
    _choose_language(qtbot, window, GERMAN)
    assert window._autosave is not None
    with qtbot.waitSignal(window._autosave.kept, timeout=WAIT_MS):
        type_in(qtbot, window, "about.number", "9x")
    drafts = tmp_path / "state" / "drafts"
    qtbot.waitUntil(lambda: "9x" in next(drafts.glob("*.draft")).read_text(), timeout=WAIT_MS)


def test_sheet_findings_and_windows_beside_the_form_come_along(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window(SAMPLE)
    _wait_until_current(qtbot, window)
    window.beside.show_values()
    sizes = window.panes.across.sizes()
    pdf = window.panes.sheet.pdf
    window.panes.sheet.zoom_in()
    factor = window.panes.sheet.view.zoomFactor()
    rows = len(window.panes.findings.model.rows)
    _choose_language(qtbot, window, GERMAN)
    assert window.panes.sheet.pdf == pdf  # until it is drawn anew
    assert window.panes.sheet.view.zoomFactor() == pytest.approx(factor)
    assert window.panes.across.sizes() == sizes
    assert window.beside.values is not None
    assert window.beside.values.isVisible()
    assert window.beside.values.windowTitle() == "Alle Werte und ihre Grundlage"
    _wait_until_current(qtbot, window)
    assert window.panes.state == "Das Begleitblatt entspricht den Eingaben."
    assert len(window.panes.findings.model.rows) == rows
    assert [one for one in window.findChildren(ValuesDialog) if one.isVisible()] == [
        window.beside.values
    ]
    tile = window.panes.results.tiles["setting.cutting_oxygen_pressure"]
    assert tile.text_shown == "Schneidsauerstoff: 3,0 bar; 2,5–3,5 bar"


def test_values_of_the_last_valid_state_change_their_language_too(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window(SAMPLE, plan=fakes.make_plan_as_spoken)
    _wait_until_current(qtbot, window)
    type_in(qtbot, window, "plate.thickness", "x")
    _choose_language(qtbot, window, GERMAN)
    assert window.follow_up.plan is not None
    assert window.follow_up.plan.language == "de"
    assert "letzten gültigen Stand" in window.panes.state
    tile = window.panes.results.tiles["setting.cutting_oxygen_pressure"]
    assert tile.text_shown == "Schneidsauerstoff: 3,0 bar; 2,5–3,5 bar"
    assert not window.menus.export_sheet.isEnabled()


# What is remembered


def test_the_choice_is_remembered(
    qtbot: QtBot, open_window: OpenWindow, services: Services
) -> None:
    file = services.preferences()
    assert remembered_language(file) is None
    window = open_window()
    _choose_language(qtbot, window, GERMAN)
    assert remembered_language(file) == GERMAN
    _choose_language(qtbot, window, ENGLISH)
    assert remembered_language(file) == ENGLISH


def test_choosing_what_is_spoken_already_is_remembered_too(
    open_window: OpenWindow, services: Services
) -> None:
    set_language(GERMAN)  # as by the command line
    window = open_window()
    panes = window.panes
    window.use_language(GERMAN)
    assert remembered_language(services.preferences()) == GERMAN
    assert window.panes is panes


@pytest.mark.parametrize(
    "content", [b"", b"\xff", b"[]", b"{}", b'{"language": 5}', b'{"language": "xx"}']
)
def test_what_is_spoilt_is_not_remembered(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "window.json"
    file.write_bytes(content)
    assert remembered_language(file) is None
    remember_language(file, GERMAN)
    assert remembered_language(file) == GERMAN


def test_what_else_is_remembered_stays(tmp_path: Path) -> None:
    file = tmp_path / "window.json"
    file.write_text('{"later": [1]}')
    remember_language(file, GERMAN)
    assert json.loads(file.read_text()) == {"later": [1], "language": "de"}


def test_a_choice_that_cannot_be_remembered_is_told_and_followed(
    open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    window = open_window(preferences=lambda: tmp_path / "file" / "window.json")
    window.use_language(GERMAN)
    assert "cannot be remembered" in answers.told[0]
    assert window.menus.save.text() == "&Speichern"


@pytest.mark.parametrize(
    ("asked_for", "remembered", "surroundings", "spoken"),
    [
        ("en", GERMAN, GERMAN, "en"),
        ("de", ENGLISH, ENGLISH, "de"),
        (None, GERMAN, ENGLISH, "de"),
        (None, ENGLISH, GERMAN, "en"),
        (None, None, GERMAN, "de"),
        (None, None, ENGLISH, "en"),
    ],
)
@pytest.mark.usefixtures("qapp")
def test_the_command_line_goes_before_the_choice_and_that_before_the_surroundings(
    services: Services,
    monkeypatch: pytest.MonkeyPatch,
    asked_for: str | None,
    remembered: Language | None,
    surroundings: Language,
    spoken: str,
) -> None:
    heard: list[str] = []

    def run_briefly(*_args: object) -> int:
        heard.append(current_language().code)
        return 0

    monkeypatch.setattr(QApplication, "exec", run_briefly)
    if remembered is not None:
        remember_language(services.preferences(), remembered)
    set_language(surroundings)
    assert application.run(None, services, asked_for) == 0
    assert heard == [spoken]


# The sheet's language


def test_the_sheet_speaks_the_language_of_its_job(qtbot: QtBot, open_window: OpenWindow) -> None:
    set_language(GERMAN)
    window = open_window(
        SAMPLE,
        plan=fakes.make_plan_as_spoken,
        sheet=fakes.make_sheet_that_names_its_language,
    )
    _wait_until_current(qtbot, window)
    assert window.follow_up.plan is not None
    assert window.follow_up.plan.language == "de"
    assert window.panes.sheet.pdf == fakes.pdf_of("in en")
    choose(qtbot, window, "language", "Deutsch")
    _wait_until_current(qtbot, window)
    assert window.panes.sheet.pdf == fakes.pdf_of("in de")
    _choose_language(qtbot, window, ENGLISH)
    _wait_until_current(qtbot, window)
    assert window.follow_up.plan.language == "en"
    assert window.panes.sheet.pdf == fakes.pdf_of("in de")
    assert load_job(SAMPLE).language == "en"


def test_where_both_speak_alike_one_plan_is_made() -> None:
    made: list[str] = []

    def plan(job: Job) -> Plan:
        made.append(current_language().code)
        return fakes.make_plan_as_spoken(job)

    shown, printed = plan_twice(plan, make_job())
    assert shown is printed
    shown, printed = plan_twice(plan, make_job(language="de"))
    assert (shown.language, printed.language) == ("en", "de")
    assert made == ["en", "en", "de"]
    assert current_language() == ENGLISH


def test_a_new_job_is_one_for_a_sheet_in_the_language_of_the_window(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window()
    assert window.document.raw == {"kerfdocket-job": 1}
    _choose_language(qtbot, window, GERMAN)
    # Nothing was typed yet: it is as if the window had begun in German.
    assert window.document.raw == {"kerfdocket-job": 1, "language": "de"}
    assert window.panes.form.field("language").text == "Deutsch"
    assert not window.document.is_changed
    window.menus.new.trigger()
    assert window.document.raw == {"kerfdocket-job": 1, "language": "de"}
    type_in(qtbot, window, "about.number", "9")
    _choose_language(qtbot, window, ENGLISH)
    assert window.document.value("language") == "de"  # begun in German, it stays so
    assert new_raw(PSEUDO) == Document().raw


# Nothing is left out


def test_every_text_of_the_window_is_found_for_the_catalog() -> None:
    """What stands inside an f-string, or is put together, is overlooked when texts are gathered."""
    gathered = {one.id if isinstance(one.id, str) else one.id[0] for one in messages_said()}
    folder = Path(application.__file__).parent
    said: list[str] = []
    for path in sorted(folder.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            is_call = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            if is_call and node.func.id in {"_", "marked", "counted"} and node.args:
                assert not isinstance(node.args[0], ast.JoinedStr | ast.BinOp), ast.unparse(node)
                if isinstance(node.args[0], ast.Constant):
                    said.append(node.args[0].value)
    assert len(said) > 200
    assert [text for text in said if text not in gathered] == []


# The pseudo language writes every vowel of a message with an accent: a plain one was never said.
_LOREM = "lorem ipsum dolor sit amet "
_BEGUN = sorted({_LOREM[:length].strip() for length in range(1, 28)}, key=len, reverse=True)
_FILL = re.compile(rf"\s(?:{_LOREM})*(?:{'|'.join(_BEGUN)})⟧")
_WORD = re.compile(r"[^\W\d_]*[aeiouAEIOU][^\W\d_]*")
_UNITS = {one for kind in KINDS for unit in kind.units for one in (unit, printed_unit(unit))}
_NAMES = {"Kerfdocket", "PDF", "toml", "pdf", "EUR", "A", *(one.name for one in LANGUAGES)}
# What the rooms below say of a quantity, and what Qt says in its own languages.
_OF_OTHERS = {"above", "at", "least", "below", "most", "absolute"}
_OF_QT = {"Close", "Cancel", "Save", "Discard", "Show Details..."}


def _strings(value: Any) -> Iterator[str]:
    """Everything that a person stated, or a stand-in for the rooms below said."""
    if isinstance(value, str):
        yield value
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            yield from _strings(getattr(value, field.name))
    elif isinstance(value, dict):
        for item in value.values():
            yield from _strings(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _strings(item)


def _without_fill(text: str) -> str:
    while (shorter := _FILL.sub("⟧", text)) != text:
        text = shorter
    return text


def _not_said(text: str, data: set[str]) -> list[str]:
    """Return the words of a text that were not handed to the catalog and are no data."""
    text = _without_fill(text)
    if re.search(r"</?[a-z]+\d?>", text):
        text = QTextDocumentFragment.fromHtml(text).toPlainText()
    for known in sorted(map(_without_fill, data), key=len, reverse=True):
        text = text if known.isalpha() else text.replace(known, " ")
    allowed = _UNITS | _NAMES | _OF_OTHERS | data
    return [word for word in _WORD.findall(text) if word not in allowed]


def _texts(top: QWidget) -> Iterator[tuple[QWidget | QAction, str]]:
    """Yield all that a widget and those in it say: to read, to point at, to hear."""
    inside = [one for one in top.findChildren(QWidget) if not one.objectName().startswith("qt_")]
    for widget in [top, *inside]:
        said = [widget.toolTip(), widget.accessibleName(), widget.accessibleDescription()]
        said += [widget.windowTitle(), widget.statusTip(), widget.whatsThis()]
        if isinstance(widget, QLabel | QAbstractButton):
            said.append(widget.text())
        if isinstance(widget, QMessageBox):
            said += [widget.text(), widget.informativeText()]
        if isinstance(widget, QLineEdit):
            said += [widget.text(), widget.placeholderText()]
        if isinstance(widget, QComboBox):
            said += [widget.itemText(number) for number in range(widget.count())]
        if isinstance(widget, QTextEdit):
            said.append(widget.toPlainText())
        if isinstance(widget, QMenu):
            said.append(widget.title())
        if isinstance(widget, QTreeWidget):
            found = [widget.headerItem(), *widget.findItems("", Qt.MatchFlag.MatchContains)]
            found += [top.child(n) for top in found[1:] for n in range(top.childCount())]
            said += [item.text(column) for item in found for column in range(item.columnCount())]
            said += [item.toolTip(0) for item in found]
        elif isinstance(widget, QAbstractItemView) and widget.model() is not None:
            model = widget.model()
            for column in range(model.columnCount()):
                said.append(str(model.headerData(column, Qt.Orientation.Horizontal) or ""))
                for row in range(model.rowCount()):
                    index = model.index(row, column)
                    said.append(str(index.data() or ""))
                    said.append(str(index.data(Qt.ItemDataRole.ToolTipRole) or ""))
        yield from ((widget, text) for text in said if text and text not in _OF_QT)
    for action in top.findChildren(QAction):
        yield from ((action, text) for text in (action.text(), action.toolTip()) if text)


def _left_out(window: MainWindow, *tops: QWidget) -> list[str]:
    """Return what is shown and was not said."""
    # Notes of earlier keystrokes are hidden at once and go when Qt comes to it.
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    data = set(_strings(window.document.raw)) - set(_choices())
    data |= {problem.text for problem in window.follow_up.problems}
    if window.follow_up.plan is not None:
        data |= set(_strings(dataclasses.replace(window.follow_up.plan, job=None)))
        # Said by the window, whatever they are in the plan.
        data -= {one.basis.trust for one in window.follow_up.plan.estimates.values()}
        data -= {finding.severity for finding in window.follow_up.plan.findings}
        data -= {stage.name for stage in window.follow_up.plan.stages}
    data.discard("")
    texts = [found for top in (window, *tops) for found in _texts(top)]
    texts.append((window, window.statusBar().currentMessage()))
    return [
        f"{type(where).__name__}: {text!r}: {words}"
        for where, text in texts
        if (words := _not_said(text, data))
    ]


def _choices() -> Iterator[str]:
    """The words to choose from, which are said though a job states them."""
    for one in messages_said():
        if any(place == "models.py" for place, _line in one.locations):
            yield str(one.id)


def _plan_with_steps(job: Job) -> Plan:
    steps = (Step("⟦Ôpéñ⟧", "⟦Ôpéñ ît⟧", "⟦Bécâûšé⟧"),)
    return dataclasses.replace(fakes.make_plan(job), steps=steps)


@pytest.mark.parametrize("units", ["metric", "US customary"])
def test_the_window_says_nothing_past_the_catalog(
    qtbot: QtBot, open_window: OpenWindow, units: str
) -> None:
    set_language(PSEUDO)
    window = open_window(plan=_plan_with_steps)
    form = window.panes.form
    assert _left_out(window) == []
    for where in ("oxygen.cylinders", "fuel.cylinders", "parts"):
        form.add_wanted.emit(where)
    window._use_units(units)
    type_in(qtbot, window, "plate.readings", "12.1 mm; 12.0")
    type_in(qtbot, window, "oxygen.hose.length", "10 bar")
    assert _left_out(window) == []
    window._set_document(Document({**read_raw(SAMPLE), "units": units}))
    _wait_until_current(qtbot, window)
    window.beside.show_values()
    window.beside.show_work()
    window.panes.results.tiles["setting.fuel_pressure"].click()
    dialogs = window.findChildren(QDialog)
    assert {type(one) for one in dialogs} == {ValuesDialog, WorkDialog, BasisDialog}
    assert _left_out(window) == []
    window.document.set_value("plate.grade", "stainless")
    window._changed()
    assert _left_out(window) == []  # while it is worked out
    _wait_until_current(qtbot, window)
    assert _left_out(window) == []
    window.document.set_value("plate.thickness", "12")
    window._changed()
    assert _left_out(window) == []  # of the last valid state
    window.document.set_value("xtr", "red")
    window._changed()
    rows = window.panes.findings.model.rows
    window.panes.findings.go_to(next(n for n, row in enumerate(rows) if row.is_unknown_key))
    assert _left_out(window) == []


def test_issuing_and_shared_drafts_say_nothing_past_the_catalog(
    qtbot: QtBot, open_window: OpenWindow, services: Services
) -> None:
    place = services.archive_place()
    text = SAMPLE.read_text()
    with contextlib.closing(open_archive(place)) as archive:
        for number in (1, 2):
            hold_draft(archive, new_draft(archive, text, "", "B").id, "B")
            archive.issue(f"K-{number}", sheet(), "B")
        archive.move("K-1", "on the floor", "B")
        archive.move("K-2", "returned", "B")
        archive.move("K-2", "closed", "B")
    set_language(PSEUDO)
    remember_person(services.preferences(), "Z")
    window = open_window()
    window._set_document(Document(read_raw(SAMPLE)))
    for number in ("K-1", "K-2", "K-????"):
        window.document.set_value("about.number", number)
        window._changed()
        qtbot.waitUntil(window.menus.issue.isEnabled, timeout=WAIT_MS)
        window.menus.issue.trigger()
        dialog = window.office.issuing.dialog
        assert dialog is not None
        assert _left_out(window, dialog) == []  # while the archive is asked
        qtbot.waitUntil(lambda dialog=dialog: dialog.known is not None, timeout=WAIT_MS)
        assert _left_out(window, dialog) == []
        dialog.who.clear()
        assert _left_out(window, dialog) == []
        dialog.who.setText("Z")
        if number != "K-????":
            dialog.reject()
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.accept()
    _wait_until_current(qtbot, window)
    assert _left_out(window) == []
    type_in(qtbot, window, "about.title", "T")
    _wait_until_current(qtbot, window)
    assert _left_out(window) == []  # unlike what was issued
    for _again in (1, 2):
        with qtbot.waitSignal(window.office.drafts.ended, timeout=WAIT_MS):
            window.menus.save_draft.trigger()
        assert _left_out(window) == []
    window.menus.open_draft.trigger()
    qtbot.waitUntil(lambda: not window.desk.is_busy, timeout=WAIT_MS)
    assert window.office.drafts.chooser is not None
    assert _left_out(window, window.office.drafts.chooser) == []


def test_what_is_not_said_is_noticed() -> None:
    """The check above can fail."""
    with speaking(PSEUDO):
        said = spec_at("oxygen.hose.length").title
    assert _not_said(said, set()) == []
    assert _not_said(f"{said}: Hose", set()) == ["Hose"]
    assert _not_said("⟦Ôpéñ the válvé lorem⟧", set()) == ["the"]
    assert _not_said("⟦Ôpéñ lorem⟧ T-1 12.5 mm/min KD-0141 Kerfdocket", {"T-1"}) == []


def test_boxes_and_dialogs_say_nothing_past_the_catalog(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    set_language(PSEUDO)
    parent = QWidget()
    qtbot.addWidget(parent)
    shown: list[str] = []

    def note(box: QDialog) -> int:
        shown.extend(text for _where, text in _texts(box))
        if isinstance(box, QFileDialog):
            shown.extend([*box.nameFilters()])
        return 0

    def note_static(_parent: QWidget, title: str, _folder: str, kinds: str) -> tuple[str, str]:
        shown.extend([title, kinds])
        return "", ""

    monkeypatch.setattr(QMessageBox, "exec", note)
    monkeypatch.setattr(QInputDialog, "exec", note)
    monkeypatch.setattr(QFileDialog, "exec", lambda box: shown.append(box.windowTitle()) or 0)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", note_static)
    ask = Messages(parent)
    path = tmp_path / "T.tml"
    ask.tell("⟦Šâvê⟧", InputError("\n".join("12" for _line in range(20))))
    ask.tell_bug(InputError("12"))
    ask.ask_unsaved("T.tml")
    ask.ask_restore("T.tml", "12:00")
    ask.ask_overwrite_changed(path)
    ask.ask_take_out("key")
    ask.ask_person("12")
    ask.ask_open_held("12", "12", "12:00", is_old=False)
    ask.ask_open_held("12", "12", "12:00", is_old=True)
    ask.ask_draft_conflict("12", "12", can_look=True)
    ask.ask_drop("12", "12")
    ask.ask_wait("12")
    ask.ask_open_path(tmp_path)
    ask.ask_save_path(path)
    ask.ask_export_path(path)
    assert len(shown) > 20
    # What is handed on to whoever mends the program is in English.
    left = {text for text in shown if _not_said(text, {"InputError", "key", "tml"})}
    assert [text for text in left if "kerfdocket.errors.InputError" not in text] == []


# It fits


@pytest.mark.parametrize("language", [GERMAN, PSEUDO], ids=lambda one: one.code)
def test_longer_texts_are_not_cut_off_on_a_small_screen(
    qtbot: QtBot, open_window: OpenWindow, language: Language
) -> None:
    set_language(language)
    window = open_window()
    seen = show_all_fields(window)
    qtbot.waitUntil(lambda: cut_off(seen) == [], timeout=WAIT_MS)
    table = window.panes.form.parts.view
    for column in range(table.model().columnCount()):
        shown = table.horizontalHeader().sectionSizeHint(column)
        assert table.columnWidth(column) >= max(shown, table.sizeHintForColumn(column))
    if language == GERMAN:
        assert table.horizontalScrollBar().maximum() == 0
    type_in(qtbot, window, "plate.width", "x")
    findings = window.panes.findings.view
    assert window.panes.findings.model.rows[0].severity == "mend"
    assert findings.columnWidth(0) >= findings.sizeHintForColumn(0)
    for heading, tiles in window.panes.results._groups:
        assert heading.width() >= heading.sizeHint().width(), heading.text()
        assert all(tile.width() >= tile.text_width for tile in tiles), heading.text()
    least = window.minimumSizeHint()
    assert least.width() <= 1366
    assert least.height() <= 768


def test_a_german_window_fits_a_small_screen_in_large_print(
    qapp: QApplication, open_window: OpenWindow
) -> None:
    before, large = qapp.font(), qapp.font()
    large.setPointSizeF(15)
    qapp.setFont(large)
    set_language(GERMAN)
    try:
        least = open_window(SAMPLE).minimumSizeHint()
        assert least.width() <= 1366
        assert least.height() <= 768
    finally:
        qapp.setFont(before)


@pytest.mark.parametrize("language", LANGUAGES, ids=lambda one: one.code)
def test_no_two_entries_of_a_menu_have_the_same_letter(
    open_window: OpenWindow, language: Language
) -> None:
    set_language(language)
    window = open_window()
    menus = [one for one in window.menuBar().findChildren(QMenu) if one.title()]
    assert len(menus) == 5
    entries = [[one.text() for one in menu.actions() if one.text()] for menu in menus]
    entries.append([one.text() for one in window.menuBar().actions()])
    for texts in entries:
        letters = [found[1].casefold() for text in texts if (found := re.search("&(.)", text))]
        assert sorted(set(letters)) == sorted(letters)


def test_no_two_fields_are_called_alike_in_german(open_window: OpenWindow) -> None:
    set_language(GERMAN)
    window = open_window(SAMPLE)
    form = window.panes.form
    for where in ("oxygen.cylinders", "fuel.cylinders", "fuel.cylinders"):
        form.add_wanted.emit(where)
    names = [field.editor.accessibleName() for field in form.fields()]
    assert sorted(set(names)) == sorted(names)
