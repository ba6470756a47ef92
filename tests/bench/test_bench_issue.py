"""How long issuing takes, against a bare insert of the same bytes that is as safely on the disk."""

import itertools
import os
import sqlite3
from pathlib import Path

import psycopg
import pytest

from kerfdocket.archive import IssuedSheet, open_archive
from servers import empty_database

# As large as those of samples/base-plates-12mm.toml. [bytes]
JOB, PLAN, PDF = 1_500, 60_000, 150_000
ROUNDS = 100


def _sheet() -> IssuedSheet:
    return IssuedSheet(
        job_text=os.urandom(JOB // 2).hex(),
        plan_text=os.urandom(PLAN // 2).hex(),
        pdf=os.urandom(PDF),
        facts={
            "title": "Base plates for the stair tower",
            "customer": "Assembly bay 2",
            "drawing": "ST-07 rev B",
            "grade": "S355J2",
            "thickness": "12 mm",
            "nozzle": "1.2 mm",
            "gas": "acetylene",
            "date": "2026-11-25",
        },
        program="0.1.0",
        tables="t1",
        check="56344795C3",
        thickness_m=0.012,
        text="BP1 base plate 400 x 400",
    )


class _Sqlite:
    """A table of sheets in a database of one's own, each as safely on the disk as ours."""

    def __init__(self, path: Path) -> None:
        self._connection = sqlite3.connect(path, isolation_level=None)
        self._connection.execute("PRAGMA journal_mode=WAL")
        self._connection.execute("PRAGMA synchronous=FULL")
        self._connection.execute(
            "CREATE TABLE sheet (number TEXT PRIMARY KEY, job BLOB, plan BLOB, pdf BLOB)"
        )

    def insert(self, *values: object) -> None:
        self._connection.execute("BEGIN IMMEDIATE")
        self._connection.execute("INSERT INTO sheet VALUES (?, ?, ?, ?)", values)
        self._connection.execute("COMMIT")

    def close(self) -> None:
        self._connection.close()


class _Postgresql:
    """The same on a server."""

    def __init__(self, place: str) -> None:
        self._connection = psycopg.connect(place)
        self._connection.execute(
            "CREATE TABLE sheet (number TEXT PRIMARY KEY, job BYTEA, plan BYTEA, pdf BYTEA)"
        )
        self._connection.commit()

    def insert(self, *values: object) -> None:
        self._connection.execute("INSERT INTO sheet VALUES (%s, %s, %s, %s)", values)
        self._connection.commit()

    def close(self) -> None:
        self._connection.close()


@pytest.mark.parametrize("kind", ["SQLite", "PostgreSQL"])
def test_issue_against_a_bare_insert(benchmark, ratio, request, tmp_path: Path, kind: str):
    bare: _Sqlite | _Postgresql
    if kind == "SQLite":
        place, bare = str(tmp_path / "a.sqlite"), _Sqlite(tmp_path / "b.sqlite")
    else:
        server = request.getfixturevalue("postgresql")
        place, bare = empty_database(server), _Postgresql(empty_database(server))
    archive = open_archive(place)
    numbers = (f"KD-{at}" for at in itertools.count())
    # Made before: making them takes as long as keeping them does.
    sheets = [_sheet() for _ in range(ROUNDS + 1)]
    ours, theirs = iter(sheets), iter(sheets)

    def issue() -> None:
        archive.issue(next(numbers), next(ours), "Foreman")

    def insert() -> None:
        one = next(theirs)
        bare.insert(next(numbers), one.job_text.encode(), one.plan_text.encode(), one.pdf)

    ratio(
        benchmark,
        f"issue against a bare insert of the same bytes, {kind}",
        ours=issue,
        bare=insert,
        rounds=ROUNDS,
        aim="medians; aim: below 2",
        is_median=True,
    )
    archive.close()
    bare.close()
