"""Keeping the archive from its window: copies, what need not be kept any longer, what there is."""

import csv
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit, QPlainTextEdit, QWidget
from pytestqt.qtbot import QtBot

from kerfdocket.archive import open_archive, verify
from kerfdocket.archive.keeping import YEARS, retention
from kerfdocket.errors import EnvironmentProblem, InputError, KerfdocketError
from kerfdocket.language import language_named, set_language
from kerfdocket.window import Services
from kerfdocket.window.archive import keeper, keeping_page
from kerfdocket.window.archive.archive_window import ArchiveWindow
from kerfdocket.window.archive.asked import ArchiveMessages
from kerfdocket.window.archive.gentle import GentleCrew, GivenUp
from kerfdocket.window.archive.keeping import Copy, copy_archive
from kerfdocket.window.archive.keeping_page import KeepingPage
from kerfdocket.window.archive.sayings import as_typed
from kerfdocket.window.archive.side import ArchiveSide
from kerfdocket.window.archive.verifying import verify_archive
from kerfdocket.window.archive_desk import ArchiveDesk
from kerfdocket.window.newest import ThreadCrew
from kerfdocket.window.preferences import remembered
from window import keeping_workers
from window.conftest import WAIT_MS

KEEPING = 3  # the tab
WAIT_S = WAIT_MS / 1000


class Answers(ArchiveMessages):
    """Answers every question as told, and remembers what was said."""

    def __init__(self) -> None:
        self.told: list[str] = []
        self.asked: list[str] = []
        self.path: Path | None = None
        self.suggested: Path | None = None
        self.is_sure = True
        self.place: str | None = None

    def tell(self, doing: str, error: KerfdocketError) -> None:
        self.told.append(f"{doing} {error}")

    def _path(self, what: str, suggestion: Path) -> Path | None:
        self.asked.append(what)
        self.suggested = suggestion
        return self.path

    def ask_backup_path(self, suggestion: Path) -> Path | None:
        return self._path("backup", suggestion)

    def ask_new_folder(self, suggestion: Path) -> Path | None:
        return self._path("export", suggestion)

    def ask_list_path(self, suggestion: Path) -> Path | None:
        return self._path("list", suggestion)

    def ask_replace(self, path: Path) -> bool:
        self.asked.append(f"replace {path.name}")
        return self.is_sure

    def ask_despite_faults(self, faults: Sequence[str]) -> bool:
        self.asked.append("despite " + "; ".join(faults))
        return self.is_sure

    def ask_give_up_copy(self, doing: str) -> bool:
        self.asked.append(f"give up: {doing}")
        return self.is_sure

    def ask_archive(self, place: str) -> str | None:
        self.asked.append(f"archive {place}")
        return self.place


class Threaded(ThreadCrew):
    """Copies in a thread, which is quick to begin and cannot be given up."""

    def stop(self) -> None:
        raise AssertionError("nothing is given up here")


@pytest.fixture
def asked() -> Answers:
    return Answers()


OpenSide = Callable[..., ArchiveSide]


@pytest.fixture
def open_side(
    qapp: QApplication, services: Services, archive_file: Path, asked: Answers
) -> Iterator[OpenSide]:
    opened: list[tuple[ArchiveSide, ArchiveDesk, list[object]]] = []

    def open_one(copier: Any = None) -> ArchiveSide:
        def place() -> str:
            return remembered(services.preferences(), "archive") or str(archive_file)

        changed = Services(**{**services.__dict__, "archive_place": place})
        desk = ArchiveDesk(place)
        crew = Threaded() if copier is None else copier
        side = ArchiveSide(changed, desk, None, asked, None, 0, None, crew, ThreadCrew())
        bugs: list[object] = []
        side.bug.connect(bugs.append)
        opened.append((side, desk, bugs))
        return side

    yield open_one
    for side, desk, bugs in opened:
        side.close()
        desk.close()
        assert bugs == []
        side.deleteLater()
    qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


def settle(qtbot: QtBot, side: ArchiveSide) -> None:
    """Wait until nothing is asked, copied or counted any more."""
    assert side.window is not None
    window = side.window

    def is_still() -> bool:
        keeper = side.keeper
        timers = (window.travellers._timer, window.keeping._timer)
        is_busy = side.desk.is_busy or keeper.copy is not None or keeper.is_counting
        return not (is_busy or any(timer.isActive() for timer in timers))

    qtbot.waitUntil(is_still, timeout=WAIT_MS)


OpenPage = Callable[..., KeepingPage]


@pytest.fixture
def open_page(qtbot: QtBot, open_side: OpenSide) -> OpenPage:
    def open_one(copier: Any = None) -> KeepingPage:
        side = open_side(copier)
        window = side.show()
        window.resize(1366, 728)
        window.tabs.setCurrentIndex(KEEPING)
        settle(qtbot, side)
        return window.keeping

    return open_one


@pytest.fixture
def page(open_page: OpenPage) -> KeepingPage:
    return open_page()


def window_of(page: KeepingPage) -> ArchiveWindow:
    window = page.window()
    assert isinstance(window, ArchiveWindow)
    return window


def press(qtbot: QtBot, page: KeepingPage, button: Any) -> None:
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    settle(qtbot, page._side)


def wait_for_half(qtbot: QtBot, folder: Path) -> None:
    """Wait until another process writes beside a place."""
    qtbot.waitUntil(lambda: any(folder.glob(".*/half")), timeout=WAIT_MS)


# Copies


def test_a_backup_is_made_by_another_process_and_said(
    qtbot: QtBot, open_page: OpenPage, asked: Answers, tmp_path: Path, archive_file: Path
) -> None:
    page = open_page(GentleCrew())
    asked.path = tmp_path / "copies" / "b.sqlite"
    page.backup_button.setFocus()
    days = [date.today()]  # noqa: DTZ011  # the day it is here
    page.backup_button.click()
    days.append(date.today())  # noqa: DTZ011
    assert not page._strip.isHidden()
    assert page.doing.text() == f"Backing up into {asked.path} …"
    assert not page.export_button.isEnabled()
    settle(qtbot, page._side)
    assert asked.suggested is not None
    assert asked.suggested.name in [f"archive-{day.isoformat()}.sqlite" for day in days]
    first, second = page.outcome.text().split("\n")
    assert first == f"{asked.path} was made and verified."
    assert window_of(page).statusBar().currentMessage() == first
    copy, own = open_archive(asked.path), open_archive(archive_file)
    assert own.head() == copy.head()
    assert own.head()[1] in second
    assert verify(copy, own.head()[1]) == ()
    copy.close()
    own.close()
    assert [one.name for one in asked.path.parent.glob("*.sqlite")] == ["b.sqlite"]
    assert not list(asked.path.parent.glob(".*"))
    assert page._strip.isHidden()
    assert page.backup_button.isEnabled()
    assert page.backup_button.hasFocus()
    # The next one goes there, too.
    asked.path = None
    page.back_up()
    assert asked.suggested.parent == tmp_path / "copies"
    assert asked.told == []


def test_a_file_is_replaced_only_if_that_is_wanted(
    qtbot: QtBot, page: KeepingPage, asked: Answers, tmp_path: Path
) -> None:
    asked.path = tmp_path / "b.sqlite"
    asked.path.write_text("mine")
    asked.is_sure = False
    press(qtbot, page, page.backup_button)
    assert asked.asked == ["backup", "replace b.sqlite"]
    assert asked.path.read_text() == "mine"
    asked.is_sure = True
    press(qtbot, page, page.backup_button)
    assert asked.path.read_bytes().startswith(b"SQLite format 3")
    assert asked.told == []


def test_an_export_goes_into_a_new_folder_only(
    qtbot: QtBot, page: KeepingPage, asked: Answers, tmp_path: Path
) -> None:
    asked.path = tmp_path / "out" / "all"
    press(qtbot, page, page.export_button)
    assert (asked.path / "travellers.csv").is_file()
    assert page.outcome.text().startswith(f"{asked.path}: ")
    press(qtbot, page, page.export_button)
    (told,) = asked.told
    assert told.startswith("The archive was not exported. ")
    assert "not empty; give the name of a new folder" in told
    assert page.outcome.text().startswith("Nothing was made: ")


def test_given_up_nothing_of_it_stays(
    qtbot: QtBot,
    open_page: OpenPage,
    asked: Answers,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(keeper, "copy_archive", keeping_workers.copy_slowly)
    page = open_page(GentleCrew())
    asked.path = tmp_path / "copies" / "b.sqlite"
    page.back_up()
    wait_for_half(qtbot, asked.path.parent)
    page.stop_button.setFocus()
    page.stop_button.click()
    assert not page.stop_button.isEnabled()
    assert page.doing.text() == "Giving it up …"
    settle(qtbot, page._side)
    assert list(asked.path.parent.iterdir()) == []
    assert page.outcome.text() == f"It was given up. There is no {asked.path} of it."
    assert asked.told == []
    # It can be begun again.
    monkeypatch.setattr(keeper, "copy_archive", copy_archive)
    press(qtbot, page, page.backup_button)
    assert asked.path.is_file()


def test_leaving_asks_and_ending_leaves_nothing(
    qtbot: QtBot,
    open_page: OpenPage,
    asked: Answers,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(keeper, "copy_archive", keeping_workers.copy_slowly)
    crew = GentleCrew()
    page = open_page(crew)
    side = page._side
    assert side.may_leave()
    asked.path = tmp_path / "copies" / "all"
    page.export_all()
    wait_for_half(qtbot, asked.path.parent)
    window_of(page).close()
    assert side.keeper.copy is not None  # the window's closing is not the program's end
    asked.is_sure = False
    assert not side.may_leave()
    assert asked.asked[-1] == f"give up: Exporting into {asked.path} …"
    asked.is_sure = True
    assert side.may_leave()
    process = crew._process
    assert process is not None
    assert process.is_alive()
    side.close()
    assert not process.is_alive()
    assert list(asked.path.parent.iterdir()) == []


def test_a_process_that_dies_is_said_in_words(
    qtbot: QtBot,
    open_page: OpenPage,
    asked: Answers,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(keeper, "copy_archive", keeping_workers.die)
    page = open_page(GentleCrew())
    asked.path = tmp_path / "b.sqlite"
    press(qtbot, page, page.backup_button)
    assert asked.told == ["No backup was made. the work stopped unexpectedly; nothing came of it"]


@pytest.mark.parametrize("is_sure", [True, False])
def test_an_archive_with_faults_is_copied_only_if_asked(
    qtbot: QtBot,
    page: KeepingPage,
    asked: Answers,
    tmp_path: Path,
    archive_file: Path,
    is_sure: bool,
) -> None:
    own = open_archive(archive_file)
    with own.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE traveller SET cutter = 'X' WHERE number = 'KD-2'")
    own.close()
    asked.path, asked.is_sure = tmp_path / "b.sqlite", is_sure
    press(qtbot, page, page.backup_button)
    settle(qtbot, page._side)
    assert asked.asked == ["backup", "despite KD-2 A: cutter was altered"]
    assert asked.path.exists() is is_sure
    if is_sure:
        assert "keep it beside older ones, not instead" in page.outcome.text()
    else:
        assert page.outcome.text() == "Nothing was made, as the archive is not whole."


def test_what_got_its_name_before_it_was_given_up_is_said_to_be_there(
    tmp_path: Path, archive_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kerfdocket.archive.keeping import copying

    def interrupted(_folder: Path) -> None:
        raise KeyboardInterrupt

    target = tmp_path / "copies" / "b.sqlite"
    copy = Copy(str(archive_file), "backup", target)
    with monkeypatch.context() as patch:
        patch.setattr(copying, "sync_folder", interrupted)
        made = copy_archive(copy, "en")
    assert made == keeper.Made(copy, None)
    assert target.is_file()
    with monkeypatch.context() as patch:
        patch.setattr(copying, "settle", interrupted)
        with pytest.raises(KeyboardInterrupt):
            copy_archive(Copy(str(archive_file), "backup", tmp_path / "c.sqlite"), "en")
    assert not (tmp_path / "c.sqlite").exists()


def test_of_an_archive_that_is_gone_no_empty_one_is_backed_up_or_verified(tmp_path: Path) -> None:
    gone, target = tmp_path / "gone.sqlite", tmp_path / "b.sqlite"
    with pytest.raises(InputError, match="there is no archive at"):
        copy_archive(Copy(str(gone), "backup", target), "en")
    with pytest.raises(InputError, match="there is no archive at"):
        keeper.count_archive(str(gone), "en")
    with pytest.raises(InputError, match="there is no archive at"):
        verify_archive(str(gone), "en")
    assert list(tmp_path.glob("*.sqlite")) == []


def answer(
    messages: ArchiveMessages, ask: Callable[[], Any], then: Callable[[QDialog], None]
) -> Any:
    """Ask with the real dialog, and do something with it once it is there."""

    def act() -> None:
        (dialog,) = messages._parent.findChildren(QDialog)
        then(dialog)
        dialog.deleteLater()

    QTimer.singleShot(0, messages._parent, act)
    return ask()


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("more", "/copies/more"), ("/else/where", "/else/where"), ("~nobody-here/x", None)],
)
def test_a_folder_without_a_place_goes_where_the_last_copy_went(
    qtbot: QtBot, typed: str, meant: str | None
) -> None:
    parent = QWidget()
    qtbot.addWidget(parent)
    messages = ArchiveMessages(parent)

    def type_it(dialog: QDialog) -> None:
        (edit,) = dialog.findChildren(QLineEdit)
        assert edit.text() == str(Path("/copies/archive"))
        edit.setText(typed)
        dialog.accept()

    given = answer(messages, lambda: messages.ask_new_folder(Path("/copies/archive")), type_it)
    assert given == Path(meant or "/copies/~nobody-here/x")


def test_faults_are_listed_and_copied_by_no_slip_of_the_enter_key(qtbot: QtBot) -> None:
    parent = QWidget()
    qtbot.addWidget(parent)
    messages = ArchiveMessages(parent)

    def press_enter(dialog: QDialog) -> None:
        (listing,) = dialog.findChildren(QPlainTextEdit)
        assert listing.toPlainText() == "KD-2 A: is missing\nKD-3 A: is missing"
        qtbot.keyClick(dialog, Qt.Key.Key_Return)

    faults = ("KD-2 A: is missing", "KD-3 A: is missing")
    assert not answer(messages, lambda: messages.ask_despite_faults(faults), press_enter)
    assert answer(messages, lambda: messages.ask_despite_faults(faults), QDialog.accept)


# The process


def test_a_crew_gives_back_raises_and_gives_up(tmp_path: Path) -> None:
    crew = GentleCrew()
    assert crew.submit(len, "four").result(WAIT_S) == 4
    with pytest.raises(ValueError, match="invalid literal"):
        crew.submit(int, "four").result(WAIT_S)
    with pytest.raises(EnvironmentProblem, match="stopped unexpectedly"):
        crew.submit(keeping_workers.die).result(WAIT_S)
    given_up: Future[Any] = crew.submit(keeping_workers.write_slowly, tmp_path / "x")
    crew.stop()  # perhaps before it has begun
    with pytest.raises(GivenUp):
        given_up.result(WAIT_S)
    crew.close()
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_that_was_lost_comes_again(tmp_path: Path) -> None:
    crew = GentleCrew()
    given_up = crew.submit(keeping_workers.write_and_hear_nothing_once, tmp_path / "x")
    while not any(tmp_path.glob(".*/half")):
        assert crew._process is not None
        assert crew._process.is_alive()
        time.sleep(0.01)
    crew.stop()
    with pytest.raises(GivenUp):
        given_up.result(WAIT_S)
    crew.close()
    # Killed for not ending, it would have left its half.
    assert list(tmp_path.iterdir()) == []


def test_what_is_copied_ends_with_the_program_and_leaves_nothing(tmp_path: Path) -> None:
    code = f"""
import os, pathlib, sys, time
sys.path[:0] = {sys.path!r}
from kerfdocket.window.archive.gentle import GentleCrew
from window import keeping_workers
if __name__ == "__main__":
    place = pathlib.Path(sys.argv[1])
    GentleCrew().submit(keeping_workers.write_slowly, place / "x")
    while not list(place.glob(".*/half")):
        time.sleep(0.01)
    os._exit(0)
"""
    place = tmp_path / "copies"
    place.mkdir()
    subprocess.run([sys.executable, "-c", code, str(place)], check=True, timeout=60)
    end = time.monotonic() + WAIT_S
    while list(place.iterdir()) and time.monotonic() < end:
        time.sleep(0.02)
    assert list(place.iterdir()) == []


# What need not be kept any longer


@pytest.fixture
def years_passed(archive_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One has ended, and all that happened is six years old."""
    archive = open_archive(archive_file)
    archive.move("KD-2", "withdrawn", "F", "No plate.")
    archive.close()

    def latest(self: retention.Rule, _today: date) -> date:
        return date(9999, 1, 1) if self.years <= 6 else date(2000, 1, 1)

    monkeypatch.setattr(retention.Rule, "latest", latest)


@pytest.mark.usefixtures("years_passed")
def test_it_lists_what_need_not_be_kept_and_gives_nothing_up(
    qtbot: QtBot, open_page: OpenPage, asked: Answers, tmp_path: Path, archive_file: Path
) -> None:
    page = open_page()
    before = archive_file.read_bytes()
    assert page.years.value() == YEARS == keeping_page._YEARS
    assert page.model.rows == ()
    assert not page.csv_button.isEnabled()
    assert page.count.text() == "0 numbers: nothing has happened to them for 10 years."
    assert "only common practice, without a source" in page.how_long.text()
    page.years.setFocus()
    page.years.selectAll()
    qtbot.keyClicks(page.years, "6")
    settle(qtbot, page._side)
    (row,) = page.model.rows
    assert row.cells[:2] == ("KD-2", "withdrawn")
    assert row.cells[3] == "0 pages"
    assert page.discard_command.text() == (
        f"kerfdocket archive --archive {as_typed(str(archive_file))} discard NUMBER --reason REASON"
    )
    asked.path = tmp_path / "list.csv"
    press(qtbot, page, page.csv_button)
    (line,) = csv.DictReader(asked.path.read_text("utf-8-sig").splitlines())
    assert (line["number"], line["state"], line["pages"]) == ("KD-2", "withdrawn", "0")
    asked.path = tmp_path / "nowhere" / "list.csv"
    press(qtbot, page, page.csv_button)
    assert asked.told[0].startswith("The list cannot be saved. cannot write")
    assert archive_file.read_bytes() == before


@pytest.mark.usefixtures("years_passed")
def test_what_happens_to_one_is_seen_at_once(qtbot: QtBot, open_page: OpenPage) -> None:
    page = open_page()
    page.years.setValue(5)
    settle(qtbot, page._side)
    assert [row.key for row in page.model.rows] == ["KD-2"]
    page._side.desk.ask(
        lambda archive: archive.move("KD-1", "withdrawn", "F", "No plate.", "A"),
        lambda _moved: None,
        lambda error: pytest.fail(str(error)),
        is_change=True,
    )
    settle(qtbot, page._side)
    assert {row.key for row in page.model.rows} == {"KD-1", "KD-2"}


# What there is


def told(page: KeepingPage) -> dict[str, dict[str, str]]:
    found = {}
    for at in range(page.counts.topLevelItemCount()):
        head = page.counts.topLevelItem(at)
        assert head is not None
        rows = [head.child(row) for row in range(head.childCount())]
        found[head.text(0)] = {row.text(0): row.text(1) for row in rows}
    return found


def test_it_counts_when_it_is_shown_and_when_it_is_asked(
    qtbot: QtBot, open_side: OpenSide, archive_file: Path
) -> None:
    side = open_side()
    window = side.show()
    settle(qtbot, side)
    page = window.keeping
    assert side.keeper.counted is None
    said: list[str] = []
    side.keeper.count_changed.connect(lambda: said.append(page.as_of.text()))
    window.tabs.setCurrentIndex(KEEPING)
    settle(qtbot, side)
    assert said[0] == "Counting …"
    assert page.total.text().startswith("4 travellers, ")
    assert told(page)["By state"] == {
        "issued": "1", "on the floor": "1", "returned": "1", "superseded": "1",
    }  # fmt: skip
    assert told(page)["Came back"]["with front and back"] == "1"
    assert told(page)["Came back"]["pages in the tray"] == "1"
    assert "fewer than 5 say nothing" in told(page)["Came back"]["days away, quartiles"]
    assert page.as_of.text().startswith("Counted ")
    archive = open_archive(archive_file)
    archive.move("KD-2", "returned", "F")
    archive.close()
    # Coming back to it does not count again; it may take minutes.
    window.tabs.setCurrentIndex(0)
    window.tabs.setCurrentIndex(KEEPING)
    settle(qtbot, side)
    assert told(page)["By state"]["returned"] == "1"
    qtbot.keyClick(window, Qt.Key.Key_F5)
    settle(qtbot, side)
    assert told(page)["By state"]["returned"] == "2"
    page.copy_button.click()
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[:4] == [page.total.text(), "", "By state", "issued\t1"]


def test_in_another_process_it_counts_the_same(page: KeepingPage, archive_file: Path) -> None:
    crew = GentleCrew()
    there = crew.submit(keeper.count_archive, str(archive_file), "en").result(WAIT_S)
    crew.close()
    assert there == page._keeper.counted


def test_what_cannot_be_counted_is_said(
    qtbot: QtBot, page: KeepingPage, asked: Answers, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_ignored: object) -> None:
        raise EnvironmentProblem("the disk is gone")

    monkeypatch.setattr(keeper, "count_archive", fail)
    page.refresh_button.click()
    settle(qtbot, page._side)
    assert page.as_of.text() == "It could not be counted: the disk is gone"
    assert asked.told == []
    monkeypatch.undo()
    page.refresh_button.click()
    settle(qtbot, page._side)
    assert page.as_of.text().startswith("Counted ")


def test_another_archive_is_counted_anew(
    qtbot: QtBot, page: KeepingPage, asked: Answers, tmp_path: Path
) -> None:
    asked.place = str(tmp_path / "other.sqlite")
    window_of(page).use_another()
    assert page.total.text() == ""
    settle(qtbot, page._side)
    assert page.total.text() == "0 travellers, 0 events"
    assert asked.place in page.discard_command.text()


def test_a_new_archive_is_not_counted_before_it_is_made(
    qtbot: QtBot, page: KeepingPage, asked: Answers, tmp_path: Path
) -> None:
    asked.place = str(tmp_path / "other.sqlite")
    go_on = threading.Event()
    page._side.desk.ask(lambda _archive: go_on.wait(WAIT_MS / 1000), bool, bool)
    window_of(page).use_another()
    assert not page._keeper.is_counting
    assert not Path(asked.place).exists()
    go_on.set()
    settle(qtbot, page._side)
    assert page.total.text() == "0 travellers, 0 events"


# The language, room


def test_another_language_says_all_anew(
    qtbot: QtBot, page: KeepingPage, asked: Answers, tmp_path: Path
) -> None:
    asked.path = tmp_path / "b.sqlite"
    press(qtbot, page, page.backup_button)
    page.years.setValue(7)
    window = window_of(page)
    set_language(language_named("en-XA"))
    window._side.say_anew()
    settle(qtbot, window._side)
    again = window.keeping
    assert again is not page
    assert window.tabs.currentWidget() is again
    assert again.years.value() == 7
    for said in (again.outcome, again.total, again.as_of, again.count, again.how_long):
        assert said.text().startswith("⟦")
    assert all(head.startswith("⟦") for head in told(again))


def test_words_are_not_cut_off_on_a_small_screen(
    qtbot: QtBot, page: KeepingPage, asked: Answers, tmp_path: Path
) -> None:
    set_language(language_named("en-XA"))
    window = window_of(page)
    window._side.say_anew()
    settle(qtbot, window._side)
    asked.path = tmp_path / "b.sqlite"
    press(qtbot, window.keeping, window.keeping.backup_button)
    qtbot.wait(1)  # what has grown is laid out
    assert (window.width(), window.height()) == (1366, 728)
    for label in window.keeping.findChildren(keeping_page._Words):
        if label.isVisible():
            assert label.height() >= label.heightForWidth(label.width()), label.text()
