"""A PostgreSQL server for the tests, and empty databases on it."""

import getpass
import itertools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

_NUMBERS = itertools.count(1)
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
        # Not waited for: nothing of it is kept.
        run(control, "-D", str(data), "-m", "immediate", "-W", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def empty_database(server: str) -> str:
    """Make an empty database; return where it is."""
    import psycopg

    name = f"kd_{next(_NUMBERS)}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return server.replace("/postgres?", f"/{name}?")


def drop_database(server: str, place: str) -> None:
    """Let a database go, which takes some megabytes even if nothing is in it."""
    import psycopg

    name = urlsplit(place).path.removeprefix("/")
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")
