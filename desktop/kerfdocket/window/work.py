"""The steps of the work, each with its reason for who asks."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QTreeWidgetItem, QWidget

from kerfdocket.language import _, marked
from kerfdocket.planning.model import Plan
from kerfdocket.window.looks import em, wrapped
from kerfdocket.window.tree_dialog import TreeDialog

__all__ = ["WorkDialog"]

_WHY = Qt.ItemDataRole.UserRole
_NOTHING = marked("Choose a step to see why it is done.")


class WorkDialog(TreeDialog):
    """Stays open beside the form and follows it: the steps above, the reason of one below."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(_("The work, step by step, and why"), parent)
        self.tree.setHeaderHidden(True)
        self.tree.setAccessibleName(_("Steps of the work"))
        self.tree.currentItemChanged.connect(self._on_current_changed)
        self.why = wrapped(_(_NOTHING))
        self.why.setAccessibleName(_("Reason of the chosen step"))
        self.why.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.why.setMinimumHeight(self.fontMetrics().lineSpacing() * 7)
        self.why.setMargin(8)
        self.lay_out(self.why, (5, 1))
        self.resize(em(self, 120), self.fontMetrics().lineSpacing() * 38)

    def show_plan(self, plan: Plan | None) -> None:
        """Show the steps of a plan; the chosen one stays chosen where it is still there."""
        current = self.tree.currentItem()
        chosen = current.data(0, _WHY) if current is not None else None
        self.tree.clear()
        group: QTreeWidgetItem | None = None
        for step in plan.steps if plan else ():
            if group is None or group.text(0) != step.group:
                group = self.add_group(step.group)
            item = QTreeWidgetItem([step.text])
            item.setData(0, _WHY, step.why)
            item.setToolTip(0, step.why)
            group.addChild(item)
            if step.why == chosen:
                self.tree.setCurrentItem(item)
        self.tree.expandAll()
        if self.tree.currentItem() is None:
            self.why.setText(_(_NOTHING))

    def _on_current_changed(self, item: QTreeWidgetItem | None) -> None:
        why = item.data(0, _WHY) if item is not None else None
        # The list shortens a long step; here it stands whole.
        if item is not None and why:
            self.why.setText(_("{step}\n\nWhy: {reason}", step=item.text(0), reason=why))
        else:
            self.why.setText(_(_NOTHING))
