"""What a person does at the form."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from kerfdocket.window.fields import Field
from kerfdocket.window.main_window import MainWindow

__all__ = ["choose", "clear", "cut_off", "fill_in", "show_all_fields", "type_in"]


def type_in(qtbot: QtBot, window: MainWindow, where: str, text: str) -> None:
    """Type into the field at a path, after what stands there."""
    editor: QWidget = window.panes.form.field(where).editor
    editor.setFocus()
    qtbot.keyClick(editor, Qt.Key.Key_End)
    qtbot.keyClicks(editor, text)


def clear(qtbot: QtBot, window: MainWindow, where: str) -> None:
    """Empty a field with the keyboard."""
    editor = window.panes.form.field(where).editor
    assert isinstance(editor, QLineEdit)
    editor.setFocus()
    editor.selectAll()
    qtbot.keyClick(editor, Qt.Key.Key_Delete)


def choose(qtbot: QtBot, window: MainWindow, where: str, text: str) -> None:
    """Choose an entry with the keyboard."""
    editor = window.panes.form.field(where).editor
    assert isinstance(editor, QComboBox)
    editor.setFocus()
    steps = editor.findText(text) - editor.currentIndex()
    for _ in range(abs(steps)):
        qtbot.keyClick(editor, Qt.Key.Key_Down if steps > 0 else Qt.Key.Key_Up)
    assert editor.currentText() == text


def fill_in(qtbot: QtBot, window: MainWindow) -> None:
    """Type what a job needs, and no more."""
    type_in(qtbot, window, "about.number", "T-1")
    type_in(qtbot, window, "about.title", "Test plate")
    choose(qtbot, window, "fuel.gas", "propane")
    type_in(qtbot, window, "plate.grade", "S355J2")
    type_in(qtbot, window, "plate.thickness", "12 mm")


def show_all_fields(window: MainWindow) -> list[Field]:
    """Bring every field of the form into sight, with a row in each list."""
    form = window.panes.form
    for where in ("oxygen.cylinders", "fuel.cylinders", "parts"):
        form.add_wanted.emit(where)
    for field in form.fields():
        form.reveal(field.where)
    seen = [field for field in form.fields() if field.isVisible()]
    assert len(seen) > 100
    return seen


def cut_off(fields: list[Field]) -> list[str]:
    """Return the fields that have less room than they ask for."""
    return [
        field.where
        for field in fields
        if field.editor.width() < field.editor_room or field.width() < field.room
    ]
