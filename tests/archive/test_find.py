"""Finding in the archive, on SQLite and on PostgreSQL."""

import unicodedata
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from archive.conftest import sheet
from archive.many import invented, put_many, traveller
from kerfdocket.archive import (
    STATES,
    Archive,
    ArchiveProblem,
    IssuedSheet,
    NotPossible,
    Traveller,
    open_archive,
    verify,
)
from kerfdocket.archive.actuals import record_actuals
from kerfdocket.archive.find import FoundTraveller, Wanted, _statement, find, rows, traveller_at
from kerfdocket.archive.schema import CONTENT, TRAVELLER
from kerfdocket.archive.words import IN_FIELDS, words_in
from servers import empty_database

SHOP: list[tuple[Traveller, str]] = [
    (
        traveller(
            "KD-0001",
            0.012,
            title="Base plates",
            customer="Halden Yard",
            drawing="D-77/B",
            grade="S355J2",
            thickness="12 mm",
            nozzle="1.2 mm",
            gas="acetylene",
            date="2026-01-10",
        ),
        "stair tower BP1",
    ),
    (
        traveller(
            "KD-0002",
            0.0254,
            state="closed",
            cutter="Ada Moor",
            title="Türblech für Straße",
            customer="Brücke & Söhne",
            drawing="D-78",
            grade="S235JR",
            thickness="1 in",
            nozzle="1.6 mm",
            gas="propane",
            date="2026-02-01",
        ),
        "№ 5 gusset",
    ),
    (
        traveller(
            "KD-0010",
            0.025,
            state="on the floor",
            title="Tower flange",
            customer="Nord Works",
            drawing="gas-pipe 4",
            grade="S355K2+N",
            thickness="25 mm",
            nozzle="1.6 mm",
            gas="natural gas",
            date="2026-02-28",
        ),
        "near AND far",
    ),
    (traveller("W-7", None, title="Offcut", grade="A36", customer="Halden"), ""),
]


def numbers(archive: Archive, wanted: Wanted, limit: int | None = None) -> list[str]:
    return [one.number for one in rows(archive, find(archive, wanted, limit))]


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def shop(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Archive]:
    """An archive that is only read."""
    with closing(open_archive(_place(request, tmp_path_factory))) as archive:
        put_many(archive, SHOP)
        yield archive


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def filled_anew(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Archive]:
    """An archive that is emptied before it is filled."""
    with closing(open_archive(_place(request, tmp_path_factory))) as archive:
        yield archive


def _place(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    if request.param == "sqlite":
        return str(tmp_path_factory.mktemp("find") / "a.sqlite")
    return empty_database(request.getfixturevalue("postgresql"))


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (Wanted(), ["W-7", "KD-0010", "KD-0002", "KD-0001"]),
        (Wanted(number="KD-0001"), ["KD-0001"]),
        (Wanted(number="0001 kd"), ["KD-0001"]),
        (Wanted(number="kd-000"), ["KD-0002", "KD-0001"]),
        (Wanted(title="base"), ["KD-0001"]),
        (Wanted(customer="halden"), ["W-7", "KD-0001"]),
        (Wanted(drawing="d-7"), ["KD-0002", "KD-0001"]),
        (Wanted(grade="s355"), ["KD-0010", "KD-0001"]),
        (Wanted(grade="S355K2+N"), ["KD-0010"]),
        (Wanted(nozzle="1.6"), ["KD-0010", "KD-0002"]),
        (Wanted(gas="natural"), ["KD-0010"]),
        (Wanted(cutter="Ada"), ["KD-0002"]),
        # A word is found in its own field only; the text is anywhere.
        (Wanted(title="tower"), ["KD-0010"]),
        (Wanted(text="tower"), ["KD-0010", "KD-0001"]),
        (Wanted(text="s355 tower"), ["KD-0010", "KD-0001"]),
        (Wanted(text="s355 tower bp1"), ["KD-0001"]),
        (Wanted(text="s355 tow st"), ["KD-0001"]),
        (Wanted(text="s355 s3 tower"), ["KD-0010", "KD-0001"]),
        # A word is looked for from its begin.
        (Wanted(text="355"), []),
        (Wanted(text="55 s355"), []),
        # The name of a field is a word like others.
        (Wanted(text="gas"), ["KD-0010"]),
        (Wanted(text="title"), []),
        (Wanted(text="_gas_acetylene"), []),
        (Wanted(text="gas_nat"), ["KD-0010"]),
        # Thickness: both ends belong to it, and an inch is 25.4 mm.
        (Wanted(thickness_from_m=0.012, thickness_to_m=0.025), ["KD-0010", "KD-0001"]),
        (Wanted(thickness_from_m=0.0254), ["KD-0002"]),
        (Wanted(thickness_from_m=0.0254000000000001, thickness_to_m=0.03), ["KD-0002"]),
        (Wanted(thickness_to_m=0.02), ["KD-0001"]),
        (Wanted(thickness_from_m=0.03, thickness_to_m=0.01), []),
        # One that has none is in no range.
        (Wanted(date_from=date(2026, 2, 1), date_to=date(2026, 2, 28)), ["KD-0010", "KD-0002"]),
        (Wanted(date_from=date(2026, 2, 2)), ["KD-0010"]),
        (Wanted(date_to=date(2026, 1, 31)), ["KD-0001"]),
        (Wanted(states=("closed",)), ["KD-0002"]),
        (Wanted(states=("issued", "on the floor")), ["W-7", "KD-0010", "KD-0001"]),
        (Wanted(states=STATES), ["W-7", "KD-0010", "KD-0002", "KD-0001"]),
        # Several at once.
        (Wanted(text="tower", states=("issued",)), ["KD-0001"]),
        (Wanted(gas="prop", thickness_from_m=0.02, states=("closed", "issued")), ["KD-0002"]),
        (Wanted(gas="prop", grade="s355"), []),
        (
            Wanted(
                text="flange",
                number="KD",
                thickness_to_m=0.03,
                date_from=date(2026, 1, 1),
                states=("on the floor",),
            ),
            ["KD-0010"],
        ),
    ],
)
def test_each_filter(shop: Archive, wanted: Wanted, found: list[str]) -> None:
    assert numbers(shop, wanted) == found


@pytest.mark.parametrize("typed", ["türblech", "TÜRBLECH", "turblech", "Tu\u0308rblech", "ＴÜＲ"])
def test_neither_case_nor_accents_matter(shop: Archive, typed: str) -> None:
    assert numbers(shop, Wanted(text=typed)) == ["KD-0002"]
    assert numbers(shop, Wanted(title=typed)) == ["KD-0002"]


@pytest.mark.parametrize("typed", ["straße", "STRASSE", "STRAẞE", "söhne brücke", "№ 5", "NO 5"])
def test_letters_that_are_written_in_two_ways(shop: Archive, typed: str) -> None:
    assert numbers(shop, Wanted(text=typed)) == ["KD-0002"]


@pytest.mark.parametrize(
    "typed",
    [
        "\"base\" 'plates'",
        "base* plates*",
        "-base +plates",
        "%base_plates%",
        "base;--plates",
        "(base) {plates}",
        "base\0plates",
        "base:* & plates",
        "^base plates$",
        "base\\plates\\",
        "base\ud800plates",
        "base\n\tplates",
    ],
)
def test_punctuation_parts_words_and_means_nothing(shop: Archive, typed: str) -> None:
    assert numbers(shop, Wanted(text=typed)) == ["KD-0001"]
    assert numbers(shop, Wanted(title=typed)) == ["KD-0001"]


@pytest.mark.parametrize("typed", ["", "  ", "%", "*", '"', "'", "- -", "\0", "()", "&|!:<->"])
def test_a_text_without_words_does_not_matter(shop: Archive, typed: str) -> None:
    assert len(find(shop, Wanted(text=typed, customer=typed))) == len(SHOP)


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("near AND far", ["KD-0010"]),
        ("base OR flange", []),
        ("base NOT flange", []),
        ("NEAR(base plates)", []),
        ("title:base", []),
        ("base & !flange", []),
        ("base <-> plates", ["KD-0001"]),
        ("words", []),
        ("rank", []),
    ],
)
def test_words_that_a_database_knows_are_only_words(
    shop: Archive, typed: str, found: list[str]
) -> None:
    assert numbers(shop, Wanted(text=typed)) == found


def test_long_queries(shop: Archive) -> None:
    assert numbers(shop, Wanted(text="base " * 50_000)) == ["KD-0001"]
    assert numbers(shop, Wanted(text="x" * 100_000)) == []
    assert numbers(shop, Wanted(text=" ".join(f"x{at:02d}" for at in range(100)))) == []
    with pytest.raises(NotPossible, match=r"101 words are too many .* 100 at most"):
        find(shop, Wanted(text=" ".join(f"x{at:03d}" for at in range(101))))


def test_a_longer_word_than_is_kept_is_found_by_its_begin(archive: Archive) -> None:
    put_many(archive, [(traveller("A-1", title="x" * 59 + "yz"), "")])
    assert numbers(archive, Wanted(title="x" * 59 + "y")) == ["A-1"]
    assert numbers(archive, Wanted(title="x" * 59 + "yzzz")) == ["A-1"]
    assert numbers(archive, Wanted(title="x" * 59 + "z")) == []


def test_newest_first_and_no_more_than_asked_for(archive: Archive) -> None:
    put_many(archive, invented(300))
    every = [f"KD-{at:06d}" for at in reversed(range(300))]
    assert numbers(archive, Wanted()) == every
    assert numbers(archive, Wanted(number="kd")) == every
    assert numbers(archive, Wanted(thickness_from_m=0.0)) == every
    assert numbers(archive, Wanted(date_from=date.min, states=STATES)) == every
    for wanted in (Wanted(), Wanted(number="kd"), Wanted(states=("closed",), date_to=date.max)):
        assert numbers(archive, wanted, 7) == numbers(archive, wanted)[:7]
    assert numbers(archive, Wanted(), 0) == []


def test_rows_come_as_asked_for(shop: Archive) -> None:
    ids = list(find(shop, Wanted()))
    shown = rows(shop, [ids[2], ids[0], ids[2]])
    assert [one.number for one in shown] == ["KD-0002", "W-7", "KD-0002"]
    assert rows(shop, []) == ()
    closed = SHOP[1][0]
    assert shown[0] == FoundTraveller(
        id=ids[2],
        number="KD-0002",
        revision="A",
        state="closed",
        title=closed.facts["title"],
        customer=closed.facts["customer"],
        grade="S235JR",
        thickness="1 in",
        nozzle="1.6 mm",
        gas="propane",
        cutter="Ada Moor",
        date="2026-02-01",
        issued_at=closed.issued_at,
    )
    with pytest.raises(ArchiveProblem, match="not there any more"):
        rows(shop, [ids[0], 10**9])


def test_the_whole_of_one_that_was_found(shop: Archive) -> None:
    (row_id,) = find(shop, Wanted(number="kd-0002"))
    assert traveller_at(shop, row_id) == SHOP[1][0]
    with pytest.raises(NotPossible, match="no traveller in row 99"):
        traveller_at(shop, 99)


def test_what_happens_to_a_traveller_is_found_at_once(archive: Archive) -> None:
    first = sheet(customer="Bay 2", date="2026-11-25")
    archive.issue("KD-1", IssuedSheet(**{**first.__dict__, "thickness_m": 0.012}), "F")
    archive.move("KD-1", "on the floor", "F")
    assert numbers(archive, Wanted(states=("on the floor",), thickness_to_m=0.012)) == ["KD-1"]
    record_actuals(archive, "KD-1", "A", {"cutter_name": "Dana Moor", "note": "ripple"}, "F")
    assert numbers(archive, Wanted(cutter="moor")) == ["KD-1"]
    assert numbers(archive, Wanted(text="rippl")) == ["KD-1"]
    record_actuals(archive, "KD-1", "A", {"cutter_name": "Eli Berg", "note": ""}, "F")
    assert numbers(archive, Wanted(cutter="moor")) == []
    assert numbers(archive, Wanted(text="rippl")) == []
    archive.reissue("KD-1", "B", sheet("second", customer="Bay 3"), "F", "moved over")
    found = rows(archive, find(archive, Wanted(number="kd-1")))
    assert [(one.revision, one.state) for one in found] == [("B", "issued"), ("A", "superseded")]
    assert numbers(archive, Wanted(text="moved", customer="bay 3")) == ["KD-1"]
    assert verify(archive) == ()


WORDS = "traveller_words"


@pytest.mark.parametrize(
    ("wanted", "index"),
    [
        (Wanted(text="tower s355"), WORDS),
        (Wanted(number="KD-000012"), WORDS),
        (Wanted(customer="ufer", states=("issued",)), WORDS),
        (Wanted(text="tower", thickness_to_m=0.02, date_from=date(2020, 1, 1)), WORDS),
        (
            Wanted(thickness_from_m=0.012, thickness_to_m=0.013, states=("issued", "returned")),
            "ix_traveller_thickness_m",
        ),
        (
            Wanted(date_from=date(2020, 1, 1), date_to=date(2020, 1, 31), states=("closed",)),
            "ix_traveller_date",
        ),
        (Wanted(date_from=date(2020, 1, 1), date_to=date(2020, 1, 31)), "ix_traveller_date"),
        (Wanted(states=("returned",)), "ix_traveller_state"),
    ],
)
def test_an_index_answers(archive: Archive, wanted: Wanted, index: str) -> None:
    put_many(archive, invented(3000))
    statement, values = _statement(archive.engine, wanted, None)
    is_sqlite = archive.engine.dialect.name == "sqlite"
    with archive.engine.begin() as connection:
        if not is_sqlite:
            connection.execute(text("ANALYZE traveller"))
            # Going through all of so few costs it as much as the index.
            connection.execute(text("SET LOCAL enable_seqscan = off"))
        explain = "EXPLAIN QUERY PLAN" if is_sqlite else "EXPLAIN"
        plan = [row[-1] for row in connection.execute(text(f"{explain} {statement}"), values)]
    if not is_sqlite:
        if index == WORDS:
            # Where more is asked than words, which index it takes is its own choice.
            index = "ix_traveller_" if " AND " in statement else "ix_traveller_words"
        assert any(f"Scan on {index}" in one or f"using {index}" in one for one in plan), plan
    elif index == WORDS:
        # Whatever else is asked is looked up by the row's id; nothing is sorted.
        assert plan[0].startswith("SCAN traveller_words VIRTUAL TABLE INDEX")
        by_id = "SEARCH traveller USING INTEGER PRIMARY KEY (rowid=?)"
        assert plan[1:] == ([by_id] if "CROSS JOIN" in statement else [])
    else:
        assert plan[0].startswith(f"SEARCH traveller USING COVERING INDEX {index} (")


def test_a_damaged_archive_is_said_to_be_so(tmp_path: Path) -> None:
    place = tmp_path / "a.sqlite"
    archive = open_archive(place)
    put_many(archive, invented(5000))
    archive.close()
    content = bytearray(place.read_bytes())
    third = len(content) // 3
    content[third : 2 * third] = bytes(third)
    place.write_bytes(content)
    archive = open_archive(place)
    # The newest are whole: what is wrong shows only as the rest is fetched.
    with pytest.raises(ArchiveProblem, match=r"cannot be read: .*malformed"):
        find(archive, Wanted())
    archive.close()


# Words that begin alike, meet each other's fields, and are written in several ways.
_LETTERS = "aäAÄsßS1½ .-'\"*_%(\0é№İ\u0301中"
_TEXTS = st.one_of(
    st.sampled_from(["gas", "title", "S355J2", "kd-1", "Türblech", "STRASSE", "OR", "a", "1 in"]),
    st.text(_LETTERS, max_size=6),
    st.text(max_size=4),
)
_STORED = _TEXTS.map(lambda one: one.replace("\0", " ").encode(errors="ignore").decode())
_THICKNESS_M = st.sampled_from([0.006, 0.012, 0.025, 0.0254, 1 * 0.0254, 0.0254000000000001])
_DATES = st.dates(date(2026, 1, 1), date(2026, 1, 9))
_FACTS = ("title", "customer", "drawing", "grade", "nozzle", "gas")


@st.composite
def _made(draw: st.DrawFn) -> tuple[Traveller, str]:
    day = draw(st.none() | _DATES)
    facts = {name: draw(_STORED) for name in draw(st.sets(st.sampled_from(_FACTS), max_size=3))}
    made = traveller(
        draw(_STORED),
        draw(st.none() | _THICKNESS_M),
        draw(st.sampled_from(STATES)),
        draw(_STORED),
        date=day.isoformat() if day else "",
        **facts,
    )
    return made, draw(_STORED)


@st.composite
def _asked(draw: st.DrawFn) -> Wanted:
    names = draw(st.sets(st.sampled_from(("text", *IN_FIELDS)), max_size=2))
    return Wanted(
        **{name: draw(_TEXTS) for name in names},  # type: ignore[arg-type]  # texts, all of them
        thickness_from_m=draw(st.none() | _THICKNESS_M),
        thickness_to_m=draw(st.none() | _THICKNESS_M),
        date_from=draw(st.none() | _DATES),
        date_to=draw(st.none() | _DATES),
        states=tuple(draw(st.just([]) | st.lists(st.sampled_from(STATES), max_size=3))),
    )


def _has(words: str, typed: str) -> bool:
    kept = words_in(words)
    return all(any(one.startswith(word) for one in kept) for word in words_in(typed))


def _is_wanted(one: Traveller, other: str, wanted: Wanted) -> bool:
    fields = {"number": one.number, "cutter": one.cutter, **one.facts}
    day = fields.pop("date")
    every = " ".join((*fields.values(), one.reason, other))
    rounding = 1e-9
    return (
        _has(every, wanted.text)
        and all(_has(fields[name], getattr(wanted, name)) for name in IN_FIELDS)
        and (not wanted.states or one.state in wanted.states)
        and (
            (wanted.thickness_from_m is None and wanted.thickness_to_m is None)
            or (
                one.thickness_m is not None
                and one.thickness_m >= (wanted.thickness_from_m or 0) * (1 - rounding)
                and one.thickness_m <= (wanted.thickness_to_m or 1) * (1 + rounding)
            )
        )
        and (
            (wanted.date_from is None and wanted.date_to is None)
            or (
                day != ""
                and (wanted.date_from or date.min)
                <= date.fromisoformat(day)
                <= (wanted.date_to or date.max)
            )
        )
    )


@settings(max_examples=30, deadline=None)
@given(
    made=st.lists(_made(), min_size=1, max_size=12),
    asked=st.lists(_asked(), min_size=1, max_size=8),
)
def test_as_going_through_all_of_them(
    filled_anew: Archive, made: list[tuple[Traveller, str]], asked: list[Wanted]
) -> None:
    # Numbers are told apart by a word that is in no query.
    made = [
        (replace(one, number=f"{one.number} q{at}"), other) for at, (one, other) in enumerate(made)
    ]
    with filled_anew.engine.begin() as connection:
        connection.execute(TRAVELLER.delete())
        connection.execute(CONTENT.delete())
    put_many(filled_anew, made)
    for wanted in asked:
        right = [one.number for one, other in made if _is_wanted(one, other, wanted)]
        assert numbers(filled_anew, wanted) == right[::-1]


@given(st.text())
def test_words_stay_as_they_are_and_have_no_capitals(typed: str) -> None:
    words = words_in(typed)
    assert words_in(" ".join(words)) == words
    for word in words:
        assert word.isalnum()
        assert word == unicodedata.normalize("NFKD", word).casefold()
