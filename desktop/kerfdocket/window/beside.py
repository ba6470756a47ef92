"""What stays open beside the form and follows it: all values, and the steps with their reasons."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QWidget

if TYPE_CHECKING:
    from kerfdocket.planning.model import Plan
    from kerfdocket.window.values import ValuesDialog
    from kerfdocket.window.work import WorkDialog

__all__ = ["Beside"]


class Beside:
    """Opens each of the two when it is first wanted."""

    def __init__(self, parent: QWidget, plan: "Callable[[], Plan | None]") -> None:
        """Stay beside `parent`; `plan` gives what is shown when one of them opens."""
        self._parent = parent
        self._plan = plan
        self._values: ValuesDialog | None = None
        self._work: WorkDialog | None = None

    @property
    def values(self) -> "ValuesDialog | None":
        """The list of all values, once it was opened."""
        return self._values

    def show_values(self) -> None:
        """Open the list of all values, or bring it to the front."""
        if self._values is None:
            from kerfdocket.window.values import ValuesDialog

            self._values = ValuesDialog(self._parent)
            self._values.show_plan(self._plan())
        _bring_to_front(self._values)

    def show_work(self) -> None:
        """Open the steps with their reasons, or bring them to the front."""
        if self._work is None:
            from kerfdocket.window.work import WorkDialog

            self._work = WorkDialog(self._parent)
            self._work.show_plan(self._plan())
        _bring_to_front(self._work)

    def show_plan(self, plan: "Plan | None") -> None:
        """Follow the form."""
        for dialog in (self._values, self._work):
            if dialog is not None:
                dialog.show_plan(plan)

    def let_go(self) -> Sequence[Callable[[], None]]:
        """Forget both, as they speak another language; return what opens anew what was open."""
        was_open = [
            show
            for dialog, show in ((self._values, self.show_values), (self._work, self.show_work))
            if dialog is not None and dialog.isVisible()
        ]
        self._values = self._work = None
        return was_open


def _bring_to_front(dialog: QDialog) -> None:
    dialog.show()
    dialog.activateWindow()
