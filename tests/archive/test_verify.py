"""Each kind of tampering is found and named."""

from typing import Any

import pytest
from sqlalchemy import Boolean, Column, Connection, Float, Integer, LargeBinary, select

from archive.conftest import sheet
from archive.test_pages import Read, code
from kerfdocket.archive import Archive, keep_pages, new_draft, record_actuals, verify
from kerfdocket.archive.engine import reading
from kerfdocket.archive.keeping import discard
from kerfdocket.archive.schema import DRAFT, PAGE, TABLES, TRAVELLER
from kerfdocket.archive.verify import faults_in, index_faults

KEPT = ("KD-1", "KD-2", "KD-3")


@pytest.fixture
def used(archive: Archive) -> Archive:
    archive.reserve("KD-?", "F")
    for number in KEPT:
        archive.issue(number, sheet(number), "Foreman")
    archive.move("KD-1", "on the floor", "Foreman")
    archive.move("KD-1", "returned", "Foreman")
    assert verify(archive) == ()
    return archive


# What is done to the tables, and what must be said of it.
TAMPERED = [
    ("UPDATE event SET who = 'Nobody' WHERE place = 2", "event 2: was altered"),
    ("UPDATE event SET at = '2020-01-01' WHERE place = 3", "event 3: was altered"),
    ("UPDATE event SET details = '{}' WHERE place = 3", "event 3: was altered"),
    ("DELETE FROM event WHERE place = 1", "event 2: event 1 is missing before it"),
    ("DELETE FROM event WHERE place = 3", "event 4: event 3 is missing before it"),
    ("DELETE FROM event WHERE place = 6", "KD-1 A: state was altered"),
    ("UPDATE traveller SET state = 'closed' WHERE number = 'KD-2'", "KD-2 A: state was altered"),
    ("UPDATE traveller SET title = 'Other' WHERE number = 'KD-2'", "KD-2 A: facts was altered"),
    ("UPDATE traveller SET number = 'KD-9' WHERE number = 'KD-2'", "KD-2 A: is missing"),
    ("DELETE FROM traveller WHERE number = 'KD-3'", "KD-3 A: is missing"),
    ("UPDATE traveller SET issued_at = '2020' WHERE number = 'KD-3'", "issued_at was altered"),
    ("UPDATE series SET last = 7", "KD-?: the last number taken was altered"),
    ("DELETE FROM series", "KD-?: the last number taken was altered"),
]


@pytest.mark.parametrize(("statement", "said"), TAMPERED)
def test_what_was_done_is_said(used: Archive, statement: str, said: str) -> None:
    with used.engine.begin() as connection:
        connection.exec_driver_sql(statement)
    assert any(said in str(one) for one in verify(used))


# The same for what came back, and for drafts.
TAMPERED_LATER = [
    ("UPDATE page SET number = 'KD-2' WHERE number = 'KD-1'", "page 1 of {file}: is missing"),
    ("UPDATE page SET side = 'B' WHERE number = 'KD-1'", "page 1 of {file}: side was altered"),
    ("UPDATE page SET name = 'x' WHERE number = ''", "page 2 of {file}: name was altered"),
    ("DELETE FROM page WHERE number = ''", "page 2 of {file}: is missing"),
    ("UPDATE content SET bytes = 'x' WHERE digest = '{whole}'", "content {file}: was altered"),
    ("UPDATE actual SET text = '99 bar'", "KD-1 A, oxygen_after: was altered"),
    ("DELETE FROM actual", "KD-1 A, oxygen_after: is missing"),
    (
        "INSERT INTO actual VALUES ('KD-1', 'A', 'remarks', 'all well')",
        "KD-1 A, remarks: no event tells of it",
    ),
    ("UPDATE traveller SET cutter = 'Nobody' WHERE number = 'KD-1'", "KD-1 A: cutter was altered"),
    ("UPDATE traveller SET words = 'kd' WHERE number = 'KD-1'", "KD-1 A: words was altered"),
    ("UPDATE traveller SET code = 'x' WHERE number = 'KD-1'", "KD-1 A: code was altered"),
    ("UPDATE traveller SET thickness_m = 0.1", "KD-1 A: thickness_m was altered"),
    ("UPDATE draft SET title = 'x'", "draft 1: title was altered"),
    ("DELETE FROM draft", "draft 1: is missing"),
    ("DELETE FROM event WHERE what = 'recorded'", "KD-1 A, oxygen_after: no event tells of it"),
    ("UPDATE event SET what = 'closed' WHERE what = 'drafted'", "cannot have happened"),
]


@pytest.mark.parametrize(("statement", "said"), TAMPERED_LATER)
def test_what_was_done_to_what_came_back_is_said(used: Archive, statement: str, said: str) -> None:
    read = [Read(0, (code(check=""),), {"oxygen_after": "95 bar"}), Read(1)]
    file = keep_pages(used, b"scan", "s.pdf", read, "C").file
    new_draft(used, "job", "Caps", "Ann")
    assert verify(used) == ()
    with used.engine.begin() as connection:
        connection.exec_driver_sql(statement.replace("{whole}", file))
    assert any(said.replace("{file}", file[:12]) in str(one) for one in verify(used))


def test_an_altered_index_of_words(used: Archive) -> None:
    if used.engine.dialect.name != "sqlite":
        return  # PostgreSQL's index has no words of its own
    with used.engine.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO traveller_words(traveller_words, rowid, words) "
            "SELECT 'delete', id, words FROM traveller WHERE number = 'KD-2'"
        )
    assert [str(one) for one in verify(used)] == ["the index of words: was altered"]


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
@pytest.mark.parametrize(
    "spoil",
    [
        "INSERT INTO traveller_words(traveller_words, rowid, words) "
        "SELECT 'delete', id, words FROM traveller WHERE number = 'KD-2'",
        "INSERT INTO traveller_words(rowid, words) "
        "SELECT id, 'scrap' FROM traveller WHERE number = 'KD-2'",
        "UPDATE traveller_words_data SET block = x'00' WHERE id > 10",
    ],
)
def test_an_altered_index_is_seen_without_writing(used: Archive, spoil: str) -> None:
    """As in an archive that can only be read."""
    for _again in range(2):
        with reading(used.engine) as connection:
            assert list(index_faults(connection)) == []
    with used.engine.begin() as connection:
        connection.exec_driver_sql(spoil)
    with reading(used.engine) as connection:
        (fault,) = index_faults(connection)
    assert str(fault) == "the index of words: was altered"


def test_values_that_came_one_after_the_other(used: Archive) -> None:
    """Front, back, then a correction, in another order than that of their names."""
    for values in (
        {"nozzle_type": "Kegel", "oxygen_before": "150 bar"},
        {"begun": "7:30", "remarks": "Öl am Ventil"},
        {"oxygen_after": "98 bar", "begun": "", "chart_fuel": "0,5 bar"},
        {"begun": "7:45", "nozzle_type": "Spitz"},
    ):
        record_actuals(used, "KD-1", "A", values, "Clerk")
        assert verify(used) == ()
    with used.engine.begin() as connection:
        words = connection.execute(select(TRAVELLER.c.words)).scalars().first()
        assert words is not None
        other = " ".join(reversed(words.split(" ")))
        connection.execute(TRAVELLER.update().where(TRAVELLER.c.words == words).values(words=other))
    assert verify(used) == ()


def test_verified_while_others_write(used: Archive, place: str) -> None:
    """What is issued meanwhile is not taken for a forgery."""
    import threading

    from kerfdocket.archive import open_archive

    done = threading.Event()

    def write() -> None:
        other = open_archive(place)
        at = 0
        while not done.is_set():
            at += 1
            other.issue(f"W-{at}", sheet(f"W-{at}"), "Foreman")
        other.close()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for _ in range(10):
            assert verify(used) == ()
    finally:
        done.set()
        writer.join()


def test_two_events_in_each_others_place(used: Archive) -> None:
    with used.engine.begin() as connection:
        for statement in (
            "UPDATE event SET place = 99 WHERE place = 2",
            "UPDATE event SET place = 2 WHERE place = 3",
            "UPDATE event SET place = 3 WHERE place = 99",
        ):
            connection.exec_driver_sql(statement)
    said = [str(one) for one in verify(used)]
    assert "event 2: was altered" in said
    assert "event 3: was altered" in said


def test_an_altered_sheet(used: Archive) -> None:
    kept = used.revisions("KD-2")[0]
    with used.engine.begin() as connection:
        connection.exec_driver_sql(
            f"UPDATE content SET bytes = 'forged' WHERE digest = '{kept.pdf}'"
        )
    assert [str(one) for one in verify(used)] == [f"content {kept.pdf[:12]}: was altered"]


def test_a_sheet_put_in_by_the_back_door(used: Archive) -> None:
    with used.engine.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO traveller SELECT 99, 'KD-8', revision, state, issued_at, reason, job, "
            "plan, pdf, title, customer, drawing, grade, thickness, nozzle, gas, date, "
            "program, tables, code, thickness_m, cutter, words "
            "FROM traveller WHERE number = 'KD-2'"
        )
    assert [str(one) for one in verify(used)] == ["KD-8 A: no event tells of it"]


def test_a_cut_off_end_is_found_by_a_noted_hash(used: Archive) -> None:
    count, head = used.head()
    assert count == 6
    assert verify(used, head) == ()
    with used.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM event WHERE place = 6")
        connection.exec_driver_sql(
            "UPDATE traveller SET state = 'on the floor' WHERE number = 'KD-1'"
        )
    assert verify(used) == ()
    assert [str(one) for one in verify(used, head)] == [f"the chain: has no event {head[:12]}"]


def test_the_head_of_an_empty_archive_is_in_every_chain(archive: Archive) -> None:
    count, head = archive.head()
    assert count == 0
    assert verify(archive, head) == ()
    archive.issue("KD-1", sheet(), "Foreman")
    assert verify(archive, head) == ()


# Who has a draft open is told to others and proves nothing.
NOT_PROVED = {DRAFT.c.held_by, DRAFT.c.held_at}
COLUMNS = [one for table in TABLES for one in table.columns if one not in NOT_PROVED]

# SQLite's own number of a row: it takes no other kind.
NOT_THE_ROWS_NUMBER = [
    one for one in COLUMNS if not (one.primary_key and isinstance(one.type, Integer))
]


@pytest.fixture
def whole(used: Archive) -> Archive:
    """With rows in every table; where an order counts, several."""
    read = [Read(0, (code(check=""),), {"oxygen_after": "95 bar", "remarks": "dross"}), Read(1)]
    keep_pages(used, b"scan", "s.pdf", read, "C")
    used.reissue("KD-2", "B", sheet("other"), "Foreman", "thicker")
    used.move("KD-3", "withdrawn", "Foreman", "not wanted")
    discard(used, ["KD-3"], "Foreman", "room")
    new_draft(used, "job", "Caps", "Ann")
    assert verify(used) == ()
    return used


def _other(column: Column[Any], value: Any) -> Any:
    match column.type:
        case Boolean():
            return not value
        case Integer() | Float():
            return (value or 0) + 1000
        case LargeBinary():
            return bytes(value) + b"x"
        case _:
            return "" if value else "x"


def _put(connection: Connection, column: Column[Any], place: int, value: Any = None) -> None:
    """Put another value, or the given one, into a row."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
    else:
        connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
    table = column.table
    keys = list(table.primary_key)
    row = connection.execute(select(table).order_by(*keys).offset(place).limit(1)).one()
    where = [one == row._mapping[one] for one in keys]
    new = _other(column, row._mapping[column]) if value is None else value
    connection.execute(table.update().where(*where).values({column.name: new}))


def _another_place(column: Column[Any], has_next: bool) -> int | None:
    """Their own numbers say nothing, and the order in which they put the rows does."""
    if column.name == "id" and column.table in (TRAVELLER, PAGE):
        return 1000 if has_next else -1000
    return None


@pytest.mark.parametrize("column", COLUMNS, ids=str)
def test_whichever_column_of_whichever_row_is_altered(whole: Archive, column: Column[Any]) -> None:
    """As the tables are, not as somebody listed them: a new column is in it by itself."""
    with whole.engine.connect() as connection:
        count = len(connection.execute(select(column)).all())
    assert count
    for place in range(count):
        with whole.engine.connect() as connection, connection.begin() as changing:
            _put(connection, column, place, _another_place(column, place < count - 1))
            assert list(faults_in(connection)), place
            changing.rollback()
    assert verify(whole) == ()


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)
@pytest.mark.parametrize("column", NOT_THE_ROWS_NUMBER, ids=str)
def test_what_no_program_writes_is_a_fault_and_no_crash(
    whole: Archive, column: Column[Any]
) -> None:
    """SQLite keeps in any column whatever it is given."""
    for value in (b"\xff", "twelve" if isinstance(column.type, Integer | Float) else b"12"):
        with whole.engine.connect() as connection, connection.begin() as changing:
            connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
            connection.exec_driver_sql(
                f"UPDATE {column.table.name} SET {column.name} = ? "
                f"WHERE rowid = (SELECT max(rowid) FROM {column.table.name})",
                (value,),
            )
            assert list(faults_in(connection)), value
            changing.rollback()


def test_revisions_in_each_others_place(whole: Archive) -> None:
    """The last one would be another one by it."""
    with whole.engine.begin() as connection:
        connection.exec_driver_sql(
            "UPDATE traveller SET id = 99 WHERE number = 'KD-2' AND revision = 'A'"
        )
    said = "KD-2 A: is in another place than its events say"
    with whole.engine.connect() as connection:
        assert any(said == str(one) for one in faults_in(connection))
