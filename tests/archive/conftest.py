"""An empty archive on each database that the program keeps one in."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from kerfdocket.archive import Archive, IssuedSheet, open_archive
from servers import drop_database, empty_database


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Where an empty archive can be made."""
    if request.param == "sqlite":
        yield str(tmp_path / "archive" / "a.sqlite")
        return
    server: str = request.getfixturevalue("postgresql")
    made = empty_database(server)
    yield made
    drop_database(server, made)


@pytest.fixture
def archive(place: str) -> Iterator[Archive]:
    opened = open_archive(place)
    yield opened
    opened.close()


def sheet(text: str = "first", check: str = "", **facts: str) -> IssuedSheet:
    """A sheet that is none, but is kept like one."""
    return IssuedSheet(
        job_text=f"job {text}",
        plan_text=f"plan {text}",
        pdf=f"pdf {text}".encode(),
        facts={"title": "Base plates", "grade": "S355J2", **facts},
        program="0.1.0",
        tables="t1",
        check=check,
    )
