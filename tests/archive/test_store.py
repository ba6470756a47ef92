"""The life of a traveller in the archive, on SQLite and on PostgreSQL."""

import multiprocessing
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from archive.conftest import sheet
from archive.workers import issue_some
from kerfdocket.archive import (
    Archive,
    ArchiveProblem,
    NotPossible,
    new_draft,
    open_archive,
    verify,
)
from kerfdocket.archive.engine import writing
from kerfdocket.archive.store import move_one, next_revision


def test_an_issued_sheet_is_kept_bit_for_bit(archive: Archive) -> None:
    kept = archive.issue("KD-1", sheet(customer="Bay 2"), "Foreman")
    assert (kept.revision, kept.state, kept.facts["customer"]) == ("A", "issued", "Bay 2")
    assert archive.revisions("KD-1") == (kept,)
    assert archive.content(kept.pdf) == b"pdf first"
    assert archive.content(kept.job) == b"job first"
    assert archive.content(kept.plan) == b"plan first"
    assert verify(archive) == ()


def test_it_is_there_when_the_archive_is_opened_again(archive: Archive, place: str) -> None:
    kept = archive.issue("KD-1", sheet(), "Foreman")
    archive.close()
    again = open_archive(place)
    assert again.travellers() == (kept,)
    again.close()


def test_the_whole_way(archive: Archive) -> None:
    archive.issue("KD-1", sheet(), "Foreman")
    for state in ("on the floor", "returned", "closed"):
        assert archive.move("KD-1", state, "Foreman").state == state
    assert [one.what for one in archive.events()] == [
        "issued",
        "on the floor",
        "returned",
        "closed",
    ]
    assert verify(archive) == ()


def test_a_new_revision_supersedes_the_old_one_which_stays(archive: Archive) -> None:
    archive.issue("KD-1", sheet(), "Foreman")
    archive.move("KD-1", "on the floor", "Foreman")
    new = archive.reissue("KD-1", "B", sheet("second"), "Coordinator", "plate is 15 mm")
    assert (new.revision, new.reason) == ("B", "plate is 15 mm")
    old, same = archive.revisions("KD-1")
    assert (old.revision, old.state) == ("A", "superseded")
    assert same == new
    assert archive.content(old.pdf) == b"pdf first"
    assert verify(archive) == ()


def test_a_withdrawn_one_can_be_issued_anew(archive: Archive) -> None:
    archive.issue("KD-1", sheet(), "Foreman")
    archive.move("KD-1", "withdrawn", "Foreman", "wrong plate")
    archive.reissue("KD-1", "B", sheet("second"), "Foreman", "right plate")
    assert [one.state for one in archive.revisions("KD-1")] == ["withdrawn", "issued"]
    assert verify(archive) == ()


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (lambda a: a.issue("KD-1", sheet(), "F"), "issued before, last as revision A"),
        (lambda a: a.reissue("KD-2", "B", sheet(), "F", "why"), "KD-2 was never issued"),
        (lambda a: a.reissue("KD-1", "B", sheet(), "F", " "), "for a reason"),
        (lambda a: a.reissue("KD-1", "C", sheet(), "F", "why"), "A is the last one now"),
        (lambda a: a.move("KD-2", "returned", "F"), "KD-2 was never issued"),
        (lambda a: a.move("KD-1", "withdrawn", "F"), "for a reason"),
        (
            lambda a: a.move("KD-1", "closed", "F"),
            "KD-1 A is issued and cannot become closed; it can be on the floor, returned or",
        ),
        (lambda a: a.reserve("KD-1", "F"), "one group of question marks"),
        (lambda a: a.reserve("?-?", "F"), "one group of question marks"),
        (lambda a: a.issue("KD-2", sheet(), "F" * 121), "up to 120 letters"),
    ],
)
def test_what_does_not_fit_is_refused_and_changes_nothing(
    archive: Archive, asked: object, said: str
) -> None:
    archive.issue("KD-1", sheet(), "Foreman")
    before = archive.events(), archive.travellers()
    with pytest.raises(NotPossible, match=said):
        asked(archive)
    assert (archive.events(), archive.travellers()) == before


def test_a_closed_one_stays_closed(archive: Archive) -> None:
    archive.issue("KD-1", sheet(), "F")
    archive.move("KD-1", "returned", "F")
    archive.move("KD-1", "closed", "F")
    with pytest.raises(NotPossible, match="closed: its work is done"):
        archive.reissue("KD-1", "B", sheet("second"), "F", "why")
    with pytest.raises(NotPossible, match="is closed and cannot become returned; its work is done"):
        archive.move("KD-1", "returned", "F")


def test_numbers_of_a_series_follow_each_other(archive: Archive) -> None:
    assert [archive.reserve("KD-??", "F") for _ in range(2)] == ["KD-01", "KD-02"]
    archive.issue("KD-03", sheet(), "F")  # given by hand
    assert archive.reserve("KD-??", "F") == "KD-04"
    assert archive.reserve("B?-26", "F") == "B1-26"
    assert verify(archive) == ()


def test_a_number_has_no_part_in_what_happens_to_a_draft(archive: Archive) -> None:
    assert new_draft(archive, "job", "Caps", "Ann").id == 1
    archive.issue("1", sheet(), "F")
    assert [one.what for one in archive.events("1")] == ["issued"]


def test_a_series_ends(archive: Archive) -> None:
    for _ in range(9):
        archive.reserve("X?", "F")
    with pytest.raises(NotPossible, match="used up"):
        archive.reserve("X?", "F")


def test_same_content_is_kept_once(archive: Archive) -> None:
    one = archive.issue("KD-1", sheet(), "F")
    other = archive.issue("KD-2", sheet(), "F")
    assert one.pdf == other.pdf
    assert verify(archive) == ()


def test_eight_at_once_lose_nothing_and_share_no_number(archive: Archive, place: str) -> None:
    """8 processes, 5 sheets each."""
    context = multiprocessing.get_context("spawn")
    workers = [context.Process(target=issue_some, args=(place, at, 5)) for at in range(8)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(120)
        assert worker.exitcode == 0
    assert sorted(one.number for one in archive.travellers()) == [
        f"KD-{at:04d}" for at in range(1, 41)
    ]
    assert verify(archive) == ()


def test_revisions_after_z() -> None:
    letters = ["A"]
    for _ in range(27):
        letters.append(next_revision(letters[-1]))
    assert letters[24:] == ["Y", "Z", "AA", "AB"]


def test_a_place_that_is_no_archive_is_refused(tmp_path: Path) -> None:
    (tmp_path / "text").write_text("this is no database, only a text that is long enough" * 40)
    with pytest.raises(ArchiveProblem, match="cannot be opened"):
        open_archive(tmp_path / "text")
    with pytest.raises(ArchiveProblem, match="is no archive"):
        open_archive("oracle-of-delphi://x")
    (tmp_path / "file").write_text("")
    with pytest.raises(ArchiveProblem, match="cannot make"):
        open_archive(tmp_path / "file" / "below" / "a.sqlite")


def test_a_newer_form_is_refused_with_its_name(archive: Archive, place: str) -> None:
    with archive.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(ArchiveProblem, match="of form 9999, made by a newer program"):
        open_archive(place)


@pytest.mark.parametrize("name", ["what?x=1.sqlite", "50%20.sqlite", "a#b.sqlite", ":memory:", "ü"])
def test_a_file_is_where_its_name_says(tmp_path: Path, name: str) -> None:
    place = tmp_path / "a?b" / name
    archive = open_archive(place)
    archive.issue("KD-1", sheet(), "F")
    archive.close()
    assert place.stat().st_size > 0
    assert [one.name for one in tmp_path.iterdir()] == ["a?b"]


def test_a_relative_place_and_the_users_own_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("USERPROFILE", str(tmp_path / "home"))
    for place, made in (("near.sqlite", "near.sqlite"), ("~/own.sqlite", "home/own.sqlite")):
        open_archive(place).close()
        assert (tmp_path / made).is_file()


def test_where_none_may_be_made(tmp_path: Path) -> None:
    (tmp_path / "empty").touch()
    for name in ("missing", "empty"):
        with pytest.raises(NotPossible, match="there is no archive at"):
            open_archive(tmp_path / name, may_be_made=False)
    assert [one.name for one in tmp_path.iterdir()] == ["empty"]
    with closing(sqlite3.connect(tmp_path / "empty")) as other:
        assert other.execute("SELECT name FROM sqlite_master").fetchall() == []


@pytest.mark.parametrize("place", ["postgresql"], indirect=True)
def test_none_is_made_in_an_empty_database(place: str) -> None:
    with pytest.raises(NotPossible, match="there is no archive at"):
        open_archive(place, may_be_made=False)
    open_archive(place).close()
    open_archive(place, may_be_made=False).close()


def test_a_database_of_something_else_is_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "addresses.sqlite"
    with closing(sqlite3.connect(place)) as other:
        other.execute("CREATE TABLE address (name TEXT)")
        other.commit()
    with pytest.raises(ArchiveProblem, match="of something else"):
        open_archive(place)
    with closing(sqlite3.connect(place)) as other:
        assert other.execute("SELECT name FROM sqlite_master").fetchall() == [("address",)]


def test_who_has_it_open_while_a_newer_program_renews_it_writes_no_more(archive: Archive) -> None:
    archive.issue("KD-1", sheet(), "F")
    with archive.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(ArchiveProblem, match="of form 9999, made by a newer program"):
        archive.move("KD-1", "on the floor", "F")
    assert archive.revisions("KD-1")[0].state == "issued"


def test_series_that_have_numbers_in_common_share_none(archive: Archive) -> None:
    patterns = ("KD-??", "KD-0?", "KD-?1", "KD-??")
    taken = [archive.reserve(one, "F") for one in patterns for _again in range(3)]
    assert len(set(taken)) == len(taken)
    assert taken[:4] == ["KD-01", "KD-02", "KD-03", "KD-04"]
    assert verify(archive) == ()


@pytest.mark.parametrize("again", [False, True])
def test_what_follows_a_sheet_that_is_out_of_use_is_said(archive: Archive, again: bool) -> None:
    archive.issue("KD-1", sheet(), "Foreman")
    archive.move("KD-1", "withdrawn", "Foreman", "wrong plate")
    with pytest.raises(NotPossible, match="withdrawn and cannot become returned; issue it anew"):
        archive.move("KD-1", "returned", "Foreman")
    archive.reissue("KD-1", "B", sheet("b"), "Foreman", "thicker")
    archive.reissue("KD-1", "C", sheet("c"), "Foreman", "thinner")
    if again:
        archive.move("KD-1", "on the floor", "Foreman")
    old = archive.revisions("KD-1")[1]
    state = "on the floor" if again else "issued"
    said = f"KD-1 B is superseded .*; the last revision is C, which is {state}: that one is meant"
    with writing(archive.engine) as connection, pytest.raises(NotPossible, match=said):
        move_one(connection, old, "returned", "Foreman", {})


def test_a_content_that_was_put_there_as_text_is_altered(tmp_path: Path) -> None:
    with closing(open_archive(tmp_path / "a.sqlite")) as archive:
        kept = archive.issue("KD-1", sheet(), "Foreman")
        with archive.engine.begin() as connection:
            connection.execute(text("UPDATE content SET bytes = 'x'"))
        with pytest.raises(ArchiveProblem, match="missing or was altered"):
            archive.content(kept.job)
