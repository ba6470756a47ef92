"""How long issuing takes, against a bare insert of the same bytes that is as safely on the disk."""

import itertools
import os
import sqlite3
from pathlib import Path

from kerfdocket.archive import IssuedSheet, open_archive

# As large as those of samples/base-plates-12mm.toml. [bytes]
JOB, PLAN, PDF = 1_500, 60_000, 150_000


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


def test_issue_against_a_bare_insert(benchmark, ratio, tmp_path: Path):
    archive = open_archive(tmp_path / "a.sqlite")
    bare = sqlite3.connect(tmp_path / "b.sqlite", isolation_level=None)
    bare.execute("PRAGMA journal_mode=WAL")
    bare.execute("PRAGMA synchronous=FULL")
    bare.execute("CREATE TABLE sheet (number TEXT PRIMARY KEY, job BLOB, plan BLOB, pdf BLOB)")
    numbers = (f"KD-{at}" for at in itertools.count())

    def issue() -> None:
        archive.issue(next(numbers), _sheet(), "Foreman")

    def insert() -> None:
        one = _sheet()
        bare.execute("BEGIN IMMEDIATE")
        bare.execute(
            "INSERT INTO sheet VALUES (?, ?, ?, ?)",
            (next(numbers), one.job_text.encode(), one.plan_text.encode(), one.pdf),
        )
        bare.execute("COMMIT")

    ratio(
        benchmark,
        "issue against a bare insert of the same bytes, SQLite",
        ours=issue,
        bare=insert,
        rounds=100,
        aim="medians; aim: below 2",
        is_median=True,
    )
    archive.close()
    bare.close()
