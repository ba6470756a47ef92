"""Proof that nothing was altered, lost or put in another order; or what was."""

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass, fields
from functools import cache
from types import NoneType
from typing import Any

from sqlalchemy import Boolean, Connection, Float, Integer, LargeBinary, Row, Table, select
from sqlalchemy.exc import DatabaseError

from kerfdocket.archive.chain import BEGIN, events, hash_of
from kerfdocket.archive.contents import contents
from kerfdocket.archive.derived import job_of
from kerfdocket.archive.engine import is_read_only, is_writing, reading, told, writing
from kerfdocket.archive.model import Draft
from kerfdocket.archive.pages import page_of
from kerfdocket.archive.replay import Known
from kerfdocket.archive.schema import ACTUAL, CONTENT, DRAFT, EVENT, PAGE, SERIES, TRAVELLER
from kerfdocket.archive.store import Archive, digest_of, traveller_of
from kerfdocket.language import _

__all__ = ["Fault", "faults_in", "index_faults", "verify"]


@dataclass(frozen=True)
class Fault:
    """Something that is not as it was written.

    Attributes:
        where: an event by its place, a traveller by number and revision, a content by its digest.
        text: what is the matter.
    """

    where: str
    text: str

    def __str__(self) -> str:
        return f"{self.where}: {self.text}"


def verify(archive: Archive, head: str = "") -> tuple[Fault, ...]:
    """Go over the whole archive.

    The chain of events is followed from its begin; from it follows what travellers there must be,
    in which state and with what contents, and all of that is compared with what is there. What the
    chain alone cannot show is that its last events were cut off together with what they tell:
    for that its end must have been noted elsewhere.

    Args:
        archive: to go over.
        head: hash of an event that was noted down elsewhere; must be in the chain.

    Returns:
        What is wrong; empty if nothing is.

    Raises:
        ArchiveProblem: it cannot be read.
    """
    with told(_("the archive cannot be read")):
        # All of it as it was at one moment, whoever writes meanwhile.
        with reading(archive.engine) as connection:
            faults = tuple(faults_in(connection, head))
        if archive.engine.dialect.name != "sqlite":
            return faults
        # SQLite takes the question that it answers best for a change.
        ask = reading if is_read_only(archive.engine) else writing
        with ask(archive.engine) as connection:
            return (*faults, *index_faults(connection))


def faults_in(connection: Connection, head: str = "") -> Iterator[Fault]:
    """Yield what is wrong with an archive as one transaction sees it, but for its index of words.

    Args:
        connection: within `engine.reading` or `engine.writing`.
        head: hash of an event that must be in the chain; empty if none was noted down.
    """
    known = Known(lambda digest: job_of(connection, digest))
    # An empty archive's head is where every chain begins.
    previous, place, is_head_met = BEGIN, 0, head in ("", BEGIN)
    for event in events(connection):
        place += 1
        where = _("event {place}", place=event.place)
        if event.place != place:
            yield Fault(where, _("event {place} is missing before it", place=place))
            place = event.place
        if event.previous != previous:
            yield Fault(where, _("does not follow the event before it"))
        if _odd(EVENT, event.__dict__):
            previous = event.hash
            yield Fault(where, _("was altered"))
            continue
        if event.hash != hash_of(event):
            yield Fault(where, _("was altered"))
        previous = event.hash
        is_head_met = is_head_met or event.hash == head
        try:
            known.happen(event)
        except (KeyError, TypeError, ValueError):
            yield Fault(where, _("tells of what cannot have happened"))
    if not is_head_met:
        yield Fault(_("the chain"), _("has no event {head}", head=head[:12]))
    yield from _compare_travellers(connection, known)
    yield from _compare_contents(connection, known)
    yield from _compare_series(connection, known.series)
    yield from _compare_pages(connection, known)
    yield from _compare_actuals(connection, known)
    yield from _compare_drafts(connection, known)


@cache
def _kinds(table: Table) -> tuple[tuple[str, tuple[type, ...]], ...]:
    """Return what kinds of values each column can have."""
    found = []
    for column in table.columns:
        match column.type:
            case Integer():
                kinds: tuple[type, ...] = (int,)
            case Float():
                kinds = (int, float)
            case Boolean():
                kinds = (bool,)
            case LargeBinary():
                kinds = (bytes, str)  # a text is compared by its bytes
            case _:
                kinds = (str,)
        found.append((column.name, (*kinds, NoneType) if column.nullable else kinds))
    return tuple(found)


def _odd(table: Table, values: Mapping[str, Any]) -> str:
    """Return the first column with a value of a kind that it cannot have; empty if there is none.

    SQLite keeps in any column whatever it is given.
    """
    return next(
        (name for name, kinds in _kinds(table) if not isinstance(values[name], kinds)),
        "",
    )


def _fault_of(table: Table, row: Row[Any]) -> Fault | None:
    name = _odd(table, row._asdict())
    if not name:
        return None
    return Fault(_("a row of {table}", table=table.name), _("{name} was altered", name=name))


def _compare_travellers(connection: Connection, known: Known) -> Iterator[Fault]:
    left = set(known.travellers)
    places = {key: place for place, key in enumerate(known.travellers)}
    last = -1
    for row in connection.execute(select(TRAVELLER).order_by(TRAVELLER.c.id)):
        if fault := _fault_of(TRAVELLER, row):
            yield fault
            continue
        found = traveller_of(row)
        where = f"{found.number} {found.revision}"
        key = found.number, found.revision
        if key not in left:
            yield Fault(where, _("no event tells of it"))
            continue
        left.discard(key)
        # Which revision is the last one is told by their order.
        last, is_in_order = max(last, places[key]), places[key] > last
        if not is_in_order:
            yield Fault(where, _("is in another place than its events say"))
        yield from _differing(where, found, known.travellers[key])
        # In which order they stand says nothing, and was not always the same.
        if sorted(row.words.split(" ")) != sorted(known.words(key).split(" ")):
            yield Fault(where, _("{name} was altered", name="words"))
    for number, revision in sorted(left):
        yield Fault(f"{number} {revision}", _("is missing"))


def _differing(
    where: str, found: Any, wanted: Any, passed_over: Set[str] = frozenset()
) -> Iterator[Fault]:
    for one in fields(found):
        if one.name in passed_over:
            continue
        if getattr(found, one.name) != getattr(wanted, one.name):
            yield Fault(where, _("{name} was altered", name=one.name))


def _compare_contents(connection: Connection, known: Known) -> Iterator[Fault]:
    left = set(known.contents)
    for row in contents(connection):
        if fault := _fault_of(CONTENT, row):
            yield fault
            continue
        where = _("content {digest}", digest=row.digest[:12])
        found = row.bytes.encode() if isinstance(row.bytes, str) else bytes(row.bytes)
        is_given_up = row.digest in known.discarded and not found
        if not is_given_up and digest_of(found) != row.digest:
            yield Fault(where, _("was altered"))
        if row.digest in left:
            left.discard(row.digest)
        else:
            yield Fault(where, _("no event tells of it"))
    for digest in sorted(left):
        yield Fault(_("content {digest}", digest=digest[:12]), _("is missing"))


def _compare_series(connection: Connection, wanted: dict[str, int]) -> Iterator[Fault]:
    found = {}
    for row in connection.execute(select(SERIES)):
        if fault := _fault_of(SERIES, row):
            yield fault
        else:
            found[row.pattern] = row.last
    for pattern in sorted({*found, *wanted}):
        if found.get(pattern) != wanted.get(pattern):
            yield Fault(pattern, _("the last number taken was altered"))


def _compare_pages(connection: Connection, known: Known) -> Iterator[Fault]:
    left = dict(known.pages)
    last = -1
    for row in connection.execute(select(PAGE).order_by(PAGE.c.id)):
        if fault := _fault_of(PAGE, row):
            yield fault
            continue
        found = page_of(row)
        where = _("page {page} of {file}", page=found.page + 1, file=found.file[:12])
        key = found.file, found.page, found.number, found.revision
        wanted = left.pop(key, None)
        if wanted is None:
            yield Fault(where, _("no event tells of it"))
            continue
        last, is_in_order = max(last, known.arrivals[key]), known.arrivals[key] > last
        if not is_in_order:
            yield Fault(where, _("is in another place than its events say"))
        yield from _differing(where, found, wanted)
    for one in left.values():
        where = _("page {page} of {file}", page=one.page + 1, file=one.file[:12])
        yield Fault(where, _("is missing"))


def _compare_actuals(connection: Connection, known: Known) -> Iterator[Fault]:
    left = {
        (*key, name): text for key, values in known.actuals.items() for name, text in values.items()
    }
    for row in connection.execute(select(ACTUAL)):
        if fault := _fault_of(ACTUAL, row):
            yield fault
            continue
        where = f"{row.number} {row.revision}, {row.name}"
        wanted = left.pop((row.number, row.revision, row.name), None)
        if wanted is None:
            yield Fault(where, _("no event tells of it"))
        elif wanted != row.text:
            yield Fault(where, _("was altered"))
    for number, revision, name in sorted(left):
        yield Fault(f"{number} {revision}, {name}", _("is missing"))


def _compare_drafts(connection: Connection, known: Known) -> Iterator[Fault]:
    left = dict(known.drafts)
    for row in connection.execute(select(DRAFT).order_by(DRAFT.c.id)):
        if fault := _fault_of(DRAFT, row):
            yield fault
            continue
        found = Draft(**row._mapping)
        where = _("draft {id}", id=found.id)
        wanted = left.pop(found.id, None)
        if wanted is None:
            yield Fault(where, _("no event tells of it"))
            continue
        yield from _differing(where, found, wanted, {"held_by", "held_at"})
    for draft in left:
        yield Fault(_("draft {id}", id=draft), _("is missing"))


def index_faults(connection: Connection) -> Iterator[Fault]:
    """Yield what is wrong with the index of words.

    SQLite keeps the words a second time, to find by; there it can say itself if they agree.

    Args:
        connection: within `engine.writing`, as SQLite takes the question for a change; or within
            `engine.reading`, then it is compared with a new index of the same words.
    """
    if connection.dialect.name != "sqlite":
        return
    if not is_writing(connection):
        try:
            is_same = _is_index_as_if_new(connection)
        except DatabaseError as error:
            if "malformed" not in str(error.orig):
                raise
            is_same = False
        if not is_same:
            yield Fault(_("the index of words"), _("was altered"))
        return
    try:
        connection.exec_driver_sql(
            "INSERT INTO traveller_words(traveller_words, rank) VALUES ('integrity-check', 1)"
        )
    except DatabaseError as error:
        if "malformed" not in str(error.orig):
            raise
        yield Fault(_("the index of words"), _("was altered"))


# Of the words of all travellers, made as that of the archive is; both are read term by term.
_NEW_INDEX = (
    "CREATE VIRTUAL TABLE temp.new_words USING fts5(words, content='', "
    "tokenize=\"ascii tokenchars '_'\", detail=column, columnsize=0)",
    "INSERT INTO temp.new_words(rowid, words) SELECT id, words FROM traveller",
    "CREATE VIRTUAL TABLE temp.new_terms USING fts5vocab(temp, new_words, instance)",
    "CREATE VIRTUAL TABLE temp.kept_terms USING fts5vocab(main, traveller_words, instance)",
)
_OTHER_TERMS = (
    "SELECT EXISTS (SELECT term, doc FROM temp.{one} EXCEPT SELECT term, doc FROM temp.{other})"
)


def _is_index_as_if_new(connection: Connection) -> bool:
    """Compare the index of words with a new one, which writes nothing into the archive."""
    for statement in _NEW_INDEX:
        connection.exec_driver_sql(statement)
    is_other = [
        connection.exec_driver_sql(_OTHER_TERMS.format(one=one, other=other)).scalar_one()
        for one, other in (("new_terms", "kept_terms"), ("kept_terms", "new_terms"))
    ]
    for name in ("kept_terms", "new_terms", "new_words"):
        connection.exec_driver_sql(f"DROP TABLE temp.{name}")
    return not any(is_other)
