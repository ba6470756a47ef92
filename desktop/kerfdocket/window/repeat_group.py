"""A list of alike groups, such as the cylinders on hand."""

from collections.abc import Iterator

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from kerfdocket.language import _
from kerfdocket.window.document import Document
from kerfdocket.window.fields import Field, NotesLabel, make_field
from kerfdocket.window.layout import Repeat
from kerfdocket.window.looks import FlowGrid, em
from kerfdocket.window.specs import spec_at

__all__ = ["RepeatGroup"]


class RepeatGroup(QWidget):
    """Shows the rows of one list; each has the fields that the layout names.

    Signals:
        edited: path and value, as of a field.
        add_wanted: path of the list.
        remove_wanted: path of the list and the row's index.
    """

    edited = Signal(str, object)
    add_wanted = Signal(str)
    remove_wanted = Signal(str, int)

    def __init__(self, layout: Repeat, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._plan = layout
        self.where = layout.where
        self.notes = NotesLabel()
        self._rows: list[QFrame] = []
        self._fields: list[Field] = []
        heading = QLabel(_(layout.heading))
        font = heading.font()
        font.setBold(True)
        heading.setFont(font)
        self.add_button = QPushButton(_(layout.add_text))
        self.add_button.clicked.connect(self._on_add_clicked)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(6)
        box.addWidget(heading)
        self._none = QLabel(_("None stated."))
        box.addWidget(self._none)
        self._list = QVBoxLayout()
        self._list.setSpacing(6)
        box.addLayout(self._list)
        box.addWidget(self.notes)
        foot = QHBoxLayout()
        foot.addWidget(self.add_button)
        foot.addStretch(1)
        box.addLayout(foot)

    def fields(self) -> Iterator[Field]:
        """Yield the fields of all rows."""
        yield from self._fields

    def tab_stops(self) -> Iterator[QWidget]:
        """Yield what Tab goes through, in order."""
        for row in self._rows:
            yield from (field.editor for field in self._fields if row.isAncestorOf(field))
            yield from row.findChildren(QPushButton)
        yield self.add_button

    def load(self, document: Document) -> None:
        """Show the rows of a document."""
        for row in self._rows:
            self._list.removeWidget(row)
            row.hide()
            row.deleteLater()
        self._rows, self._fields = [], []
        count = len(document.items(self.where))
        self._none.setVisible(not count)
        for index in range(count):
            self._rows.append(self._make_row(index, document))
            self._list.addWidget(self._rows[-1])

    def show_units(self, document: Document) -> None:
        """Follow a change of units."""
        for field in self._fields:
            field.show_units(document)
        for grid in self.findChildren(FlowGrid):
            grid.ask_room(max(field.room for field in grid.findChildren(Field)))

    def _make_row(self, index: int, document: Document) -> QFrame:
        row = QFrame()
        row.setFrameShape(QFrame.Shape.StyledPanel)
        box = QVBoxLayout(row)
        box.setContentsMargins(8, 6, 8, 8)
        grid = FlowGrid(em(self, 20))
        for name in self._plan.names:
            field = make_field(spec_at(f"{self.where}.{index}.{name}"))
            field.load(document)
            field.edited.connect(self.edited)
            grid.add(field, room=field.room)
            self._fields.append(field)
        remove = QPushButton(_("Remove"))
        remove.setAccessibleName(
            _("Remove row {row} of {list}", row=index + 1, list=_(self._plan.heading))
        )
        remove.clicked.connect(lambda: self.remove_wanted.emit(self.where, index))
        head = QHBoxLayout()
        head.addWidget(QLabel(_("Row {row}", row=index + 1)))
        head.addStretch(1)
        head.addWidget(remove)
        box.addLayout(head)
        box.addWidget(grid)
        return row

    def _on_add_clicked(self) -> None:
        self.add_wanted.emit(self.where)
