"""From form to sheet to file, and what happens when something goes wrong on the way."""

import dataclasses
import functools
import io
import os
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QTimer
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from kerfdocket.errors import EnvironmentProblem, ResourceMissing
from kerfdocket.window import Services
from kerfdocket.window.document import Document
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.messages import BugCatcher, details_of
from kerfdocket.window.printing import print_pdf
from kerfdocket.window.results import BasisDialog
from window import fakes
from window.conftest import WAIT_MS, Answers, OpenWindow
from window.helpers import clear, fill_in, type_in

SAMPLE = Path(__file__).parents[2] / "samples" / "base-plates-12mm.toml"


def _pages(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def _fill_in_and_wait(qtbot: QtBot, window: MainWindow) -> None:
    with qtbot.waitSignal(
        window.follow_up.sheet_drawn,
        timeout=WAIT_MS,
        check_params_cb=lambda: window.follow_up.is_current,
    ):
        fill_in(qtbot, window)


def _wait_until_current(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)


def test_from_an_empty_form_to_a_saved_pdf(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window()
    _fill_in_and_wait(qtbot, window)
    assert window.panes.state == "The sheet matches the form."
    answers.path = tmp_path / "sheet.pdf"
    window.menus.export_sheet.trigger()
    assert answers.asked == ["export T-1.pdf"]
    assert _pages(answers.path.read_bytes()) == [
        "front T-1 12 mm propane",
        "back T-1 12 mm propane",
    ]
    tile = window.panes.results.tiles["setting.cutting_oxygen_pressure"]
    assert tile.text_shown == "Cutting oxygen: 3.0 bar; 2.5–3.5 bar"


def test_an_unverified_value_is_marked_as_a_guide(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    _fill_in_and_wait(qtbot, window)
    tiles = window.panes.results.tiles
    assert tiles["setting.fuel_pressure"].text_shown.endswith("0.20–0.50 bar; guide, unverified")
    assert "withheld" in tiles["line.fuel_regulator_pressure"].text_shown


def test_a_press_on_a_value_opens_its_basis(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    _fill_in_and_wait(qtbot, window)
    window.panes.results.tiles["setting.cutting_oxygen_pressure"].click()
    dialog = window.findChild(BasisDialog)
    assert isinstance(dialog, BasisDialog)
    text = dialog.browser.toPlainText()
    assert "invented for a <test>" in text  # markup in a text is text
    assert "thickness" in text
    assert "12 mm" in text
    assert "How firm: derived" in text
    dialog.reject()


def test_while_the_form_is_wrong_the_last_sheet_stays_and_says_so(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window()
    _fill_in_and_wait(qtbot, window)
    shown = window.panes.sheet.pdf
    type_in(qtbot, window, "plate.thickness", "x")
    assert window.panes.sheet.pdf == shown
    assert "last valid state" in window.panes.state
    assert "last valid state" in window.panes.results.state
    assert not window.menus.export_sheet.isEnabled()
    assert not window.menus.print_sheet.isEnabled()
    assert window.panes.form.field("plate.thickness").text == "12 mmx"
    # What was found before is not shown at fields that may have changed since.
    assert not window.panes.form.field("plate.readings").notes.notes
    clear(qtbot, window, "plate.thickness")
    type_in(qtbot, window, "plate.thickness", "12 mm")
    _wait_until_current(qtbot, window)
    assert window.panes.state == "The sheet matches the form."


def test_a_stopped_plan_is_marked_as_draft_and_can_be_exported(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window()
    _fill_in_and_wait(qtbot, window)
    type_in(qtbot, window, "plate.grade", " stainless")
    _wait_until_current(qtbot, window)
    assert window.panes.state.startswith("DRAFT, NOT FOR CUTTING")
    assert window.panes.results.state.startswith("DRAFT, NOT FOR CUTTING")
    assert window.panes.findings.model.rows[0].severity == "stop"
    assert "Stop: cannot be cut" in window.panes.form.field("plate.grade").notes.text
    answers.path = tmp_path / "draft.pdf"
    window.menus.export_sheet.trigger()
    assert "NOT FOR CUTTING" in _pages(answers.path.read_bytes())[0]


def test_export_to_a_folder_that_is_not_there_is_told(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window()
    _fill_in_and_wait(qtbot, window)
    answers.path = tmp_path / "nowhere" / "sheet.pdf"
    window.menus.export_sheet.trigger()
    assert "cannot be exported" in answers.told[0]


def test_newest_request_wins(qtbot: QtBot, open_window: OpenWindow, tmp_path: Path) -> None:
    gate = tmp_path / "gate"
    gate.mkdir()
    window = open_window(sheet=functools.partial(fakes.make_sheet_when_told, gate))
    drawn: list[bytes] = []
    window.follow_up.sheet_drawn.connect(lambda: drawn.append(window.panes.sheet.pdf))
    fill_in(qtbot, window)
    qtbot.waitUntil((gate / "begun").exists, timeout=WAIT_MS)
    for letter in "234":
        with qtbot.waitSignal(window.follow_up.planned, timeout=WAIT_MS):
            type_in(qtbot, window, "about.number", letter)
    (gate / "go").touch()
    _wait_until_current(qtbot, window)
    # The first was under way, the last is shown; those between were never drawn.
    assert (gate / "begun").read_text().split() == ["T-1", "T-1234"]
    assert [_pages(pdf)[0] for pdf in drawn] == ["front T-1234 12 mm propane"]


def test_a_sheet_of_a_job_that_was_left_does_not_come_after(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    gate = tmp_path / "gate"
    gate.mkdir()
    window = open_window(sheet=functools.partial(fakes.make_sheet_when_told, gate))
    fill_in(qtbot, window)
    qtbot.waitUntil((gate / "begun").exists, timeout=WAIT_MS)
    with qtbot.waitSignal(window.follow_up.planned, timeout=WAIT_MS):
        type_in(qtbot, window, "about.number", "2")
    answers.unsaved = "discard"
    window.files.new()
    (gate / "go").touch()
    qtbot.waitUntil(lambda: not window.follow_up.drawer.is_busy, timeout=WAIT_MS)
    assert (gate / "begun").read_text().split() == ["T-1"]
    assert window.panes.sheet.pdf == b""
    assert window.panes.state.startswith("The sheet appears here as soon as")


def test_the_window_answers_while_a_sheet_is_drawn(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    """Its loop goes on turning, and what draws is a process: a thread would make it stutter."""
    window = open_window(sheet=functools.partial(fakes.make_sheet_when_told, tmp_path))
    fill_in(qtbot, window)
    qtbot.waitUntil((tmp_path / "begun").exists, timeout=WAIT_MS)
    assert int((tmp_path / "process").read_text()) != os.getpid()
    ticks: list[None] = []
    timer = QTimer(window)
    timer.timeout.connect(lambda: ticks.append(None))
    timer.start(10)
    qtbot.waitUntil(lambda: len(ticks) >= 30, timeout=WAIT_MS)
    timer.stop()
    assert not window.follow_up.is_current
    (tmp_path / "go").touch()
    _wait_until_current(qtbot, window)


def test_a_crash_of_the_drawing_process_is_told_and_mended(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    window = open_window(sheet=functools.partial(fakes.crash_once, tmp_path / "mark"))
    said: list[str] = []
    window.statusBar().messageChanged.connect(said.append)
    fill_in(qtbot, window)
    _wait_until_current(qtbot, window)
    assert any("stopped unexpectedly; it is started again" in text for text in said)
    assert window.panes.state == "The sheet matches the form."


def test_a_process_that_crashes_again_is_given_up_until_the_next_change(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    mark = tmp_path / "mark"
    mark.touch()
    window = open_window(sheet=functools.partial(fakes.crash_while_forbidden, mark))
    fill_in(qtbot, window)
    qtbot.waitUntil(lambda: "stopped unexpectedly, twice" in window.panes.state, timeout=WAIT_MS)
    assert not answers.told  # beside the form, not in the way of typing
    assert not window.menus.export_sheet.isEnabled()
    mark.unlink()
    type_in(qtbot, window, "about.number", "2")
    _wait_until_current(qtbot, window)


def test_a_process_that_died_idle_is_started_again(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    _fill_in_and_wait(qtbot, window)
    [worker] = window.follow_up.sheet_crew.workers
    worker.terminate()
    worker.join()
    type_in(qtbot, window, "about.number", "2")
    _wait_until_current(qtbot, window)
    assert "T-12" in _pages(window.panes.sheet.pdf)[0]


def test_closing_ends_the_process_at_once(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    gate = tmp_path / "gate"
    gate.mkdir()
    window = open_window(sheet=functools.partial(fakes.make_sheet_when_told, gate))
    fill_in(qtbot, window)
    qtbot.waitUntil((gate / "begun").exists, timeout=WAIT_MS)
    [worker] = window.follow_up.sheet_crew.workers
    answers.unsaved = "discard"
    assert window.close()
    assert not worker.is_alive()


def test_a_sheet_refused_in_words_is_told_beside_the_form(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers
) -> None:
    window = open_window(sheet=fakes.refuse)
    with qtbot.waitSignal(window.follow_up.settled, timeout=WAIT_MS):
        fill_in(qtbot, window)
    qtbot.waitUntil(lambda: "an invented reason" in window.panes.state, timeout=WAIT_MS)
    assert not answers.told
    assert not answers.bugs


def test_a_fault_is_told_once_and_the_window_goes_on(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers
) -> None:
    window = open_window(sheet=fakes.stumble)
    fill_in(qtbot, window)
    qtbot.waitUntil(lambda: bool(answers.bugs), timeout=WAIT_MS)
    with qtbot.waitSignal(window.follow_up.settled, timeout=WAIT_MS):
        type_in(qtbot, window, "about.number", "2")
    qtbot.waitUntil(lambda: "an invented fault" in window.panes.state, timeout=WAIT_MS)
    assert [str(bug) for bug in answers.bugs] == ["an invented fault"]
    assert "in stumble" in details_of(answers.bugs[0])
    assert window.panes.form.field("about.number").text == "T-12"


def test_a_fault_of_planning_is_told_and_the_window_goes_on(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers
) -> None:
    def plan(_job: object) -> object:
        raise ZeroDivisionError("an invented fault")

    window = open_window(plan=plan)
    fill_in(qtbot, window)
    qtbot.waitUntil(lambda: bool(answers.bugs), timeout=WAIT_MS)
    assert "The plan could not be made" in window.panes.state


def test_missing_tables_are_told_and_saving_still_works(
    qtbot: QtBot, services: Services, answers: Answers, tmp_path: Path
) -> None:
    def fail() -> None:
        raise ResourceMissing("no tables folder; install kerfdocket again")

    window = MainWindow(dataclasses.replace(services, warm_up=fail), SAMPLE, answers)
    try:
        window.show()
        qtbot.waitUntil(lambda: bool(answers.told), timeout=WAIT_MS)
        assert "install kerfdocket again" in answers.told[0]
        answers.path = tmp_path / "kept.toml"
        assert window.files.save_as()
        assert answers.path.read_bytes() == SAMPLE.read_bytes()
    finally:
        window.shut_down()


def test_opening_and_saving_changes_no_byte(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(SAMPLE.read_bytes())
    window = open_window(path)
    assert window.windowTitle().startswith("job.toml")
    window.menus.save.trigger()
    assert path.read_bytes() == SAMPLE.read_bytes()
    type_in(qtbot, window, "about.number", "9")
    assert window.isWindowModified()
    window.menus.save.trigger()
    assert not window.isWindowModified()
    assert path.read_text() == SAMPLE.read_text().replace("KD-0141", "KD-01419")
    answers.path = tmp_path / "other.toml"
    window.menus.save_as.trigger()
    assert answers.path.read_bytes() == path.read_bytes()  # comments went along
    assert window.document.path == answers.path
    assert not answers.told


def test_a_form_with_mistakes_is_saved_as_it_stands(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window()
    type_in(qtbot, window, "plate.thickness", "twelve")
    type_in(qtbot, window, "prices.hour", "much")
    answers.path = tmp_path / "job.toml"
    window.menus.save.trigger()
    assert answers.asked == ["save as job.toml"]
    again = open_window(answers.path)
    assert again.panes.form.field("plate.thickness").text == "twelve"
    assert again.panes.form.field("prices.hour").text == "much"
    assert "Mend: 'twelve'" in again.panes.form.field("plate.thickness").notes.text


def test_a_file_with_bad_values_opens_and_says_so_at_the_fields(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(
        "kerfdocket-job = 1\nextra = 1\n[about]\nnumber = 5\n[plate]\nthickness = 12\n"
        'colour = "red"\n[fuel]\ngas = "butane"\nhose = "long"\n'
    )
    window = open_window(path)
    form = window.panes.form
    assert form.field("plate.thickness").text == "12"
    assert "12 is not a length" in form.field("plate.thickness").notes.text
    assert form.field("fuel.gas").text == "butane (not a choice)"
    assert "not a choice here" in form.field("fuel.gas").notes.text
    rows = {row.where: row for row in window.panes.findings.model.rows}
    assert rows["plate.colour"].is_unknown_key
    assert "this key is not known" in rows["plate.colour"].text
    assert rows["extra"].is_unknown_key
    assert "must be a group" in rows["fuel.hose"].text
    assert not rows["fuel.hose"].is_unknown_key
    window.files.save()
    assert 'colour = "red"' in path.read_text()


def test_an_unknown_key_goes_only_when_told_to(
    open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "bad.toml"
    path.write_text('kerfdocket-job = 1\n[plate]\ncolour = "red"\n')
    window = open_window(path)
    answers.take_out = False
    window.panes.findings.key_removal_wanted.emit("plate.colour")
    assert window.document.raw["plate"] == {"colour": "red"}
    answers.take_out = True
    window.panes.findings.key_removal_wanted.emit("plate.colour")
    assert "plate" not in window.document.raw
    assert answers.asked == ["take out plate.colour"] * 2


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty"),
        (b"\x00\x01\x02", "not a text file"),
        (b"about = ", "bad.toml"),
        (b"[project]\nname = 'x'\n", "not a job file"),
        (b"kerfdocket-job = 7\n", "newer program"),
        (b"kerfdocket-job = 'one'\n", "kerfdocket-job"),
    ],
)
def test_what_is_no_job_file_leaves_the_form_as_it_is(
    qtbot: QtBot,
    open_window: OpenWindow,
    answers: Answers,
    tmp_path: Path,
    content: bytes,
    words: str,
) -> None:
    window = open_window()
    type_in(qtbot, window, "about.number", "mine")
    path = tmp_path / "bad.toml"
    path.write_bytes(content)
    answers.path = path
    window.menus.open.trigger()
    assert words in answers.told[0]
    assert window.panes.form.field("about.number").text == "mine"
    assert window.document.path is None
    assert answers.asked == [f"open in {Path.cwd().name}"]  # and not whether to save


def test_a_file_that_cannot_be_written_is_told(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window()
    type_in(qtbot, window, "about.number", "mine")
    answers.path = tmp_path / "nowhere" / "job.toml"
    window.menus.save.trigger()
    assert "cannot be saved" in answers.told[0]
    assert window.document.is_changed


def test_a_file_that_someone_else_changed_is_not_replaced_unasked(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(SAMPLE.read_bytes())
    window = open_window(path)
    type_in(qtbot, window, "about.number", "9")
    path.write_text("theirs = 1\n")
    window.menus.save.trigger()
    assert path.read_text() == "theirs = 1\n"
    assert window.document.is_changed
    answers.overwrite = True
    window.menus.save.trigger()
    assert "KD-01419" in path.read_text()


@pytest.mark.parametrize(
    ("answer", "is_closed", "is_saved"),
    [("cancel", False, False), ("discard", True, False), ("save", True, True)],
)
def test_closing_with_unsaved_changes_asks(
    qtbot: QtBot,
    open_window: OpenWindow,
    answers: Answers,
    tmp_path: Path,
    answer: str,
    is_closed: bool,
    is_saved: bool,
) -> None:
    window = open_window()
    type_in(qtbot, window, "about.number", "mine")
    answers.unsaved = answer
    answers.path = tmp_path / "job.toml"
    assert window.close() is is_closed
    assert window.isVisible() is not is_closed
    assert answers.path.exists() is is_saved
    assert answers.asked[0] == "unsaved New job"


def test_new_asks_and_empties_everything(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers
) -> None:
    window = open_window(SAMPLE)
    _wait_until_current(qtbot, window)
    window.menus.new.trigger()
    assert not answers.asked
    assert window.document.raw == Document().raw
    assert window.panes.form.parts.model.rowCount() == 0
    assert window.panes.sheet.pdf == b""
    assert not window.menus.export_sheet.isEnabled()


def test_a_copy_of_unsaved_work_is_offered_after_a_crash(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(SAMPLE.read_bytes())
    drafts = tmp_path / "state" / "drafts"
    window = open_window(path, autosave_ms=0)
    assert window._autosave is not None
    with qtbot.waitSignal(window._autosave.kept, timeout=WAIT_MS):
        type_in(qtbot, window, "about.number", "9x")
    qtbot.waitUntil(
        lambda: "KD-01419x" in next(drafts.glob("*.draft")).read_text(), timeout=WAIT_MS
    )
    window.shut_down(keep_copy=True)  # as if the process were gone

    second = open_window(SAMPLE, autosave_ms=0)
    assert answers.asked[0].startswith("restore job.toml 20")
    assert second.document.path == path
    assert second.panes.form.field("about.number").text == "KD-01419x"
    assert second.isWindowModified()
    answers.overwrite = True
    assert second.files.save()
    assert path.read_text() == SAMPLE.read_text().replace("KD-0141", "KD-01419x")
    qtbot.waitUntil(lambda: not list(drafts.glob("*.draft")), timeout=WAIT_MS)


def test_work_is_restored_though_its_file_cannot_be_read(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(SAMPLE.read_bytes())
    window = open_window(path, autosave_ms=3_600_000)
    type_in(qtbot, window, "about.number", "9x")
    window.shut_down(keep_copy=True)
    read_bytes = Path.read_bytes

    def refuse(file: Path) -> bytes:
        if file == path:
            raise PermissionError
        return read_bytes(file)

    monkeypatch.setattr(Path, "read_bytes", refuse)
    second = open_window()
    assert second.document.path == path
    assert second.panes.form.field("about.number").text == "KD-01419x"


def test_what_was_typed_last_is_kept_where_the_session_ends(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window(autosave_ms=3_600_000)
    type_in(qtbot, window, "about.number", "T-9")
    window.shut_down(keep_copy=True)
    second = open_window()
    assert answers.asked[0].startswith("restore a new job 20")
    assert second.panes.form.field("about.number").text == "T-9"
    # What was saved needs no copy.
    answers.path = tmp_path / "job.toml"
    assert second.files.save()
    second.shut_down(keep_copy=True)
    assert not list((tmp_path / "state" / "drafts").glob("*.draft"))


@pytest.mark.parametrize(("answer", "left"), [("discard", 0), ("later", 1)])
def test_a_refused_copy_goes_and_a_postponed_one_stays(
    qtbot: QtBot,
    open_window: OpenWindow,
    answers: Answers,
    tmp_path: Path,
    answer: str,
    left: int,
) -> None:
    drafts = tmp_path / "state" / "drafts"
    window = open_window(autosave_ms=0)
    assert window._autosave is not None
    with qtbot.waitSignal(window._autosave.kept, timeout=WAIT_MS):
        type_in(qtbot, window, "about.number", "9")
    window.shut_down(keep_copy=True)
    answers.restore = answer
    second = open_window(SAMPLE)
    assert second.document.path == SAMPLE
    assert len(list(drafts.glob("*.draft"))) == left


def test_a_copy_of_a_window_that_is_open_is_not_offered(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers
) -> None:
    window = open_window(autosave_ms=0)
    assert window._autosave is not None
    with qtbot.waitSignal(window._autosave.kept, timeout=WAIT_MS):
        type_in(qtbot, window, "about.number", "9")
    open_window()
    assert not answers.asked


def test_an_unreadable_copy_is_set_aside(
    open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    drafts = tmp_path / "state" / "drafts"
    drafts.mkdir(parents=True)
    (drafts / "x.draft").write_bytes(b"\xff\x00")
    open_window()
    assert not answers.asked
    assert (drafts / "x.unreadable").read_bytes() == b"\xff\x00"


def test_a_state_folder_that_cannot_be_made_is_told_and_stops_nothing(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    window = open_window(draft_folder=lambda: tmp_path / "file" / "drafts", autosave_ms=0)
    with qtbot.waitSignal(
        window.statusBar().messageChanged,
        timeout=WAIT_MS,
        check_params_cb=lambda text: "No copy of unsaved work" in text,
    ):
        type_in(qtbot, window, "about.number", "9")


@pytest.mark.usefixtures("qapp")
def test_printing_draws_every_page(tmp_path: Path) -> None:
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    path = tmp_path / "printed.pdf"
    printer.setOutputFileName(str(path))
    print_pdf(fakes.pdf_of("one", "two"), printer)
    pages = pypdf.PdfReader(path).pages
    assert len(pages) == 2
    for page in pages:
        [image] = page.images
        assert image.image is None or image.image.size[0] > 2000


@pytest.mark.usefixtures("qapp")
@pytest.mark.qt_log_ignore("QPainter::begin", extend=True)
def test_a_printer_that_cannot_be_used_is_told(tmp_path: Path) -> None:
    printer = QPrinter()
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "nowhere" / "printed.pdf"))
    with pytest.raises(EnvironmentProblem, match="cannot be used"):
        print_pdf(fakes.pdf_of("one"), printer)


def test_the_view_goes_from_page_to_page_and_zooms(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window(SAMPLE)
    _wait_until_current(qtbot, window)
    sheet = window.panes.sheet
    sheet.next_page()
    assert sheet.view.pageNavigator().currentPage() == 1
    sheet.next_page()  # there is none
    assert sheet.view.pageNavigator().currentPage() == 1
    sheet.previous_page()
    assert sheet.view.pageNavigator().currentPage() == 0
    sheet.zoom_in()
    factor = sheet.view.zoomFactor()
    sheet.zoom_out()
    sheet.zoom_out()
    assert sheet.view.zoomFactor() < factor
    for _ in range(30):
        sheet.zoom_in()
    assert sheet.view.zoomFactor() == pytest.approx(6.0)
    sheet.fit_width()
    assert sheet.view.zoomMode() == sheet.view.ZoomMode.FitToWidth


def test_the_place_on_the_sheet_stays_when_it_is_drawn_anew(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window(SAMPLE)
    _wait_until_current(qtbot, window)
    bar = window.panes.sheet.view.verticalScrollBar()
    qtbot.waitUntil(lambda: bar.maximum() > 300, timeout=WAIT_MS)
    bar.setValue(300)
    qtbot.waitUntil(lambda: bar.value() == 300, timeout=WAIT_MS)
    type_in(qtbot, window, "about.number", "9")
    _wait_until_current(qtbot, window)
    qtbot.waitUntil(lambda: bar.value() == 300, timeout=WAIT_MS)
    # A person who moves on is not drawn back.
    bar.triggerAction(bar.SliderAction.SliderToMinimum)
    window.resize(window.width() + 40, window.height())
    type_in(qtbot, window, "about.number", "8")
    _wait_until_current(qtbot, window)
    assert bar.value() == 0


def test_what_nothing_catches_is_caught(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    passed_on: list[object] = []
    monkeypatch.setattr(sys, "excepthook", lambda *args: passed_on.append(args[1]))
    monkeypatch.setattr(threading, "excepthook", lambda args: passed_on.append(args.exc_value))
    catcher = BugCatcher()
    before = sys.excepthook, threading.excepthook
    catcher.install()
    try:
        with qtbot.waitSignal(catcher.caught, timeout=WAIT_MS) as blocker:
            error = LookupError("an invented fault")
            sys.excepthook(LookupError, error, None)
        assert blocker.args == [error]
        with qtbot.waitSignal(catcher.caught, timeout=WAIT_MS) as blocker:
            thread = threading.Thread(target=lambda: int("an invented fault"))
            thread.start()
            thread.join()
        assert isinstance(blocker.args[0], ValueError)
    finally:
        catcher.remove()
    assert (sys.excepthook, threading.excepthook) == before
    assert passed_on == [error, blocker.args[0]]


def test_the_title_names_file_and_unsaved_mark(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    assert window.windowTitle() == "New job[*] – Kerfdocket"
    assert not window.isWindowModified()
    type_in(qtbot, window, "about.number", "9")
    assert window.isWindowModified()
    clear(qtbot, window, "about.number")
    assert not window.isWindowModified()  # it says again what it said


def test_first_paint_comes_before_anything_heavy() -> None:
    """In a process of its own, as the modules are loaded here long since."""
    program = """
import sys
from pathlib import Path
from PySide6.QtWidgets import QApplication
from kerfdocket.window import Services
from kerfdocket.window.main_window import MainWindow
app = QApplication([])
window = MainWindow(Services(plan=len, sheet=len))
heavy = ("pydantic", "pint", "weasyprint", "jinja2", "tomlkit", "PySide6.QtPdf",
         "kerfdocket.job", "kerfdocket.sheet", "kerfdocket.reference", "sqlalchemy")
window.first_painted.connect(lambda: (print([m for m in heavy if m in sys.modules]), app.quit()))
window.show()
app.exec()
window.shut_down()
"""
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    run = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        env=environment,
        timeout=60,
        check=True,
    )
    assert run.stdout.strip() == "[]"


def test_what_others_changed_since_a_crash_is_not_written_over_unasked(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    file = tmp_path / "job.toml"
    file.write_bytes(SAMPLE.read_bytes())
    window = open_window(file)
    type_in(qtbot, window, "about.title", " anew")
    window.shut_down(keep_copy=True)
    theirs = file.read_bytes() + b"# by a colleague\n"
    file.write_bytes(theirs)
    second = open_window()
    assert answers.asked[0].startswith("restore job.toml 20")
    assert not second.files.save()
    assert answers.asked[-1] == "overwrite job.toml"
    assert file.read_bytes() == theirs
    answers.overwrite = True
    assert second.files.save()
    assert b"anew" in file.read_bytes()


def test_the_database_is_loaded_with_the_first_question_only(tmp_path: Path) -> None:
    program = """
import sys
from pathlib import Path
from PySide6.QtWidgets import QApplication
from kerfdocket.window import Services
from kerfdocket.window.main_window import MainWindow
app = QApplication([])
folder = Path(sys.argv[1])
window = MainWindow(Services(plan=len, sheet=len, draft_folder=lambda: folder,
                             preferences=lambda: folder / "window.json",
                             archive_place=lambda: str(folder / "a.sqlite")))
def look():
    print("sqlalchemy" in sys.modules)
    window.desk.ask(
        lambda archive: archive.head(), lambda head: leave(), print, may_be_made=True
    )
def leave():
    print("sqlalchemy" in sys.modules)
    app.quit()
window.ready.connect(look)
window.show()
app.exec()
window.shut_down()
"""
    run = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path)],
        capture_output=True,
        text=True,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
        timeout=60,
        check=True,
    )
    assert run.stdout.split() == ["False", "True"]


def test_the_drawing_process_ends_when_the_window_is_killed() -> None:
    program = """
import os, time
from kerfdocket.window.newest import ProcessCrew

if __name__ == "__main__":
    crew = ProcessCrew()
    print(crew.submit(os.getpid).result(), flush=True)
    os.kill(os.getpid(), 9)
"""
    with tempfile.TemporaryDirectory() as folder:
        script = Path(folder) / "program.py"
        script.write_text(program)
        # The worker holds the other end of this pipe: reading ends when it has ended.
        run = subprocess.run(
            [sys.executable, script], stdout=subprocess.PIPE, text=True, timeout=60, check=False
        )
    assert run.returncode == -9
    assert int(run.stdout) > 0


def test_waiting_label_is_replaced(open_window: OpenWindow) -> None:
    window = open_window()
    assert not isinstance(window.centralWidget(), QLabel)


def test_a_sheet_is_opened_as_the_job_that_it_carries(
    open_window: OpenWindow, tmp_path: Path
) -> None:
    from kerfdocket.job import load_job
    from kerfdocket.planning import make_plan
    from kerfdocket.reference import load_reference
    from kerfdocket.sheet import write_sheet

    sheet = tmp_path / "found years later.pdf"
    write_sheet(make_plan(load_job(SAMPLE), load_reference()), sheet)
    window = open_window()
    assert window.files.open_path(sheet)
    assert window.document.value("about.number") == "KD-0141"
    # There is no job file to save onto, and the sheet is not overwritten.
    assert window.document.path is None
    assert window.document.is_changed
