"""Where copies are made: beside the place that they are for, moved there once they are whole."""

import os
import secrets
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _
from kerfdocket.storage import make_folder, reason_of

__all__ = ["beside", "give_usual_rights", "is_in_use", "said_of_disk", "settle"]

# What SQLite keeps beside a file that someone has open, or had when the machine stopped.
_IN_USE = ("-wal", "-journal", "-shm")


@contextmanager
def said_of_disk(place: Path) -> Iterator[None]:
    """Turn what the system says is wrong with a place into words.

    Raises:
        EnvironmentProblem: it cannot be written there; the message says why.
    """
    try:
        yield
    except OSError as error:
        raise EnvironmentProblem(
            _("cannot write {path}: {reason}", path=place, reason=reason_of(error))
        ) from error
    except sqlite3.Error as error:
        raise EnvironmentProblem(
            _("cannot write {path}: {reason}", path=place, reason=error)
        ) from error


@contextmanager
def beside(place: Path) -> Iterator[Path]:
    """Give a new folder on the same disk as a place; it is gone when the block ends.

    Raises:
        EnvironmentProblem: it cannot be made there.
    """
    make_folder(place.parent)
    # Its name is known before it is made: an interrupt in between leaves nothing behind.
    folder = place.parent / f".{place.name[:40]}.{secrets.token_hex(8)}"
    try:
        with said_of_disk(place):
            folder.mkdir(0o700)
        yield folder
    finally:
        try:
            shutil.rmtree(folder, ignore_errors=True)
        except KeyboardInterrupt:
            shutil.rmtree(folder, ignore_errors=True)
            raise


def is_in_use(file: Path) -> bool:
    """Return whether someone has a SQLite file open, or left it without closing it."""
    return any(file.with_name(file.name + end).exists() for end in _IN_USE)


def settle(file: Path) -> None:
    """Make of a closed SQLite file one that needs no other beside it, and wait for the disk.

    Raises:
        OSError: the disk refuses.
    """
    connection = sqlite3.connect(file)
    try:
        connection.execute("PRAGMA journal_mode=DELETE")
    finally:
        connection.close()
    # Some systems let only who may write wait for it.
    with file.open("rb+") as opened:
        os.fsync(opened.fileno())


def give_usual_rights(folder: Path) -> None:
    """Give a folder the rights that any new one would have: a temporary one is private."""
    mask = os.umask(0)
    os.umask(mask)
    with suppress(OSError):  # some disks know no rights
        folder.chmod(0o777 & ~mask)
