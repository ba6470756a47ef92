"""Pages that came back from the floor: each with its traveller, or in the tray until it is."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sqlalchemy import ColumnElement, Connection, and_, select

from kerfdocket.archive.actuals import (
    actuals_in,
    as_kept,
    brought_by_page,
    keep_actuals,
)
from kerfdocket.archive.chain import append, keepable
from kerfdocket.archive.engine import told, writing
from kerfdocket.archive.errors import NotPossible, NotReadable
from kerfdocket.archive.model import AFTER, BOTH, PageOfTraveller, Traveller
from kerfdocket.archive.replay import code_of
from kerfdocket.archive.schema import CONTENT, PAGE, TRAVELLER
from kerfdocket.archive.store import (
    Archive,
    digest_of,
    move_one,
    one_of,
    put,
    revisions_of,
    traveller_of,
)
from kerfdocket.language import _, marked

if TYPE_CHECKING:
    from kerfdocket.archive.intake import ReadPage
    from kerfdocket.planning.page_code import PageCode

__all__ = [
    "PutBack",
    "Taken",
    "TakenPage",
    "keep_pages",
    "match_page",
    "page_of",
    "pages_called",
    "pages_of",
    "put_page_back",
    "set_aside",
    "set_page_aside",
    "take_file",
    "tray",
    "warning_of",
]

_NO_CODE = marked("no code could be read on this page")
_SIDES = ("F", "B", BOTH, "")


@dataclass(frozen=True)
class TakenPage:
    """What became of a page.

    Attributes:
        page: as it is kept.
        traveller: that it belongs to; None if it is in the tray.
        warning: what its traveller's state says about it; empty if nothing.
        values: how many actual values it brought.
    """

    page: PageOfTraveller
    traveller: Traveller | None
    warning: str
    values: int


@dataclass(frozen=True)
class Taken:
    """What became of a file.

    Attributes:
        file: its digest.
        name: as it was called.
        pages: of it, in their order.
        is_known: it was taken before, so that nothing was done now.
    """

    file: str
    name: str
    pages: tuple[TakenPage, ...]
    is_known: bool = False


@dataclass(frozen=True)
class PutBack:
    """What became of a page that was put back into the tray.

    Attributes:
        page: as it is now.
        traveller: that it was with; None if it was set aside.
        values: what changed of what was written on that, by the names of the places.
    """

    page: PageOfTraveller
    traveller: Traveller | None
    values: dict[str, str] = field(hash=False)


def take_file(
    archive: Archive,
    content: bytes,
    name: str,
    who: str,
    read: "Callable[[bytes, str], Iterable[ReadPage]] | None" = None,
) -> Taken:
    """Take a scan or a filled form: match each page by its code, and keep all of it.

    What cannot be matched waits in the tray. A file that was taken before is not taken again, so
    that whoever was interrupted may take all of it once more.

    Args:
        archive: that knows the travellers.
        content: the file.
        name: of the file, without folders.
        who: takes it.
        read: reads its pages, as `intake.read_file` does, which it is if nothing is given; what
            it raises ends the taking.

    Raises:
        NotReadable: it is no scan and no form, or a sheet on which nothing was written since it
            was issued; nothing was kept.
        ArchiveProblem: it could not be written; nothing was kept.
    """
    # Reading takes seconds a page, so it comes before the right to write.
    name = keepable(name)
    known = _taken_before(archive, content, name)
    if known is not None:
        return known
    _refuse_as_issued(archive, content, name)
    if read is None:
        from kerfdocket.archive.intake import read_file

        read = read_file
    return keep_pages(archive, content, name, tuple(read(content, name)), who)


def keep_pages(
    archive: Archive, content: bytes, name: str, read: "Iterable[ReadPage]", who: str
) -> Taken:
    """Keep a file whose pages were read; all of them or none.

    Raises:
        ArchiveProblem: it could not be written; nothing was kept.
    """
    name = keepable(name)
    with told(_("the pages could not be taken")), writing(archive.engine) as connection:
        if _pages_in(connection, PAGE.c.file == digest_of(content)):
            # Someone else took the same file meanwhile.
            known = _taken(connection, content, name)
            assert known is not None
            return known
        file = put(connection, content)
        pages = [one for page in read for one in _keep_page(connection, file, name, page, who)]
    return Taken(file, name, tuple(pages))


def _taken_before(archive: Archive, content: bytes, name: str) -> Taken | None:
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return _taken(connection, content, name)


def _refuse_as_issued(archive: Archive, content: bytes, name: str) -> None:
    """Refuse the very file that was issued: it never was on the floor.

    Raises:
        NotReadable: it is one.
    """
    digest = digest_of(content)
    # Travellers have no index by their sheets, contents have: most files are known to be new by it.
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        kept = connection.execute(select(CONTENT.c.digest).where(CONTENT.c.digest == digest))
        if kept.first() is None:
            return
        found = connection.execute(select(TRAVELLER).where(TRAVELLER.c.pdf == digest)).first()
    if found is not None:
        raise NotReadable(
            _(
                "{name} is the sheet of {number} {revision} just as it was issued, with nothing "
                "written on it; a scan of what came back, or the filled-in sheet, would be "
                "accepted",
                name=name,
                number=found.number,
                revision=found.revision,
            )
        )


def _taken(connection: Connection, content: bytes, name: str) -> Taken | None:
    file = digest_of(content)
    pages = _pages_in(connection, PAGE.c.file == file)
    if not pages:
        return None
    made = []
    for one in pages:
        traveller = _traveller(connection, one.number, one.revision) if one.number else None
        made.append(TakenPage(one, traveller, warning_of(traveller) if traveller else "", 0))
    return Taken(file, name, tuple(made), is_known=True)


def _keep_page(
    connection: Connection, file: str, name: str, page: "ReadPage", who: str
) -> list[TakenPage]:
    matched: dict[tuple[str, str], tuple[Traveller, set[str]]] = {}
    reasons = []
    for code in page.codes:
        found = connection.execute(
            select(TRAVELLER).where(
                TRAVELLER.c.code == code_of(code.number, code.revision, code.check)
            )
        ).first()
        if found is None:
            reasons.append(_why_unknown(connection, code))
        else:
            traveller = traveller_of(found)
            key = traveller.number, traveller.revision
            matched.setdefault(key, (traveller, set()))[1].add(code.side)
    if not matched:
        reason = "; ".join(reasons) or page.problem or _(_NO_CODE)
        details = _details(file, page.index, name, "", "", reason)
        event = append(connection, who, "page taken", "", "", details)
        kept = _insert(connection, event.at, "", "", details)
        return [TakenPage(kept, None, "", 0)]
    made = []
    for traveller, sides in matched.values():
        # Front and back of one sheet lie side by side, as on a scan of A3.
        side = BOTH if len(sides) > 1 else min(sides)
        # Such as fields that are there and cannot be read.
        details = _details(file, page.index, name, side, "code", page.problem)
        event = append(connection, who, "page taken", traveller.number, traveller.revision, details)
        kept = _insert(connection, event.at, traveller.number, traveller.revision, details)
        # Two sheets on one page share no fields: whose they were could not be said.
        values = page.fields if len(matched) == 1 else {}
        made.append(_arrived(connection, kept, traveller, values, who))
    return made


def _why_unknown(connection: Connection, code: "PageCode") -> str:
    for one in revisions_of(connection, code.number):
        if one.revision == code.revision:
            return _(
                "its code says {number} {revision}, but not the check value of the sheet that was "
                "issued: it was printed from another plan",
                number=code.number,
                revision=code.revision,
            )
    return _(
        "its code says {number} {revision}, which this archive did not issue",
        number=code.number,
        revision=code.revision,
    )


def _details(
    file: str, page: int, name: str, side: str, how: str, reason: str
) -> dict[str, object]:
    return {
        "file": file,
        "page": page,
        "name": name,
        "side": side,
        "how": how,
        "reason": keepable(reason),  # it may say what a foreign code says
    }


def _insert(
    connection: Connection, at: str, number: str, revision: str, details: Mapping[str, Any]
) -> PageOfTraveller:
    kept = PageOfTraveller(
        taken_at=at, number=number, revision=revision, is_set_aside=False, **details
    )
    connection.execute(PAGE.insert().values(**kept.__dict__))
    return kept


def _arrived(
    connection: Connection,
    page: PageOfTraveller,
    traveller: Traveller,
    values: Mapping[str, str],
    who: str,
) -> TakenPage:
    """A page is with its traveller: that came back, then, and brought what was filled in."""
    remarks = [warning_of(traveller), page.reason]
    said = values = as_kept(values)
    if traveller.state == "closed" and said:
        # It was signed with what it has: a page that comes late adds to that and alters nothing.
        known = actuals_in(connection, traveller.number, traveller.revision)
        values = {name: text for name, text in said.items() if name not in known}
        if others := [name for name, text in said.items() if known.get(name, text) != text]:
            remarks.append(_says_otherwise(traveller, others))
    warning = "; ".join(filter(None, remarks))
    kept = keep_actuals(connection, traveller, values, who, "form") if values else {}
    if "returned" in AFTER[traveller.state]:
        traveller = move_one(connection, traveller, "returned", who, {})
    return TakenPage(page, traveller, warning, len(kept))


def _says_otherwise(traveller: Traveller, names: Sequence[str]) -> str:
    return _(
        "{number} {revision} is closed, and what it was signed with stays; the page says something "
        "else of {names}",
        number=traveller.number,
        revision=traveller.revision,
        names=", ".join(names),
    )


def warning_of(traveller: Traveller) -> str:
    """Return what is wrong with work that was done by a sheet; empty if nothing."""
    if traveller.state == "superseded":
        return _(
            "{number} {revision} is superseded: it was cut by an old revision, or not at all; "
            "find out before the parts go on",
            number=traveller.number,
            revision=traveller.revision,
        )
    if traveller.state == "withdrawn":
        return _(
            "{number} {revision} is withdrawn: nothing should have been cut by it; find out "
            "before the parts go on",
            number=traveller.number,
            revision=traveller.revision,
        )
    return ""


def match_page(
    archive: Archive,
    file: str,
    page: int,
    number: str,
    revision: str,
    who: str,
    side: str = "",
) -> TakenPage:
    """Put a page of the tray to its traveller, by hand.

    Args:
        archive: that has both.
        file: digest of the page's file.
        page: of it, from 0.
        number, revision: of the traveller.
        who: says so.
        side: `F`, `B`, `BOTH`, or empty where it is not known.

    Raises:
        NotPossible: the page is not in the tray, there is no such traveller, or it has the page
            already.
        ArchiveProblem: it could not be written, or the file is not there; nothing was changed.
    """
    if side not in _SIDES:
        raise ValueError(f"side={side!r} must be one of {_SIDES}")
    from kerfdocket.archive.intake import page_fields

    # What was filled in on it, read before anybody waits for the right to write.
    values = page_fields(archive.content(file), page)
    with told(_("the page could not be matched")), writing(archive.engine) as connection:
        old = _in_tray(connection, file, page)
        traveller = _traveller(connection, number, revision)
        if _rows_of(connection, file, page, number, revision):
            raise NotPossible(
                _(
                    "{number} {revision} has this page already",
                    number=number,
                    revision=revision,
                )
            )
        details = {"file": file, "page": page, "side": side}
        append(connection, who, "page matched", number, revision, details)
        new = _resort(connection, old, number=number, revision=revision, side=side, how="hand")
        return _arrived(connection, new, traveller, values, who)


def set_page_aside(
    archive: Archive, file: str, page: int, who: str, reason: str
) -> PageOfTraveller:
    """Say that a page of the tray belongs to no traveller; it is kept all the same.

    Raises:
        NotPossible: the page is not in the tray, or there is no reason.
        ArchiveProblem: it could not be written; nothing was changed.
    """
    if not reason.strip():
        raise NotPossible(_("a page is set aside for a reason: say which"))
    with told(_("the page could not be set aside")), writing(archive.engine) as connection:
        old = _in_tray(connection, file, page)
        details = {"file": file, "page": page, "reason": reason.strip()}
        append(connection, who, "page set aside", "", "", details)
        return _resort(connection, old, reason=reason.strip(), is_set_aside=True)


def put_page_back(
    archive: Archive, file: str, page: int, number: str, revision: str, who: str, reason: str
) -> PutBack:
    """Put a page that is with the wrong traveller, or was set aside, into the tray again.

    What it brought goes with it, as far as nobody has put that right since: what stood there
    before stands there again. The state of the traveller is left to a person to say.

    Args:
        archive: that has the page.
        file: digest of the page's file.
        page: of it, from 0.
        number, revision: of the traveller that it is with; both empty if it was set aside.
        who: says so.
        reason: why.

    Raises:
        NotPossible: the page is not there, is in the tray, or there is no reason.
        GivenUp: the file was given up: nobody could tell whose the page is.
        ArchiveProblem: it could not be written, or the file is not there; nothing was changed.
    """
    reason = reason.strip()
    if not reason:
        raise NotPossible(_("a page is put back for a reason: say which"))
    archive.content(file)
    with told(_("the page could not be put back")), writing(archive.engine) as connection:
        found = _rows_of(connection, file, page, number, revision)
        if not found or not (number or found[0].is_set_aside):
            raise NotPossible(_("this page is not there any more; someone may have put it back"))
        if number and _rows_of(connection, file, page, "", ""):
            raise NotPossible(
                _("another sheet of this page is in the tray or set aside: match that one first")
            )
        append(
            connection,
            who,
            "page put back",
            number,
            revision,
            {"file": file, "page": page, "reason": reason},
        )
        new = _resort(
            connection,
            found[0],
            number="",
            revision="",
            side="",
            how="",
            reason=reason,
            is_set_aside=False,
        )
        if not number:
            return PutBack(new, None, {})
        traveller = _traveller(connection, number, revision)
        before = brought_by_page(connection, traveller, file, page)
        values = keep_actuals(connection, traveller, before, who, "put back", reason)
        return PutBack(new, traveller, values)


def set_aside(archive: Archive) -> tuple[PageOfTraveller, ...]:
    """Return the pages that belong to no traveller, as a person said; the oldest first."""
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return _pages_in(connection, PAGE.c.is_set_aside.is_(True))


def pages_called(archive: Archive, begin: str, page: int) -> tuple[PageOfTraveller, ...]:
    """Return the pages with this place in files of which the digest begins so, wherever they are.

    Args:
        archive: to look in.
        begin: of the digest, hexadecimal digits.
        page: of the file, from 0.
    """
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        is_called = PAGE.c.file.startswith(begin, autoescape=True)
        return _pages_in(connection, and_(is_called, PAGE.c.page == page))


def tray(archive: Archive) -> tuple[PageOfTraveller, ...]:
    """Return the pages that nobody matched yet, the oldest first."""
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return _pages_in(connection, _IN_TRAY)


def pages_of(archive: Archive, number: str) -> tuple[PageOfTraveller, ...]:
    """Return the pages of a traveller, of all its revisions, as they came."""
    if number != keepable(number):
        return ()
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return _pages_in(connection, PAGE.c.number == number)


_IN_TRAY = and_(PAGE.c.number == "", PAGE.c.is_set_aside.is_(False))


def _pages_in(connection: Connection, where: ColumnElement[bool]) -> tuple[PageOfTraveller, ...]:
    rows = connection.execute(select(PAGE).where(where).order_by(PAGE.c.id))
    return tuple(map(page_of, rows))


def page_of(row: object) -> PageOfTraveller:
    """Return a row of the table of pages as a value."""
    known = dict(row._mapping)  # type: ignore[attr-defined]  # a row of SQLAlchemy
    del known["id"]
    return PageOfTraveller(**known)


def _rows_of(
    connection: Connection, file: str, page: int, number: str, revision: str
) -> tuple[PageOfTraveller, ...]:
    is_it = PAGE.c.file == file, PAGE.c.page == page
    return _pages_in(connection, and_(*is_it, PAGE.c.number == number, PAGE.c.revision == revision))


def _in_tray(connection: Connection, file: str, page: int) -> PageOfTraveller:
    found = _pages_in(connection, and_(_IN_TRAY, PAGE.c.file == file, PAGE.c.page == page))
    if not found:
        raise NotPossible(_("this page is not in the tray; someone may have matched it"))
    return found[0]


def _traveller(connection: Connection, number: str, revision: str) -> Traveller:
    return one_of(revisions_of(connection, number), number, revision)


def _resort(connection: Connection, old: PageOfTraveller, **changed: Any) -> PageOfTraveller:
    new = PageOfTraveller(**{**old.__dict__, "reason": "", **changed})
    connection.execute(
        PAGE.update()
        .where(
            PAGE.c.file == old.file,
            PAGE.c.page == old.page,
            PAGE.c.number == old.number,
            PAGE.c.revision == old.revision,
        )
        .values(**new.__dict__)
    )
    return new
