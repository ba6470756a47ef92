"""Copies of the archive and what it tells, made in a process of their own: they take long."""

from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kerfdocket.language import language_named, speaking

if TYPE_CHECKING:
    from kerfdocket.archive import Archive
    from kerfdocket.archive.keeping import Copied, Exported
    from kerfdocket.office.keeping import Told

__all__ = ["Copy", "Counted", "Faulty", "Made", "copy_archive", "count_archive"]


@dataclass(frozen=True)
class Copy:
    """What is to be made.

    Attributes:
        place: of the archive.
        deed: `backup`, one file; or `export`, a folder of open formats.
        target: its name.
        may_replace: a file of that name may be replaced.
        despite_faults: an archive with faults is copied, too.
    """

    place: str
    deed: str
    target: Path
    may_replace: bool = False
    despite_faults: bool = False


@dataclass(frozen=True)
class Made:
    """What was made.

    Attributes:
        copy: as it was asked for.
        done: what it holds; None if it was there just before it was given up.
    """

    copy: Copy
    done: "Copied | Exported | None"


@dataclass(frozen=True)
class Faulty:
    """Nothing was made, as the archive has faults and nobody asked for it despite them.

    Attributes:
        faults: in words.
    """

    faults: tuple[str, ...]


@dataclass(frozen=True)
class Counted:
    """What an archive tells, in words.

    Attributes:
        total: how much there is.
        told: head by head.
        not_compared: that some could not be compared; empty if all could.
    """

    total: str
    told: "tuple[Told, ...]"
    not_compared: str


def copy_archive(copy: Copy, language: str) -> Made | Faulty:
    """Copy an archive; an interrupt leaves nothing behind.

    Args:
        copy: what is to be made.
        language: code of the language to speak; an export is written in it.

    Raises:
        InputError: there is something of that name, or no archive.
        EnvironmentProblem: the archive cannot be read, or the copy not written.
        KeyboardInterrupt: it was given up; nothing of that name was made.
    """
    before = _identity(copy.target)
    try:
        # The process begins in English, whatever its window speaks.
        with speaking(language_named(language)):
            return _copied(copy)
    except KeyboardInterrupt:
        # It gets its name when it is whole and never before: too late to give it up.
        if _identity(copy.target) == before:
            raise
        return Made(copy, None)


def _opened(place: str) -> "Archive":
    from kerfdocket.archive import open_archive

    # A disk that is gone would else give an empty archive, and a backup of it look like one.
    return open_archive(place, may_be_made=False)


def _copied(copy: Copy) -> Made | Faulty:
    from kerfdocket.archive.keeping import NotWhole, backup, export

    with closing(_opened(copy.place)) as archive:
        try:
            if copy.deed == "export":
                return Made(copy, export(archive, copy.target, copy.despite_faults))
            return Made(copy, backup(archive, copy.target, copy.may_replace, copy.despite_faults))
        except NotWhole as error:
            return Faulty(tuple(map(str, error.faults)))


def _identity(path: Path) -> tuple[int, int] | None:
    """What tells a file or folder from another of the same name; None if there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns


def count_archive(place: str, language: str) -> Counted:
    """Count what is in an archive, and hold work against plans.

    Args:
        place: of the archive.
        language: code of the language to speak.

    Raises:
        InputError: there is none.
        ArchiveProblem: it cannot be read.
    """
    from kerfdocket.archive.keeping import stats
    from kerfdocket.office import ratios_with
    from kerfdocket.office.keeping import not_compared_text, stats_told, total_text
    from kerfdocket.reference import load_reference

    with speaking(language_named(language)), closing(_opened(place)) as archive:
        found = stats(archive, ratios_with(load_reference()))
        return Counted(total_text(found), stats_told(found), not_compared_text(found))
