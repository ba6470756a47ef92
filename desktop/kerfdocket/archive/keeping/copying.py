"""Backup and restoring: an archive copied row by row, compared, and verified."""

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from kerfdocket.archive.chain import last_hash
from kerfdocket.archive.engine import (
    form_of,
    known_forms,
    make_reading_engine,
    reading,
    told,
    writing,
)
from kerfdocket.archive.errors import ArchiveProblem
from kerfdocket.archive.keeping.places import beside, is_in_use, said_of_disk, settle
from kerfdocket.archive.keeping.rows import (
    RowsSum,
    insert,
    next_ids,
    refuse_faults,
    refuse_unless_empty,
    rows_of,
)
from kerfdocket.archive.schema import TABLES
from kerfdocket.archive.store import Archive, open_archive
from kerfdocket.archive.verify import Fault
from kerfdocket.errors import InputError
from kerfdocket.language import _
from kerfdocket.storage import sync_folder

__all__ = ["Copied", "backup", "restore"]


@dataclass(frozen=True)
class Copied:
    """What was copied.

    Attributes:
        events: how many, from the first one on.
        head: hash of the last one.
        rows: how many of each table.
        faults: that it has, where it was copied despite them.
    """

    events: int
    head: str
    rows: dict[str, int]
    faults: tuple[Fault, ...] = ()


def backup(
    archive: Archive, target: Path, overwrite: bool = False, despite_faults: bool = False
) -> Copied:
    """Copy an archive, as it is at one moment, into one SQLite file; others may go on working.

    Row by row from either database: so the file holds nothing else and is no larger than it needs
    to be, and has been read as a whole before it gets its name.

    Args:
        archive: to copy.
        target: file to make.
        overwrite: a file of that name may be replaced.
        despite_faults: an archive with faults is copied, too.

    Raises:
        InputError: there is a file of that name, or it is an archive in use.
        NotWhole: the archive has faults.
        EnvironmentProblem: it cannot be read or written; nothing of the target's name was made.
    """
    _refuse_target(archive, target, overwrite)
    with (
        told(_("the backup could not be made")),
        said_of_disk(target),
        beside(target) as folder,
    ):
        made = folder / "archive.sqlite"
        with reading(archive.engine) as source:
            copied = _filled(made, source, despite_faults)
        settle(made)
        # It may have taken minutes.
        _refuse_target(archive, target, overwrite)
        made.replace(target)
        sync_folder(target.parent)
    return copied


def _refuse_target(archive: Archive, target: Path, overwrite: bool) -> None:
    if target.is_dir():
        raise InputError(_("{path} is a folder; give the name of a file", path=target))
    if not target.exists():
        return
    own = archive.engine.url.database if archive.engine.dialect.name == "sqlite" else None
    if own is not None and Path(own).exists() and target.samefile(own):
        raise InputError(_("{path} is the archive itself; give another file", path=target))
    if not overwrite:
        raise InputError(
            _("{path} is there already; give another name, or ask to overwrite it", path=target)
        )
    if is_in_use(target):
        raise InputError(
            _("{path} is an archive that someone has open; give another file", path=target)
        )


def _filled(made: Path, source: Connection, despite_faults: bool) -> Copied:
    new = open_archive(made)
    try:
        _write_plainly(new.engine)
        with writing(new.engine) as target:
            return _copied(source, target, despite_faults)
    finally:
        new.close()


def _write_plainly(engine: Engine) -> None:
    """What nobody else sees yet needs no log beside it, that would be as large again."""
    connection = engine.raw_connection()
    try:
        cursor = connection.cursor()
        cursor.execute("PRAGMA journal_mode=DELETE")
        cursor.execute("PRAGMA synchronous=OFF")
        # Of an archive with faults, too, a copy can be wanted: all of it is compared afterwards.
        cursor.execute("PRAGMA foreign_keys=OFF")
        cursor.close()
    finally:
        connection.close()


def restore(source: Path, archive: Archive, despite_faults: bool = False) -> Copied:
    """Copy a backup into an empty archive of either database; all of it or nothing.

    Args:
        source: file that `backup` made, also by an older program.
        archive: to fill.
        despite_faults: a backup with faults is restored, too.

    Raises:
        InputError: the file is no archive, or a newer program made it.
        NotPossible: the archive to fill is not empty.
        NotWhole: the backup has faults.
        EnvironmentProblem: it cannot be read or written; nothing was restored.
    """
    with (
        told(_("the archive could not be restored")),
        _opened(source) as engine,
        reading(engine) as old,
        writing(archive.engine) as new,
    ):
        refuse_unless_empty(new)
        return _copied(old, new, despite_faults)


@contextmanager
def _opened(file: Path) -> Iterator[Engine]:
    """Open an archive's file only to read it; one of an older form, a renewed copy of it."""
    if not file.is_file():
        raise InputError(_("{file} is not there; give the file of a backup", file=file))
    engine = make_reading_engine(file)
    try:
        try:
            with engine.connect() as connection:
                form = form_of(connection)
        except DBAPIError as error:
            reason = " ".join(str(error.orig).split())
            raise InputError(_("{file} is no archive: {reason}", file=file, reason=reason)) from (
                error
            )
        if form is None:
            raise InputError(_("{file} is no archive of travellers", file=file))
        if form == known_forms()[0]:
            yield engine
            return
        with tempfile.TemporaryDirectory(prefix="kerfdocket-") as folder:
            renewed = open_archive(_duplicate(file, Path(folder) / "archive.sqlite"))
            try:
                yield renewed.engine
            finally:
                renewed.close()
    finally:
        engine.dispose()


def _duplicate(file: Path, copy: Path) -> Path:
    engine = make_reading_engine(file)
    new = sqlite3.connect(copy)
    try:
        # Ended as any reading is: someone may have written where no lock keeps him from it.
        with engine.connect() as old, old.begin():
            source = old.connection.dbapi_connection
            assert isinstance(source, sqlite3.Connection)
            source.backup(new)
    finally:
        new.close()
        engine.dispose()
    return copy


def _copied(source: Connection, target: Connection, despite_faults: bool) -> Copied:
    """Copy all rows into empty tables, read them again, and go over the copy as `verify` does."""
    sums: dict[str, RowsSum] = {}
    for table in TABLES:
        sums[table.name] = RowsSum()
        insert(target, table, sums[table.name].watching(rows_of(source, table)))
    next_ids(target)
    for table in TABLES:
        again = RowsSum()
        for row in rows_of(target, table):
            again.add(row)
        if again.said != sums[table.name].said:
            raise ArchiveProblem(
                _(
                    "the copy is not what was read ({name}); nothing was written",
                    name=table.name,
                )
            )
    faults = refuse_faults(target, despite_faults)
    events, head = last_hash(target)
    return Copied(events, head, {name: one.rows for name, one in sums.items()}, faults)
