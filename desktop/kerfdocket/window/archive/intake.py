"""Taking scans: files that were dropped or chosen, and what the scanner's folder brings."""

import os
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _
from kerfdocket.window.archive.dropping import is_scan
from kerfdocket.window.archive.page_reader import PageReader, Stopped
from kerfdocket.window.archive_desk import ArchiveDesk

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Taken
    from kerfdocket.archive.intake import ReadPage
    from kerfdocket.office import Looked, Watch

__all__ = ["Intake", "Outcome"]

_LARGEST = 500_000_000  # bytes of a file; a scan of a hundred pages has a tenth of it
_LOOK_MS = 5000  # how often the scanner's folder is looked into


@dataclass(frozen=True)
class Outcome:
    """What became of a file.

    Attributes:
        path: where it lay.
        at: when, UTC, ISO 8601.
        taken: what became of its pages; None if it was not taken.
        problem: why not.
        is_watched: it lay in the scanner's folder.
    """

    path: Path
    at: str
    taken: "Taken | None"
    problem: str = ""
    is_watched: bool = False

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the states of its travellers say about its pages, each once."""
        pages = self.taken.pages if self.taken is not None else ()
        return tuple(dict.fromkeys(page.warning for page in pages if page.warning))


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _scans_in(folder: Path) -> Iterator[Path]:
    """Yield the scans in a folder and the folders in it, in the order of their names."""
    for at, folders, files in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            if not name.startswith((".", "~")) and is_scan(Path(name)):
                yield Path(at) / name


class Intake(QObject):
    """Takes files one by one, in a thread of its own; an error of one does not stop the others.

    It has a desk of its own, so that reading a page, which takes a second, lets nobody wait who
    looks for something.

    Signals:
        came: an Outcome.
        ended: the Outcomes of all files that were taken in one go, after the last of them came.
        progressed: how far it is has changed.
        changed: the archive has pages that it had not.
        troubled: the scanner's folder cannot be looked into: said when it begins, and not again.
        bug: an exception that is a fault of the program.
    """

    came = Signal(object)
    ended = Signal(object)
    progressed = Signal()
    changed = Signal()
    troubled = Signal(str)
    bug = Signal(object)
    _page_read = Signal(int)
    _looked = Signal(object)

    def __init__(
        self,
        place: Callable[[], str],
        who: Callable[[], str],
        reader: PageReader | None = None,
        parent: QObject | None = None,
        look_ms: int = _LOOK_MS,
    ) -> None:
        """Take files into the archive that `place` names, in the name of `who`.

        Args:
            place: says which archive.
            who: says in whose name.
            reader: reads their pages.
            parent: of this.
            look_ms: how often the scanner's folder is looked into. [ms]
        """
        super().__init__(parent)
        self.desk = ArchiveDesk(place, self)
        self._who = who
        self._reader = reader or PageReader()
        self._waiting: deque[Path] = deque()
        self._stop = threading.Event()
        self._is_closed = False
        self.current: Path | None = None
        self.pages_read = 0
        self.done = 0
        self.outcomes: list[Outcome] = []
        self._in_one_go: list[Outcome] = []
        self.folder: Path | None = None
        self.trouble = ""
        self._watch: Watch | None = None
        self._is_looking = False
        self._told: set[tuple[Path, str]] = set()
        self._timer = QTimer(self)
        self._timer.setInterval(look_ms)
        self._timer.timeout.connect(self.look)
        queued = Qt.ConnectionType.QueuedConnection
        self._page_read.connect(self._on_page_read, queued)
        self._looked.connect(self._on_looked, queued)

    # Files

    @property
    def is_busy(self) -> bool:
        """True while files are taken."""
        return self.current is not None or bool(self._waiting)

    @property
    def left(self) -> int:
        """How many files wait behind the one that is read."""
        return len(self._waiting)

    def take(self, paths: Sequence[Path]) -> None:
        """Take files, and all scans in folders, after those that wait."""
        if self._is_closed or not paths:
            return
        if not self.is_busy:
            self.done = 0
        self._waiting.extend(paths)
        self._next()

    def stop(self) -> None:
        """Take none of those that wait; of the file that is being read nothing is kept."""
        self._waiting.clear()
        if self.current is not None:
            self._stop.set()
        self.progressed.emit()

    def _next(self) -> None:
        if self.current is not None or self._is_closed:
            return
        if not self._waiting:
            self.progressed.emit()
            self._end_of_going()
            return
        path = self.current = self._waiting.popleft()
        self.pages_read = 0
        self._stop.clear()
        who = self._who()
        self.progressed.emit()
        self.desk.ask(
            lambda archive: self._take(archive, path, who),
            lambda answer: self._on_taken(path, answer),
            lambda error: self._on_failed(path, error),
        )

    def _take(self, archive: "Archive", path: Path, who: str) -> "Taken | list[Path] | str":
        """Take one file; return what is in it if it is a folder, or why it could not be taken."""
        from kerfdocket.archive import NotReadable, take_file
        from kerfdocket.storage import reason_of

        try:
            if path.is_dir():
                return list(_scans_in(path))
            if path.stat().st_size > _LARGEST:
                return _("the file is larger than {most} bytes", most=_LARGEST)
            content = path.read_bytes()
        except OSError as error:
            return reason_of(error)
        try:
            return take_file(archive, content, path.name, who, self._pages)
        except NotReadable as error:
            return str(error)
        except Stopped:
            return _("stopped before all of it was read; nothing of it was kept")

    def _pages(self, content: bytes, name: str) -> "Iterator[ReadPage]":
        """Yield the pages of a file, and say how many there were; runs in the thread."""
        read = self._reader.read(content, name, lambda: not self._stop.is_set())
        for count, page in enumerate(read, start=1):
            self._page_read.emit(count)
            yield page

    def _on_page_read(self, count: int) -> None:
        self.pages_read = count
        self.progressed.emit()

    def _on_taken(self, path: Path, answer: "Taken | list[Path] | str") -> None:
        self.current = None
        if isinstance(answer, list):
            if answer:
                self._waiting.extendleft(reversed(answer))
            else:
                self._came(Outcome(path, _now(), None, _("there is no scan in this folder")))
        else:
            is_taken = not isinstance(answer, str)
            self.done += 1
            self._came(
                Outcome(
                    path,
                    _now(),
                    answer if not isinstance(answer, str) else None,
                    "" if is_taken else str(answer),
                )
            )
        self._next()

    def _on_failed(self, path: Path, error: BaseException) -> None:
        self.current = None
        self.done += 1
        if not isinstance(error, KerfdocketError):
            self.bug.emit(error)
        self._came(Outcome(path, _now(), None, str(error) or type(error).__name__))
        self._next()

    def _end_of_going(self) -> None:
        done, self._in_one_go = tuple(self._in_one_go), []
        if done:
            self.ended.emit(done)

    def _came(self, outcome: Outcome) -> None:
        self.outcomes.append(outcome)
        self._in_one_go.append(outcome)
        self.came.emit(outcome)
        if outcome.taken is not None and not outcome.taken.is_known:
            self.changed.emit()

    # The scanner's folder

    def watch(self, folder: Path | None) -> None:
        """Look into a folder again and again; None: into none."""
        self.folder = folder
        self.trouble = ""
        self._watch = None
        self._told.clear()
        if folder is None:
            self._timer.stop()
        else:
            self._timer.start()
            self.look()
        self.progressed.emit()

    def look(self) -> None:
        """Look into the scanner's folder now; not while that is done, or files are taken."""
        if self.folder is None or self._is_looking or self.is_busy or self._is_closed:
            return
        self._is_looking = True
        folder, who = self.folder, self._who()
        self._stop.clear()
        self.desk.ask(
            lambda archive: self._look(archive, folder, who),
            lambda _nothing: self._on_look_ended(folder, ""),
            lambda error: self._on_look_failed(folder, error),
        )

    def _look(self, archive: "Archive", folder: Path, who: str) -> None:
        from kerfdocket.office import Watch

        if self._watch is None or self._watch.folder != folder:
            self._watch = Watch(folder, self._pages)
        try:
            for looked in self._watch.look(archive, who):
                self._looked.emit((folder, looked))
                if self._stop.is_set():
                    return
        except Stopped:
            pass

    def _on_looked(self, found: "tuple[Path, Looked]") -> None:
        folder, looked = found
        if looked.taken is None and (looked.file, looked.problem) in self._told:
            return  # it lies there still, and that was said
        self._told.add((looked.file, looked.problem))
        path = folder / looked.file.name
        self._came(Outcome(path, _now(), looked.taken, looked.problem, is_watched=True))

    def _on_look_failed(self, folder: Path, error: BaseException) -> None:
        if not isinstance(error, KerfdocketError):
            self.bug.emit(error)
        self._on_look_ended(folder, str(error) or type(error).__name__)

    def _on_look_ended(self, folder: Path, trouble: str) -> None:
        self._is_looking = False
        if not self.is_busy:
            self._end_of_going()
        if folder != self.folder:
            self.look()
            return
        is_new = trouble != self.trouble
        self.trouble = trouble
        if is_new:
            if trouble:
                self.troubled.emit(trouble)
            self.progressed.emit()

    # The end

    def close(self) -> None:
        """End all of it; of a file that is being read nothing is kept."""
        self._is_closed = True
        self._timer.stop()
        self._waiting.clear()
        self._stop.set()
        self.desk.close()
        self._reader.close()
