"""Who does the work: processes of their own, shared by some, and nobody else's."""

import multiprocessing
import os
import time
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from kerfdocket.job import Job
from kerfdocket.planning import Plan
from kerfdocket.window.newest import NewestWins, ProcessCrew
from window import fakes
from window.conftest import WAIT_MS

WAIT_S = WAIT_MS / 1000


class Noting(ProcessCrew):
    """Notes what it was asked for."""

    def __init__(self) -> None:
        super().__init__()
        self.futures: list[Future[Any]] = []

    def submit(self, call: Callable[..., Any], *args: Any) -> "Future[Any]":
        future = super().submit(call, *args)
        self.futures.append(future)
        return future


@pytest.fixture
def crew() -> Iterator[Noting]:
    made = Noting()
    yield made
    made.close()


def test_a_crew_ends_no_process_of_anybody_else(
    crew: Noting, monkeypatch: pytest.MonkeyPatch
) -> None:
    context = multiprocessing.get_context("spawn")
    other = context.Process(target=time.sleep, args=(3600,))
    begin = ProcessPoolExecutor.submit

    def submit(*given: Any) -> "Future[Any]":
        other.start()  # as another thread may at this very moment
        return begin(*given)

    monkeypatch.setattr(ProcessPoolExecutor, "submit", submit)
    try:
        assert crew.submit(os.getpid).result(WAIT_S) == crew.workers[0].pid
        [worker] = crew.workers
        crew.close()
        assert not worker.is_alive()
        assert other.is_alive()
    finally:
        other.kill()
        other.join()


def test_who_hears_late_of_a_crash_does_not_end_what_was_begun_since(
    qtbot: QtBot, crew: Noting, planned: tuple[Job, Plan], tmp_path: Path
) -> None:
    """A sheet is issued by the crew that draws, after it died and before the window heard of it."""
    work = NewestWins(crew, "Drawing the sheet")
    crashed: list[object] = []
    drawn: list[object] = []
    work.crashed.connect(crashed.append)
    work.succeeded.connect(lambda _ticket, pdf: drawn.append(pdf))
    work.submit(1, fakes.crash_once, tmp_path / "mark", planned[1])
    with pytest.raises(BrokenExecutor):
        crew.futures[0].result(WAIT_S)
    since = crew.submit(fakes.make_sheet_when_told, tmp_path, planned[1])
    assert crashed == []
    qtbot.waitUntil(lambda: bool(crashed), timeout=WAIT_MS)
    qtbot.waitUntil((tmp_path / "begun").exists, timeout=WAIT_MS)
    (tmp_path / "go").touch()
    assert since.result(WAIT_S) == fakes.make_sheet(planned[1])
    # What died is made again, after it.
    qtbot.waitUntil(lambda: bool(drawn), timeout=WAIT_MS)
    work.close()
