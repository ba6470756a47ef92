"""All contents one after the other, however many and however large they are."""

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, Row, func, select

from kerfdocket.archive.schema import CONTENT

__all__ = ["contents"]

# Of a server far away each asking costs its way there and back, and a scan may have many megabytes.
_ROWS_AT_ONCE = 500
_BYTES_AT_ONCE = 4_000_000


def contents(connection: Connection) -> Iterator[Row[Any]]:
    """Yield each content in the order of their digests; a few megabytes, or one, are in memory.

    Args:
        connection: within `engine.reading` or `engine.writing`.
    """
    if connection.dialect.name == "sqlite":
        # At hand: there one at a time is quicker.
        one_by_one = select(CONTENT).order_by(CONTENT.c.digest)
        yield from connection.execute(one_by_one, execution_options={"yield_per": 1})
        return
    # By the letters' numbers, as SQLite does, and not as a language has them.
    order = CONTENT.c.digest.collate("C")
    sizes = connection.execute(
        select(CONTENT.c.digest, func.length(CONTENT.c.bytes)).order_by(order),
        execution_options={"yield_per": _ROWS_AT_ONCE},
    )
    portion: list[Any] = []
    size = 0
    for digest, length in sizes:
        if portion and (size + length > _BYTES_AT_ONCE or len(portion) == _ROWS_AT_ONCE):
            yield from _fetched(connection, portion)
            portion, size = [], 0
        portion.append(digest)
        size += length
    yield from _fetched(connection, portion)


def _fetched(connection: Connection, digests: list[Any]) -> Iterator[Row[Any]]:
    rows = connection.execute(select(CONTENT).where(CONTENT.c.digest.in_(digests)))
    found = {row.digest: row for row in rows}
    while digests:
        yield found.pop(digests.pop(0))
