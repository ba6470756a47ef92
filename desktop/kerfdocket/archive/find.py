"""Finding travellers: which ones, newest first, and what a list shows of them."""

import math
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from json import dumps
from typing import Any, NamedTuple

from sqlalchemy import Connection, Engine, TextClause, select, text

from kerfdocket.archive.engine import asking, told
from kerfdocket.archive.errors import ArchiveProblem, NotPossible
from kerfdocket.archive.model import State, Traveller
from kerfdocket.archive.schema import TRAVELLER
from kerfdocket.archive.store import Archive, traveller_of
from kerfdocket.archive.words import IN_FIELDS, in_field, words_in
from kerfdocket.language import _, marked

__all__ = ["FoundTraveller", "Wanted", "find", "rows", "traveller_at"]

_UNREADABLE = marked("the archive cannot be read")
_AT_ONCE = 1000  # rows
_MOST_WORDS = 100  # what a person types is less; what is pasted by mistake is more
# A plate of 1 in is found from 25.4 mm on, whatever the last digit of either is.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Wanted:
    """What a traveller must be like to be found; what is empty or None does not matter.

    Each text is taken as words, in any order; each is the begin of a word of the field that it
    stands for, capitals, accents and punctuation aside. One without letters and digits does not
    matter either.

    Attributes:
        text: words anywhere in it: its fields, names of parts, notes, what was written on it.
        number, title, customer, drawing, grade, nozzle, gas, cutter: words of that field.
        thickness_from_m, thickness_to_m: of the plate, both included. [m]
        date_from, date_to: of the job, both included; a job without a date is in no range.
        states: it is in one of these.
    """

    text: str = ""
    number: str = ""
    title: str = ""
    customer: str = ""
    drawing: str = ""
    grade: str = ""
    nozzle: str = ""
    gas: str = ""
    cutter: str = ""
    thickness_from_m: float | None = None
    thickness_to_m: float | None = None
    date_from: date | None = None
    date_to: date | None = None
    states: tuple[State, ...] = ()


# A tuple, as a dataclass takes longer to make than the database takes to find its values.
class FoundTraveller(NamedTuple):
    """What a list shows of a traveller.

    Attributes:
        id: of its row, for `traveller_at`.
        number, revision: what stands on the sheet.
        state: where it is in its life.
        title, customer, grade, thickness, nozzle, gas, cutter: as they were written.
        date: of the job, ISO 8601; empty if it has none.
        issued_at: when, UTC, ISO 8601.
    """

    id: int
    number: str
    revision: str
    state: State
    title: str
    customer: str
    grade: str
    thickness: str
    nozzle: str
    gas: str
    cutter: str
    date: str
    issued_at: str


_ROWS = {
    name: text(f"SELECT {', '.join(FoundTraveller._fields)} FROM traveller WHERE id {is_asked_for}")
    for name, is_asked_for in (
        ("sqlite", "IN (SELECT value FROM json_each(:ids))"),
        ("postgresql", "= ANY(:ids)"),
    )
}


def find(archive: Archive, wanted: Wanted, limit: int | None = None) -> "array[int]":
    """Return the row ids of the travellers that are wanted, the newest first.

    Args:
        archive: to look in.
        wanted: what they must be like.
        limit: how many at most.

    Returns:
        Ids for `rows` and `traveller_at`, 8 bytes each.

    Raises:
        NotPossible: there are too many words to look for.
        ArchiveProblem: the archive cannot be read.
    """
    statement, values = _statement(archive.engine, wanted, limit)
    with told(_(_UNREADABLE)), asking(archive.engine) as connection:
        found = array("q")
        for some in _answer(connection, text(statement), values):
            found.extend([one for (one,) in some])
    return found


def rows(archive: Archive, ids: Sequence[int]) -> tuple[FoundTraveller, ...]:
    """Return what a list shows of travellers.

    Args:
        archive: that has them.
        ids: some of those that `find` returned.

    Returns:
        As many, in the same order.

    Raises:
        ArchiveProblem: the archive cannot be read, or one of them is not in it any more.
    """
    name = archive.engine.dialect.name
    asked: Any = list(ids)
    values = {"ids": dumps(asked) if name == "sqlite" else asked}
    with told(_(_UNREADABLE)), asking(archive.engine) as connection:
        by_id = {
            row[0]: FoundTraveller._make(row)
            for some in _answer(connection, _ROWS[name], values)
            for row in some
        }
    try:
        return tuple([by_id[one] for one in asked])
    except KeyError as error:
        raise ArchiveProblem(
            _("a traveller that was found is not there any more; verify the archive")
        ) from error


def traveller_at(archive: Archive, row_id: int) -> Traveller:
    """Return all that the archive's table says of one that was found.

    Raises:
        NotPossible: there is none with this id.
        ArchiveProblem: the archive cannot be read.
    """
    with told(_(_UNREADABLE)), asking(archive.engine) as connection:
        found = connection.execute(select(TRAVELLER).where(TRAVELLER.c.id == row_id)).first()
    if found is None:
        raise NotPossible(_("the archive has no traveller in row {id}", id=row_id))
    return traveller_of(found)


def _answer(
    connection: Connection, statement: TextClause, values: dict[str, Any]
) -> Iterator[Sequence[Any]]:
    """Some rows at a time, as the driver gives them: making SQLAlchemy's takes longer."""
    cursor = connection.execute(statement, values).cursor
    assert cursor is not None
    try:
        while some := cursor.fetchmany(_AT_ONCE):
            yield some
    except connection.dialect.loaded_dbapi.Error as error:
        # Only what happens within `execute` is already an error of SQLAlchemy, which `told` knows.
        raise ArchiveProblem(_("{doing}: {reason}", doing=_(_UNREADABLE), reason=error)) from error


def _statement(engine: Engine, wanted: Wanted, limit: int | None) -> tuple[str, dict[str, object]]:
    """The text of a statement that an index answers, and its values.

    As text, as putting it together from tables takes longer than a short answer.
    """
    is_sqlite = engine.dialect.name == "sqlite"
    words = _words(wanted)
    ranges, values = _ranges(wanted)
    conditions = list(ranges)
    if wanted.states:
        names = [f"state_{at}" for at in range(len(wanted.states))]
        values |= dict(zip(names, wanted.states, strict=True))
        # The index of a range has the state in it, that of states has no range: the plus keeps
        # SQLite from taking the second.
        column = "+state" if is_sqlite and ranges else "state"
        conditions.append(f"{column} IN ({', '.join(':' + name for name in names)})")
    source, order = "traveller", "id"
    if not is_sqlite and (words or ranges):
        # By `id` alone and with a limit, PostgreSQL may go through all of them from the newest on
        # instead of the index, which takes long where the found ones are old.
        order = "id + 0"
    if words and is_sqlite:
        # The index of words gives the ids, and in their order. The table is asked only for what the
        # index does not know, and after it: the other way round, each row would search the index.
        source, order = "traveller_words", "rowid"
        if conditions:
            source += " CROSS JOIN traveller ON traveller.id = traveller_words.rowid"
            order = "traveller_words.rowid"
        conditions.insert(0, "traveller_words MATCH :words")
        values["words"] = " AND ".join(f'"{word}"*' for word in words)
    elif words:
        conditions.insert(
            0, "array_to_tsvector(string_to_array(words, ' ')) @@ CAST(:words AS tsquery)"
        )
        values["words"] = " & ".join(f"'{word}':*" for word in words)
    statement = f"SELECT {order} FROM {source}"
    if conditions:
        statement += f" WHERE {' AND '.join(conditions)}"
    statement += f" ORDER BY {order} DESC"
    if limit is not None:
        statement += " LIMIT :limit"
        values["limit"] = limit
    return statement, values


def _words(wanted: Wanted) -> list[str]:
    """What must be in the index of words, as it keeps them; letters and digits and `_` only."""
    asked = {*words_in(wanted.text)}
    for name in IN_FIELDS:
        asked |= {in_field(name, word) for word in words_in(getattr(wanted, name))}
    ordered = sorted(asked)
    # What begins with `plate` begins with `pl`. In their order, a word's longer ones come next.
    words = [word for word, after in pairwise([*ordered, ""]) if not after.startswith(word)]
    if len(words) > _MOST_WORDS:
        raise NotPossible(
            _(
                "{count} words are too many to look for; give {most} at most",
                count=len(words),
                most=_MOST_WORDS,
            )
        )
    return words


def _ranges(wanted: Wanted) -> tuple[list[str], dict[str, object]]:
    conditions: list[str] = []
    values: dict[str, object] = {}
    if wanted.thickness_from_m is not None or wanted.thickness_to_m is not None:
        least, most = wanted.thickness_from_m or 0.0, wanted.thickness_to_m
        conditions.append("thickness_m BETWEEN :least_m AND :most_m")
        values["least_m"] = least * (1 - _ROUNDING)
        values["most_m"] = math.inf if most is None else most * (1 + _ROUNDING)
    if wanted.date_from is not None or wanted.date_to is not None:
        conditions.append("date BETWEEN :first AND :last")
        values["first"] = (wanted.date_from or date.min).isoformat()
        values["last"] = (wanted.date_to or date.max).isoformat()
    return conditions, values
