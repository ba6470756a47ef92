"""Killed while it writes: what was said to be kept is there, and nothing is half there."""

import multiprocessing
import os
import random
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from archive.conftest import sheet
from archive.workers import issue_for_ever, take_for_ever
from kerfdocket.archive import Archive, open_archive, pages_of, tray, verify
from kerfdocket.archive.engine import writing

# A few each time; KERFDOCKET_KILLS=200 for all that the archive promises.
_TIMES = int(os.environ.get("KERFDOCKET_KILLS", "6"))


def _killed(
    work: Callable[..., None],
    arguments: Callable[[int], tuple[Any, ...]],
    told: Path,
    check: Callable[[Archive, set[str]], None],
    place: str,
) -> None:
    told.touch()
    context = multiprocessing.get_context("spawn")
    chance = random.Random(20261125)
    for at in range(_TIMES):
        before = told.stat().st_size
        worker = context.Process(target=work, args=arguments(at))
        worker.start()
        # It is at work once it has said so; then any moment may be its last.
        while told.stat().st_size == before:
            assert worker.is_alive()
            time.sleep(0.005)
        time.sleep(chance.uniform(0.0, 0.1))
        worker.kill()
        worker.join()
        again = open_archive(place)
        with writing(again.engine):
            pass  # a server may still be at the last wish of who was killed
        # A last line without its end was not said.
        check(again, set(told.read_text().rpartition("\n")[0].split()))
        assert verify(again) == ()
        again.close()


def test_killed_while_issuing(archive: Archive, place: str, tmp_path: Path) -> None:
    archive.close()
    told = tmp_path / "told"

    def check(again: Archive, said: set[str]) -> None:
        kept = {one.number for one in again.travellers()}
        assert said <= kept
        assert len(kept - said) <= _TIMES  # kept, and killed before it could be said

    _killed(issue_for_ever, lambda _at: (place, str(told)), told, check, place)


def test_killed_while_taking(archive: Archive, place: str, tmp_path: Path) -> None:
    archive.issue("KD-1", sheet(check="AAAAAAAAAA"), "Foreman")
    archive.close()
    told = tmp_path / "told"

    def check(again: Archive, said: set[str]) -> None:
        matched = [one.file for one in pages_of(again, "KD-1")]
        waiting = [one.file for one in tray(again)]
        assert said <= set(waiting)
        # Of each file all pages or none.
        assert sorted(matched) == sorted(waiting * 2)
        assert again.revisions("KD-1")[0].state == "returned"

    _killed(take_for_ever, lambda at: (place, str(told), at), told, check, place)
