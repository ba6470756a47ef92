"""Killed while it writes: what was said to be kept is there, and nothing is half there."""

import multiprocessing
import random
import time
from pathlib import Path

from archive.workers import issue_for_ever
from kerfdocket.archive import Archive, open_archive, verify

_TIMES = 6


def test_killed_at_any_moment(archive: Archive, place: str, tmp_path: Path) -> None:
    archive.close()
    told = tmp_path / "told"
    told.touch()
    context = multiprocessing.get_context("spawn")
    chance = random.Random(20261125)
    for _ in range(_TIMES):
        before = told.stat().st_size
        worker = context.Process(target=issue_for_ever, args=(place, str(told)))
        worker.start()
        # It is at work once it has said so; then any moment may be its last.
        while told.stat().st_size == before:
            assert worker.is_alive()
            time.sleep(0.005)
        time.sleep(chance.uniform(0.0, 0.1))
        worker.kill()
        worker.join()
        again = open_archive(place)
        said = set(told.read_text().split())
        kept = {one.number for one in again.travellers()}
        assert said <= kept
        assert len(kept - said) <= _TIMES  # kept, and killed before it could be said
        assert verify(again) == ()
        again.close()
