"""An archive that was made to be filled, and could not be."""

import errno
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, text

from archive.conftest import sheet
from kerfdocket.archive import (
    Archive,
    ArchiveProblem,
    engine,
    filling,
    open_archive,
    opened_to_fill,
    store,
)
from kerfdocket.archive.engine import known_forms


class Stop(Exception):
    """What goes wrong."""


def fail(place: str | Path) -> list[str]:
    said: list[str] = []
    with pytest.raises(Stop), opened_to_fill(place, said.append):
        raise Stop
    return said


def test_what_was_made_and_not_filled_is_taken_away(tmp_path: Path) -> None:
    assert fail(tmp_path / "a.sqlite") == []
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_takes_it_away_too(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), opened_to_fill(tmp_path / "a.sqlite", print):
        raise KeyboardInterrupt
    assert list(tmp_path.iterdir()) == []


def test_one_that_cannot_even_be_opened_is_taken_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_place: object) -> Archive:
        raise ArchiveProblem("no")

    monkeypatch.setattr(filling, "open_archive", refuse)
    with pytest.raises(ArchiveProblem), opened_to_fill(tmp_path / "a.sqlite", print):
        raise AssertionError
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"a letter of the customer" * 99])
def test_what_was_there_before_stays(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "a.sqlite"
    file.write_bytes(content)
    with pytest.raises((Stop, ArchiveProblem)), opened_to_fill(file, print):
        raise Stop
    assert file.exists()
    if content:
        assert file.read_bytes() == content


def test_an_empty_archive_that_was_there_before_stays(place: str) -> None:
    open_archive(place).close()
    said = fail(place)
    open_archive(place, may_be_made=False).close()
    assert bool(said) == ("://" in place)


@pytest.mark.parametrize("place", ["postgresql"], indirect=True)
def test_a_server_keeps_its_tables_and_that_is_said(place: str) -> None:
    (said,) = fail(place)
    assert said.startswith("An archive that holds nothing is at postgresql://")
    with closing(open_archive(place, may_be_made=False)) as archive:
        archive.issue("KD-1", sheet(), "Foreman")
    assert fail(place) == []


def test_what_was_filled_stays(tmp_path: Path) -> None:
    place = tmp_path / "a.sqlite"
    with suppress(Stop), opened_to_fill(place, print) as archive:
        archive.reserve("KD-????", "Foreman")
        raise Stop
    with closing(open_archive(place)) as archive:
        assert archive.head()[0] == 1


def test_what_someone_else_wrote_meanwhile_stays(tmp_path: Path) -> None:
    place = tmp_path / "a.sqlite"
    with suppress(Stop), opened_to_fill(place, print):
        with closing(open_archive(place)) as other:
            other.issue("KD-1", sheet(), "Mate")
        raise Stop
    with closing(open_archive(place)) as archive:
        assert [one.number for one in archive.travellers()] == ["KD-1"]


def test_what_someone_else_has_open_stays_and_that_is_said(tmp_path: Path) -> None:
    place = tmp_path / "a.sqlite"
    said: list[str] = []
    with suppress(Stop), opened_to_fill(place, said.append):
        other = open_archive(place)
        assert other.travellers() == ()
        raise Stop
    assert said == [
        f"{place} was made and cannot be taken away, as someone else has it open: look what is "
        "in it."
    ]
    other.issue("KD-1", sheet(), "Mate")
    other.close()
    with closing(open_archive(place)) as archive:
        assert [one.number for one in archive.travellers()] == ["KD-1"]


def test_who_opens_it_at_the_last_moment_writes_into_nothing_that_is_gone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "a.sqlite"
    unlink = Path.unlink
    refused: list[str] = []

    def slow(self: Path, missing_ok: bool = False) -> None:
        with pytest.raises(ArchiveProblem) as error:
            open_archive(place)
        refused.append(str(error.value))
        unlink(self, missing_ok)

    monkeypatch.setattr(Path, "unlink", slow)
    assert fail(place) == []
    assert len(refused) == 1
    assert refused[0].startswith("this archive was taken away")
    assert list(tmp_path.iterdir()) == []


def test_who_had_begun_to_open_it_is_refused_when_writing(place: str) -> None:
    """The form is asked for each time that something is written."""
    with closing(open_archive(place)) as archive:
        with archive.engine.begin() as connection:
            connection.execute(
                text("UPDATE alembic_version SET version_num = :form"),
                {"form": filling.TAKEN_AWAY},
            )
        with pytest.raises(ArchiveProblem, match="this archive was taken away"):
            archive.issue("KD-1", sheet(), "Mate")


def test_a_file_that_never_became_a_database_is_taken_away(tmp_path: Path) -> None:
    place = tmp_path / "a.sqlite"
    with suppress(Stop), opened_to_fill(place, print) as archive:
        archive.close()
        place.unlink()
        sqlite3.connect(place).close()
        raise Stop
    assert not place.exists()


def test_one_whose_making_is_interrupted_is_taken_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing here holds it open any more, which would look like somebody else."""
    migrate = store.migrate

    def interrupted(made: Engine) -> None:
        migrate(made)
        raise KeyboardInterrupt

    monkeypatch.setattr(store, "migrate", interrupted)
    said: list[str] = []
    with (
        pytest.raises(KeyboardInterrupt),
        opened_to_fill(tmp_path / "a.sqlite", said.append),
    ):
        raise AssertionError
    assert said == []
    assert list(tmp_path.iterdir()) == []


def test_who_was_about_to_make_its_tables_is_refused(
    place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is taken away between being asked for its form and being held."""
    open_archive(place).close()
    forms = iter([known_forms()[1]])
    ask = engine.form_of

    def form_of(connection: Connection) -> str | None:
        return next(forms, None) or ask(connection)

    with closing(open_archive(place)) as archive, archive.engine.begin() as connection:
        connection.execute(
            text("UPDATE alembic_version SET version_num = :form"), {"form": filling.TAKEN_AWAY}
        )
    monkeypatch.setattr(engine, "form_of", form_of)
    with pytest.raises(ArchiveProblem, match="this archive was taken away"):
        open_archive(place)


def test_why_else_it_cannot_be_taken_away_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "a.sqlite"

    def refuse(*_given: object, **_more: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "unlink", refuse)
    (said,) = fail(place)
    assert said == (
        f"{place} was made and cannot be taken away: Permission denied. Look what is in it, and "
        "delete it if it holds nothing."
    )


def test_a_file_that_is_none_of_ours_any_more_stays_and_that_is_said(tmp_path: Path) -> None:
    place = tmp_path / "a.sqlite"
    said: list[str] = []
    letter = b"a letter of the customer" * 99
    with suppress(Stop), opened_to_fill(place, said.append) as archive:
        archive.close()
        place.write_bytes(letter)
        raise Stop
    assert "file is not a database" in said[0]
    assert place.read_bytes() == letter


@pytest.mark.parametrize(
    "more", ["", "CREATE TABLE alembic_version AS SELECT 'of another program' AS version_num"]
)
def test_a_database_of_something_else_stays_and_that_is_said(tmp_path: Path, more: str) -> None:
    place = tmp_path / "a.sqlite"
    said: list[str] = []
    with suppress(Stop), opened_to_fill(place, said.append) as archive:
        archive.close()
        place.unlink()
        with closing(sqlite3.connect(place)) as other:
            other.executescript(f"CREATE TABLE customer AS SELECT 'A. Customer' AS name; {more}")
        raise Stop
    assert "it holds tables that were not made here" in said[0]
    with closing(sqlite3.connect(place)) as other:
        assert other.execute("SELECT name FROM customer").fetchall() == [("A. Customer",)]
