"""The window with the program's own planning and sheet."""

import dataclasses
import io
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QTimer
from pytestqt.qtbot import QtBot

from kerfdocket.job import load_job
from kerfdocket.window import default_services
from kerfdocket.window.main_window import MainWindow
from window.conftest import WAIT_MS, Answers
from window.helpers import clear, fill_in, type_in

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))


@pytest.fixture
def window(qtbot: QtBot, answers: Answers, tmp_path: Path) -> Iterator[MainWindow]:
    services = dataclasses.replace(default_services(), draft_folder=lambda: tmp_path / "drafts")
    window = MainWindow(services, None, answers, debounce_ms=0)
    window.resize(1366, 768)
    with qtbot.waitSignal(window.ready, timeout=WAIT_MS):
        window.show()
    yield window
    window.shut_down()
    window.hide()
    window.deleteLater()


def _text(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def test_from_an_empty_form_to_a_saved_sheet(
    qtbot: QtBot, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    fill_in(qtbot, window)
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)
    answers.path = tmp_path / "sheet.pdf"
    window.menus.export_sheet.trigger()
    text = _text(answers.path.read_bytes())
    assert "T-1" in text
    assert "Test plate" in text
    assert "S355J2" in text
    assert "ropane" in text
    answers.path = tmp_path / "job.toml"
    window.menus.save.trigger()
    assert load_job(answers.path).plate.grade == "S355J2"
    assert not answers.bugs


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_leads_to_its_sheet(
    qtbot: QtBot, window: MainWindow, answers: Answers, sample: Path
) -> None:
    assert window.files.open_path(sample)
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)
    assert not answers.told
    assert not answers.bugs
    job = load_job(sample)
    text = _text(window.panes.sheet.pdf)
    assert job.about.number in text
    assert window.follow_up.plan is not None
    assert window.follow_up.plan.is_stopped == ("NOT FOR CUTTING" in text)
    assert window.follow_up.plan.is_stopped == window.panes.state.startswith(
        "DRAFT, NOT FOR CUTTING"
    )
    shown = {tile for tile in window.panes.results.tiles.values() if tile.isEnabled()}
    assert len(shown) == len(window.panes.results.tiles)  # each key of the strip exists
    places = [row.place for row in window.panes.findings.model.rows]
    assert all(places)
    assert not window.document.is_changed


def test_a_stainless_grade_is_stopped_at_its_field(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    field = window.panes.form.field("plate.grade")
    clear(qtbot, window, "plate.grade")
    type_in(qtbot, window, "plate.grade", "1.4301")
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)
    assert field.notes.text.startswith("Stop: ")


def test_typing_is_never_held_up_for_long(qtbot: QtBot, window: MainWindow) -> None:
    """From a change to its sheet no turn of the event loop works for a tenth of a second."""
    window.files.open_path(SAMPLES[0])
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)
    # Of this thread's own work: that it does not get the processor is not its fault.
    last = time.thread_time()
    turns: list[float] = []

    def look() -> None:
        nonlocal last
        now = time.thread_time()
        turns.append(now - last)
        last = now

    timer = QTimer(window)
    timer.timeout.connect(look)
    timer.start(5)
    type_in(qtbot, window, "about.number", "9")
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)
    timer.stop()
    look()
    assert max(turns) < 0.1


def test_the_program_opens_and_closes_and_leaves_nothing(tmp_path: Path) -> None:
    """`open_window` in a process of its own: exit code, no words on stderr, no draft."""
    program = """
import dataclasses, multiprocessing, sys
from pathlib import Path

def main():
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication
    from kerfdocket.window import default_services, open_window
    from kerfdocket.window.main_window import MainWindow
    app = QApplication([])
    def look():
        for window in app.topLevelWidgets():
            if isinstance(window, MainWindow) and window.follow_up.is_current:
                print(window.windowTitle(), window.panes.state)
                timer.stop()
                window.close()
    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(20)
    services = dataclasses.replace(default_services(), draft_folder=lambda: Path(sys.argv[2]))
    code = open_window(Path(sys.argv[1]), services)
    print(code, multiprocessing.active_children())

if __name__ == "__main__":
    main()
"""
    script = tmp_path / "program.py"
    script.write_text(program)
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "PYTHONWARNINGS": "error"}
    run = subprocess.run(
        [sys.executable, script, SAMPLES[0], tmp_path / "drafts"],
        capture_output=True,
        text=True,
        env=environment,
        timeout=60,
        check=False,
    )
    said = [line for line in run.stderr.splitlines() if "propagateSizeHints" not in line]
    assert said == []
    assert run.stdout.splitlines() == [
        f"{SAMPLES[0].name}[*] – Kerfdocket The sheet matches the form.",
        "0 []",
    ]
    assert not list((tmp_path / "drafts").glob("*.draft"))
