"""The parts: a row for each, edited in place."""

from collections.abc import Iterator
from typing import Any

from PySide6.QtCore import (
    QAbstractItemModel,
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QComboBox,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.language import _, sense
from kerfdocket.window.document import Document
from kerfdocket.window.fields import ChoiceBox, NotesLabel
from kerfdocket.window.layout import Table
from kerfdocket.window.looks import em, severity_colour
from kerfdocket.window.specs import FieldSpec, shown_text_of, spec_at, text_of, value_typed
from kerfdocket.window.units import system_of

__all__ = ["PartsModel", "PartsTable"]

_ROOT = QModelIndex()
_MOST_ROWS_SHOWN = 8
_MOST_NOTES = 6
_LEAST_NAME = 22  # widths of a letter
_LEAST_WIDTHS = (14, 15, 14, 18)  # of the columns behind the name
AnyIndex = QModelIndex | QPersistentModelIndex


def _assumed(spec: FieldSpec) -> str:
    return sense("in a narrow column", "{value} (assumed)", value=spec.default_text)


class PartsModel(QAbstractTableModel):
    """Shows one list of the document; it changes nothing itself.

    Signals:
        edited: path and what is now stated there.
    """

    edited = Signal(str, object)

    def __init__(self, layout: Table, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._where = layout.where
        self._names = layout.names
        self._document = Document()
        self._specs = self._specs_now()
        self._opened: tuple[str, Any] = ("", None)
        self._notes: dict[tuple[int, int], tuple[str, str]] = {}

    def load(self, document: Document) -> None:
        """Show the rows of a document."""
        self.beginResetModel()
        self._document = document
        self._specs = self._specs_now()
        self._notes = {}
        self.endResetModel()

    def show_units(self) -> None:
        """Show every quantity anew, in the units that the document wants now."""
        self._specs = self._specs_now()
        if self.rowCount():
            last = self.index(self.rowCount() - 1, self.columnCount() - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def _specs_now(self) -> tuple[FieldSpec, ...]:
        system = system_of(self._document)
        return tuple(spec_at(f"{self._where}.0.{name}", system) for name in self._names)

    def open(self, index: AnyIndex) -> None:
        """Remember what a cell stated before it was opened for typing."""
        self._opened = (self.path(index.row(), index.column()), self._value(index))

    def spec(self, column: int) -> FieldSpec:
        """Return what a column holds."""
        return self._specs[column]

    def path(self, row: int, column: int) -> str:
        """Return the path of a cell."""
        return f"{self._where}.{row}.{self._names[column]}"

    def cell(self, where: str) -> tuple[int, int]:
        """Return row and column of a path; column 0 if it names none."""
        steps = where.removeprefix(f"{self._where}.").split(".")
        row = int(steps[0]) if steps[0].isdigit() else 0
        name = steps[1] if len(steps) > 1 else ""
        return row, self._names.index(name) if name in self._names else 0

    def set_notes(self, notes: dict[tuple[int, int], tuple[str, str]]) -> None:
        """Mark the cells that something is the matter with: (severity, text) of each."""
        if notes == self._notes:
            return
        changed = notes.keys() ^ self._notes.keys() | {
            key for key in notes.keys() & self._notes.keys() if notes[key] != self._notes[key]
        }
        self._notes = notes
        for row, column in changed:
            if row < self.rowCount():
                index = self.index(row, column)
                roles = [Qt.ItemDataRole.DecorationRole, Qt.ItemDataRole.ToolTipRole]
                self.dataChanged.emit(index, index, roles)

    def _value(self, index: AnyIndex) -> Any:
        return self._document.value(self.path(index.row(), index.column()))

    # Qt overrides

    def rowCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._document.items(self._where))

    def columnCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._specs)

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        spec = self._specs[index.column()]
        value = self._value(index)
        text = shown_text_of(value, spec)
        if role == Qt.ItemDataRole.EditRole:
            return text
        if role == Qt.ItemDataRole.UserRole:
            return value
        if role == Qt.ItemDataRole.DisplayRole:
            if text:
                return text
            if spec.default_text:
                return _assumed(spec)
            return _("needed ({unit})", unit=spec.unit) if spec.unit else _("needed")
        if role == Qt.ItemDataRole.ForegroundRole and not text:
            return QApplication.palette().brush(QPalette.ColorRole.PlaceholderText)
        severity, note = self._notes.get((index.row(), index.column()), ("", ""))
        if role == Qt.ItemDataRole.DecorationRole and severity in {"mend", "stop"}:
            return QApplication.style().standardIcon(QStyle.StandardPixmap.SP_MessageBoxWarning)
        if role == Qt.ItemDataRole.ForegroundRole and note:
            return severity_colour(severity, QApplication.palette())
        if role == Qt.ItemDataRole.ToolTipRole:
            stated = text_of(value, spec)
            told = text
            if text != stated:
                told = _("{text}, stated as {stated}", text=text, stated=stated)
            return "\n".join(line for line in (note, told, spec.help) if line)
        return None

    def setData(self, index: AnyIndex, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return False
        spec = self._specs[index.column()]
        where = self.path(index.row(), index.column())
        now = self._value(index)
        stated = value
        if isinstance(value, str) and not spec.choices:
            if value == shown_text_of(now, spec):
                return True  # opened and left as it was
            before = self._opened[1] if self._opened[0] == where else now
            stated = value_typed(value, spec, before)
        if text_of(stated, spec) != text_of(now, spec):
            self.edited.emit(where, stated)
            self.dataChanged.emit(index, index, [Qt.ItemDataRole.DisplayRole])
        return True

    def flags(self, index: AnyIndex) -> Qt.ItemFlag:
        flags = super().flags(index)
        return flags | Qt.ItemFlag.ItemIsEditable if index.isValid() else flags

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        if role == Qt.ItemDataRole.ToolTipRole and orientation == Qt.Orientation.Horizontal:
            return self._specs[section].help
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        if orientation == Qt.Orientation.Horizontal:
            return self._specs[section].title
        return str(section + 1)


class _Delegate(QStyledItemDelegate):
    """Editors that hand over every letter, so that a cell is checked as one types."""

    def _on_typed(self) -> None:
        editor = self.sender()
        if isinstance(editor, QWidget):
            self.commitData.emit(editor)

    # Qt overrides

    def createEditor(
        self, parent: QWidget, option: QStyleOptionViewItem, index: AnyIndex
    ) -> QWidget:
        model = index.model()
        assert isinstance(model, PartsModel)
        spec = model.spec(index.column())
        if spec.choices:
            box = ChoiceBox(parent)
            box.addItem(_assumed(spec), None)
            for choice in spec.choices:
                box.addItem(text_of(choice, spec), choice)
            box.activated.connect(self._on_typed)
            return box
        model.open(index)
        line = QLineEdit(parent)
        line.setPlaceholderText(str(index.data(Qt.ItemDataRole.DisplayRole) or ""))
        line.setAccessibleName(_("{title}, row {row}", title=spec.title, row=index.row() + 1))
        line.textEdited.connect(self._on_typed)
        return line

    def setEditorData(self, editor: QWidget, index: AnyIndex) -> None:
        text = str(index.data(Qt.ItemDataRole.EditRole))
        if isinstance(editor, QComboBox):
            at = editor.findText(text) if text else 0
            if at < 0:  # what the file says stays until another is chosen
                stray = _("{value} (not a choice)", value=text)
                editor.addItem(stray, index.data(Qt.ItemDataRole.UserRole))
                at = editor.count() - 1
            editor.setCurrentIndex(at)
        elif isinstance(editor, QLineEdit) and not editor.isModified():
            # Once it is typed in, the text is the person's: writing it back moves the cursor.
            editor.setText(text)

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: AnyIndex) -> None:
        if isinstance(editor, QComboBox):
            model.setData(index, editor.currentData())
        elif isinstance(editor, QLineEdit):
            model.setData(index, editor.text())


class _View(QTableView):
    """A table that Enter opens for editing, everywhere alike; the first column takes the room."""

    def end_editing(self) -> None:
        """Close an open editor; what was typed has been handed over letter by letter."""
        editor = self.indexWidget(self.currentIndex())
        if editor is not None:
            self.closeEditor(editor, QStyledItemDelegate.EndEditHint.NoHint)

    def share_width(self) -> None:
        """Make columns as wide as what they show by themselves; the name takes the rest."""
        head = self.horizontalHeader()
        for column, ems in enumerate(_LEAST_WIDTHS, start=1):
            shown = max(self.sizeHintForColumn(column), head.sectionSizeHint(column))
            self.setColumnWidth(column, max(em(self, ems), shown))
        self._give_name_the_rest()

    def _give_name_the_rest(self) -> None:
        others = sum(self.columnWidth(n) for n in range(1, self.model().columnCount()))
        self.setColumnWidth(0, max(em(self, _LEAST_NAME), self.viewport().width() - others))

    # Qt overrides

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._give_name_the_rest()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        is_enter = event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}
        if is_enter and self.state() != QAbstractItemView.State.EditingState:
            self.edit(self.currentIndex())
            return
        super().keyPressEvent(event)


class PartsTable(QWidget):
    """The table, its buttons, and what is the matter with its rows.

    Signals:
        edited, add_wanted, remove_wanted: as of `RepeatGroup`.
    """

    edited = Signal(str, object)
    add_wanted = Signal(str)
    remove_wanted = Signal(str, int)

    def __init__(self, layout: Table, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.where = layout.where
        self.notes = NotesLabel()
        self.model = PartsModel(layout, self)
        self.model.edited.connect(self.edited)
        self.view = _View()
        self.view.setModel(self.model)
        self.view.setItemDelegate(_Delegate(self.view))
        self.view.setAccessibleName(_("Parts"))
        self.view.setWordWrap(False)
        self.view.setTabKeyNavigation(False)  # Tab leaves the table; arrows move in it
        self.view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.view.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.SelectedClicked
            | QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        self.view.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.add_button = QPushButton(_(layout.add_text))
        self.add_button.clicked.connect(self._on_add_clicked)
        self.remove_button = QPushButton(_("Remove part"))
        self.remove_button.clicked.connect(self._on_remove_clicked)
        buttons = QHBoxLayout()
        buttons.addWidget(self.add_button)
        buttons.addWidget(self.remove_button)
        buttons.addStretch(1)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(6)
        box.addWidget(self.view)
        box.addWidget(self.notes)
        box.addLayout(buttons)
        self.model.modelReset.connect(self._on_reset)
        self._on_reset()

    def load(self, document: Document) -> None:
        """Show the rows of a document."""
        self.view.end_editing()
        self.model.load(document)

    def show_units(self, document: Document) -> None:
        """Follow a change of units."""
        self.view.end_editing()
        self.model.show_units()

    def show_problems(self, notes: tuple[tuple[str, str, str], ...]) -> None:
        """Show (path, severity, text) of what is the matter."""
        cells: dict[tuple[int, int], tuple[str, str]] = {}
        lines: list[tuple[str, str]] = []
        for where, severity, text in notes:
            if where == self.where:
                lines.append((severity, text))
                continue
            row, column = self.model.cell(where)
            cells.setdefault((row, column), (severity, text))
            title = self.model.spec(column).title
            place = _("row {row}, {title}", row=row + 1, title=title)
            lines.append((severity, f"{place}: {text}"))
        more = len(lines) - _MOST_NOTES
        if more > 0:
            rest = _("{count} more; see the list of findings", count=more)
            lines = [*lines[:_MOST_NOTES], ("note", rest)]
        self.model.set_notes(cells)
        self.notes.set_notes(tuple(lines))

    def tab_stops(self) -> Iterator[QWidget]:
        """Yield what Tab goes through, in order."""
        yield from (self.view, self.add_button, self.remove_button)

    def reveal(self, where: str) -> None:
        """Put the cursor on the cell that a path names."""
        row, column = self.model.cell(where)
        self.view.setFocus(Qt.FocusReason.OtherFocusReason)
        if row < self.model.rowCount():
            index = self.model.index(row, column)
            self.view.setCurrentIndex(index)
            self.view.scrollTo(index)

    def edit(self, where: str) -> None:
        """Open the cell that a path names for typing."""
        self.reveal(where)
        if self.view.currentIndex().isValid():
            self.view.edit(self.view.currentIndex())

    def _on_reset(self) -> None:
        rows = self.model.rowCount()
        self.remove_button.setEnabled(rows > 0)
        self.view.share_width()
        shown = min(max(rows, 1), _MOST_ROWS_SHOWN)
        row_height = self.view.verticalHeader().defaultSectionSize()
        head = self.view.horizontalHeader().sizeHint().height()
        bar = self.view.horizontalScrollBar().sizeHint().height()
        height = head + shown * row_height + 2 * self.view.frameWidth() + bar
        self.view.setFixedHeight(height)

    def _on_add_clicked(self) -> None:
        self.add_wanted.emit(self.where)

    def _on_remove_clicked(self) -> None:
        current = self.view.currentIndex()
        row = current.row() if current.isValid() else self.model.rowCount() - 1
        if row >= 0:
            self.remove_wanted.emit(self.where, row)
