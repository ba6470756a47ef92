"""How long finding takes among many, against the database asked directly, and what it holds."""

import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date

import pytest

from archive.many import invented, put_many
from kerfdocket.archive import Archive, open_archive
from kerfdocket.archive.find import FoundTraveller, Wanted, find, rows
from servers import empty_database

MANY, FEW = 100_000, 1_000
SHOWN = 200
_COLUMNS = ", ".join(FoundTraveller._fields)
_WORDS = "array_to_tsvector(string_to_array(words, ' ')) @@ %s::tsquery"
# What is wanted, and how whoever knows both databases asks each for it.
CASES = {
    "a number": (
        Wanted(number="KD-004711"),
        ['"_number_004711"* AND "_number_kd"*'],
        ["'_number_004711':* & '_number_kd':*"],
    ),
    "a customer's word": (
        Wanted(customer="halden"),
        ['"_customer_halden"*'],
        ["'_customer_halden':*"],
    ),
    "two words": (Wanted(text="s355 tower"), ['"s355"* AND "tower"*'], ["'s355':* & 'tower':*"]),
    "thickness and state": (
        Wanted(thickness_from_m=0.01, thickness_to_m=0.025, states=("issued", "returned")),
        "thickness_m BETWEEN 0.00999999999 AND 0.02500000001 AND {plus}state IN "
        "('issued', 'returned')",
        None,
    ),
    "dates": (
        Wanted(date_from=date(2020, 3, 1), date_to=date(2020, 5, 31)),
        "date BETWEEN '2020-03-01' AND '2020-05-31'",
        None,
    ),
}
_PEAK = """
import sys
from pathlib import Path
from kerfdocket.archive import open_archive
from kerfdocket.archive.find import Wanted
from kerfdocket.archive.paged import PagedRows

archive = open_archive(sys.argv[1])
found = PagedRows(archive, Wanted(number="kd"))
for at in range(len(found)):
    last = found.row(at)
assert last.number == "KD-000000"
# Not getrusage: to that the peak of whoever started this process counts, too.
print(len(found), Path("/proc/self/status").read_text().partition("VmHWM:")[2].split()[0])
"""


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def kind(request) -> str:
    return request.param


@pytest.fixture(scope="module")
def new_place(kind, request, tmp_path_factory) -> Callable[[int], str]:
    """Makes an archive with so many travellers."""

    def make(count: int) -> str:
        if kind == "sqlite":
            place = str(tmp_path_factory.mktemp("find") / "a.sqlite")
        else:
            place = empty_database(request.getfixturevalue("postgresql"))
        with closing(open_archive(place)) as archive:
            put_many(archive, invented(count))
        return place

    return make


@pytest.fixture(scope="module")
def place(new_place) -> str:
    return new_place(MANY)


@pytest.fixture(scope="module")
def archive(place) -> Iterator[Archive]:
    with closing(open_archive(place)) as archive:
        yield archive


@pytest.fixture(scope="module")
def bare(kind, place):
    """The driver's own connection."""
    if kind == "sqlite":
        connection = sqlite3.connect(place, isolation_level=None)
    else:
        import psycopg

        connection = psycopg.connect(place, autocommit=True)
        # As the server does by itself some time after so many were added.
        connection.execute("VACUUM ANALYZE traveller")
    with closing(connection):
        yield connection


def _asked(kind: str, case: str) -> tuple[str, list[str]]:
    """The statement that gives the ids from the best index, and its values."""
    _wanted, on_sqlite, on_postgresql = CASES[case]
    # With a limit and by `id` alone, PostgreSQL goes through all from the newest on: slower yet.
    source, order, values = "traveller", "id" if kind == "sqlite" else "id + 0", []
    if isinstance(on_sqlite, str):
        condition = on_sqlite.format(plus="+" if kind == "sqlite" else "")
    elif kind == "postgresql":
        condition, values = _WORDS, on_postgresql
    else:
        source, order, values = "traveller_words", "rowid", on_sqlite
        condition = "traveller_words MATCH ?"
    return f"SELECT {order} FROM {source} WHERE {condition} ORDER BY {order} DESC", values


@pytest.mark.parametrize("case", CASES)
def test_the_first_rows(benchmark, ratio, archive, bare, kind, case):
    wanted = CASES[case][0]
    ids, values = _asked(kind, case)
    statement = (
        f"SELECT {_COLUMNS} FROM traveller WHERE id IN ({ids} LIMIT {SHOWN}) ORDER BY id DESC"
    )

    def ours():
        return rows(archive, find(archive, wanted, SHOWN))

    def directly():
        return bare.execute(statement, values).fetchall()

    assert [tuple(one) for one in ours()] == directly() != []
    ratio(
        benchmark,
        f"first {SHOWN} of {case} among {MANY}, {kind}, against one statement of the driver",
        ours,
        directly,
        rounds=40,
        aim="aim under 2.00",
    )


@pytest.mark.parametrize("case", CASES)
def test_the_whole_list_and_its_first_rows(benchmark, ratio, archive, bare, kind, case):
    wanted = CASES[case][0]
    every, values = _asked(kind, case)
    first = f"SELECT {_COLUMNS} FROM traveller WHERE id " + (
        "IN (SELECT value FROM json_each(?))" if kind == "sqlite" else "= ANY(%s)"
    )

    def ours():
        ids = find(archive, wanted)
        return len(ids), rows(archive, ids[:SHOWN])

    def directly():
        ids = [one for (one,) in bare.execute(every, values).fetchall()]
        shown = ids[:SHOWN]
        asked = json.dumps(shown) if kind == "sqlite" else shown
        return len(ids), sorted(bare.execute(first, (asked,)).fetchall(), reverse=True)

    count, shown = ours()
    assert (count, [tuple(one) for one in shown]) == directly()
    ratio(
        benchmark,
        f"all {count} of {case} among {MANY} and the first rows, {kind}, against the driver",
        ours,
        directly,
        rounds=40,
        aim="aim under 2.00",
    )


def test_looking_through_all_of_them(benchmark, lines, kind, place, new_place):
    def peak_mb(place: str, count: int) -> float:
        done = subprocess.run(
            [sys.executable, "-c", _PEAK, place], capture_output=True, text=True, check=True
        )
        found, peak_kib = map(int, done.stdout.split())
        assert found == count
        return peak_kib * 1024 / 1e6

    few = peak_mb(new_place(FEW), FEW)
    many = benchmark.pedantic(peak_mb, args=(place, MANY))
    benchmark.extra_info["ratio"] = many / few
    lines.append(
        f"peak memory of paging through {MANY} travellers against {FEW}, {kind}: {many:.1f} MB "
        f"against {few:.1f} MB, ratio {many / few:.3f} (aim under 1.10)"
    )
