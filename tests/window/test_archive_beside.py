"""The archive beside the main window: opened late, ended with it, and what goes between the two."""

import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from jobs import SAMPLES
from kerfdocket.archive import Archive, IssuedSheet, open_archive, pages_of
from kerfdocket.job import Job, job_text, load_job, raw_from_job
from kerfdocket.language import language_named
from kerfdocket.planning import Plan
from kerfdocket.window import Services
from kerfdocket.window.archive.page_reader import PageReader
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.preferences import remember
from window import scans
from window.archived import CHECKS, drop, dropped, sheet_of
from window.conftest import WAIT_MS, Answers
from window.helpers import clear, fill_in, type_in

OpenWindow = Callable[..., MainWindow]


@pytest.fixture
def main(open_window: OpenWindow, archive_file: Path) -> MainWindow:
    return open_window(archive_place=lambda: str(archive_file))


def settle(qtbot: QtBot, main: MainWindow) -> None:
    side = main.archive
    desks = side.desk, side.intake.desk
    qtbot.waitUntil(
        lambda: not (any(desk.is_busy for desk in desks) or side.intake.is_busy), timeout=WAIT_MS
    )


def open_its_job(qtbot: QtBot, main: MainWindow, number: str) -> None:
    """Put the job of a traveller's revision A into the form, and wait for its sheet."""
    main.show_archive()
    settle(qtbot, main)
    window = main.archive.window
    assert window is not None
    window.travellers.choose(number, "A")
    settle(qtbot, main)
    window.travellers.detail.buttons["open"].click()
    settle(qtbot, main)
    qtbot.waitUntil(lambda: main.follow_up.is_current, timeout=WAIT_MS)


def use_fake_reader(main: MainWindow) -> None:
    main.archive.set_who("M. Quay")
    main.archive.intake._reader = PageReader(scans.read_lines)


def test_the_database_is_not_loaded_before_the_archive_is_opened() -> None:
    code = """
import sys
from PySide6.QtWidgets import QApplication
application = QApplication([])
from kerfdocket.window import default_services
from kerfdocket.window.archive_desk import ArchiveDesk
from kerfdocket.window.archive.archive_window import ArchiveWindow
from kerfdocket.window.archive.side import ArchiveSide
desk = ArchiveDesk(lambda: "")
side = ArchiveSide(default_services(), desk)
print([name for name in ("sqlalchemy", "alembic", "pypdfium2", "zxingcpp") if name in sys.modules])
side.close()
desk.close()
"""
    said = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    assert said.stdout == "[]\n"


def test_it_opens_from_the_menu_and_ends_with_the_main_window(
    qtbot: QtBot, main: MainWindow
) -> None:
    assert main._archive is None
    main.show_archive()
    settle(qtbot, main)
    window = main.archive.window
    assert window is not None
    assert window.travellers.count.text() == "4 travellers"
    window.close()
    main.show_archive()
    assert main.archive.window is window
    main.close()
    assert main.archive.window is None
    assert not window.isVisible()
    assert [one for one in threading.enumerate() if one.name.startswith("archive")] == []


def test_an_archive_that_cannot_be_opened_leaves_the_form_as_it_is(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    main = open_window(archive_place=lambda: str(tmp_path / "file" / "a.sqlite"))
    main.show_archive()
    settle(qtbot, main)
    assert main.archive.window is not None
    assert not main.archive.window.is_shown
    with qtbot.waitSignal(main.follow_up.sheet_drawn, timeout=WAIT_MS):
        fill_in(qtbot, main)
    assert answers.told == []


def test_a_job_of_the_archive_goes_into_the_form_and_unsaved_work_is_asked_about(
    qtbot: QtBot,
    main: MainWindow,
    answers: Answers,
    planned: tuple[Job, Plan],
    archive_file: Path,
) -> None:
    fill_in(qtbot, main)
    main.show_archive()
    settle(qtbot, main)
    window = main.archive.window
    assert window is not None
    window.travellers.choose("KD-1", "A")
    settle(qtbot, main)
    answers.unsaved = "cancel"
    window.travellers.detail.buttons["open"].click()
    settle(qtbot, main)
    assert len(answers.asked) == 1
    assert main.document.value("about.number") == "T-1"
    answers.unsaved = "discard"
    window.travellers.detail.buttons["open"].click()
    settle(qtbot, main)
    wanted = raw_from_job(load_job(SAMPLES / "base-plates-12mm.toml"))
    wanted["about"] |= {"number": "KD-1", "revision": "A"}
    assert main.document.raw == wanted
    # The archive keeps it: there is nothing to save, and nothing is drawn anew.
    assert not main.document.is_changed
    qtbot.waitUntil(lambda: main.follow_up.is_current, timeout=WAIT_MS)
    assert main.panes.state == "This is KD-1 A as it was issued."
    assert main.panes.sheet.pdf == sheet_of(planned, "KD-1").pdf
    # What becomes of it is known here, too.
    archive = open_archive(archive_file)
    archive.move("KD-1", "withdrawn", "F", "No plate.")
    archive.close()
    main.desk.changed.emit()
    settle(qtbot, main)
    assert "KD-1 A is withdrawn: do not cut by this sheet" in main.panes.state
    assert not main.menus.print_issued.isEnabled()


def test_a_sheet_that_is_void_does_not_leave_the_window_under_its_name(
    qtbot: QtBot,
    main: MainWindow,
    answers: Answers,
    printed: list[bytes],
) -> None:
    open_its_job(qtbot, main, "KD-3")
    assert "KD-3 A is superseded: do not cut by this sheet" in main.panes.state
    assert not main.menus.print_issued.isEnabled()
    main.menus.print_sheet.trigger()
    main.menus.export_sheet.trigger()
    assert answers.asked == ["issue KD-3 A instead"] * 2
    assert printed == []
    # Under another number it is another sheet.
    clear(qtbot, main, "about.number")
    type_in(qtbot, main, "about.number", "KD-9")
    qtbot.waitUntil(lambda: main.follow_up.is_current, timeout=WAIT_MS)
    assert main.panes.state == "The sheet matches the form."
    main.menus.print_sheet.trigger()
    assert len(printed) == 1


def test_what_was_issued_and_would_be_stopped_today_is_shown_as_a_draft(
    qtbot: QtBot, main: MainWindow, archive_file: Path
) -> None:
    archive = open_archive(archive_file)
    job = load_job(SAMPLES / "base-plates-12mm.toml")
    stopped = job.model_copy(
        update={
            "plate": job.plate.model_copy(update={"grade": "stainless"}),
            "about": job.about.model_copy(update={"number": "KD-7"}),
        }
    )
    sheet = IssuedSheet(job_text(stopped), "{}", b"%PDF as it was then", {}, "0.0.9", "t0", "X")
    archive.issue("KD-7", sheet, "F")
    archive.close()
    open_its_job(qtbot, main, "KD-7")
    assert main.panes.state.startswith("DRAFT, NOT FOR CUTTING")
    assert main.panes.sheet.pdf != sheet.pdf
    assert not main.menus.print_issued.isEnabled()


def test_scans_dropped_on_the_main_window_are_asked_about_until_the_archive_is_open(
    qtbot: QtBot, main: MainWindow, answers: Answers, tmp_path: Path, archive_file: Path
) -> None:
    scan, job = tmp_path / "s.png", tmp_path / "job.toml"
    scan.write_bytes(scans.scan(f"KD-2:A:F:{CHECKS['KD-2']}"))
    job.touch()
    assert not drop(main, dropped([job]))
    use_fake_reader(main)
    answers.take = False
    assert drop(main, dropped([scan]))
    qtbot.waitUntil(lambda: answers.asked == ["take 1 s.png"], timeout=WAIT_MS)
    assert main.archive.window is None
    answers.take = True
    assert drop(main, dropped([scan]))
    qtbot.waitUntil(lambda: main.archive.window is not None, timeout=WAIT_MS)
    settle(qtbot, main)
    scan.write_bytes(scans.scan(f"KD-2:A:B:{CHECKS['KD-2']}"))
    assert drop(main, dropped([scan]))
    qtbot.waitUntil(lambda: len(main.archive.intake.outcomes) == 2, timeout=WAIT_MS)
    settle(qtbot, main)
    assert len(answers.asked) == 2
    archive = open_archive(archive_file)
    assert [page.side for page in pages_of(archive, "KD-2")] == ["F", "B"]
    archive.close()


def test_the_scanners_folder_is_watched_without_the_archives_window(
    qtbot: QtBot, open_window: OpenWindow, services: Services, tmp_path: Path, archive_file: Path
) -> None:
    folder = tmp_path / "scanner"
    folder.mkdir()
    remember(services.preferences(), "scanner", str(folder))
    main = open_window(archive_place=lambda: str(archive_file))
    assert main.archive.intake.folder == folder
    use_fake_reader(main)
    settle(qtbot, main)
    (folder / "s.pdf").write_bytes(scans.scan(f"KD-3:A:F:{CHECKS['KD-3']}"))
    for _ in range(2):
        main.archive.intake.look()
        settle(qtbot, main)
    assert main.archive.window is None
    # It must be seen, though nobody looks at the archive.
    assert main._warned.isVisible()
    assert "KD-3 A is superseded" in main._warned.toolTip()
    main._warned.click()
    settle(qtbot, main)
    window = main.archive.window
    assert window is not None
    assert "KD-3 A is superseded" in window.warning.text()
    window.seen_button.click()
    assert not main._warned.isVisible()


def test_another_language_reaches_the_archives_window(qtbot: QtBot, main: MainWindow) -> None:
    main.show_archive()
    settle(qtbot, main)
    main.use_language(language_named("en-XA"))
    settle(qtbot, main)
    window = main.archive.window
    assert window is not None
    assert window.windowTitle().startswith("⟦")
    assert window.travellers.model.rowCount() == 4


def test_the_list_follows_what_happens_beside_it(qtbot: QtBot, main: MainWindow) -> None:
    main.show_archive()
    settle(qtbot, main)
    window = main.archive.window
    assert window is not None

    def withdraw(archive: Archive) -> object:
        return archive.move("KD-2", "withdrawn", "someone", "a reason")

    done: list[object] = []
    main.desk.ask(withdraw, done.append, done.append, is_change=True)
    qtbot.waitUntil(lambda: bool(done), timeout=WAIT_MS)
    settle(qtbot, main)
    model = window.travellers.model
    assert model.index(2, 2).data() == "withdrawn"
