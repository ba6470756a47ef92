"""The rows of an archive as they are copied: in their order, a few at a time."""

import hashlib
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from sqlalchemy import ColumnElement, Connection, String, Table, func, select, text

from kerfdocket.archive.chain import last_hash
from kerfdocket.archive.contents import contents
from kerfdocket.archive.engine import is_writing
from kerfdocket.archive.errors import NotPossible
from kerfdocket.archive.schema import (
    ACTUAL,
    CONTENT,
    DRAFT,
    EVENT,
    PAGE,
    SERIES,
    TABLES,
    TRAVELLER,
)
from kerfdocket.archive.verify import Fault, faults_in, index_faults
from kerfdocket.errors import InputError
from kerfdocket.language import _, counted

__all__ = [
    "NotWhole",
    "Row",
    "RowsSum",
    "count_rows",
    "insert",
    "next_ids",
    "refuse_faults",
    "refuse_unless_empty",
    "rows_of",
]

Row = dict[str, Any]

# The same order on each database, as `contents` has one, too. Ids rise as the events that they
# come from do.
_ORDERS: dict[Table, tuple[ColumnElement[Any], ...]] = {
    EVENT: (EVENT.c.place,),
    SERIES: (SERIES.c.pattern,),
    TRAVELLER: (TRAVELLER.c.id,),
    PAGE: (PAGE.c.id,),
    ACTUAL: (ACTUAL.c.number, ACTUAL.c.revision, ACTUAL.c.name),
    DRAFT: (DRAFT.c.id,),
}
_ROWS_AT_ONCE = 500
_BYTES_AT_ONCE = 2_000_000
_FAULTS_SAID = 10


class NotWhole(NotPossible):
    """What is to be copied has faults.

    Attributes:
        faults: all of them.
    """

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        said = "\n".join(str(one) for one in faults[:_FAULTS_SAID])
        more = len(faults) - _FAULTS_SAID
        if more > 0:
            said += "\n" + counted("and {count} more", "and {count} more", more)
        super().__init__(
            _(
                "nothing was written, as this archive is not whole (it can be written despite "
                "its faults, if you ask for that):\n{faults}",
                faults=said,
            )
        )

    def __reduce__(self) -> tuple[type, tuple[object, ...]]:
        """Come out of another process as it went in."""
        return type(self), (self.faults,)


def rows_of(connection: Connection, table: Table) -> Iterator[Row]:
    """Yield the rows of a table in their order; never more than a few are in memory."""
    if table is CONTENT:
        for row in contents(connection):
            values = dict(row._mapping)
            if isinstance(values["bytes"], str):
                # SQLite gives back a text if someone put one in; `verify` names it.
                values["bytes"] = values["bytes"].encode()
            yield values
        return
    wanted = select(table).order_by(*(_plainly(connection, one) for one in _ORDERS[table]))
    for row in connection.execute(wanted.execution_options(yield_per=_ROWS_AT_ONCE)):
        yield dict(row._mapping)


def _plainly(connection: Connection, column: ColumnElement[Any]) -> ColumnElement[Any]:
    """By the letters' numbers, as SQLite does, and not as a language has them."""
    if connection.dialect.name == "postgresql" and isinstance(column.type, String):
        return column.collate("C")
    return column


def insert(connection: Connection, table: Table, rows: Iterable[Row]) -> None:
    """Put rows into a table, some at a time."""
    if table is not CONTENT:
        left = iter(rows)
        while some := list(islice(left, _ROWS_AT_ONCE)):
            connection.execute(table.insert(), some)
        return
    some, size = [], 0
    for row in rows:
        some.append(row)
        size += len(row["bytes"])
        if size > _BYTES_AT_ONCE or len(some) == _ROWS_AT_ONCE:
            connection.execute(table.insert(), some)
            some, size = [], 0
    if some:
        connection.execute(table.insert(), some)


class RowsSum:
    """A sum over rows, to compare a copy by."""

    def __init__(self) -> None:
        self._hash = hashlib.sha256()
        self.rows = 0

    def add(self, row: Row) -> None:
        """Take a row into the sum."""
        self.rows += 1
        for name, value in row.items():
            if isinstance(value, bytes):
                self._hash.update(f"{name}: {len(value)} bytes\n".encode())
                self._hash.update(value)
            else:
                self._hash.update(f"{name}: {value!r}\n".encode())

    def watching(self, rows: Iterable[Row]) -> Iterator[Row]:
        """Yield the rows and take each into the sum."""
        for row in rows:
            self.add(row)
            yield row

    @property
    def said(self) -> str:
        """The sum so far, as hexadecimal digits."""
        return self._hash.hexdigest()


def count_rows(connection: Connection) -> dict[str, int]:
    """Return how many rows each table has."""
    return {
        table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
        for table in TABLES
    }


def refuse_unless_empty(connection: Connection) -> None:
    """See that an archive holds nothing yet.

    Raises:
        NotPossible: it does.
    """
    if any(count_rows(connection).values()):
        raise NotPossible(
            _(
                "this archive is not empty ({events} events): give the place of one that is not "
                "there yet, so that nothing is mixed or written over",
                events=last_hash(connection)[0],
            )
        )


def next_ids(connection: Connection) -> None:
    """Let new rows have ids after those that were put in; SQLite does so by itself."""
    if connection.dialect.name != "postgresql":
        return
    for table in (TRAVELLER, PAGE):
        last = connection.execute(select(func.max(table.c.id))).scalar_one()
        if last is not None:
            connection.execute(
                text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)"),
                {"name": table.name, "last": last},
            )


def refuse_faults(connection: Connection, despite_faults: bool) -> tuple[Fault, ...]:
    """Return what is wrong with an archive, if that is to be overlooked.

    Args:
        connection: within `engine.reading` or `engine.writing`.
        despite_faults: they are to be overlooked.

    Raises:
        NotWhole: something is wrong.
        InputError: its events are of a form that no program wrote.
    """
    try:
        faults = tuple(faults_in(connection))
        if is_writing(connection):
            faults = (*faults, *index_faults(connection))
    except (AttributeError, LookupError, RecursionError, TypeError, ValueError) as error:
        raise InputError(
            _("nothing was written: what its events tell is of a form that no archive has")
        ) from error
    if faults and not despite_faults:
        raise NotWhole(faults)
    return faults
