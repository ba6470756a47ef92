"""Writing files so that a reader never sees half of one."""

import contextlib
import os
import tempfile
from pathlib import Path

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _, marked

__all__ = ["BOM", "harmless_cell", "make_folder", "reason_of", "sync_folder", "write_atomically"]

BOM = "\ufeff"  # without it spreadsheets take UTF-8 for the code page of the country
# A spreadsheet takes what begins so for a formula, and works it out.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")

# What the system says most often when a file is in the way; it says it in English.
_REASONS = {
    marked("Disk quota exceeded"),
    marked("File name too long"),
    marked("Input/output error"),
    marked("Is a directory"),
    marked("No space left on device"),
    marked("No such file or directory"),
    marked("Not a directory"),
    marked("Operation not permitted"),
    marked("Permission denied"),
    marked("Read-only file system"),
    marked("Too many levels of symbolic links"),
}


def reason_of(error: OSError) -> str:
    """Return why a file could not be read or written, as the system says it."""
    reason = str(error.strerror)
    return _(reason) if reason in _REASONS else reason


def harmless_cell(text: str) -> str:
    """Return a text as a spreadsheet may read it from CSV: as a text, whatever it begins with.

    >>> harmless_cell("=1+1"), harmless_cell("KD-0141")
    ("'=1+1", 'KD-0141')
    """
    return f"'{text}" if text.startswith(_FORMULA) else text


def sync_folder(folder: Path) -> None:
    """Wait until the disk knows which files are in a folder, where the system can tell.

    Raises:
        OSError: the disk says that it does not.
    """
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, where they are not there yet.

    Raises:
        EnvironmentProblem: it cannot be made; the message says why.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise EnvironmentProblem(
            _("cannot make {folder}: {reason}", folder=folder, reason=reason_of(error))
        ) from error


def write_atomically(path: Path, content: bytes) -> None:
    """Write `content` to `path`: wholly, or not at all with the old file untouched.

    Args:
        path: the file to make or replace; its folder must exist.
        content: all bytes of it.

    Raises:
        EnvironmentProblem: it cannot be written there; the message says why.
    """
    target = path.resolve()  # a link keeps pointing to the file that is replaced
    if target.is_dir():
        raise EnvironmentProblem(_("{path} is a folder; give the name of a file", path=path))
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.")
    except OSError as error:
        raise EnvironmentProblem(
            _("cannot write {path}: {reason}", path=path, reason=reason_of(error))
        ) from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes private files; a job sheet gets the rights that any new file would.
        mask = os.umask(0)
        os.umask(mask)
        Path(name).chmod(target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~mask)
        Path(name).replace(target)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise EnvironmentProblem(
            _("cannot write {path}: {reason}", path=path, reason=reason_of(error))
        ) from error
