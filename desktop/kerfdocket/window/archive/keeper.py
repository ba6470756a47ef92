"""Copying and counting the archive beside the window: it goes on while the window is closed."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from PySide6.QtCore import QObject, Signal

from kerfdocket.language import current_language, marked
from kerfdocket.window.archive.gentle import GentleCrew, GivenUp, StoppableCrew
from kerfdocket.window.archive.keeping import (
    Copy,
    Counted,
    Faulty,
    Made,
    copy_archive,
    count_archive,
)
from kerfdocket.window.newest import Crew, NewestWins

__all__ = ["Keeper"]


class Keeper(QObject):
    """Makes one copy after the other, and counts.

    Signals:
        changed: a copy was begun, is being given up, or is over.
        made: a `Made`.
        faulty: the `Copy` that was wanted, and why it was not made: a `Faulty`.
        failed: the `Copy` that was wanted, and an exception.
        count_changed: it is being counted, or that is over.
        not_counted: an exception.
    """

    changed = Signal()
    made = Signal(object)
    faulty = Signal(object, object)
    failed = Signal(object, object)
    count_changed = Signal()
    not_counted = Signal(object)

    def __init__(
        self,
        place: Callable[[], str],
        parent: QObject | None = None,
        copier: StoppableCrew | None = None,
        counter: Crew | None = None,
    ) -> None:
        """Count the archive that `place` names, and make copies.

        Args:
            place: of the archive.
            parent: of this.
            copier: makes copies; processes of their own if none is given.
            counter: counts; likewise.
        """
        super().__init__(parent)
        self._place = place
        self._copier = copier or GentleCrew()
        self._copying = NewestWins(self._copier, marked("Copying the archive"), self)
        self._copying.succeeded.connect(self._on_copied)
        self._copying.failed.connect(self._on_not_copied)
        self._counting = NewestWins(
            counter or GentleCrew(), marked("Counting what is in the archive"), self
        )
        self._counting.succeeded.connect(self._on_counted)
        self._counting.failed.connect(self._on_not_counted)
        self._ticket = 0
        # What is being made, and how the last one ended.
        self.copy: Copy | None = None
        self.is_giving_up = False
        self.last: Made | Faulty | BaseException | None = None
        self.last_copy: Copy | None = None
        # What was counted, and when.
        self.is_counting = False
        self.counted: Counted | None = None
        self.counted_at: datetime | None = None
        self.count_error: BaseException | None = None
        self._language = ""

    # Copies

    def begin(self, copy: Copy) -> None:
        """Make a copy; one at a time."""
        if self.copy is not None:
            return
        self.copy, self.last = copy, None
        self._copying.submit(0, copy_archive, copy, current_language().code)
        self.changed.emit()

    def give_up(self) -> None:
        """Give up the copy that is being made; `changed` follows when nothing of it is left."""
        if self.copy is None or self.is_giving_up:
            return
        self.is_giving_up = True
        self._copier.stop()
        self.changed.emit()

    def _over(self, ended: Made | Faulty | BaseException) -> Copy:
        copy, self.copy = self.copy, None
        assert copy is not None
        self.is_giving_up = False
        self.last, self.last_copy = ended, copy
        self.changed.emit()
        return copy

    def _on_copied(self, _ticket: int, result: Any) -> None:
        copy = self._over(result)
        if isinstance(result, Made):
            self.made.emit(result)
        else:
            self.faulty.emit(copy, result)

    def _on_not_copied(self, _ticket: int, error: Any) -> None:
        copy = self._over(error)
        if not isinstance(error, GivenUp):
            self.failed.emit(copy, error)

    # Counting

    @property
    def is_to_count(self) -> bool:
        """True if nothing was counted yet in the language that is spoken."""
        return self._language != current_language().code

    def count(self) -> None:
        """Count what is in the archive; asked again, only the last answer is taken."""
        self.is_counting = True
        self._ticket += 1
        self._language = current_language().code
        self._counting.submit(self._ticket, count_archive, self._place(), self._language)
        self.count_changed.emit()

    def forget(self) -> None:
        """Forget what was counted: it was another archive."""
        self._ticket += 1
        self._language = ""
        self.is_counting = False
        self.counted = self.counted_at = self.count_error = None
        self.last = None
        self.count_changed.emit()
        self.changed.emit()

    def _on_counted(self, ticket: int, counted: Any) -> None:
        if ticket != self._ticket:
            return
        self.is_counting = False
        self.counted, self.counted_at = counted, datetime.now().astimezone()
        self.count_error = None
        self.count_changed.emit()

    def _on_not_counted(self, ticket: int, error: Any) -> None:
        if ticket != self._ticket:
            return
        self.is_counting = False
        self.count_error = error
        self.count_changed.emit()
        self.not_counted.emit(error)

    # The end

    def close(self) -> None:
        """Give up all of it; returns when nothing is left."""
        self._copying.close()
        self._counting.close()
