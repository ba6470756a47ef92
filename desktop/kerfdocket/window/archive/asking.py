"""Questions of a part of the window that may be gone when their answers come."""

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject
from shiboken6 import isValid

from kerfdocket.window.archive_desk import ArchiveDesk

if TYPE_CHECKING:
    from kerfdocket.archive import Archive

__all__ = ["Asker"]

_T = TypeVar("_T")


class Asker:
    """Asks in the name of an owner; answers that come when it is gone are dropped."""

    def __init__(self, desk: ArchiveDesk, owner: QObject) -> None:
        self._desk = desk
        self._owner = owner

    def ask(
        self,
        call: "Callable[[Archive], _T]",
        done: Callable[[_T], object],
        failed: Callable[[BaseException], object],
        is_change: bool = False,
    ) -> None:
        """Ask something; see `ArchiveDesk.ask`."""

        def if_there(answer: Callable[[_T], object]) -> Callable[[_T], object]:
            return lambda value: answer(value) if isValid(self._owner) else None

        def if_failed(error: BaseException) -> None:
            if isValid(self._owner):
                failed(error)

        self._desk.ask(call, if_there(done), if_failed, is_change)
