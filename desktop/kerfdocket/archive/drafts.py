"""Jobs that several people prepare: whoever saves second is told, and loses nothing."""

from datetime import UTC, datetime

from sqlalchemy import Connection, func, select

from kerfdocket.archive.chain import append
from kerfdocket.archive.engine import is_read_only, reading, told, writing
from kerfdocket.archive.errors import ChangedMeanwhile, NotPossible
from kerfdocket.archive.model import Draft, IssuedSheet, Traveller
from kerfdocket.archive.schema import DRAFT
from kerfdocket.archive.store import Archive, issue_anew, issue_first, put
from kerfdocket.language import _

__all__ = [
    "draft",
    "drafts",
    "end_draft",
    "hold_draft",
    "issue_draft",
    "new_draft",
    "reissue_draft",
    "release_draft",
    "save_draft",
]


def new_draft(archive: Archive, job_text: str, title: str, who: str) -> Draft:
    """Keep a job as a new draft.

    Args:
        archive: to keep it in.
        job_text: the job file; need not be complete.
        title: of the job.
        who: saves it.

    Raises:
        ArchiveProblem: it could not be written; nothing was kept.
    """
    with told(_("the draft could not be saved")), writing(archive.engine) as connection:
        last = connection.execute(select(func.max(DRAFT.c.id))).scalar_one()
        return _keep(connection, (last or 0) + 1, 1, job_text, title, who)


def save_draft(
    archive: Archive,
    draft_id: int,
    version: int,
    job_text: str,
    title: str,
    who: str,
) -> Draft:
    """Keep a changed draft.

    Args:
        archive: that has it.
        draft_id: of the draft.
        version: that was changed.
        job_text: the job file as it is now.
        title: of the job.
        who: saves it.

    Raises:
        ChangedMeanwhile: someone else saved it since that version; nothing was written over.
        NotPossible: there is no such draft, or it has ended.
        ArchiveProblem: it could not be written; nothing was changed.
    """
    with told(_("the draft could not be saved")), writing(archive.engine) as connection:
        _unchanged(_open(connection, draft_id), version)
        return _keep(connection, draft_id, version + 1, job_text, title, who)


def end_draft(
    archive: Archive,
    draft_id: int,
    who: str,
    ended: str,
    number: str = "",
) -> Draft:
    """Say that a draft is one no more: `issued` as a number, or `dropped`. Its job stays kept.

    Raises:
        NotPossible: there is no such draft, or it has ended.
        ArchiveProblem: it could not be written; nothing was changed.
    """
    if ended not in ("issued", "dropped"):
        raise ValueError(f"ended={ended!r} must be 'issued' or 'dropped'")
    with told(_("the draft could not be ended")), writing(archive.engine) as connection:
        _open(connection, draft_id)
        return _end(connection, draft_id, who, ended, number)


def issue_draft(
    archive: Archive, draft: Draft, number: str, sheet: IssuedSheet, who: str
) -> Traveller:
    """Keep a sheet as revision A of its number; the draft that it comes from ends with it.

    Args:
        archive: that has the draft.
        draft: as it was read.
        number: that it gets.
        sheet: to be kept.
        who: issues it.

    Raises:
        ChangedMeanwhile: someone else saved the draft since it was read.
        NotPossible: the draft has ended, or the number was issued before.
        ArchiveProblem: it could not be written; nothing was kept.
    """
    with told(_("the sheet could not be issued")), writing(archive.engine) as connection:
        _unchanged(_open(connection, draft.id), draft.version)
        traveller = issue_first(connection, number, sheet, who)
        _end(connection, draft.id, who, "issued", number)
        return traveller


def reissue_draft(
    archive: Archive,
    draft: Draft,
    number: str,
    revision: str,
    sheet: IssuedSheet,
    who: str,
    reason: str,
) -> Traveller:
    """Keep a sheet as the next revision of its number; the draft that it comes from ends with it.

    Args:
        archive: that has the draft and the number.
        draft: as it was read.
        number: was issued before.
        revision: that stands on the sheet, as `Archive.next_revision` gave it.
        sheet: to be kept.
        who: issues it.
        reason: why.

    Raises:
        ChangedMeanwhile: someone else saved the draft since it was read.
        NotPossible: the draft has ended; or see `Archive.reissue`.
        ArchiveProblem: it could not be written; nothing was kept.
    """
    with told(_("the sheet could not be issued")), writing(archive.engine) as connection:
        _unchanged(_open(connection, draft.id), draft.version)
        traveller = issue_anew(connection, number, revision, sheet, who, reason)
        _end(connection, draft.id, who, "issued", number)
        return traveller


def hold_draft(archive: Archive, draft_id: int, who: str) -> Draft:
    """Say that one has a draft open; return it as it was before, so that one sees who else has.

    Raises:
        NotPossible: there is no such draft, or it has ended.
        ArchiveProblem: the archive cannot be written.
    """
    with told(_("the draft could not be opened")):
        if is_read_only(archive.engine):
            # Where nothing can be saved, nobody needs to be told.
            with reading(archive.engine) as connection:
                return _open(connection, draft_id)
    with told(_("the draft could not be opened")), writing(archive.engine) as connection:
        before = _open(connection, draft_id)
        if not before.held_by or before.held_by == who:
            at = datetime.now(UTC).isoformat(timespec="seconds")
            connection.execute(
                DRAFT.update().where(DRAFT.c.id == draft_id).values(held_by=who, held_at=at)
            )
        return before


def release_draft(archive: Archive, draft_id: int, who: str) -> None:
    """Say that one has a draft open no more."""
    with told(_("the draft could not be closed")):
        if is_read_only(archive.engine):
            return
    with told(_("the draft could not be closed")), writing(archive.engine) as connection:
        connection.execute(
            DRAFT.update()
            .where(DRAFT.c.id == draft_id, DRAFT.c.held_by == who)
            .values(held_by="", held_at="")
        )


def draft(archive: Archive, draft_id: int) -> Draft:
    """Return a draft.

    Raises:
        NotPossible: there is none of that id.
    """
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return _one(connection, draft_id)


def drafts(archive: Archive, with_ended: bool = False) -> tuple[Draft, ...]:
    """Return the drafts, the last saved first; those that ended only if asked for."""
    wanted = select(DRAFT).order_by(DRAFT.c.at.desc(), DRAFT.c.id.desc())
    if not with_ended:
        wanted = wanted.where(DRAFT.c.ended == "")
    with told(_("the archive cannot be read")), archive.engine.connect() as connection:
        return tuple(Draft(**row._mapping) for row in connection.execute(wanted))


def _keep(
    connection: Connection,
    draft_id: int,
    version: int,
    job_text: str,
    title: str,
    who: str,
) -> Draft:
    job = put(connection, job_text.encode())
    details = {"version": version, "title": title, "job": job}
    event = append(connection, who, "drafted", str(draft_id), details=details)
    values = {"version": version, "title": title, "job": job, "who": who, "at": event.at}
    if version == 1:
        connection.execute(DRAFT.insert().values(id=draft_id, ended="", number="", **values))
    else:
        connection.execute(DRAFT.update().where(DRAFT.c.id == draft_id).values(**values))
    return _one(connection, draft_id)


def _end(connection: Connection, draft_id: int, who: str, ended: str, number: str) -> Draft:
    details = {"ended": ended, "number": number}
    append(connection, who, "draft ended", str(draft_id), details=details)
    connection.execute(
        DRAFT.update()
        .where(DRAFT.c.id == draft_id)
        .values(ended=ended, number=number, held_by="", held_at="")
    )
    return _one(connection, draft_id)


def _unchanged(known: Draft, version: int) -> None:
    if known.version != version:
        raise ChangedMeanwhile(
            _(
                "{who} saved draft {id} meanwhile ({at} UTC): look at that one, or keep yours "
                "as a draft of its own",
                who=known.who,
                id=known.id,
                at=known.at[:16].replace("T", " "),
            )
        )


def _one(connection: Connection, draft_id: int) -> Draft:
    row = connection.execute(select(DRAFT).where(DRAFT.c.id == draft_id)).first()
    if row is None:
        raise NotPossible(_("there is no draft {id}", id=draft_id))
    return Draft(**row._mapping)


def _open(connection: Connection, draft_id: int) -> Draft:
    known = _one(connection, draft_id)
    if known.ended == "issued":
        raise NotPossible(_("draft {id} was issued as {number}", id=draft_id, number=known.number))
    if known.ended:
        raise NotPossible(_("draft {id} was dropped", id=draft_id))
    return known
