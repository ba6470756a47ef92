"""The folder that the office's scanner writes to: what arrives there is taken."""

import os
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISREG
from typing import TYPE_CHECKING

from kerfdocket.archive import Archive, NotReadable, Taken, take_file
from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _
from kerfdocket.storage import make_folder, reason_of

if TYPE_CHECKING:
    from kerfdocket.archive.intake import ReadPage

__all__ = ["NOT_TAKEN", "TAKEN", "Looked", "Watch"]

TAKEN, NOT_TAKEN = "taken", "not-taken"  # folders in the watched one, for what was dealt with
_LARGEST = 500_000_000  # bytes of a file; a scan of a hundred pages has a tenth of it


@dataclass(frozen=True)
class Looked:
    """What became of a file in the folder.

    Attributes:
        file: where it lies now.
        taken: what became of its pages; None if it could not be taken.
        problem: why not.
    """

    file: Path
    taken: Taken | None
    problem: str = ""


def _mark(stat: os.stat_result) -> tuple[int, int]:
    return stat.st_size, stat.st_mtime_ns


class Watch:
    """Looks into a folder again and again; whoever owns it says when.

    A scanner writes for seconds, often over a network whose changes no system tells of. So a file
    is taken when two looks in a row found it the same. It is moved to `taken` after the archive
    has it, so whoever is interrupted takes it once more, which changes nothing.
    """

    def __init__(
        self,
        folder: Path,
        read: "Callable[[bytes, str], Iterable[ReadPage]] | None" = None,
    ) -> None:
        """Look into `folder`; `read` reads the pages of a file, as `take_file` has it."""
        self.folder = folder
        self._read = read
        self._seen: dict[Path, tuple[int, int]] = {}
        self._not_kept: set[Path] = set()  # that the archive could not take when it was asked last

    def look(self, archive: Archive, who: str) -> Iterator[Looked]:
        """Take what has come to rest since the last look, file by file.

        Args:
            archive: that takes it.
            who: watches.

        Raises:
            EnvironmentProblem: the folder cannot be read, or nothing can be moved in it.
            ArchiveProblem: the archive cannot be written; the file stays where it is.
        """
        present = self._present()
        rested = [path for path, seen in present.items() if self._seen.get(path) == seen]
        self._seen = present
        self._not_kept &= present.keys()
        # One that the archive cannot take does not stand in the way of the others for ever.
        for path in sorted(rested, key=lambda path: path in self._not_kept):
            self._not_kept.add(path)
            looked = self._take(archive, path, who)
            self._not_kept.remove(path)
            del self._seen[path]
            if looked is not None:
                yield looked

    def _present(self) -> dict[Path, tuple[int, int]]:
        try:
            found = {}
            for path in sorted(self.folder.iterdir()):
                if path.name.startswith((".", "~")):
                    continue
                # Whoever else watches the same folder may have it by now.
                with suppress(FileNotFoundError):
                    stat = path.stat()
                    if S_ISREG(stat.st_mode):
                        found[path] = _mark(stat)
        except OSError as error:
            raise EnvironmentProblem(
                _("cannot read {path}: {reason}", path=self.folder, reason=reason_of(error))
            ) from error
        return found

    def _take(self, archive: Archive, path: Path, who: str) -> Looked | None:
        """Take a file; None if someone else took it, or it is being written again."""
        seen = self._seen[path]
        try:
            # Those before it took their time.
            if _mark(path.stat()) != seen:
                return None
            if seen[0] > _LARGEST:
                problem = _("{path} is larger than {most} bytes", path=path, most=_LARGEST)
                return Looked(self._put_away(path, NOT_TAKEN), None, problem)
            content = path.read_bytes()
            if _mark(path.stat()) != seen:
                return None
        except FileNotFoundError:
            return None
        except OSError as error:
            return Looked(path, None, f"{path}: {reason_of(error)}")
        try:
            taken = take_file(archive, content, path.name, who, self._read)
        except NotReadable as error:
            return Looked(self._put_away(path, NOT_TAKEN), None, str(error))
        with suppress(FileNotFoundError):
            if _mark(path.stat()) != seen:
                # A scanner that counts anew wrote another one over it, which is still to be taken.
                return Looked(path, taken)
        return Looked(self._put_away(path, TAKEN), taken)

    def _put_away(self, path: Path, where: str) -> Path:
        folder = self.folder / where
        make_folder(folder)
        target, at = folder / path.name, 1
        while target.exists():
            at += 1
            target = folder / f"{path.stem} ({at}){path.suffix}"
        try:
            return path.rename(target)
        except FileNotFoundError:
            return target  # someone else put it away
        except OSError as error:
            raise EnvironmentProblem(
                _("cannot move {path}: {reason}", path=path, reason=reason_of(error))
            ) from error
