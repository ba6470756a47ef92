"""All contents in their order, and never many megabytes at once."""

import pytest
from sqlalchemy import event

from kerfdocket.archive import Archive
from kerfdocket.archive.contents import contents
from kerfdocket.archive.engine import reading, writing
from kerfdocket.archive.store import digest_of, put_all


@pytest.mark.parametrize("sizes", [[], [0], [7] * 1203, [3_000_000, 2_000_000, 9_000_000, 5, 5]])
def test_each_once_and_few_at_a_time(archive: Archive, sizes: list[int]) -> None:
    made = [b"%d" % place * size for place, size in enumerate(sizes, 1)]
    if made:
        with writing(archive.engine) as connection:
            put_all(connection, *made)
    asked: list[str] = []
    with reading(archive.engine) as connection:
        event.listen(connection, "before_cursor_execute", lambda *given: asked.append(given[2]))
        found = [(row.digest, bytes(row.bytes)) for row in contents(connection)]
    assert found == sorted((digest_of(one), one) for one in made)
    # One asks for the sizes, and each portion is another.
    assert len(asked) <= 1 + max(len(sizes) / 400, 4)
