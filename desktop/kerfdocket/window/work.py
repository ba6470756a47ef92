"""The steps of the work, each with its reason for who asks."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QSplitter,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.planning.model import Plan
from kerfdocket.window.looks import em, wrapped

__all__ = ["WorkDialog"]

_WHY = Qt.ItemDataRole.UserRole
_NOTHING = "Choose a step to see why it is done."


class WorkDialog(QDialog):
    """Stays open beside the form and follows it: the steps above, the reason of one below."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("The work, step by step, and why")
        self.tree = QTreeWidget()
        self.tree.setHeaderHidden(True)
        self.tree.setAccessibleName("Steps of the work")
        self.tree.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.tree.currentItemChanged.connect(self._on_current_changed)
        self.why = wrapped(_NOTHING)
        self.why.setAccessibleName("Reason of the chosen step")
        self.why.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.why.setMinimumHeight(self.fontMetrics().lineSpacing() * 7)
        self.why.setMargin(8)
        both = QSplitter(Qt.Orientation.Vertical)
        both.addWidget(self.tree)
        both.addWidget(self.why)
        both.setStretchFactor(0, 5)
        both.setStretchFactor(1, 1)
        both.setChildrenCollapsible(False)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        box = QVBoxLayout(self)
        box.addWidget(both, 1)
        box.addWidget(buttons)
        self.resize(em(self, 120), self.fontMetrics().lineSpacing() * 38)

    def show_plan(self, plan: Plan | None) -> None:
        """Show the steps of a plan; the chosen one stays chosen where it is still there."""
        current = self.tree.currentItem()
        chosen = current.data(0, _WHY) if current is not None else None
        self.tree.clear()
        group: QTreeWidgetItem | None = None
        for step in plan.steps if plan else ():
            if group is None or group.text(0) != step.group:
                group = QTreeWidgetItem([step.group])
                font = group.font(0)
                font.setBold(True)
                group.setFont(0, font)
                self.tree.addTopLevelItem(group)
            item = QTreeWidgetItem([step.text])
            item.setData(0, _WHY, step.why)
            item.setToolTip(0, step.why)
            group.addChild(item)
            if step.why == chosen:
                self.tree.setCurrentItem(item)
        self.tree.expandAll()
        if self.tree.currentItem() is None:
            self.why.setText(_NOTHING)

    def _on_current_changed(self, item: QTreeWidgetItem | None) -> None:
        why = item.data(0, _WHY) if item is not None else None
        # The list shortens a long step; here it stands whole.
        self.why.setText(f"{item.text(0)}\n\nWhy: {why}" if item is not None and why else _NOTHING)
