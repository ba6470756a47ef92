"""Opening an archive to fill it: one that was made for it and stays empty is taken away again."""

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from sqlalchemy import literal, select
from sqlalchemy.exc import DBAPIError

from kerfdocket.archive.engine import TAKEN_AWAY, in_words, known_forms, shown_place
from kerfdocket.archive.errors import ArchiveProblem
from kerfdocket.archive.schema import TABLES
from kerfdocket.archive.store import Archive, file_of, open_archive
from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _
from kerfdocket.storage import make_folder, reason_of

__all__ = ["opened_to_fill"]

# Somebody who has it open goes on with it: nobody is waited for.
_PATIENCE_MS = 0


@contextmanager
def opened_to_fill(place: str | Path, tell: Callable[[str], object]) -> Iterator[Archive]:
    """Open an archive that may be made, and close it when the block ends.

    Where the block fails and the archive was made here and holds nothing, it is taken away again:
    an empty one looks like one that lost nothing.

    Args:
        place: a file, or `postgresql://…`.
        tell: is given a sentence where an empty archive stays after a failure.

    Raises:
        ArchiveProblem: it cannot be opened.
    """
    file = file_of(place)
    is_new = file is not None and _begun(file)
    archive: Archive | None = None
    is_good = False
    said = ""
    try:
        archive = open_archive(place)
        yield archive
        is_good = True
    finally:
        try:
            # A server keeps its tables: who asks for them may do so for another reason.
            if archive is not None and not is_good and file is None and _holds_nothing(archive):
                said = _(
                    "An archive that holds nothing is at {place} now; it can be filled later.",
                    place=shown_place(str(place)),
                )
        finally:
            if archive is not None:
                archive.close()
            if file is not None and is_new and not is_good:
                said = _taken_away(file)
        if said:
            tell(said)


def _begun(file: Path) -> bool:
    """Begin a new file; False if there is one, or it cannot be made, which opening it tells."""
    with suppress(EnvironmentProblem, OSError):
        make_folder(file.parent)
        # Of two who do so at once, one made it.
        os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
        return True
    return False


def _holds_nothing(archive: Archive) -> bool:
    with suppress(DBAPIError, ArchiveProblem), archive.engine.connect() as connection:
        return not any(
            connection.execute(select(literal(1)).select_from(table).limit(1)).first()
            for table in TABLES
        )
    return False


def _taken_away(file: Path) -> str:
    """Take a file away that was begun here, unless something is in it or somebody has it open.

    Returns:
        Why it stays though nothing may be in it, in a sentence; empty if it is gone, or filled.
    """
    try:
        with closing(sqlite3.connect(file, isolation_level=None)) as connection:
            connection.execute(f"PRAGMA busy_timeout={_PATIENCE_MS}")
            # Refused while anybody else has it open; then there is no log beside it, either.
            connection.execute("PRAGMA journal_mode=DELETE")
            connection.execute("BEGIN EXCLUSIVE")
            made = {
                name for (name,) in connection.execute("SELECT name FROM sqlite_master").fetchall()
            }
            if made and not _is_ours(connection, made):
                return _not_taken_away(file, _("it holds tables that were not made here"))
            if any(
                connection.execute(f"SELECT 1 FROM {table.name} LIMIT 1").fetchone()
                for table in TABLES
                if table.name in made
            ):
                return ""
            # Who opens it between here and its end finds that out before writing into it.
            connection.execute(
                "CREATE TABLE IF NOT EXISTS alembic_version (version_num VARCHAR(32) NOT NULL)"
            )
            connection.execute("DELETE FROM alembic_version")
            connection.execute("INSERT INTO alembic_version VALUES (?)", (TAKEN_AWAY,))
            connection.execute("COMMIT")
        file.unlink(missing_ok=True)
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY:
            return _(
                "{place} was made and cannot be taken away, as someone else has it open: "
                "look what is in it.",
                place=file,
            )
        return _not_taken_away(file, in_words(str(error)))
    except sqlite3.Error as error:
        return _not_taken_away(file, in_words(str(error)))
    except OSError as error:
        return _not_taken_away(file, reason_of(error))
    return ""


def _is_ours(connection: sqlite3.Connection, made: set[str]) -> bool:
    """Return whether the tables are those that this program makes, all of them at once."""
    if "alembic_version" not in made:
        return False
    found = connection.execute("SELECT version_num FROM alembic_version").fetchall()
    return found == [(known_forms()[0],)]


def _not_taken_away(file: Path, reason: str) -> str:
    return _(
        "{place} was made and cannot be taken away: {reason}. Look what is in it, and delete it "
        "if it holds nothing.",
        place=file,
        reason=reason,
    )
