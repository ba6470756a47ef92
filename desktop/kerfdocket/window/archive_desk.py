"""The archive beside the window: opened when it is first asked, in a thread of its own."""

import contextlib
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, TypeVar

from PySide6.QtCore import QObject, Qt, Signal

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import current_language, speaking

if TYPE_CHECKING:
    from kerfdocket.archive import Archive

__all__ = ["ArchiveDesk"]

_T = TypeVar("_T")


class ArchiveDesk(QObject):
    """Asks the archive, one question after the other, and brings each answer to the GUI thread.

    Every question is answered once: by `done` with its result, or by `failed` with an exception.
    An archive that could not be opened is tried again with the next question.

    Signals:
        changed: something was written; whoever shows the archive looks again.
        busy: True while a question waits for its answer.
    """

    changed = Signal()
    busy = Signal(bool)
    _came_back = Signal(object)

    def __init__(self, place: Callable[[], str], parent: QObject | None = None) -> None:
        """Ask the archive that `place` names: a file, or `postgresql://…`."""
        super().__init__(parent)
        self._place = place
        self._archive: Archive | None = None
        # Where the one is that is open: only for what is asked, in the thread.
        self.opened_at = ""
        self._is_chosen = False
        # One thread: two questions at once would only wait for each other at the database.
        self._pool = ThreadPoolExecutor(1, "archive")
        self._open = 0
        self._is_closed = False
        self._came_back.connect(self._on_came_back, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """True while a question waits for its answer."""
        return self._open > 0

    def ask(
        self,
        call: "Callable[[Archive], _T]",
        done: Callable[[_T], object],
        failed: Callable[[BaseException], object],
        is_change: bool = False,
        may_be_made: bool = False,
    ) -> None:
        """Ask something.

        Args:
            call: is given the archive, in the thread; speaks the language that is spoken now.
            done: is given what it returned, in the GUI thread.
            failed: is given what it raised, in the GUI thread.
            is_change: True if it writes; `changed` follows after `done`.
            may_be_made: True if the archive is made for it, where there is none.
        """
        if self._is_closed:
            return
        language = current_language()

        def run() -> _T:
            with speaking(language):
                return call(self._opened(may_be_made))

        self._open += 1
        self.busy.emit(True)
        future = self._pool.submit(run)
        future.add_done_callback(lambda future: self._hand_over((future, done, failed, is_change)))

    def _opened(self, may_be_made: bool) -> "Archive":
        if self._archive is None:
            # The database's library loads with the first question.
            from kerfdocket.archive import default_archive, open_archive

            place = self.opened_at = self._place()
            # Where a disk of the office is not connected, an empty one would be made instead, and
            # its numbers would begin anew.
            is_own = self._is_chosen or place == str(default_archive())
            self._archive = open_archive(place, may_be_made=may_be_made or is_own)
            self._is_chosen = False
        return self._archive

    def _hand_over(self, answer: tuple[Any, ...]) -> None:
        if not self._is_closed:
            self._came_back.emit(answer)

    def _on_came_back(self, answer: "tuple[Future[Any], Any, Any, bool]") -> None:
        future, done, failed, is_change = answer
        self._open -= 1
        if self._is_closed or future.cancelled():
            return
        error = future.exception()
        try:
            if error is not None:
                failed(error)
            else:
                done(future.result())
                if is_change:
                    self.changed.emit()
        finally:
            if not self._open:
                self.busy.emit(False)

    def look_elsewhere(self, *, is_chosen: bool = False) -> None:
        """Let go of the archive; the next question opens the one that the place names then.

        Args:
            is_chosen: True if a person has just said so; then it is made if it is not there yet.
        """

        def close() -> None:
            self._is_chosen = is_chosen
            archive, self._archive = self._archive, None
            if archive is not None:
                archive.close()

        self._pool.submit(close)
        self.changed.emit()

    def close(self, last: "Callable[[Archive], object] | None" = None) -> None:
        """Wait for the question that is being answered; no answer comes after this.

        Args:
            last: asked at the end, where the archive is open; that it fails is of no matter.
        """
        self._is_closed = True
        self._pool.shutdown(wait=True, cancel_futures=True)
        if self._archive is not None:
            if last is not None:
                with contextlib.suppress(KerfdocketError):
                    last(self._archive)
            self._archive.close()
            self._archive = None
