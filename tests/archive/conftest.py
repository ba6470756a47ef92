"""An empty archive on each database that the program keeps one in."""

import getpass
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from kerfdocket.archive import Archive, IssuedSheet, open_archive

_SERVERS = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)


def _server_programs() -> Path | None:
    found = shutil.which("initdb")
    if found:
        return Path(found).parent
    return _SERVERS[0] if _SERVERS else None


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """A server of our own, reached by a socket in a folder of its own; ends with the tests."""
    programs = _server_programs()
    if programs is None:
        pytest.skip("no PostgreSQL server is installed here; CI installs one")
    # The server refuses to run as root.
    as_user = ["runuser", "-u", "postgres", "--"] if getpass.getuser() == "root" else []
    folder = Path(tempfile.mkdtemp(prefix="kd-pg-"))
    if as_user:
        shutil.chown(folder, "postgres")

    def run(*command: str) -> None:
        subprocess.run(
            [*as_user, *command],
            check=True,
            capture_output=True,
            cwd=folder,
            env={**os.environ, "LC_ALL": "C"},
        )

    data = folder / "data"
    run(
        str(programs / "initdb"),
        "-D",
        str(data),
        "-U",
        "kd",
        "-A",
        "trust",
        "-E",
        "UTF8",
        "--no-sync",
    )
    options = f"-k {folder} -c listen_addresses='' -c fsync=off"
    control = str(programs / "pg_ctl")
    run(control, "-D", str(data), "-o", options, "-l", str(folder / "log"), "-w", "start")
    try:
        yield f"postgresql://kd@/postgres?host={folder}"
    finally:
        run(control, "-D", str(data), "-m", "immediate", "-w", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an empty archive can be made."""
    if request.param == "sqlite":
        return str(tmp_path / "archive" / "a.sqlite")
    server: str = request.getfixturevalue("postgresql")
    name = f"kd_{abs(hash(tmp_path)) % 10**12}"
    import psycopg

    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return server.replace("/postgres?", f"/{name}?")


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
