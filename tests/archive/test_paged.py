"""A long list of which only a few pages are held."""

import random
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from archive.conftest import sheet
from archive.many import invented, put_many, traveller
from kerfdocket.archive import Archive, ArchiveProblem, paged
from kerfdocket.archive.find import FoundTraveller, Wanted
from kerfdocket.archive.paged import PagedRows

COUNT = 500


@pytest.fixture
def many(archive: Archive) -> Archive:
    put_many(archive, invented(COUNT))
    return archive


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many rows were asked for, each time."""
    counts: list[int] = []
    real = paged.rows

    def counting(archive: Archive, ids: "list[int]") -> tuple[FoundTraveller, ...]:
        counts.append(len(ids))
        return real(archive, ids)

    monkeypatch.setattr(paged, "rows", counting)
    return counts


def number(index: int) -> str:
    return f"KD-{COUNT - 1 - index:06d}"


def test_every_row_in_its_place(many: Archive, asked: list[int]) -> None:
    found = PagedRows(many, Wanted(), page_size=64)
    assert len(found) == COUNT
    assert asked == []
    assert [found.row(at).number for at in range(COUNT)] == [number(at) for at in range(COUNT)]
    assert asked == [64] * 7 + [COUNT - 7 * 64]
    assert found.id_at(0) == found.row(0).id


def test_no_more_pages_are_held_than_were_meant(many: Archive, asked: list[int]) -> None:
    found = PagedRows(many, Wanted(), page_size=10, page_count=3)
    for at in range(COUNT):
        found.row(at)
        assert found.held <= 30
    assert found.held == 30
    assert len(asked) == COUNT // 10


def test_what_was_looked_at_longest_ago_goes_first(many: Archive, asked: list[int]) -> None:
    found = PagedRows(many, Wanted(), page_size=10, page_count=2)
    found.row(0), found.row(10), found.row(0), found.row(20)
    assert found.known_row(0) is not None
    assert found.known_row(10) is None
    assert len(asked) == 3


def test_a_row_that_is_not_held_is_not_fetched_by_looking(many: Archive, asked: list[int]) -> None:
    found = PagedRows(many, Wanted(), page_size=10)
    assert found.known_row(13) is None
    assert asked == []
    assert [one.number for one in found.fetch(13)] == [number(at) for at in range(10, 20)]
    known = found.known_row(13)
    assert known is not None
    assert known.number == number(13)


@pytest.mark.parametrize("index", [-1, COUNT, COUNT + 1])
def test_there_is_no_such_row(many: Archive, index: int) -> None:
    found = PagedRows(many, Wanted())
    for ask in (found.row, found.fetch, found.known_row, found.id_at):
        with pytest.raises(IndexError, match=f"{index}; the list has {COUNT} rows"):
            ask(index)


def test_an_empty_list(archive: Archive) -> None:
    found = PagedRows(archive, Wanted())
    assert len(found) == 0
    with pytest.raises(IndexError):
        found.row(0)


def test_it_stays_as_it_is_until_it_is_made_again(archive: Archive) -> None:
    put_many(archive, [(traveller("KD-1"), ""), (traveller("KD-2"), "")])
    old = PagedRows(archive, Wanted(number="kd"), page_size=10)
    assert old.row(0).number == "KD-2"
    archive.move("KD-2", "on the floor", "F")
    archive.issue("KD-3", sheet(), "F")
    assert (len(old), old.row(0).state) == (2, "issued")
    assert [one.state for one in old.fetch(0)] == ["on the floor", "issued"]
    new = old.again()
    assert [new.row(at).number for at in range(len(new))] == ["KD-3", "KD-2", "KD-1"]
    other = new.again(Wanted(number="3"))
    assert [other.row(at).number for at in range(len(other))] == ["KD-3"]
    assert (other.wanted.number, len(new), len(old)) == ("3", 3, 2)


def test_many_threads_at_once(many: Archive) -> None:
    found = PagedRows(many, Wanted(), page_size=20, page_count=4)

    def look(seed: int) -> int:
        chance, most = random.Random(seed), 0
        for _turn in range(150):
            index = chance.randrange(COUNT)
            assert found.row(index).number == number(index)
            most = max(most, found.held)
        return most

    with ThreadPoolExecutor(6) as threads:
        assert max(threads.map(look, range(6))) == 80


def test_looking_does_not_wait_for_who_fetches(
    many: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = PagedRows(many, Wanted(), page_size=10)
    found.row(0)
    is_asked, may_answer = threading.Event(), threading.Event()
    real = paged.rows

    def slow(archive: Archive, ids: "list[int]") -> tuple[FoundTraveller, ...]:
        is_asked.set()
        assert may_answer.wait(60)
        return real(archive, ids)

    monkeypatch.setattr(paged, "rows", slow)
    with ThreadPoolExecutor(1) as thread:
        fetching = thread.submit(found.fetch, 100)
        assert is_asked.wait(60)
        known = found.known_row(0)
        assert known is not None
        assert (known.number, len(found), found.known_row(100)) == (number(0), COUNT, None)
        may_answer.set()
        assert fetching.result(60)[0].number == number(100)


def test_a_page_that_cannot_be_fetched_leaves_the_others(
    many: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = PagedRows(many, Wanted(), page_size=10)
    found.row(0)

    def refuse(*_given: object) -> None:
        raise ArchiveProblem("the cable is out")

    with monkeypatch.context() as patched:
        patched.setattr(paged, "rows", refuse)
        with pytest.raises(ArchiveProblem, match="cable"):
            found.row(10)
        assert found.row(0).number == number(0)
    assert found.row(10).number == number(10)


def test_sizes_that_hold_nothing(archive: Archive) -> None:
    for size, count in ((0, 1), (1, 0)):
        with pytest.raises(ValueError, match="1 or more"):
            PagedRows(archive, Wanted(), size, count)
