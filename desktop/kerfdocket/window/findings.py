"""The list of what the planner must know: what is to mend, stops, cautions, notes."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    QTimer,
    Signal,
)
from PySide6.QtGui import QFont, QFontMetrics, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.language import _, marked
from kerfdocket.planning.model import said_source
from kerfdocket.window.looks import em, severity_colour
from kerfdocket.window.words import severity_count

__all__ = ["FindingRow", "FindingsModel", "FindingsPane"]

AnyIndex = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
WORDS = {
    "needed": marked("Needed"),
    "mend": marked("Mend"),
    "stop": marked("STOP"),
    "caution": marked("Caution"),
    "note": marked("Note"),
}


@dataclass(frozen=True)
class FindingRow:
    """One row of the list.

    Attributes:
        severity: `needed`, `mend`, `stop`, `caution` or `note`.
        where: path of the field or stage.
        place: the same in words.
        text, remedy, source: as a finding has them.
        is_unknown_key: True for a key of the file that the job does not know.
    """

    severity: str
    where: str
    place: str
    text: str
    remedy: str = ""
    source: str = ""
    is_unknown_key: bool = False


class FindingsModel(QAbstractTableModel):
    """Shows a tuple of frozen rows."""

    COLUMNS = (
        marked("What"),
        marked("Where"),
        marked("What is the matter"),
        marked("What puts it right"),
    )

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[FindingRow, ...] = ()

    @property
    def rows(self) -> tuple[FindingRow, ...]:
        """The rows that are shown."""
        return self._rows

    def set_rows(self, rows: tuple[FindingRow, ...]) -> None:
        """Show these rows and no others."""
        if rows == self._rows:
            return
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    # Qt overrides

    def rowCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() else len(self.COLUMNS)

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return (_(WORDS[row.severity]), row.place, row.text, row.remedy)[index.column()]
        if role == Qt.ItemDataRole.ToolTipRole:
            return _("Source: {source}", source=said_source(row.source)) if row.source else None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        if index.column() == 0 and role == Qt.ItemDataRole.ForegroundRole:
            return severity_colour(row.severity, QApplication.palette())
        if index.column() == 0 and role == Qt.ItemDataRole.FontRole:
            font = QFont(QApplication.font())
            font.setBold(row.severity in {"stop", "mend", "caution"})
            return font
        return None

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        if role != Qt.ItemDataRole.DisplayRole or orientation != Qt.Orientation.Horizontal:
            return None
        return _(self.COLUMNS[section])


class _View(QTableView):
    """Rows as tall as their text; Enter goes to the field."""

    wanted = Signal(QModelIndex)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fit = QTimer(self)
        self._fit.setSingleShot(True)
        self._fit.setInterval(0)
        self._fit.timeout.connect(self.resizeRowsToContents)

    def fit_rows(self) -> None:
        """Make rows as tall as their text, once the layout has settled."""
        self._fit.start()

    # Qt overrides

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.setColumnWidth(1, min(em(self, 30), self.viewport().width() // 4))
        self.fit_rows()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space}:
            self.wanted.emit(self.currentIndex())
            return
        super().keyPressEvent(event)


class FindingsPane(QWidget):
    """The list, worst first; a click or Enter leads to the field.

    Signals:
        field_wanted: path to go to.
        key_removal_wanted: path of an unknown key to take out of the file.
    """

    field_wanted = Signal(str)
    key_removal_wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = FindingsModel(self)
        self._title = QLabel(_("Findings"))
        font = self._title.font()
        font.setBold(True)
        self._title.setFont(font)
        self._remove = QPushButton(_("Take this key out of the file"))
        self._remove.setVisible(False)
        self._remove.clicked.connect(self._on_remove_clicked)
        self.view = _View()
        self.view.setModel(self.model)
        self.view.setAccessibleName(_("Findings"))
        self.view.setWordWrap(True)
        self.view.setTabKeyNavigation(False)
        self.view.setShowGrid(False)
        self.view.setAlternatingRowColors(True)
        self.view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.view.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.view.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.view.verticalHeader().setVisible(False)
        header = self.view.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setHighlightSections(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        bold = QFontMetrics(font)
        widest = max(bold.horizontalAdvance(_(word)) for word in WORDS.values())
        self.view.setColumnWidth(0, max(em(self, 11), widest + em(self, 2)))
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(3, QHeaderView.ResizeMode.Stretch)
        header.sectionResized.connect(self._on_section_resized)
        self.model.modelReset.connect(self._on_reset)
        self.view.clicked.connect(self._on_wanted)
        self.view.wanted.connect(self._on_wanted)
        self.view.selectionModel().currentRowChanged.connect(self._on_current_changed)
        head = QHBoxLayout()
        head.addWidget(self._title)
        head.addStretch(1)
        head.addWidget(self._remove)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 4, 0, 0)
        box.setSpacing(4)
        box.addLayout(head)
        box.addWidget(self.view, 1)

    def tab_stops(self) -> Iterator[QWidget]:
        """Yield what Tab goes through, in order."""
        yield from (self.view, self._remove)

    @property
    def title(self) -> str:
        """What stands above the list."""
        return self._title.text()

    def set_rows(self, rows: tuple[FindingRow, ...]) -> None:
        """Show these rows and no others."""
        self.model.set_rows(rows)
        counts = []
        for severity in ("stop", "mend", "needed", "caution", "note"):
            count = sum(row.severity == severity for row in rows)
            if count:
                counts.append(severity_count(severity, count))
        if counts:
            self._title.setText(_("Findings: {counts}", counts=", ".join(counts)))
        else:
            self._title.setText(_("Findings: none"))

    def go_to(self, row: int) -> None:
        """Do what a click on a row does."""
        self.view.selectRow(row)
        self._on_wanted(self.model.index(row, 0))

    def _on_wanted(self, index: QModelIndex) -> None:
        if index.isValid():
            self.field_wanted.emit(self.model.rows[index.row()].where)

    def _on_current_changed(self, current: QModelIndex, _previous: QModelIndex) -> None:
        is_unknown = current.isValid() and self.model.rows[current.row()].is_unknown_key
        self._remove.setVisible(is_unknown)

    def _on_remove_clicked(self) -> None:
        current = self.view.currentIndex()
        if current.isValid() and self.model.rows[current.row()].is_unknown_key:
            self.key_removal_wanted.emit(self.model.rows[current.row()].where)

    def _on_reset(self) -> None:
        self._remove.setVisible(False)
        self.view.clearSpans()
        for number, row in enumerate(self.model.rows):
            if not row.remedy:
                self.view.setSpan(number, 2, 1, 2)
        self.view.fit_rows()

    def _on_section_resized(self, _section: int, _old: int, _new: int) -> None:
        self.view.fit_rows()
