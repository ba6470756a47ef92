"""Issuing travellers, following them, and finding them again."""

import hashlib
import json
import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from sqlalchemy import Connection, Engine, bindparam, func, select
from sqlalchemy.dialects import postgresql, sqlite

from kerfdocket.archive.chain import append, events, events_of, keepable, last_hash
from kerfdocket.archive.engine import form_of, make_engine, migrate, shown_place, told, writing
from kerfdocket.archive.errors import (
    ArchiveProblem,
    ChangedMeanwhile,
    GivenUp,
    NoArchive,
    NotPossible,
)
from kerfdocket.archive.model import AFTER, Event, IssuedSheet, State, Traveller
from kerfdocket.archive.replay import code_of, words_for
from kerfdocket.archive.schema import CONTENT, EVENT, FACTS, SERIES, TRAVELLER
from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _, one_of_listed
from kerfdocket.storage import make_folder

__all__ = [
    "Archive",
    "default_archive",
    "digest_of",
    "file_of",
    "issue_anew",
    "issue_first",
    "move_one",
    "next_revision",
    "one_of",
    "open_archive",
    "put",
    "revisions_of",
    "traveller_of",
]

# What is there already stays as it is: it has the same digest. What was given up comes again.
_INSERT_SQLITE, _INSERT_POSTGRESQL = sqlite.insert(CONTENT), postgresql.insert(CONTENT)
_PUT_SQLITE = _INSERT_SQLITE.on_conflict_do_update(
    index_elements=[CONTENT.c.digest],
    set_={"bytes": _INSERT_SQLITE.excluded.bytes},
    where=func.length(CONTENT.c.bytes) == 0,
)
_PUT_POSTGRESQL = _INSERT_POSTGRESQL.on_conflict_do_update(
    index_elements=[CONTENT.c.digest],
    set_={"bytes": _INSERT_POSTGRESQL.excluded.bytes},
    where=func.length(CONTENT.c.bytes) == 0,
)
_INSERT = TRAVELLER.insert()
_REVISIONS = select(TRAVELLER).where(TRAVELLER.c.number == bindparam("of")).order_by(TRAVELLER.c.id)
_OPEN_PLACES = re.compile(r"\?+")
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def default_archive() -> Path:
    """Return where the archive of this user is. [path]"""
    import platformdirs

    return platformdirs.user_data_path("kerfdocket", appauthor=False) / "archive.sqlite"


def file_of(place: str | Path) -> Path | None:
    """Return the file that a place names; None if it is on a server."""
    text = str(place)
    if "://" in text:
        return None
    return Path(os.path.expanduser(text))  # noqa: PTH111  # pathlib's raises for an unknown user


def open_archive(place: str | Path, may_be_made: bool = True) -> "Archive":
    """Open an archive; one that is not there yet is made.

    Args:
        place: a file, or `postgresql://…`; `~` is the user's own folder.
        may_be_made: False where only one that is there already makes sense: a wrong name would
            else make an empty one, of which all is well.

    Raises:
        NoArchive: there is none, and it may not be made.
        ArchiveProblem: it cannot be opened, a newer program made it, or it is of something else.
    """
    text = str(place)
    if (file := file_of(place)) is not None:
        text = str(file)
        if not may_be_made and not file.exists():
            raise _missing(text)
        try:
            make_folder(file.parent)
        except EnvironmentProblem as error:
            raise ArchiveProblem(str(error)) from error
    engine = make_engine(text)
    try:
        with told(_("the archive {place} cannot be opened", place=shown_place(text))):
            if not may_be_made and not _is_made(engine):
                raise _missing(text)
            migrate(engine)
    except BaseException:  # whoever interrupts it leaves no connection behind, either
        engine.dispose()
        raise
    return Archive(engine)


def _missing(place: str) -> NoArchive:
    return NoArchive(
        _(
            "there is no archive at {place}; issuing a sheet or saving a draft makes one",
            place=shown_place(place),
        )
    )


def _is_made(engine: Engine) -> bool:
    with engine.connect() as connection:
        return form_of(connection) is not None


def digest_of(content: bytes) -> str:
    """Return what a content is kept under: its SHA-256 in hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


class Archive:
    """An open archive.

    All that changes it is one transaction together with its event; what is refused or interrupted
    changes nothing.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    def reserve(self, pattern: str, who: str) -> str:
        """Return the next number of a series; nobody else ever gets it.

        A number that is reserved and then not used stays unused, as a torn page of a pad does.

        Args:
            pattern: such as `KD-????`; the question marks, together, become the number.
            who: asks for it.

        Raises:
            NotPossible: the pattern has no question marks or several groups, or its numbers are
                used up.
        """
        places = _OPEN_PLACES.findall(pattern)
        if len(places) != 1:
            raise NotPossible(
                _(
                    "{pattern} must have one group of question marks, such as KD-????",
                    pattern=repr(pattern),
                )
            )
        digits = len(places[0])
        with told(_("no number could be taken")), writing(self.engine) as connection:
            known = connection.execute(
                select(SERIES.c.last).where(SERIES.c.pattern == pattern)
            ).scalar_one_or_none()
            last = known or 0
            while True:
                last += 1
                if last >= 10**digits:
                    raise NotPossible(
                        _("the numbers of {pattern} are used up", pattern=repr(pattern))
                    )
                number = _OPEN_PLACES.sub(f"{last:0{digits}d}", pattern)
                # Given by hand, or taken by another series: KD-1? and KD-?? have some in common.
                if not (revisions_of(connection, number) or _is_reserved(connection, number)):
                    break
            if known is None:
                connection.execute(SERIES.insert().values(pattern=pattern, last=last))
            else:
                connection.execute(
                    SERIES.update().where(SERIES.c.pattern == pattern).values(last=last)
                )
            append(connection, who, "reserved", number, details={"pattern": pattern})
        return number

    def issue(self, number: str, sheet: IssuedSheet, who: str) -> Traveller:
        """Keep a sheet as revision A of its number.

        Raises:
            NotPossible: the number was issued before.
            ArchiveProblem: it could not be written; nothing was kept.
        """
        with told(_("the sheet could not be issued")), writing(self.engine) as connection:
            return issue_first(connection, number, sheet, who)

    def next_revision(self, number: str) -> str:
        """Return the revision that a number is issued anew as.

        Raises:
            NotPossible: the number was never issued, or its last revision is closed.
        """
        with told(_("the archive cannot be read")), self.engine.connect() as connection:
            return next_revision(_last(connection, number).revision)

    def reissue(
        self, number: str, revision: str, sheet: IssuedSheet, who: str, reason: str
    ) -> Traveller:
        """Keep a sheet as the next revision of its number; the one before is superseded.

        Args:
            number: was issued before.
            revision: that stands on the sheet, as `next_revision` gave it.
            sheet: to be kept.
            who: issues it.
            reason: why.

        Raises:
            NotPossible: the number was never issued, its last revision is closed, there is no
                reason, or someone else issued that revision meanwhile.
            ArchiveProblem: it could not be written; nothing was kept.
        """
        with told(_("the sheet could not be issued")), writing(self.engine) as connection:
            return issue_anew(connection, number, revision, sheet, who, reason)

    def move(
        self, number: str, state: State, who: str, reason: str = "", revision: str = ""
    ) -> Traveller:
        """Say where the last revision of a traveller is now.

        Args:
            number: of the traveller.
            state: `on the floor`, `returned`, `closed` or `withdrawn`.
            who: says it.
            reason: must be given where it is withdrawn.
            revision: that is meant; empty means the last, whichever it is.

        Raises:
            NotPossible: the number was never issued, or the state cannot follow the present one.
            ChangedMeanwhile: the revision that is meant is not the last one any more.
            ArchiveProblem: it could not be written; nothing was changed.
        """
        if state == "withdrawn" and not reason.strip():
            raise NotPossible(_("a sheet is withdrawn for a reason: say which"))
        with told(_("the traveller could not be moved")), writing(self.engine) as connection:
            known = revisions_of(connection, number)
            if not known:
                raise NotPossible(_("{number} was never issued", number=number))
            if revision and revision != known[-1].revision:
                raise ChangedMeanwhile(
                    _(
                        "{number} {revision} is no longer the last one, {present} is; look at it",
                        number=number,
                        revision=revision,
                        present=known[-1].revision,
                    )
                )
            details = {"reason": reason.strip()} if reason.strip() else {}
            return move_one(connection, known[-1], state, who, details)

    def revisions(self, number: str) -> tuple[Traveller, ...]:
        """Return all revisions of a number, the first one first; empty if it was never issued."""
        with told(_("the archive cannot be read")), self.engine.connect() as connection:
            return revisions_of(connection, number)

    def travellers(self) -> tuple[Traveller, ...]:
        """Return all travellers, the newest first."""
        with told(_("the archive cannot be read")), self.engine.connect() as connection:
            rows = connection.execute(select(TRAVELLER).order_by(TRAVELLER.c.id.desc()))
            return tuple(map(traveller_of, rows))

    def content(self, digest: str) -> bytes:
        """Return a job file, a plan or a sheet by its digest.

        Raises:
            GivenUp: it was given up on purpose.
            ArchiveProblem: it is not there, or is no longer what was put in.
        """
        with told(_("the archive cannot be read")), self.engine.connect() as connection:
            found = connection.execute(
                select(CONTENT.c.bytes).where(CONTENT.c.digest == digest)
            ).scalar_one_or_none()
            if found == b"":
                _refuse_given_up(connection, digest)
        # SQLite takes a text, too, where bytes belong.
        if found is None or isinstance(found, str) or digest_of(bytes(found)) != digest:
            raise ArchiveProblem(
                _(
                    "content {digest} is missing or was altered; verify the archive",
                    digest=digest[:12],
                )
            )
        return bytes(found)

    def events(self, number: str | None = None) -> tuple[Event, ...]:
        """Return all that happened, in its order; or only what happened to one number."""
        with told(_("the archive cannot be read")), self.engine.connect() as connection:
            return tuple(events(connection) if number is None else events_of(connection, number))

    def head(self) -> tuple[int, str]:
        """Return how many events there are and the hash of the last one."""
        with told(_("the archive cannot be read")), self.engine.connect() as connection:
            return last_hash(connection)


def next_revision(letters: str) -> str:
    """Return the revision after one: B after A, AA after Z.

    >>> next_revision("A"), next_revision("Z"), next_revision("AZ")
    ('B', 'AA', 'BA')
    """
    number = 0
    for letter in letters:
        number = number * len(_LETTERS) + _LETTERS.index(letter) + 1
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, len(_LETTERS))
        text = _LETTERS[rest] + text
    return text


def revisions_of(connection: Connection, number: str) -> tuple[Traveller, ...]:
    """Return all revisions of a number, the first one first; empty if it was never issued."""
    if number != keepable(number):
        return ()  # no database would even be asked for it
    return tuple(map(traveller_of, connection.execute(_REVISIONS, {"of": number})))


def _is_reserved(connection: Connection, number: str) -> bool:
    wanted = select(EVENT.c.place).where(EVENT.c.number == number, EVENT.c.what == "reserved")
    return connection.execute(wanted.limit(1)).first() is not None


def one_of(known: Sequence[Traveller], number: str, revision: str | None) -> Traveller:
    """Return a revision of a number, the last one where none is named.

    Args:
        known: all its revisions.
        number: of them.
        revision: that is meant.

    Raises:
        NotPossible: there is none such; the message says which there are.
    """
    if not known:
        raise NotPossible(_("{number} was never issued", number=number))
    found = next((one for one in reversed(known) if revision in (None, one.revision)), None)
    if found is None:
        raise NotPossible(
            _(
                "{number} has no revision {revision}; there are {known}",
                number=number,
                revision=revision,
                known=", ".join(one.revision for one in known),
            )
        )
    return found


def _last(connection: Connection, number: str) -> Traveller:
    """The last revision of a number, which may be issued anew."""
    known = revisions_of(connection, number)
    if not known:
        raise NotPossible(_("{number} was never issued", number=number))
    if known[-1].state == "closed":
        raise NotPossible(_("{number} is closed: its work is done and signed", number=number))
    return known[-1]


def traveller_of(row: object) -> Traveller:
    """Return a row of the table of travellers as a value."""
    known = dict(row._mapping)  # type: ignore[attr-defined]  # a row of SQLAlchemy
    del known["id"], known["words"]
    return Traveller(facts={name: known.pop(name) for name in FACTS}, **known)


def issue_first(connection: Connection, number: str, sheet: IssuedSheet, who: str) -> Traveller:
    """Keep a sheet as revision A of its number, in the transaction of what it is for.

    Raises:
        NotPossible: the number was issued before.
    """
    if known := revisions_of(connection, number):
        raise NotPossible(
            _(
                "{number} was issued before, last as revision {revision}: issue it anew "
                "with a reason, or give another number",
                number=number,
                revision=known[-1].revision,
            )
        )
    return _keep(connection, number, _LETTERS[0], sheet, who, "")


def issue_anew(
    connection: Connection, number: str, revision: str, sheet: IssuedSheet, who: str, reason: str
) -> Traveller:
    """Keep a sheet as the next revision of its number, in the transaction of what it is for.

    Raises:
        NotPossible: see `Archive.reissue`.
    """
    if not reason.strip():
        raise NotPossible(_("a sheet is issued anew for a reason: say which"))
    last = _last(connection, number)
    if revision != next_revision(last.revision):
        raise NotPossible(
            _(
                "{number} {revision} cannot be issued: {present} is the last one now; "
                "look at it, and issue yours anew",
                number=number,
                revision=revision,
                present=last.revision,
            )
        )
    if last.state != "withdrawn":
        move_one(connection, last, "superseded", who, {"reason": reason.strip()})
    return _keep(connection, number, revision, sheet, who, reason.strip())


def _keep(
    connection: Connection, number: str, revision: str, sheet: IssuedSheet, who: str, reason: str
) -> Traveller:
    unknown = set(sheet.facts) - set(FACTS)
    if unknown:
        raise ValueError(f"facts={sorted(unknown)} are not kept; known: {FACTS}")
    facts = {name: sheet.facts.get(name, "") for name in FACTS}
    contents = {
        "job": sheet.job_text.encode(),
        "plan": sheet.plan_text.encode(),
        "pdf": sheet.pdf,
    }
    digests = dict(zip(contents, put_all(connection, *contents.values()), strict=True))
    details = {
        **digests,
        "facts": facts,
        "program": sheet.program,
        "tables": sheet.tables,
        "reason": reason,
        "check": sheet.check,
        "thickness_m": sheet.thickness_m,
        "text": sheet.text,
    }
    told_of = append(connection, who, "issued", number, revision, details)
    kept = Traveller(
        number=number,
        revision=revision,
        state="issued",
        issued_at=told_of.at,
        facts=facts,
        reason=reason,
        code=code_of(number, revision, sheet.check),
        thickness_m=sheet.thickness_m,
        program=sheet.program,
        tables=sheet.tables,
        **digests,
    )
    values = {key: value for key, value in kept.__dict__.items() if key != "facts"}
    words = words_for(kept, sheet.text, {})
    connection.execute(_INSERT, {**values, **facts, "words": words})
    return kept


def put(connection: Connection, content: bytes) -> str:
    """Keep a content, in the transaction of what it is for; return its digest."""
    return put_all(connection, content)[0]


def put_all(connection: Connection, *contents: bytes) -> tuple[str, ...]:
    """Keep contents, each once, in the transaction of what they are for; return their digests."""
    digests = tuple(map(digest_of, contents))
    rows = [
        {"digest": digest, "bytes": content}
        for digest, content in zip(digests, contents, strict=True)
    ]
    statement = _PUT_SQLITE if connection.dialect.name == "sqlite" else _PUT_POSTGRESQL
    connection.execute(statement, rows)
    return digests


def _refuse_given_up(connection: Connection, digest: str) -> None:
    told_of = connection.execute(
        select(EVENT)
        .where(EVENT.c.what == "discarded", EVENT.c.details.contains(digest, autoescape=True))
        .order_by(EVENT.c.place.desc())
        .limit(1)
    ).first()
    if told_of is not None:
        raise GivenUp(
            _(
                "content {digest} of {number} was given up on {date} UTC by {who} and cannot be "
                "printed or opened any more: {reason}",
                digest=digest[:12],
                number=told_of.number,
                date=told_of.at[:10],
                who=told_of.who,
                reason=json.loads(told_of.details)["reason"],
            )
        )


def move_one(
    connection: Connection,
    traveller: Traveller,
    state: State,
    who: str,
    details: Mapping[str, object],
) -> Traveller:
    """Let a traveller go into a state, in the transaction of what it is for.

    Raises:
        NotPossible: the state cannot follow the present one.
    """
    if state not in AFTER[traveller.state]:
        raise NotPossible(
            _(
                "{number} {revision} is {present} and cannot become {wanted}; {accepted}",
                number=traveller.number,
                revision=traveller.revision,
                present=_(traveller.state),
                wanted=_(state),
                accepted=_what_can_be(connection, traveller),
            )
        )
    append(connection, who, state, traveller.number, traveller.revision, details)
    connection.execute(
        TRAVELLER.update()
        .where(TRAVELLER.c.number == traveller.number, TRAVELLER.c.revision == traveller.revision)
        .values(state=state)
    )
    return replace(traveller, state=state)


def _what_can_be(connection: Connection, traveller: Traveller) -> str:
    """Say what can be done with a traveller that cannot go where someone wanted it."""
    possible = [_(one) for one in AFTER[traveller.state] if one != "superseded"]
    if possible:
        return _("it can be {states}", states=one_of_listed(possible))
    match traveller.state:
        case "superseded":
            last = revisions_of(connection, traveller.number)[-1]
            return _(
                "the last revision is {revision}, which is {state}: that one is meant from now on",
                revision=last.revision,
                state=_(last.state),
            )
        case "withdrawn":
            return _("issue it anew with a reason if it is to be cut by after all")
        case _:
            return _("its work is done and signed; what is left to cut takes a new number")
