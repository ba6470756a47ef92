"""The archive's window, on an archive in a file, asked by the real desk."""

import dataclasses
import json
import threading
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit
from pytestqt.qtbot import QtBot

from kerfdocket.archive import (
    Archive,
    actuals_of,
    match_page,
    open_archive,
    pages_of,
    record_actuals,
    tray,
)
from kerfdocket.archive.paged import PagedRows
from kerfdocket.errors import KerfdocketError
from kerfdocket.job import Job
from kerfdocket.language import language_named, set_language, speaking
from kerfdocket.planning import Plan
from kerfdocket.window import Services
from kerfdocket.window.archive.actuals_dialog import ActualsDialog
from kerfdocket.window.archive.archive_window import ArchiveWindow
from kerfdocket.window.archive.asked import ArchiveMessages
from kerfdocket.window.archive.page_reader import PageReader
from kerfdocket.window.archive.side import ArchiveSide
from kerfdocket.window.archive.travellers_model import PAGE_ROWS
from kerfdocket.window.archive_desk import ArchiveDesk
from kerfdocket.window.newest import ThreadCrew
from window import scans
from window.archived import CHECKS, drop, dropped, sheet_of
from window.conftest import WAIT_MS


class Answers(ArchiveMessages):
    """Answers every question as told, and remembers what was said."""

    def __init__(self) -> None:
        self.told: list[str] = []
        self.asked: list[str] = []
        self.reason: str | None = "The drawing was changed."
        self.is_sure = True
        self.name = "R. Amsel"
        self.path: Path | None = None
        self.paths: list[Path] = []
        self.place: str | None = None

    def tell(self, doing: str, error: KerfdocketError) -> None:
        self.told.append(f"{doing} {error}")

    def tell_result(self, text: str, lines: Sequence[str] = ()) -> None:
        self.told.append("\n".join((text, *lines)))

    def ask_person(self, known: str) -> str:
        self.asked.append(f"person {known}".strip())
        return self.name

    def ask_withdraw_reason(self, name: str) -> str | None:
        self.asked.append(f"withdraw {name}")
        return self.reason

    def ask_aside_reason(self, name: str) -> str | None:
        self.asked.append(f"aside {name}")
        return self.reason

    def ask_put_back_reason(self, name: str) -> str | None:
        self.asked.append(f"put back {name}")
        return self.reason

    def ask_close(self, name: str, is_bare: bool) -> bool:
        self.asked.append(f"close {name}{', bare' if is_bare else ''}")
        return self.is_sure

    def ask_drop_values(self) -> bool:
        self.asked.append("drop values")
        return self.is_sure

    def ask_scans(self, folder: Path) -> list[Path]:
        self.asked.append(f"scans {folder.name}")
        return self.paths

    def ask_scanner_folder(self, folder: Path) -> Path | None:
        self.asked.append(f"scanner {folder.name}")
        return self.path

    def ask_export_path(self, suggestion: Path) -> Path | None:
        self.asked.append(f"export {suggestion.name}")
        return self.path

    def ask_archive(self, place: str) -> str | None:
        self.asked.append(f"archive {place}")
        return self.place


@pytest.fixture
def open_again(archive_file: Path) -> Iterator[Callable[[], Archive]]:
    """Look at the archive from outside."""
    opened: list[Archive] = []

    def look() -> Archive:
        opened.append(open_archive(archive_file))
        return opened[-1]

    yield look
    for archive in opened:
        archive.close()


@pytest.fixture
def asked() -> Answers:
    return Answers()


OpenSide = Callable[..., ArchiveSide]


@pytest.fixture
def open_side(
    qapp: QApplication, services: Services, archive_file: Path, asked: Answers
) -> Iterator[OpenSide]:
    """Make all of the archive but the main window; all of it is ended afterwards."""
    opened: list[tuple[ArchiveSide, ArchiveDesk]] = []

    def open_one(read: Any = scans.read_lines, **changes: Any) -> ArchiveSide:
        changed = dataclasses.replace(
            services,
            **{"archive_place": lambda: _remembered(services) or str(archive_file), **changes},
        )
        desk = ArchiveDesk(changed.archive_place)
        side = ArchiveSide(
            changed, desk, None, asked, PageReader(read), 0, verify_crew=ThreadCrew()
        )
        side.set_who("M. Quay")
        bugs: list[object] = []
        side.bug.connect(bugs.append)
        opened.append((side, desk))
        side.bugs = bugs  # type: ignore[attr-defined]
        return side

    yield open_one
    for side, desk in opened:
        side.close()
        desk.close()
        assert side.bugs == []  # type: ignore[attr-defined]
        side.deleteLater()
    qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    assert [one for one in threading.enumerate() if one.name.startswith("archive")] == []


def _remembered(services: Services) -> str:
    from kerfdocket.window.preferences import remembered

    return remembered(services.preferences(), "archive")


def settle(qtbot: QtBot, side: ArchiveSide) -> None:
    """Wait until nothing is asked and nothing is taken any more."""
    window = side.window
    page = window.travellers if window is not None else None

    def is_still() -> bool:
        timers = page is None or not (
            page._timer.isActive()
            or page.filter._debounce.isActive()
            or window.tray._timer.isActive()  # type: ignore[union-attr]
            or page.model._waiting
        )
        return timers and not (side.desk.is_busy or side.intake.is_busy or side.intake.desk.is_busy)

    qtbot.waitUntil(is_still, timeout=WAIT_MS)


@pytest.fixture
def side(open_side: OpenSide) -> ArchiveSide:
    return open_side()


@pytest.fixture
def window(qtbot: QtBot, side: ArchiveSide) -> ArchiveWindow:
    shown = side.show()
    shown.resize(1366, 728)
    settle(qtbot, side)
    return shown


def listed(window: ArchiveWindow) -> list[tuple[str, str, str]]:
    model = window.travellers.model
    return [
        tuple(str(model.index(row, column).data()) for column in range(3))  # type: ignore[misc]
        for row in range(model.rowCount())
    ]


def choose(qtbot: QtBot, window: ArchiveWindow, row: int) -> None:
    window.travellers.view.setFocus()
    window.travellers.view.selectRow(row)
    settle(qtbot, window._side)


def do(qtbot: QtBot, window: ArchiveWindow, deed: str) -> None:
    button = window.travellers.detail.buttons[deed]
    assert button.isEnabled()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    settle(qtbot, window._side)


# Finding


def test_it_lists_the_newest_first_and_says_how_many(window: ArchiveWindow) -> None:
    assert listed(window) == [
        ("KD-3", "B", "issued"),
        ("KD-3", "A", "superseded"),
        ("KD-2", "A", "on the floor"),
        ("KD-1", "A", "returned"),
    ]
    assert window.travellers.count.text() == "4 travellers"
    assert window.tabs.tabText(1).replace("&", "") == "Tray (1)"


def test_words_and_fields_find(qtbot: QtBot, window: ArchiveWindow) -> None:
    bar = window.travellers.filter
    qtbot.keyClicks(bar.text, "winch b")
    settle(qtbot, window._side)
    assert [row[0] for row in listed(window)] == ["KD-1"]
    assert window.travellers.count.text() == "1 traveller found"
    qtbot.mouseClick(bar.clear_button, Qt.MouseButton.LeftButton)
    bar.more.setChecked(True)
    qtbot.keyClicks(bar.edit("customer"), "tidal")
    settle(qtbot, window._side)
    assert [row[0] for row in listed(window)] == ["KD-2"]
    bar.clear()
    bar.state.setCurrentIndex(bar.state.findData("superseded"))
    settle(qtbot, window._side)
    assert listed(window) == [("KD-3", "A", "superseded")]


def test_a_gas_is_looked_for_as_it_is_called_here(window: ArchiveWindow) -> None:
    bar = window.travellers.filter
    bar.edit("gas").setText("erdg")
    with speaking(language_named("de")):
        assert bar.sought.words == {"gas": "natural gas"}
    assert bar.sought.words == {"gas": "erdg"}


def test_a_thickness_needs_its_unit_and_says_so(qtbot: QtBot, window: ArchiveWindow) -> None:
    bar = window.travellers.filter
    bar.more.setChecked(True)
    qtbot.keyClicks(bar.edit("thickness_from"), "13")
    settle(qtbot, window._side)
    assert bar.problem.isVisible()
    assert "Thickness from: '13' is not a length" in bar.problem.text()
    assert len(listed(window)) == 4
    qtbot.keyClicks(bar.edit("thickness_from"), " mm")
    settle(qtbot, window._side)
    assert not bar.problem.isVisible()
    assert listed(window) == []
    bar.edit("thickness_from").setText("11,5 mm")
    bar.edit("thickness_to").setText("0.5 in")
    bar.edit("day_from").setText("2200-01-01")
    settle(qtbot, window._side)
    assert "2200-01-01" in bar.problem.text()
    assert len(listed(window)) == 4


def test_of_many_searches_the_newest_is_shown(qtbot: QtBot, window: ArchiveWindow) -> None:
    window.travellers.model.look_for(dataclasses.replace(window.travellers.filter.sought))
    for text in ("ribs", "lugs", "winch"):
        window.travellers.model.look_for(
            dataclasses.replace(window.travellers.filter.sought, text=text)
        )
    settle(qtbot, window._side)
    assert [row[0] for row in listed(window)] == ["KD-1"]


def test_with_the_keyboard_from_the_search_to_the_traveller(
    qtbot: QtBot, window: ArchiveWindow
) -> None:
    window.tabs.setCurrentIndex(2)
    qtbot.keyClick(window, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    assert window.tabs.currentIndex() == 0
    edit = window.travellers.filter.text
    qtbot.keyClicks(edit, "ribs")
    qtbot.keyClick(edit, Qt.Key.Key_Return)
    settle(qtbot, window._side)
    qtbot.keyClick(window.travellers.view, Qt.Key.Key_Home)
    settle(qtbot, window._side)
    assert window.travellers.detail.name.text() == "KD-2 A: on the floor"


def test_of_many_thousands_only_what_is_in_sight_is_fetched_and_never_here(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "many.sqlite"
    _fill(place, 100_000)
    here = threading.get_ident()
    asked_here: list[str] = []
    fetched: list[int] = []
    for name in ("fetch", "__init__"):
        real = getattr(PagedRows, name)

        def watched(self: PagedRows, *args: Any, real: Any = real, name: str = name) -> Any:
            if threading.get_ident() == here:
                asked_here.append(name)
            if name == "fetch":
                fetched.append(args[0])
            return real(self, *args)

        monkeypatch.setattr(PagedRows, name, watched)
    side = open_side(archive_place=lambda: str(place))
    window = side.show()
    window.resize(1366, 728)
    settle(qtbot, side)
    view, model = window.travellers.view, window.travellers.model
    assert model.rowCount() == 100_000
    fetched.clear()
    bar = view.verticalScrollBar()
    for step in range(50):
        bar.setValue(bar.maximum() * (step + 1) // 50)
        view.viewport().repaint()
        QApplication.processEvents()
    assert view.viewport().isVisible()
    settle(qtbot, side)
    view.viewport().repaint()
    settle(qtbot, side)
    first, last = window.travellers.visible_rows()
    assert last == 99_999
    assert {model.index(row, 0).data() for row in (first, last)} == {
        f"N-{100_000 - row:06}" for row in (first, last)
    }
    # At most the pages that came into sight, two a step; most were passed by.
    assert len(fetched) <= 100
    assert all(0 <= index < 100_000 and index % PAGE_ROWS == 0 for index in fetched)
    assert asked_here == []
    # What is not there yet says so, and does not wait.
    model._found._pages.clear()  # type: ignore[union-attr]
    assert model.index(50_000, 0).data() == "…"
    settle(qtbot, side)
    assert model.index(50_000, 0).data() == "N-050000"


def _fill(place: Path, count: int) -> None:
    """Travellers without a chain: only the list is looked at."""
    from kerfdocket.archive.engine import writing

    facts = "title, customer, drawing, grade, thickness, nozzle, gas, date"
    archive = open_archive(place)
    with writing(archive.engine) as connection:
        connection.exec_driver_sql("INSERT INTO content VALUES ('0', '')")
        connection.exec_driver_sql(
            "WITH RECURSIVE n(at) AS (SELECT 1 UNION ALL SELECT at + 1 FROM n WHERE at < ?) "
            f"INSERT INTO traveller (number, revision, state, issued_at, reason, job, plan, pdf, "
            f"{facts}) SELECT printf('N-%06d', at), 'A', 'issued', '2026-11-25T08:00:00+00:00', "
            "'', '0', '0', '0', '', '', '', '', '', '', '', '' FROM n",
            (count,),
        )
    archive.close()


# One of them


def test_what_has_no_plan_says_what_is_wrong_with_it(
    qtbot: QtBot, window: ArchiveWindow, open_again: Callable[[], Archive]
) -> None:
    written = {"ended": "2026-11-25 16:10", "cutter_time": "2026-11-25 15:00"}
    record_actuals(open_again(), "KD-1", "A", written, "F")
    choose(qtbot, window, 3)
    rows = {row.key: row for row in window.travellers.detail.comparison.rows}
    assert rows["cutter_time"].cells[4].startswith("Signed before the work ended")
    assert rows["remarks"].cells[4] == ""


def test_it_shows_plan_and_work_pages_and_history(qtbot: QtBot, window: ArchiveWindow) -> None:
    choose(qtbot, window, 3)
    detail = window.travellers.detail
    assert detail.name.text() == "KD-1 A: returned"
    assert not detail.banner.isVisible()
    rows = {row.key: row for row in detail.comparison.rows}
    assert rows["nozzle_pressure"].cells[2:4] == ("about five", "not comparable")
    assert "give a number and its unit" in rows["nozzle_pressure"].cells[4]
    assert rows["remarks"].cells[2] == "one\ntwo"
    assert detail.comparison_note.isVisible()
    assert "Gas volumes at 15 °C, 1 bar absolute" in detail.comparison_note.text()
    senses = [row.cells[3] for row in detail.comparison.rows]
    assert senses == sorted(senses, key=lambda sense: sense == "not stated")
    assert detail.zone.text().startswith("Times on the clock here: UTC")
    assert [row.cells[2] for row in detail.history.rows] == [
        "issued",
        "page taken",
        "returned",
        "page taken",
        "recorded",
    ]
    detail.tabs.setCurrentIndex(1)
    assert len(detail.pages.pages) == 2
    qtbot.waitUntil(lambda: detail.pages.picture.has_picture, timeout=WAIT_MS)
    detail.pages.list.setCurrentRow(1)
    settle(qtbot, window._side)
    assert detail.pages.picture.has_picture


def test_a_superseded_sheet_says_so_over_all_else(qtbot: QtBot, window: ArchiveWindow) -> None:
    choose(qtbot, window, 1)
    detail = window.travellers.detail
    assert detail.banner.isVisible()
    assert detail.banner.text() == (
        "SUPERSEDED: do not cut by this sheet. The last revision is B, issued."
    )
    moves = ("on the floor", "returned", "closed", "withdrawn")
    assert not any(detail.buttons[deed].isEnabled() for deed in (*moves, "print"))
    detail.tabs.setCurrentIndex(3)
    detail.revisions_view.selectRow(1)
    detail.revisions_view.activated.emit(detail.revisions.index(1, 0))
    settle(qtbot, window._side)
    assert detail.name.text() == "KD-3 B: issued"
    assert detail.reason.text() == "Issued anew: The plate is thicker."


def test_it_goes_through_its_states(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, open_again: Callable[[], Archive]
) -> None:
    choose(qtbot, window, 0)
    do(qtbot, window, "on the floor")
    do(qtbot, window, "returned")
    asked.is_sure = False
    do(qtbot, window, "closed")
    assert open_again().revisions("KD-3")[-1].state == "returned"
    asked.is_sure = True
    do(qtbot, window, "closed")
    assert asked.asked == ["close KD-3 B, bare"] * 2
    detail = window.travellers.detail
    assert detail.name.text() == "KD-3 B: closed"
    assert listed(window)[0] == ("KD-3", "B", "closed")
    assert window.travellers.view.currentIndex().row() == 0
    told = [(one.what, one.who) for one in open_again().events("KD-3")][-3:]
    assert told == [("on the floor", "M. Quay"), ("returned", "M. Quay"), ("closed", "M. Quay")]


def test_closing_one_that_came_back(qtbot: QtBot, window: ArchiveWindow, asked: Answers) -> None:
    choose(qtbot, window, 3)
    do(qtbot, window, "closed")
    assert asked.asked == ["close KD-1 A"]


def test_withdrawing_asks_for_the_reason(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, open_again: Callable[[], Archive]
) -> None:
    choose(qtbot, window, 2)
    asked.reason = None
    do(qtbot, window, "withdrawn")
    assert open_again().revisions("KD-2")[-1].state == "on the floor"
    asked.reason = "The drawing was changed."
    do(qtbot, window, "withdrawn")
    assert asked.asked == ["withdraw KD-2 A"] * 2
    assert window.travellers.detail.banner.text() == (
        "WITHDRAWN: do not cut by this sheet. The drawing was changed."
    )


def test_a_revision_that_came_meanwhile_is_not_moved_unseen(
    qtbot: QtBot,
    window: ArchiveWindow,
    asked: Answers,
    planned: tuple[Job, Plan],
    open_again: Callable[[], Archive],
) -> None:
    choose(qtbot, window, 2)
    other = open_again()
    newer = dataclasses.replace(sheet_of(planned, "KD-2"), check="EEEEEEEEEE")
    other.reissue("KD-2", "B", newer, "someone else", "thicker")
    do(qtbot, window, "withdrawn")
    assert "KD-2 A is no longer the last one, B is" in asked.told[0]
    assert [one.state for one in other.revisions("KD-2")] == ["superseded", "issued"]


def test_nobody_known_is_asked_for_the_name(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("kerfdocket.window.archive.side.person", lambda _file: "")
    asked.name = ""
    choose(qtbot, window, 2)
    do(qtbot, window, "returned")
    assert asked.asked == ["person"]
    assert window.travellers.detail.name.text() == "KD-2 A: on the floor"


def test_exporting_writes_the_very_sheet(
    qtbot: QtBot,
    window: ArchiveWindow,
    asked: Answers,
    tmp_path: Path,
    planned: tuple[Job, Plan],
) -> None:
    choose(qtbot, window, 2)
    asked.path = tmp_path / "again.pdf"
    do(qtbot, window, "export")
    assert asked.asked == ["export KD-2-A.pdf"]
    assert asked.path.read_bytes() == sheet_of(planned, "KD-2").pdf
    asked.path = tmp_path / "nowhere" / "again.pdf"
    do(qtbot, window, "export")
    assert "KD-2 A cannot be exported. cannot write" in asked.told[0]


def test_the_file_of_a_void_sheet_says_so(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, tmp_path: Path
) -> None:
    choose(qtbot, window, 1)
    asked.path = tmp_path / "void.pdf"
    do(qtbot, window, "export")
    assert asked.asked == ["export KD-3-A-superseded.pdf"]
    assert asked.path.exists()


def test_what_somebody_else_withdrew_is_not_printed(
    qtbot: QtBot,
    window: ArchiveWindow,
    asked: Answers,
    open_again: Callable[[], Archive],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    printed: list[int] = []  # pages, each time
    monkeypatch.setattr(
        "kerfdocket.window.printing.ask_printer", lambda pages, _parent: printed.append(pages)
    )
    choose(qtbot, window, 2)
    do(qtbot, window, "print")
    assert printed == [2]
    other = open_again()
    other.move("KD-2", "withdrawn", "F", "not wanted")
    do(qtbot, window, "print")
    assert printed == [2]
    assert asked.told[0].startswith("KD-2 A cannot be printed. It is withdrawn")


# What was written


def entering(qtbot: QtBot, window: ArchiveWindow) -> ActualsDialog:
    choose(qtbot, window, 3)
    do(qtbot, window, "enter")
    return window.findChildren(ActualsDialog)[-1]


def _label_texts(dialog: ActualsDialog) -> str:
    return "\n".join(label.text() for label in dialog.findChildren(QLabel) if label.isVisible())


def is_open(window: ArchiveWindow) -> bool:
    return any(dialog.isVisible() for dialog in window.findChildren(ActualsDialog))


def test_values_are_entered_kept_as_typed_and_compared(
    qtbot: QtBot, window: ArchiveWindow, open_again: Callable[[], Archive]
) -> None:
    dialog = entering(qtbot, window)
    assert dialog.places["nozzle_pressure"].text == "about five"
    assert dialog.places["remarks"].text == "one\ntwo"
    assert "give a number and its unit" in dialog.places["nozzle_pressure"].problem.text()
    assert not dialog.save_button.isEnabled()
    field = dialog.places["measured_size"].edit
    assert isinstance(field, QLineEdit)
    qtbot.keyClicks(field, "+0,4")
    qtbot.waitUntil(lambda: not dialog._check.isActive(), timeout=WAIT_MS)
    assert dialog.places["measured_size"].problem.text() == ""
    cutter = dialog.places["cutter_time"].edit
    assert isinstance(cutter, QLineEdit)
    qtbot.keyClicks(cutter, "after lunch")
    qtbot.waitUntil(lambda: not dialog._check.isActive(), timeout=WAIT_MS)
    assert "kept as it is written" in dialog.places["cutter_time"].problem.text()
    qtbot.mouseClick(dialog.save_button, Qt.MouseButton.LeftButton)
    settle(qtbot, window._side)
    assert not is_open(window)
    kept = actuals_of(open_again(), "KD-1", "A")
    assert kept == {
        "nozzle_pressure": "about five",
        "remarks": "one\ntwo",
        "measured_size": "+0,4",
        "cutter_time": "after lunch",
    }
    rows = {row.key: row for row in window.travellers.detail.comparison.rows}
    assert rows["measured_size"].cells[2] != ""


def test_what_another_entered_meanwhile_stays(
    qtbot: QtBot, window: ArchiveWindow, open_again: Callable[[], Archive]
) -> None:
    dialog = entering(qtbot, window)
    record_actuals(open_again(), "KD-1", "A", {"nozzle_pressure": "5 bar"}, "someone else")
    dialog.places["cutter_name"].edit.setText("J. Toft")  # type: ignore[union-attr]
    dialog.save()
    settle(qtbot, window._side)
    kept = actuals_of(open_again(), "KD-1", "A")
    assert (kept["nozzle_pressure"], kept["cutter_name"]) == ("5 bar", "J. Toft")


def test_nothing_typed_is_lost_where_saving_fails(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, open_again: Callable[[], Archive]
) -> None:
    dialog = entering(qtbot, window)
    dialog.places["cutter_name"].edit.setText("J. Toft")  # type: ignore[union-attr]
    open_again().move("KD-1", "closed", "someone else")
    dialog.save()
    settle(qtbot, window._side)
    assert dialog.isVisible()
    assert "Not saved: KD-1 is closed" in dialog.trouble.text()
    assert dialog.places["cutter_name"].text == "J. Toft"
    assert dialog.reason.isVisible()
    assert not dialog.save_button.isEnabled()
    asked.is_sure = False
    dialog.reject()
    assert dialog.isVisible()
    assert not window._side.may_leave()
    asked.is_sure = True
    assert window._side.may_leave()
    dialog.reject()
    assert not is_open(window)


def test_what_a_closed_one_was_signed_with_is_put_right_for_a_reason(
    qtbot: QtBot, window: ArchiveWindow, open_again: Callable[[], Archive]
) -> None:
    open_again().move("KD-1", "closed", "someone else")
    window._side.desk.changed.emit()
    settle(qtbot, window._side)
    dialog = entering(qtbot, window)
    assert "put right for a reason" in _label_texts(dialog)
    dialog.places["nozzle_pressure"].edit.setText("5 bar")  # type: ignore[union-attr]
    assert not dialog.save_button.isEnabled()
    dialog.save()
    assert is_open(window)
    qtbot.keyClicks(dialog.reason, " misread ")
    qtbot.mouseClick(dialog.save_button, Qt.MouseButton.LeftButton)
    settle(qtbot, window._side)
    assert not is_open(window)
    archive = open_again()
    assert actuals_of(archive, "KD-1", "A")["nozzle_pressure"] == "5 bar"
    last = archive.events("KD-1")[-1]
    assert (last.what, json.loads(last.details)["reason"]) == ("recorded", "misread")
    assert archive.revisions("KD-1")[-1].state == "closed"


def test_an_open_one_asks_for_no_reason(qtbot: QtBot, window: ArchiveWindow) -> None:
    assert not entering(qtbot, window).reason.isVisible()


# The tray


def test_a_page_of_the_tray_is_put_to_its_traveller(
    qtbot: QtBot, window: ArchiveWindow, open_again: Callable[[], Archive]
) -> None:
    window.tabs.setCurrentWidget(window.tray)
    tray_page = window.tray
    assert tray_page.reason.text() == "no code could be read on this page"
    qtbot.waitUntil(lambda: tray_page.pages.picture.has_picture, timeout=WAIT_MS)
    assert not tray_page.match_button.isEnabled()
    qtbot.keyClicks(tray_page.number, "KD")
    settle(qtbot, window._side)
    assert tray_page._names.stringList() == ["KD-3", "KD-2", "KD-1"]
    assert tray_page.what.text() == "No traveller has this number."
    tray_page.number.setText("KD-3")
    settle(qtbot, window._side)
    assert tray_page.revision.currentText() == "B, issued"
    assert not tray_page.warning.isVisible()
    tray_page.revision.setCurrentIndex(1)
    assert "KD-3 A is superseded" in tray_page.warning.text()
    tray_page.side_box.setCurrentIndex(2)
    qtbot.mouseClick(tray_page.match_button, Qt.MouseButton.LeftButton)
    settle(qtbot, window._side)
    archive = open_again()
    page = pages_of(archive, "KD-3")[0]
    assert (page.revision, page.side, page.how) == ("A", "B", "hand")
    assert tray(archive) == ()
    assert tray_page.count == 0
    assert window.tabs.tabText(1).replace("&", "") == "Tray (0)"
    assert "KD-3 A is superseded" in window.warning.text()
    assert window.warning.isVisible()
    qtbot.mouseClick(window.seen_button, Qt.MouseButton.LeftButton)
    assert not window.warning.isVisible()


def test_a_page_with_the_wrong_traveller_is_put_into_the_tray_again(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, open_again: Callable[[], Archive]
) -> None:
    waiting = tray(open_again())[0]
    match_page(open_again(), waiting.file, waiting.page, "KD-2", "A", "M. Quay")
    window.show_traveller("KD-2", "A")
    settle(qtbot, window._side)
    detail = window.travellers.detail
    before = len(detail.pages.pages)
    row = next(at for at, one in enumerate(detail.pages.pages) if one.file == waiting.file)
    detail.pages.list.setCurrentRow(row)
    asked.reason = ""
    detail.back_button.click()
    settle(qtbot, window._side)
    assert len(detail.pages.pages) == before
    asked.reason = "It is another shop's."
    detail.back_button.click()
    settle(qtbot, window._side)
    assert len(detail.pages.pages) == before - 1
    assert [one.file for one in tray(open_again())] == [waiting.file]
    assert open_again().events()[-1].what == "page put back"
    assert window.tray.count == 1


def test_a_page_of_the_tray_is_set_aside_for_a_reason(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, open_again: Callable[[], Archive]
) -> None:
    window.tabs.setCurrentWidget(window.tray)
    asked.reason = ""
    qtbot.mouseClick(window.tray.aside_button, Qt.MouseButton.LeftButton)
    settle(qtbot, window._side)
    assert window.tray.count == 1
    asked.reason = "A delivery note."
    qtbot.mouseClick(window.tray.aside_button, Qt.MouseButton.LeftButton)
    settle(qtbot, window._side)
    assert window.tray.count == 0
    assert not window.tray.aside_button.isEnabled()
    assert open_again().events()[-1].what == "page set aside"


# Taking


def cells(window: ArchiveWindow) -> list[tuple[str, ...]]:
    return [row.cells[1:] for row in window.taking.model.rows]


def test_what_is_dropped_is_taken_one_by_one(
    qtbot: QtBot, window: ArchiveWindow, tmp_path: Path, open_again: Callable[[], Archive]
) -> None:
    folder = tmp_path / "pile"
    (folder / "deeper").mkdir(parents=True)
    (folder / "deeper" / "b.PDF").write_bytes(
        scans.scan(f"KD-2:A:F:{CHECKS['KD-2']}", "coffee", f"KD-3:A:B:{CHECKS['KD-3']}")
    )
    (folder / "a.png").write_bytes(b"a letter")
    (folder / "notes.txt").write_bytes(b"not looked at")
    gone = tmp_path / "gone.pdf"
    gone.touch()
    mime = dropped([gone, folder])
    gone.unlink()
    assert not drop(window, dropped([tmp_path / "job.toml"]))
    assert drop(window, mime)
    settle(qtbot, window._side)
    assert window.tabs.currentWidget() is window.taking
    said = cells(window)
    assert said[:2] == [
        ("gone.pdf", "", "not taken", "No such file or directory"),
        ("a.png", "", "not taken", "a.png is no scan"),
    ]
    assert said[2] == ("b.PDF", "1", "KD-2 A", "front")
    assert said[3] == ("b.PDF", "2", "in the tray", "no code could be read on this page")
    assert said[4][:3] == ("b.PDF", "3", "KD-3 A: SUPERSEDED")
    assert window.statusBar().currentMessage() == (
        "1 file was taken. 2 pages are with their travellers. 1 page waits in the tray. "
        "2 were not taken: their rows say why."
    )
    assert window.taking.model.rows[4].severity == "stop"
    assert window.warning.isVisible()
    assert "KD-3 A is superseded" in window.warning.text()
    archive = open_again()
    assert archive.revisions("KD-2")[-1].state == "returned"
    assert len(tray(archive)) == 2
    assert window.tabs.tabText(1).replace("&", "") == "Tray (2)"
    # The list follows by itself.
    assert ("KD-2", "A", "returned") in listed(window)
    window.taking.view.selectRow(2)
    window.taking.view.activated.emit(window.taking.model.index(2, 0))
    settle(qtbot, window._side)
    assert window.travellers.detail.name.text() == "KD-2 A: returned"


def test_what_was_taken_before_is_not_taken_again(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "s.pdf"
    path.write_bytes(scans.scan(f"KD-3:A:F:{CHECKS['KD-3']}"))
    asked.paths = [path]
    for _ in range(2):
        window.taking.choose_scans()
        settle(qtbot, window._side)
        window._on_seen()
    assert "was taken before; nothing was done" in cells(window)[1][3]
    # One file says in its own words what became of it.
    assert window.statusBar().currentMessage() == "s.pdf was taken before; nothing was done."
    # The warning was seen; it is not said anew, but stands in the list.
    assert not window.warning.isVisible()
    assert "SUPERSEDED" in cells(window)[1][2]


def test_taking_can_be_stopped(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path, open_again: Callable[[], Archive]
) -> None:
    side = open_side(scans.read_slowly)
    window = side.show()
    paths = [tmp_path / f"{at}.pdf" for at in range(3)]
    for at, path in enumerate(paths):
        path.write_bytes(scans.scan(f"KD-2:A:F:{CHECKS['KD-2']}", str(at)))
    window.take(paths)
    qtbot.waitUntil(lambda: side.intake.pages_read == 1, timeout=WAIT_MS)
    assert window.taking.doing.text() == "Reading 0.pdf: 1 page so far"
    qtbot.mouseClick(window.taking.stop_button, Qt.MouseButton.LeftButton)
    settle(qtbot, side)
    assert len(cells(window)) == 1
    assert cells(window)[0][2:] == (
        "not taken",
        "stopped before all of it was read; nothing of it was kept",
    )
    assert open_again().revisions("KD-2")[-1].state == "on the floor"


def test_a_file_that_kills_the_reader_does_not_stop_the_others(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path
) -> None:
    side = open_side(scans.die)
    window = side.show()
    paths = [tmp_path / "a.pdf", tmp_path / "b.pdf"]
    for path in paths:
        path.write_bytes(path.name.encode())
    window.take(paths)
    settle(qtbot, side)
    assert [row[2] for row in cells(window)] == ["not taken", "not taken"]
    assert "reading it stopped unexpectedly" in cells(window)[1][3]


def test_ending_while_something_is_read_leaves_nothing_running(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path
) -> None:
    side = open_side(scans.read_slowly)
    path = tmp_path / "long.pdf"
    path.write_bytes(scans.scan("1", "2"))
    side.take([path])
    qtbot.waitUntil(lambda: side.intake.pages_read == 1, timeout=WAIT_MS)
    process = side.intake._reader._process
    assert process is not None
    assert process.is_alive()
    side.intake.close()
    assert not process.is_alive()


# The scanner's folder


def test_the_scanners_folder_is_watched_and_trouble_said_once(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, tmp_path: Path, services: Services
) -> None:
    side = window._side
    intake = side.intake
    folder = tmp_path / "scanner"
    folder.mkdir()
    asked.path = folder
    window.taking.choose_folder()
    intake._timer.stop()  # looked into when the test says so
    settle(qtbot, side)
    assert str(folder) in window.taking.folder.text()
    (folder / "s.pdf").write_bytes(scans.scan(f"KD-2:A:F:{CHECKS['KD-2']}"))

    def look() -> None:
        intake.look()
        settle(qtbot, side)

    look()
    assert cells(window) == []  # it may still be written to
    look()
    assert cells(window) == [("s.pdf (scanner)", "1", "KD-2 A", "front")]
    assert (folder / "taken" / "s.pdf").is_file()
    said: list[str] = []
    intake.troubled.connect(said.append)
    (folder / "taken" / "s.pdf").unlink()
    (folder / "taken").rmdir()
    folder.rmdir()
    look()
    look()
    assert len(said) == 1
    assert "No such file or directory" in window.taking.folder.text()
    folder.mkdir()
    look()
    assert "is looked into every 5 seconds" in window.taking.folder.text()
    window.taking.watch(None)
    assert "No folder is watched" in window.taking.folder.text()
    from kerfdocket.window.preferences import remembered

    assert remembered(services.preferences(), "scanner") == ""


def test_a_folder_that_was_chosen_is_watched_from_the_start(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path
) -> None:
    folder = tmp_path / "scanner"
    folder.mkdir()
    open_side().watch(folder)
    again = open_side()
    again.begin()
    assert again.intake.folder == folder
    settle(qtbot, again)


# Which archive


def test_an_archive_that_cannot_be_opened_says_so_and_is_tried_again(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path, asked: Answers
) -> None:
    place = tmp_path / "a.sqlite"
    place.write_text("no database, only a text that is long enough to be looked at" * 40)
    side = open_side(archive_place=lambda: str(place))
    window = side.show()
    settle(qtbot, side)
    assert not window.is_shown
    assert "cannot be opened" in window.trouble.text()
    assert str(place) in window.place.text()
    place.unlink()
    open_archive(place).close()
    qtbot.mouseClick(window.again_button, Qt.MouseButton.LeftButton)
    settle(qtbot, side)
    assert window.is_shown
    assert window.travellers.count.text() == "0 travellers"
    assert asked.told == []


def test_an_archive_that_is_gone_is_not_made_by_looking(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path
) -> None:
    """Where a disk of the office is not connected, an empty one would number from 1 again."""
    place = tmp_path / "disk" / "shop" / "a.sqlite"
    side = open_side(archive_place=lambda: str(place))
    window = side.show()
    settle(qtbot, side)
    assert not window.is_shown
    assert f"there is no archive at {place}" in window.trouble.text()
    assert not (tmp_path / "disk").exists()


def test_the_own_archive_of_this_user_is_made_by_looking(
    qtbot: QtBot, open_side: OpenSide, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "own" / "archive.sqlite"
    monkeypatch.setattr("kerfdocket.archive.default_archive", lambda: place)
    side = open_side(archive_place=lambda: str(place))
    window = side.show()
    settle(qtbot, side)
    assert window.is_shown
    assert window.travellers.count.text() == "0 travellers"


def test_another_archive_is_used_and_remembered(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, tmp_path: Path
) -> None:
    choose(qtbot, window, 0)
    asked.place = str(tmp_path / "other.sqlite")
    qtbot.mouseClick(window.other_button, Qt.MouseButton.LeftButton)
    settle(qtbot, window._side)
    assert window.place.text() == f"Archive: {asked.place}"
    assert listed(window) == []
    assert "was never issued" in window.travellers.detail._word.text()
    assert window.tray.count == 0


def test_until_another_archive_answers_nothing_can_be_done_to_it(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, tmp_path: Path
) -> None:
    choose(qtbot, window, 0)
    detail = window.travellers.detail
    assert detail.buttons["withdrawn"].isVisible()
    go_on = threading.Event()
    window._side.desk.ask(lambda _archive: go_on.wait(WAIT_MS / 1000), bool, bool)
    asked.place = str(tmp_path / "other.sqlite")
    window.use_another()
    assert detail.record is None
    assert not detail.buttons["withdrawn"].isVisible()
    go_on.set()
    settle(qtbot, window._side)
    assert detail.record is None


def test_the_surroundings_have_the_last_word(
    qtbot: QtBot, open_side: OpenSide, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KERFDOCKET_ARCHIVE", "set")
    side = open_side()
    window = side.show()
    settle(qtbot, side)
    assert window.place.text().endswith(", as KERFDOCKET_ARCHIVE says")
    assert not window.other_button.isEnabled()


def test_verifying_says_that_nothing_was_altered_or_what_was(
    qtbot: QtBot, window: ArchiveWindow, asked: Answers, open_again: Callable[[], Archive]
) -> None:
    side = window._side
    with qtbot.waitSignals([side.verified] * 2, timeout=WAIT_MS):
        qtbot.mouseClick(window.verify_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(asked.told), timeout=WAIT_MS)
    assert asked.told[0].startswith("Nothing was altered or lost.")
    with open_again().engine.begin() as connection:
        connection.exec_driver_sql("UPDATE traveller SET cutter = 'X' WHERE number = 'KD-2'")
    qtbot.mouseClick(window.verify_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: len(asked.told) == 2, timeout=WAIT_MS)
    assert "KD-2 A: cutter was altered" in asked.told[1]
    assert not side.is_verifying


# The language


def test_another_language_says_all_anew_and_keeps_search_and_choice(
    qtbot: QtBot, window: ArchiveWindow
) -> None:
    window.travellers.filter.more.setChecked(True)
    window.travellers.filter.edit("number").setText("KD-3")
    settle(qtbot, window._side)
    choose(qtbot, window, 1)
    window.travellers.detail.tabs.setCurrentIndex(2)
    window.tray.look_again()  # its answer comes when the page that asked is gone
    set_language(language_named("en-XA"))
    window._side.say_anew()
    settle(qtbot, window._side)
    assert window.windowTitle().startswith("⟦")
    assert window.travellers.filter.edit("number").text() == "KD-3"
    assert [row[:2] for row in listed(window)] == [("KD-3", "B"), ("KD-3", "A")]
    detail = window.travellers.detail
    assert detail.name.text().startswith("⟦KD-3 A")
    assert detail.banner.text().startswith("⟦")
    assert detail.tabs.currentIndex() == 2
    assert window.travellers.view.currentIndex().row() == 1


# Room


def test_every_editor_and_list_has_a_name(window: ArchiveWindow) -> None:
    from PySide6.QtWidgets import QAbstractItemView, QComboBox, QHeaderView

    for kind in (QLineEdit, QComboBox, QAbstractItemView):
        for one in window.findChildren(kind):
            is_part = isinstance(one, QHeaderView) or one.parent().inherits(
                "QComboBoxPrivateContainer"
            )
            if not is_part:
                assert one.accessibleName(), one


def test_it_fits_a_small_screen_in_a_longer_language(qtbot: QtBot, open_side: OpenSide) -> None:
    set_language(language_named("en-XA"))
    side = open_side()
    window = side.show()
    settle(qtbot, side)
    window.travellers.filter.more.setChecked(True)
    least = window.minimumSizeHint()
    assert least.width() <= 1366
    assert least.height() <= 728
