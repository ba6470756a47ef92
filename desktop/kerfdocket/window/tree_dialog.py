"""A window beside the form: a list in groups above, more about the chosen row below."""

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

__all__ = ["TreeDialog"]


class TreeDialog(QDialog):
    """Stays open beside the form; who derives from it fills the tree and the part below it."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.tree = QTreeWidget()
        self.tree.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)

    def lay_out(
        self, below: QWidget, shares: tuple[int, int], above: QWidget | None = None
    ) -> None:
        """Put the tree over `below`, in these shares of the height; `above` stands on top."""
        both = QSplitter(Qt.Orientation.Vertical)
        for number, (part, share) in enumerate(zip((self.tree, below), shares, strict=True)):
            both.addWidget(part)
            both.setStretchFactor(number, share)
        both.setChildrenCollapsible(False)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        box = QVBoxLayout(self)
        if above is not None:
            box.addWidget(above)
        box.addWidget(both, 1)
        box.addWidget(buttons)

    def add_group(self, text: str) -> QTreeWidgetItem:
        """Add a heading to the end of the tree."""
        group = QTreeWidgetItem([text])
        font = group.font(0)
        font.setBold(True)
        group.setFont(0, font)
        self.tree.addTopLevelItem(group)
        return group
