"""A table of plain rows: texts, a key behind each row, one cell that may stand out."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    QTimer,
)
from PySide6.QtGui import QFont, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QApplication, QHeaderView, QTableView

from kerfdocket.window.looks import severity_colour

__all__ = ["Row", "RowsModel", "RowsView"]

AnyIndex = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()


@dataclass(frozen=True)
class Row:
    """One row.

    Attributes:
        cells: a text a column.
        key: what the row stands for.
        severity: `stop`, `caution` or empty; how the marked cell stands out, besides its word.
    """

    cells: tuple[str, ...]
    key: Any = None
    severity: str = ""


class RowsModel(QAbstractTableModel):
    """Shows frozen rows."""

    def __init__(
        self, columns: Sequence[str], marked_column: int = 0, parent: QObject | None = None
    ) -> None:
        """Show rows under these headings, in which the cell of one column may stand out."""
        super().__init__(parent)
        self._columns = tuple(columns)
        self._marked = marked_column
        self._rows: tuple[Row, ...] = ()

    @property
    def rows(self) -> tuple[Row, ...]:
        """What is shown."""
        return self._rows

    def set_rows(self, rows: Sequence[Row]) -> None:
        """Show these rows and no others."""
        self.beginResetModel()
        self._rows = tuple(rows)
        self.endResetModel()

    def add_rows(self, rows: Sequence[Row]) -> None:
        """Show more rows, below those that are there."""
        if not rows:
            return
        first = len(self._rows)
        self.beginInsertRows(QModelIndex(), first, first + len(rows) - 1)
        self._rows += tuple(rows)
        self.endInsertRows()

    # Qt overrides

    def rowCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._columns)

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return row.cells[index.column()]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        if row.severity and index.column() == self._marked:
            if role == Qt.ItemDataRole.ForegroundRole:
                return severity_colour(row.severity, QApplication.palette())
            if role == Qt.ItemDataRole.FontRole:
                font = QFont(QApplication.font())
                font.setBold(True)
                return font
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self._columns[section]
        return None


class RowsView(QTableView):
    """Shows the rows of a model; long cells wrap, the last column takes the room that is left."""

    def __init__(self, model: RowsModel, name: str, *, is_one_line: bool = False) -> None:
        """Show a model.

        Args:
            model: to show.
            name: what a screen reader says.
            is_one_line: True if no cell wraps; then thousands of rows cost nothing.
        """
        super().__init__()
        self.setModel(model)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setWordWrap(not is_one_line)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setStretchLastSection(True)
        # A moment later: widths are shared out first, and many rows come at once.
        self._fit = QTimer(self)
        self._fit.setSingleShot(True)
        self._fit.setInterval(0)
        if is_one_line:
            rows = self.verticalHeader()
            rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
            rows.setDefaultSectionSize(self.fontMetrics().height() + 4)
        else:
            self._fit.timeout.connect(self.resizeRowsToContents)
        for happens in (header.sectionResized, model.modelReset, model.rowsInserted):
            happens.connect(self._fit.start)

    def share_widths(self, *shares: int) -> None:
        """Give the columns these widths, in average letters; the last takes what is left."""
        letter = self.fontMetrics().averageCharWidth()
        header = self.horizontalHeader()
        for column, share in enumerate(shares):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Interactive)
            self.setColumnWidth(column, max(letter * share, header.sectionSizeHint(column)))

    @property
    def current_key(self) -> Any:
        """Key of the current row, or None."""
        index = self.currentIndex()
        model = self.model()
        assert isinstance(model, RowsModel)
        return model.rows[index.row()].key if index.isValid() else None

    # Qt overrides

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit.start()
