"""An export put back into an empty archive, after all of it was doubted."""

import hashlib
import json
import math
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Boolean, Column, Connection, Float, Integer, String, Table
from sqlalchemy.exc import DataError, IntegrityError

from kerfdocket.archive.chain import last_hash
from kerfdocket.archive.derived import renew
from kerfdocket.archive.engine import known_forms, told, writing
from kerfdocket.archive.keeping.form import (
    CONTENTS,
    FORMAT,
    LINES,
    MANIFEST,
    NAMES,
    README,
    RETURNED,
    SHEETS,
    SUMS,
    TRAVELLERS_CSV,
    VERSION,
    columns_of,
)
from kerfdocket.archive.keeping.rows import (
    Row,
    insert,
    next_ids,
    refuse_faults,
    refuse_unless_empty,
)
from kerfdocket.archive.schema import CONTENT, PAGE, TABLES, TRAVELLER
from kerfdocket.archive.store import Archive
from kerfdocket.archive.verify import Fault
from kerfdocket.errors import InputError
from kerfdocket.language import _
from kerfdocket.storage import reason_of

__all__ = ["Imported", "import_export"]

# What a line or a list may hold at the most, so that one made to fill the memory is refused.
# Common practice, no source: far more than any row or list of this program comes to.
_LONGEST_LINE = 16_000_000  # [B]
_LONGEST_MANIFEST = 1_000_000  # [B]
_LONGEST_SUMS = 100_000_000  # [B]
# SQLite takes no larger content unless it was built otherwise (sqlite.org, "Implementation
# Limits For SQLite", SQLITE_MAX_LENGTH; from memory).
_LARGEST_CONTENT = 1_000_000_000  # [B]
_LARGEST_INTEGER = 2**31 - 1  # of an INTEGER of PostgreSQL
_DIGEST = re.compile(r"[0-9a-f]{64}")
_SUM_LINE = re.compile(r"([0-9a-f]{64})  (.+)")
_PART = r"[A-Za-z0-9_~-][A-Za-z0-9._~-]*"
_BELOW = re.compile(rf"(?:{CONTENTS}|{SHEETS}|{RETURNED})/{_PART}")
_TOP = {*LINES.values(), NAMES, TRAVELLERS_CSV, README}


@dataclass(frozen=True)
class Imported:
    """What was imported.

    Attributes:
        events: how many.
        head: hash of the last one.
        travellers: how many, each revision counted.
        faults: that it has, where it was imported despite them.
    """

    events: int
    head: str
    travellers: int
    faults: tuple[Fault, ...] = ()


def import_export(folder: Path, archive: Archive, despite_faults: bool = False) -> Imported:
    """Put an export into an empty archive of either database; all of it or nothing.

    Args:
        folder: that `export` made, also by an older program.
        archive: to fill.
        despite_faults: an export of an archive that had faults is imported, too; one that was
            altered itself is not.

    Raises:
        InputError: it is no export, was altered, or does not fit together; the message names the
            file. Nothing was imported.
        NotPossible: the archive to fill is not empty.
        NotWhole: what was exported has faults.
        EnvironmentProblem: the archive cannot be written; nothing was imported.
    """
    source = _Source(folder)
    with told(_("the export could not be imported")):
        try:
            with writing(archive.engine) as connection:
                refuse_unless_empty(connection)
                return _fill(connection, source, despite_faults)
        except (IntegrityError, DataError) as error:
            reason = " ".join(str(error.orig).split())
            raise InputError(
                _("{folder} does not fit together: {reason}", folder=folder, reason=reason)
            ) from error


class _Source:
    """A folder that says it is an export; what is read of it is compared with its own sums."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.manifest = self._manifest()
        self.is_older = self.manifest["form"] != known_forms()[0]
        self.sums = self._sums()
        for name in self.sums:
            if not name.startswith(f"{CONTENTS}/"):  # those are summed as they are taken
                self._compare(name)

    def path(self, name: str) -> Path:
        """Return where a file is that has an accepted name.

        Raises:
            InputError: it is not there, or is no plain file: a link could lead anywhere.
        """
        path = self.folder / name
        try:
            is_plain = stat.S_ISREG(path.lstat().st_mode) and not path.parent.is_symlink()
        except OSError as error:
            raise InputError(
                _("{path}: {reason}; the export is not whole", path=path, reason=reason_of(error))
            ) from error
        if not is_plain:
            raise InputError(_("{path} is no plain file", path=path))
        return path

    def content(self, name: str, size: int) -> bytes:
        """Return a content's file.

        Raises:
            InputError: it is not what it was, or larger than any archive takes.
        """
        path = self.path(name)
        if path.stat().st_size != size or size > _LARGEST_CONTENT:
            raise InputError(_("{path} was altered: it has another size", path=path))
        with _said_of_reading(path):
            content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != self.sums[name]:
            raise InputError(_("{path} was altered", path=path))
        return content

    def lines(self, name: str) -> Iterator[tuple[str, Any]]:
        """Yield the values of a file of lines, each with where it stands.

        Raises:
            InputError: a line is too long or no JSON.
        """
        path = self.path(name)
        with _said_of_reading(path), path.open("rb") as file:
            place = 0
            while line := file.readline(_LONGEST_LINE):
                place += 1
                where = _("{path}, line {line}", path=path, line=place)
                if len(line) == _LONGEST_LINE:
                    raise InputError(_("{where}: too long", where=where))
                yield where, _json(line, where)

    def _manifest(self) -> dict[str, Any]:
        if not self.folder.is_dir():
            raise InputError(
                _("{path} is not there; give the folder of an export", path=self.folder)
            )
        text, path = self._read(MANIFEST, _LONGEST_MANIFEST), self.folder / MANIFEST
        found = _json(text, str(path))
        if not isinstance(found, dict) or found.get("format") != FORMAT:
            raise InputError(_("{path} is none of an export of this program", path=path))
        for name, kind in (
            ("version", int),
            ("form", str),
            ("program", str),
            ("events", int),
            ("head", str),
            ("lines", dict),
            ("sums", str),
        ):
            if type(found.get(name)) is not kind:
                raise InputError(_("{path}: {name} is missing or wrong", path=path, name=name))
        if found["version"] != VERSION or found["form"] not in known_forms():
            raise InputError(
                _(
                    "{path}: exported by program {program} in a form that this one does not "
                    "know; take a newer one",
                    path=path,
                    program=found["program"][:40],
                )
            )
        return found

    def _sums(self) -> dict[str, str]:
        text, path = self._read(SUMS, _LONGEST_SUMS), self.folder / SUMS
        if hashlib.sha256(text).hexdigest() != self.manifest["sums"]:
            raise InputError(_("{path} was altered", path=path))
        sums = {}
        for place, line in enumerate(text.decode(errors="replace").splitlines(), 1):
            found = _SUM_LINE.fullmatch(line)
            if not found or not (found[2] in _TOP or _BELOW.fullmatch(found[2])):
                raise InputError(
                    _("{path}, line {line}: names no file of an export", path=path, line=place)
                )
            sums[found[2]] = found[1]
        for name in sorted(_TOP - set(sums)):
            raise InputError(_("{path}: {name} is missing or wrong", path=path, name=name))
        return sums

    def _read(self, name: str, longest: int) -> bytes:
        path = self.path(name)
        with _said_of_reading(path), path.open("rb") as file:
            text = file.read(longest + 1)
        if len(text) > longest:
            raise InputError(_("{where}: too long", where=path))
        return text

    def _compare(self, name: str) -> None:
        path = self.path(name)
        with _said_of_reading(path), path.open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
        if found != self.sums[name]:
            raise InputError(_("{path} was altered", path=path))


@contextmanager
def _said_of_reading(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise InputError(
            _("cannot read {path}: {reason}", path=path, reason=reason_of(error))
        ) from error


def _json(text: bytes, where: str) -> Any:
    def refuse(_name: str) -> None:
        raise ValueError

    try:
        return json.loads(text, parse_constant=refuse)
    except (ValueError, RecursionError) as error:
        raise InputError(_("{where}: is no JSON", where=where)) from error


def _fill(connection: Connection, source: _Source, despite_faults: bool) -> Imported:
    for table in TABLES:
        insert(connection, table, _rows(source, table, despite_faults))
    next_ids(connection)
    if source.is_older:
        renew(connection)
    events, head = last_hash(connection)
    if (events, head) != (source.manifest["events"], source.manifest["head"]):
        raise InputError(
            _(
                "{path}: tells of {wanted} events, and {found} are there, or the last is another",
                path=source.folder / MANIFEST,
                wanted=source.manifest["events"],
                found=events,
            )
        )
    faults = refuse_faults(connection, despite_faults)
    return Imported(events, head, source.manifest["lines"][LINES[TRAVELLER]], faults)


def _rows(source: _Source, table: Table, despite_faults: bool) -> Iterator[Row]:
    """Yield the rows that a file of lines tells of.

    Raises:
        InputError: a line is not what a row of the table is.
    """
    name = LINES[table]
    count = 0
    for where, values in source.lines(name):
        count += 1
        row = _row(source, table, values, where)
        if table is CONTENT:
            yield _content(source, row, where, despite_faults)
        elif table in (TRAVELLER, PAGE):
            yield {"id": count, **row}
        else:
            yield row
    if source.manifest["lines"].get(name) != count:
        raise InputError(
            _("{path}: {name} is missing or wrong", path=source.folder / MANIFEST, name=name)
        )


def _row(source: _Source, table: Table, values: Any, where: str) -> Row:
    wanted = columns_of(table)
    if not isinstance(values, dict):
        raise InputError(_("{where}: is no row", where=where))
    for name in sorted(set(values) - set(wanted)):
        raise InputError(_("{where}: {name} is not known", where=where, name=repr(name[:40])))
    row: Row = {}
    for name in wanted:
        if name in values:
            column = _OF_CONTENTS[name] if table is CONTENT else table.columns[name]
            row[name] = _value(column, values[name], f"{where}: {name}")
        elif source.is_older and _has_default(table, name):
            # An older form knew nothing of it; what follows from the events is worked out anew.
            row[name] = None if table.columns[name].nullable else _default(table, name)
        else:
            raise InputError(_("{where}: {name} is missing", where=where, name=name))
    return row


def _has_default(table: Table, name: str) -> bool:
    column = table.columns.get(name)
    return column is not None and (bool(column.nullable) or column.server_default is not None)


def _default(table: Table, name: str) -> str | bool | int:
    kind = table.columns[name].type
    if isinstance(kind, Boolean):
        return False
    return 0 if isinstance(kind, Integer) else ""


# What a line of contents says in place of the bytes.
_OF_CONTENTS: dict[str, Column[Any]] = {
    "digest": Column("digest", String(64)),
    "file": Column("file", String(200)),
    "size": Column("size", Integer),
}


def _value(column: Column[Any], value: Any, where: str) -> Any:
    """Return a value as its column takes it, on either database."""
    kind = column.type
    if value is None and column.nullable and isinstance(kind, Float):
        return None
    if isinstance(kind, Boolean):
        is_good = isinstance(value, bool)
    elif isinstance(kind, Integer):
        is_good = type(value) is int and 0 <= value <= _LARGEST_INTEGER
    elif isinstance(kind, Float):
        is_good = type(value) in (int, float) and math.isfinite(value)
    else:
        is_good = isinstance(value, str) and _is_kept(value, getattr(kind, "length", None))
    if not is_good:
        raise InputError(_("{where}: not a value that it can have", where=where))
    return float(value) if isinstance(kind, Float) else value


def _is_kept(text: str, longest: int | None) -> bool:
    """Whether each database keeps a text as it is: none takes halves of letters."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return longest is None or len(text) <= longest


def _content(source: _Source, row: Row, where: str, despite_faults: bool) -> Row:
    digest, file = row["digest"], row["file"]
    if not _DIGEST.fullmatch(digest):
        raise InputError(_("{where}: {name} is missing or wrong", where=where, name="digest"))
    if not file:
        # It was given up; if no event says so, `verify` will.
        return {"digest": digest, "bytes": b""}
    if file not in source.sums or not file.startswith(f"{CONTENTS}/{digest}."):
        raise InputError(_("{where}: {name} is missing or wrong", where=where, name="file"))
    if source.sums[file] != digest and not despite_faults:
        raise InputError(_("{path} is not what its name says", path=source.folder / file))
    return {"digest": digest, "bytes": source.content(file, row["size"])}
