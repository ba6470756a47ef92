"""All of an archive as a folder of open formats."""

import csv
import hashlib
import io
import json
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, func, select

from kerfdocket import __version__
from kerfdocket.archive.chain import last_hash
from kerfdocket.archive.engine import form_of, reading, told
from kerfdocket.archive.errors import ArchiveProblem
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
    ending_of,
    safe_name,
)
from kerfdocket.archive.keeping.places import beside, give_usual_rights, said_of_disk
from kerfdocket.archive.keeping.readme import readme_text
from kerfdocket.archive.keeping.rows import Row, refuse_faults, rows_of
from kerfdocket.archive.schema import (
    ACTUAL,
    CONTENT,
    DRAFT,
    EVENT,
    FACTS,
    PAGE,
    SERIES,
    TRAVELLER,
)
from kerfdocket.archive.store import Archive
from kerfdocket.archive.verify import Fault
from kerfdocket.errors import InputError
from kerfdocket.language import _
from kerfdocket.storage import BOM, harmless_cell, sync_folder

__all__ = ["Exported", "export"]

_COLUMNS = (
    "number",
    "revision",
    "state",
    "issued_at",
    *FACTS,
    "cutter",
    "reason",
    "pages_returned",
    "sheet",
)


@dataclass(frozen=True)
class Exported:
    """What was exported.

    Attributes:
        events: how many.
        head: hash of the last one.
        files: how many there are in the folder.
        bytes: of all contents. [B]
        faults: that the archive has, where it was exported despite them.
    """

    events: int
    head: str
    files: int
    bytes: int
    faults: tuple[Fault, ...] = ()


def export(archive: Archive, folder: Path, despite_faults: bool = False) -> Exported:
    """Write all of an archive, as it is at one moment, into a folder; others may go on working.

    The same archive gives the same bytes, whichever database it is in, in the language that is
    spoken. `readme` says what the files are. Sheets and scans under people's names are hard links
    to those under their digests, so that nothing is on the disk twice and `contents` is whole all
    the same; where the disk knows no such links (as most memory sticks), they are copies.

    Args:
        archive: to export.
        folder: to make; may be there if it is empty.
        despite_faults: an archive with faults is exported, too.

    Raises:
        InputError: the folder holds something.
        NotWhole: the archive has faults.
        EnvironmentProblem: it cannot be read or written; no folder of that name was made.
    """
    _refuse_folder(folder)
    with (
        told(_("the archive could not be exported")),
        said_of_disk(folder),
        beside(folder) as made,
    ):
        with reading(archive.engine) as connection:
            exported = _write_all(connection, _Folder(made), despite_faults)
        _settle(made)
        give_usual_rights(made)
        _refuse_folder(folder)
        if folder.exists():
            folder.rmdir()
        made.replace(folder)
        sync_folder(folder.parent)
    return exported


def _refuse_folder(folder: Path) -> None:
    if folder.is_dir() and not any(folder.iterdir()):
        return
    if folder.exists():
        raise InputError(
            _("{path} is there and not empty; give the name of a new folder", path=folder)
        )


def _settle(folder: Path) -> None:
    """Wait until the disk has all of it; each content once."""
    for path in sorted(folder.rglob("*")):
        if path.is_dir():
            sync_folder(path)
        elif path.parent.name not in (SHEETS, RETURNED) or path.stat().st_nlink == 1:
            with path.open("rb+") as file:
                os.fsync(file.fileno())
    sync_folder(folder)


class _Folder:
    """A folder in the making, and the SHA-256 of each file in it."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.sums: dict[str, str] = {}
        for name in (CONTENTS, SHEETS, RETURNED):
            (folder / name).mkdir()

    def write(self, name: str, content: bytes) -> str:
        (self._folder / name).write_bytes(content)
        self.sums[name] = hashlib.sha256(content).hexdigest()
        return self.sums[name]

    @contextmanager
    def writing(self, name: str) -> Iterator[Callable[[str], None]]:
        """Give what writes a text to a file, part by part."""
        summed = hashlib.sha256()
        with (self._folder / name).open("wb") as file:

            def write(text: str) -> None:
                content = text.encode()
                summed.update(content)
                file.write(content)

            yield write
        self.sums[name] = summed.hexdigest()

    def again(self, name: str, same: str) -> None:
        """Let a file be there under another name, too."""
        try:
            os.link(self._folder / same, self._folder / name)
        except OSError:
            # Not every disk knows links, and none takes any number of them.
            shutil.copyfile(self._folder / same, self._folder / name)
        self.sums[name] = self.sums[same]


def _line(values: Row) -> str:
    return json.dumps(values, ensure_ascii=False, separators=(",", ":")) + "\n"


def _write_all(connection: Connection, folder: _Folder, despite_faults: bool) -> Exported:
    faults = refuse_faults(connection, despite_faults)
    files, size = _write_contents(connection, folder)
    counts = {LINES[CONTENT]: len(files)}
    for table in (EVENT, SERIES, PAGE, ACTUAL, DRAFT):
        counts[LINES[table]] = 0
        with folder.writing(LINES[table]) as write:
            for row in rows_of(connection, table):
                write(_line({name: row[name] for name in columns_of(table)}))
                counts[LINES[table]] += 1
    with folder.writing(NAMES) as write_name:
        counts[LINES[TRAVELLER]] = _write_travellers(connection, folder, files, write_name)
        _write_returned(connection, folder, files, write_name)
    folder.write(README, readme_text().encode())
    events, head = last_hash(connection)
    sums = "".join(f"{digest}  {name}\n" for name, digest in sorted(folder.sums.items()))
    manifest = {
        "format": FORMAT,
        "version": VERSION,
        "form": form_of(connection),
        "program": __version__,
        "events": events,
        "head": head,
        "lines": dict(sorted(counts.items())),
        "sums": folder.write(SUMS, sums.encode()),
        "faults": len(faults),
    }
    folder.write(MANIFEST, (json.dumps(manifest, indent=2) + "\n").encode())
    return Exported(events, head, len(folder.sums), size, faults)


def _write_contents(connection: Connection, folder: _Folder) -> tuple[dict[str, str], int]:
    """Write each content into a file of its own; return their names by digest, and their size."""
    files: dict[str, str] = {}
    size = 0
    with folder.writing(LINES[CONTENT]) as write:
        for row in rows_of(connection, CONTENT):
            digest, content = row["digest"], row["bytes"]
            file = ""
            # What was given up has no file. Nothing but its digest may decide where one goes.
            if content or digest == hashlib.sha256(b"").hexdigest():
                if len(digest) != 64 or not set(digest) <= set("0123456789abcdef"):
                    raise ArchiveProblem(_("{digest} is no digest", digest=repr(digest[:80])))
                file = f"{CONTENTS}/{digest}.{ending_of(content)}"
                folder.write(file, content)
            files[digest] = file
            size += len(content)
            write(_line({"digest": digest, "file": file, "size": len(content)}))
    return files, size


def _write_travellers(
    connection: Connection,
    folder: _Folder,
    files: dict[str, str],
    write_name: Callable[[str], None],
) -> int:
    pages = {
        (row.number, row.revision): row.count
        for row in connection.execute(
            select(PAGE.c.number, PAGE.c.revision, func.count().label("count")).group_by(
                PAGE.c.number, PAGE.c.revision
            )
        )
    }
    taken: set[str] = set()
    count = 0
    with (
        folder.writing(LINES[TRAVELLER]) as write,
        folder.writing(TRAVELLERS_CSV) as write_csv,
    ):
        write_csv(BOM + _csv_line(_COLUMNS))
        for row in rows_of(connection, TRAVELLER):
            write(_line({name: row[name] for name in columns_of(TRAVELLER)}))
            count += 1
            name = ""
            if file := files.get(row["pdf"]):
                name = _named(SHEETS, f"{row['number']}-{row['revision']}", file, taken)
                folder.again(name, file)
                write_name(_name_line(name, row["number"], row["revision"], row["pdf"]))
            shown = {
                **row,
                "pages_returned": pages.get((row["number"], row["revision"]), 0),
                "sheet": name,
            }
            write_csv(_csv_line(harmless_cell(str(shown[one])) for one in _COLUMNS))
    return count


def _write_returned(
    connection: Connection,
    folder: _Folder,
    files: dict[str, str],
    write_name: Callable[[str], None],
) -> None:
    """A file with pages of several travellers is there under each of their numbers, once."""
    taken: set[str] = set()
    pages = (
        select(PAGE.c.number, PAGE.c.revision, PAGE.c.file, func.min(PAGE.c.id).label("first"))
        .where(PAGE.c.number != "")
        .group_by(PAGE.c.number, PAGE.c.revision, PAGE.c.file)
        .order_by("first")
        .execution_options(yield_per=500)
    )
    for row in connection.execute(pages):
        if file := files.get(row.file):
            name = _named(RETURNED, f"{row.number}-{row.revision}", file, taken)
            folder.again(name, file)
            write_name(_name_line(name, row.number, row.revision, row.file))


def _named(folder: str, wanted: str, file: str, taken: set[str]) -> str:
    name = safe_name(wanted, taken)
    taken.add(name.lower())
    return f"{folder}/{name}{Path(file).suffix}"


def _name_line(file: str, number: str, revision: str, digest: str) -> str:
    return _line({"file": file, "number": number, "revision": revision, "digest": digest})


def _csv_line(cells: Iterator[str] | tuple[str, ...]) -> str:
    line = io.StringIO()
    csv.writer(line).writerow(cells)
    return line.getvalue()
