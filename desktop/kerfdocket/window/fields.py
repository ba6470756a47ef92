"""One field of the form: label, editor, and what is the matter with it, in words."""

from typing import Any

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QAction, QPalette, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QStyle,
    QStyleOptionComboBox,
    QStyleOptionFrame,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.language import _, decimal_text
from kerfdocket.window.document import Document
from kerfdocket.window.layout import LINES
from kerfdocket.window.looks import em, severity_colour, wrapped
from kerfdocket.window.specs import (
    FieldSpec,
    is_same_choice,
    shown_text_of,
    spec_at,
    spoken_title,
    text_of,
    value_of,
    value_typed,
)
from kerfdocket.window.units import system_of
from kerfdocket.window.words import SEVERITY_WORDS

__all__ = ["ChoiceBox", "Field", "NotesLabel", "make_field"]

_MOST_ROOM = 40  # widths of a letter that an editor may ask for


def _noted(severity: str, text: str) -> str:
    return f"{_(SEVERITY_WORDS[severity])}: {text}"


def _needed(title: str) -> str:
    return _("{title} (needed)", title=title)


class NotesLabel(QWidget):
    """What is the matter here: a line of words for each problem and finding; none, no room."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._box.setSpacing(2)
        self._notes: tuple[tuple[str, str], ...] = ()
        self._labels: list[QLabel] = []
        self.setVisible(False)

    @property
    def notes(self) -> tuple[tuple[str, str], ...]:
        """(severity, text) pairs that are shown."""
        return self._notes

    @property
    def text(self) -> str:
        """All of it, as it is read."""
        return "\n".join(_noted(severity, text) for severity, text in self._notes)

    def set_notes(self, notes: tuple[tuple[str, str], ...]) -> None:
        """Show these and no others."""
        if notes == self._notes:
            return
        self._notes = notes
        for label in self._labels:
            self._box.removeWidget(label)
            label.hide()
            label.deleteLater()
        self._labels = []
        for severity, text in notes:
            label = wrapped(_noted(severity, text))
            self._paint(label, severity)
            self._box.addWidget(label)
            self._labels.append(label)
        self.setVisible(bool(notes))

    @staticmethod
    def _paint(label: QLabel, severity: str) -> None:
        palette = label.palette()
        palette.setColor(QPalette.ColorRole.WindowText, severity_colour(severity, label.palette()))
        label.setPalette(palette)

    # Qt overrides

    def changeEvent(self, event: QEvent) -> None:
        if event.type() == QEvent.Type.ApplicationPaletteChange:
            notes, self._notes = self._notes, ()
            self.set_notes(notes)
        super().changeEvent(event)


class ChoiceBox(QComboBox):
    """A combo box that a passing mouse wheel does not change."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(8)

    @property
    def room(self) -> int:
        """The width that none of its entries is cut off at."""
        texts = (self.itemText(number) for number in range(self.count()))
        widest = max((self.fontMetrics().horizontalAdvance(text) for text in texts), default=0)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        size = QSize(widest, self.fontMetrics().height())
        kind = QStyle.ContentsType.CT_ComboBox
        return self.style().sizeFromContents(kind, option, size, self).width()

    # Qt overrides

    def wheelEvent(self, event: QWheelEvent) -> None:
        # Scrolling the form must never alter a job: the wheel is left to the form.
        event.ignore()


class Field(QWidget):
    """Label above, editor, notes below.

    Signals:
        edited: path and what is now stated there (None: nothing), once for each change by hand.
    """

    edited = Signal(str, object)

    def __init__(self, spec: FieldSpec, editor: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.spec = spec
        self.where = spec.where
        self.editor = editor
        self._label = QLabel(_needed(spec.title) if spec.is_needed else spec.title)
        self._label.setTextFormat(Qt.TextFormat.PlainText)
        self._label.setBuddy(editor)
        self._label.setMinimumWidth(1)
        self.notes = NotesLabel()
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(2)
        box.addWidget(self._label)
        box.addWidget(editor)
        box.addWidget(self.notes)
        # Heard without the heading above it, "Hose length" could be any of three.
        spoken = spoken_title(spec.where, LINES)
        editor.setAccessibleName(_needed(spoken) if spec.is_needed else spoken)
        self.setFocusProxy(editor)
        self.describe()

    @property
    def help_text(self) -> str:
        """What is stated where that is not what is shown, and what to write here."""
        stated, accepted, assumed = self.stated_text, self.spec.accepted, self.spec.default_text
        stated = _("Stated as {text}.", text=stated) if stated else ""
        accepted = _("Accepted: {text}.", text=accepted) if accepted else ""
        assumed = _("If empty: {text}.", text=assumed) if assumed else ""
        return " ".join(text for text in (stated, self.spec.help, accepted, assumed) if text)

    @property
    def stated_text(self) -> str:
        """What the job states here, if it is shown in other units; else empty."""
        return ""

    def describe(self) -> None:
        """Say anew, to those who see and those who listen, what this field is about."""
        note = _(self.spec.kind.note) if self.spec.kind and self.spec.kind.note else ""
        self.editor.setToolTip("\n".join(text for text in (self.help_text, note) if text))
        self.editor.setAccessibleDescription(
            " ".join(text for text in (self.notes.text, self.help_text) if text)
        )

    def load(self, document: Document) -> None:
        """Show what a document states, in the units that it wants."""
        system = system_of(document)
        if self.spec.kind is not None and self.spec.system != system:
            self.spec = spec_at(self.where, system)
            self.respell()
        self.set_value(document.value(self.where))
        self.describe()

    def show_units(self, document: Document) -> None:
        """Follow a change of units; a field without a quantity keeps its own undo."""
        if self.spec.kind is not None:
            self.load(document)

    def respell(self) -> None:
        """Follow a change of units in what is shown while nothing is stated."""

    @property
    def room(self) -> int:
        """The width that neither the label nor what is shown by itself is cut off at."""
        return max(self._label.sizeHint().width(), min(self.editor_room, em(self, _MOST_ROOM)))

    @property
    def editor_room(self) -> int:
        """The width that what the editor shows by itself is not cut off at."""
        return 0

    def set_notes(self, notes: tuple[tuple[str, str], ...]) -> None:
        """Show what is the matter with this field."""
        self.notes.set_notes(notes)
        self.describe()

    def set_value(self, value: Any) -> None:
        """Show what a file states, without an `edited`."""
        raise NotImplementedError

    @property
    def text(self) -> str:
        """What is shown, as typed."""
        raise NotImplementedError


def _placeholder(spec: FieldSpec) -> str:
    if spec.default_text:
        return _("{value} (assumed)", value=spec.default_text)
    if spec.look == "list" and spec.kind is not None:
        examples = [f"{decimal_text(one, 1)} {spec.kind.first_unit}" for one in (12.1, 11.9)]
        return _("one or more, such as {examples}", examples=shown_text_of(examples, spec))
    if spec.reading == "date":
        return _("YYYY-MM-DD")
    if spec.is_needed:
        return _("needed ({unit})", unit=spec.unit) if spec.unit else _("needed")
    if spec.unit:
        return _("not stated ({unit})", unit=spec.unit)
    return _("not stated") if spec.reading == "number" else ""


class LineField(Field):
    """A line of text: a word, a quantity with its unit, a list of them, a number, a date."""

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        self._line = QLineEdit()
        self._stated: Any = None
        super().__init__(spec, self._line, parent)
        self._line.setPlaceholderText(_placeholder(spec))
        self._line.setMinimumWidth(em(self._line, 6))
        self._line.textEdited.connect(self._on_edited)
        icon = self.style().standardIcon(QStyle.StandardPixmap.SP_MessageBoxWarning)
        self._sign = QAction(icon, "", self)

    def set_value(self, value: Any) -> None:
        self._stated = value
        self._line.setText(shown_text_of(value, self.spec))
        self._line.setCursorPosition(0)

    def respell(self) -> None:
        self._line.setPlaceholderText(_placeholder(self.spec))

    @property
    def editor_room(self) -> int:
        shown = self._line.fontMetrics().horizontalAdvance(f"{self._line.placeholderText()}  ")
        option = QStyleOptionFrame()
        self._line.initStyleOption(option)
        size = QSize(shown, self._line.fontMetrics().height())
        kind = QStyle.ContentsType.CT_LineEdit
        return self._line.style().sizeFromContents(kind, option, size, self._line).width()

    @property
    def stated_text(self) -> str:
        stated = text_of(self._stated, self.spec)
        is_shown = stated == self.text or self.text != shown_text_of(self._stated, self.spec)
        return "" if is_shown else stated

    def set_notes(self, notes: tuple[tuple[str, str], ...]) -> None:
        super().set_notes(notes)
        if any(severity in {"mend", "stop"} for severity, _ in notes):
            self._line.addAction(self._sign, QLineEdit.ActionPosition.TrailingPosition)
        else:
            self._line.removeAction(self._sign)

    @property
    def text(self) -> str:
        return self._line.text()

    def _on_edited(self, text: str) -> None:
        self.describe()
        self.edited.emit(self.where, value_typed(text, self.spec, self._stated))


class ParagraphField(Field):
    """Several lines of text."""

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        self._paragraph = QPlainTextEdit()
        self._is_loading = False
        super().__init__(spec, self._paragraph, parent)
        self._paragraph.setTabChangesFocus(True)
        self._paragraph.setFixedHeight(self.fontMetrics().lineSpacing() * 3 + 12)
        self._paragraph.textChanged.connect(self._on_changed)

    def set_value(self, value: Any) -> None:
        self._is_loading = True
        self._paragraph.setPlainText(text_of(value, self.spec))
        self._is_loading = False

    @property
    def text(self) -> str:
        return self._paragraph.toPlainText()

    def _on_changed(self) -> None:
        if not self._is_loading:
            self.edited.emit(self.where, value_of(self.text, self.spec))


class ChoiceField(Field):
    """One of a few; the first entry leaves it to the default and says which that is."""

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        self._box = ChoiceBox()
        super().__init__(spec, self._box, parent)
        self._values: list[Any] = []
        self._fill()
        self._box.activated.connect(self._on_activated)

    def _fill(self, *more: Any) -> None:
        spec = self.spec
        first = _("not stated")
        if spec.default_text:
            first = _("{value} (assumed)", value=spec.default_text)
        self._values = [None, *spec.choices, *more]
        self._box.clear()
        self._box.addItem(_("choose") if spec.is_needed else first)
        for choice in spec.choices:
            self._box.addItem(text_of(choice, spec))
        for stray in more:
            self._box.addItem(_("{value} (not a choice)", value=text_of(stray, spec)))

    def set_value(self, value: Any) -> None:
        known = [None, *self.spec.choices]
        self._fill(*(() if any(is_same_choice(value, one) for one in known) else (value,)))
        at = (n for n, one in enumerate(self._values) if is_same_choice(value, one))
        self._box.setCurrentIndex(next(at, len(self._values) - 1))

    @property
    def editor_room(self) -> int:
        return self._box.room

    @property
    def text(self) -> str:
        return self._box.currentText()

    def _on_activated(self, index: int) -> None:
        self.edited.emit(self.where, self._values[index])


def make_field(spec: FieldSpec, parent: QWidget | None = None) -> Field:
    """Return the widget for a field."""
    kinds: dict[str, type[LineField | ParagraphField | ChoiceField]] = {
        "line": LineField,
        "list": LineField,
        "paragraph": ParagraphField,
        "choice": ChoiceField,
    }
    return kinds[spec.look](spec, parent)
