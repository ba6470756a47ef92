"""A window that loads nothing heavy and leaves nothing running."""

import dataclasses
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from jobs import SAMPLES
from kerfdocket.errors import KerfdocketError
from kerfdocket.job import Job, load_job
from kerfdocket.language import ENGLISH, set_language
from kerfdocket.planning import Plan, make_plan
from kerfdocket.reference import load_reference
from kerfdocket.window import Services, printing
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.messages import Messages
from kerfdocket.window.qt_texts import say_qt_texts
from window import archived, fakes

WAIT_MS = 60_000  # how long a signal may take before the test fails; never how long it waits


class Answers(Messages):
    """Answers every question as told, and remembers what was said."""

    def __init__(self) -> None:
        self.told: list[str] = []
        self.asked: list[str] = []
        self.bugs: list[BaseException] = []
        self.unsaved: Any = "cancel"
        self.restore: Any = "restore"
        self.overwrite = False
        self.take_out = True
        self.take = True
        self.path: Path | None = None
        self.person = "Ann"
        self.open_held = True
        self.conflict: Any = "go on"
        self.drop = True
        self.wait = True
        self.instead = False

    def tell(self, doing: str, error: KerfdocketError) -> None:
        self.told.append(f"{doing} {error}")

    def tell_bug(self, error: BaseException) -> None:
        self.bugs.append(error)

    def ask_unsaved(self, name: str) -> Any:
        self.asked.append(f"unsaved {name}")
        return self.unsaved

    def ask_restore(self, name: str, when: str) -> Any:
        self.asked.append(f"restore {name} {when}")
        return self.restore

    def ask_overwrite_changed(self, path: Path) -> bool:
        self.asked.append(f"overwrite {path.name}")
        return self.overwrite

    def ask_take_out(self, key: str) -> bool:
        self.asked.append(f"take out {key}")
        return self.take_out

    def ask_person(self, known: str) -> str:
        self.asked.append(f"who, perhaps {known}")
        return self.person

    def ask_open_held(self, name: str, who: str, since: str, *, is_old: bool) -> bool:
        old = " (old)" if is_old else ""
        self.asked.append(f"{who} has {name} since {since}{old}")
        return self.open_held

    def ask_draft_conflict(self, name: str, reason: str, *, can_look: bool) -> Any:
        self.asked.append(f"{name}: {reason} {'look or keep' if can_look else 'keep'}")
        return self.conflict

    def ask_drop(self, name: str, held_by: str) -> bool:
        self.asked.append(f"drop {name}, held by {held_by or 'nobody'}")
        return self.drop

    def ask_wait(self, doing: str) -> bool:
        self.asked.append(f"wait: {doing}")
        return self.wait

    def ask_take(self, count: int, name: str) -> bool:
        self.asked.append(f"take {count} {name}")
        return self.take

    def ask_issue_instead(self, name: str) -> bool:
        self.asked.append(f"issue {name} instead")
        return self.instead

    def ask_open_path(self, folder: Path) -> Path | None:
        self.asked.append(f"open in {folder.name}")
        return self.path

    def ask_save_path(self, suggestion: Path) -> Path | None:
        self.asked.append(f"save as {suggestion.name}")
        return self.path

    def ask_export_path(self, suggestion: Path) -> Path | None:
        self.asked.append(f"export {suggestion.name}")
        return self.path

    def ask_folder(self, folder: Path) -> Path | None:
        self.asked.append(f"shop's folder from {folder.name}")
        return self.path


@pytest.fixture(autouse=True)
def _own_folders_and_english(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nobody's own choices have a say in a test, and a test's language ends with it."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    yield
    set_language(ENGLISH)
    if (application := QApplication.instance()) is not None:
        say_qt_texts(application, ENGLISH)


@pytest.fixture
def answers() -> Answers:
    return Answers()


@pytest.fixture
def services(tmp_path: Path) -> Services:
    return Services(
        plan=fakes.make_plan,
        sheet=fakes.make_sheet,
        draft_folder=lambda: tmp_path / "state" / "drafts",
        preferences=lambda: tmp_path / "state" / "window.json",
        archive_place=lambda: str(tmp_path / "archive" / "a.sqlite"),
        issue=fakes.issue_in_archive,
    )


OpenWindow = Callable[..., MainWindow]


@pytest.fixture
def open_window(qtbot: QtBot, services: Services, answers: Answers) -> Iterator[OpenWindow]:
    """Open a window and wait until it is ready; all of them are shut down afterwards."""
    opened: list[MainWindow] = []

    def open_one(argv_file: Path | None = None, **changes: Any) -> MainWindow:
        settings = {
            name: changes.pop(name) for name in ("autosave_ms", "debounce_ms") if name in changes
        }
        settings = {"debounce_ms": 0, **settings}
        window = MainWindow(
            dataclasses.replace(services, **changes), argv_file, answers, **settings
        )
        opened.append(window)
        window.resize(1366, 768)
        with qtbot.waitSignals(
            [window.first_painted, window.ready], order="strict", timeout=WAIT_MS
        ):
            window.show()
        return window

    yield open_one
    for window in opened:
        window.shut_down()
        window.hide()
        window.deleteLater()
    application = QApplication.instance()
    assert application is not None
    application.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


@pytest.fixture
def printed(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """What goes to the printer, which everybody chooses at once."""
    sent: list[bytes] = []
    monkeypatch.setattr(printing, "ask_printer", lambda _pages, _parent: QPrinter())
    monkeypatch.setattr(printing, "print_pdf", lambda pdf, _printer: sent.append(pdf))
    return sent


@pytest.fixture(scope="session")
def planned() -> tuple[Job, Plan]:
    """A job and its plan by the program's own tables."""
    job = load_job(SAMPLES / "base-plates-12mm.toml")
    return job, make_plan(job, load_reference())


@pytest.fixture
def archive_file(tmp_path: Path, planned: tuple[Job, Plan]) -> Path:
    """An archive; see `archived.fill`."""
    path = tmp_path / "archive" / "a.sqlite"
    archived.fill(path, planned)
    return path
