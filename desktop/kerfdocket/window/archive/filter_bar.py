"""What is looked for among the travellers: words in one line, single fields below it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.errors import InputError
from kerfdocket.language import _, marked
from kerfdocket.window.looks import FlowGrid, em, severity_colour, wrapped

__all__ = ["FilterBar", "Sought"]

_DEBOUNCE_MS = 250
_WORDS = {
    "number": marked("Traveller"),
    "customer": marked("Customer"),
    "drawing": marked("Drawing"),
    "grade": marked("Steel grade"),
    "nozzle": marked("Nozzle"),
    "gas": marked("Fuel gas"),
    "cutter": marked("Cutter"),
}
_SIZES = {
    "thickness_from": marked("Thickness from"),
    "thickness_to": marked("Thickness to"),
}
_DAYS = {"day_from": marked("Date from"), "day_to": marked("Date to")}


@dataclass(frozen=True)
class Sought:
    """What is looked for; what is empty asks for nothing.

    Attributes:
        text: words that must all be somewhere in it, each by its begin.
        words: the same for single fields, by their names.
        thickest_m, thinnest_m: of the plate. [m]
        first_day, last_day: date of the job.
        state: that it is in.
    """

    text: str = ""
    words: Mapping[str, str] = field(default_factory=dict, hash=False)
    thinnest_m: float | None = None
    thickest_m: float | None = None
    first_day: date | None = None
    last_day: date | None = None
    state: str = ""

    @property
    def is_all(self) -> bool:
        """True if nothing is asked for."""
        return self == Sought()


class FilterBar(QWidget):
    """Asks what is looked for, and says it a moment after the last key.

    Signals:
        changed: a Sought.
        left_down: the person goes on to the list.
    """

    changed = Signal(object)
    left_down = Signal()

    def __init__(self, debounce_ms: int = _DEBOUNCE_MS, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edits: dict[str, QLineEdit] = {}
        self._last = Sought()
        self._debounce = QTimer(self)
        self._debounce.setSingleShot(True)
        self._debounce.setInterval(debounce_ms)
        self._debounce.timeout.connect(self._tell)
        self.text = QLineEdit()
        self.text.setPlaceholderText(_("Find: words of title, customer, parts, remarks …"))
        self.text.setAccessibleName(_("Find travellers by words"))
        self.text.setClearButtonEnabled(True)
        self.text.textChanged.connect(self._on_edited)
        self.text.returnPressed.connect(self._on_return)
        self.more = QToolButton()
        self.more.setText(_("More fields"))
        self.more.setCheckable(True)
        self.more.setArrowType(Qt.ArrowType.RightArrow)
        self.more.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.more.toggled.connect(self._unfold)
        self.clear_button = QPushButton(_("Look for all"))
        self.clear_button.setToolTip(_("Empty all fields of this search"))
        self.clear_button.clicked.connect(self.clear)
        line = QHBoxLayout()
        line.addWidget(self.text, 1)
        line.addWidget(self.more)
        line.addWidget(self.clear_button)
        self.fields = FlowGrid(em(self, 17), most=4)
        for name, title in {**_WORDS, **_SIZES, **_DAYS}.items():
            self._add(name, _(title))
        self._edits["thickness_from"].setPlaceholderText("10 mm")
        self._edits["thickness_to"].setPlaceholderText("20 mm")
        for name in _DAYS:
            self._edits[name].setPlaceholderText("2026-01-31")
        self.state = QComboBox()
        self.state.setAccessibleName(_("State"))
        self.state.addItem(_("any"), "")
        self.state.currentIndexChanged.connect(self._on_edited)
        self._cell(_("State"), self.state)
        self.problem = wrapped()
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.WindowText, severity_colour("mend", palette))
        self.problem.setPalette(palette)
        self.problem.hide()
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addLayout(line)
        box.addWidget(self.fields)
        box.addWidget(self.problem)
        self.fields.hide()
        self.clear_button.setEnabled(False)

    def _add(self, name: str, title: str) -> None:
        edit = QLineEdit()
        edit.setAccessibleName(title)
        edit.setClearButtonEnabled(True)
        edit.textChanged.connect(self._on_edited)
        edit.returnPressed.connect(self._on_return)
        self._edits[name] = edit
        self._cell(title, edit)

    def _cell(self, title: str, editor: QWidget) -> None:
        cell = QWidget()
        label = QLabel(title)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setBuddy(editor)
        box = QVBoxLayout(cell)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(1)
        box.addWidget(label)
        box.addWidget(editor)
        self.fields.add(cell, room=label.sizeHint().width())

    def know_states(self, states: tuple[str, ...]) -> None:
        """Offer these states; they are known once the archive is open."""
        if self.state.count() > 1:
            return
        self.state.blockSignals(True)
        for state in states:
            self.state.addItem(_(state), state)
        self.state.blockSignals(False)

    def edit(self, name: str) -> QLineEdit:
        """Return the field of a name."""
        return self._edits[name]

    @property
    def sought(self) -> Sought:
        """What is looked for now; what cannot be read is said, and not looked for."""
        problems = []
        sizes: dict[str, float | None] = {}
        days: dict[str, date | None] = {}
        for name, title in {**_SIZES, **_DAYS}.items():
            edit = self._edits[name]
            text = edit.text().strip()
            problem = ""
            try:
                if name in _SIZES:
                    sizes[name] = _size_m(text) if text else None
                else:
                    days[name] = _day(text) if text else None
            except InputError as error:
                problem = _("{field}: {problem}", field=_(title), problem=error)
                problems.append(problem)
            edit.setToolTip(problem)
        self.problem.setText("\n".join(problems))
        self.problem.setVisible(bool(problems))
        words = {name: self._edits[name].text().strip() for name in _WORDS}
        if words["gas"]:
            from kerfdocket.office import gas_as_kept  # it loads the archive

            words["gas"] = gas_as_kept(words["gas"])
        return Sought(
            text=self.text.text().strip(),
            words={name: text for name, text in words.items() if text},
            thinnest_m=sizes.get("thickness_from"),
            thickest_m=sizes.get("thickness_to"),
            first_day=days.get("day_from"),
            last_day=days.get("day_to"),
            state=self.state.currentData() or "",
        )

    def clear(self) -> None:
        """Look for all."""
        for edit in (self.text, *self._edits.values()):
            edit.clear()
        self.state.setCurrentIndex(0)
        self.text.setFocus()

    def take_over(self, before: "FilterBar") -> None:
        """Look for what another bar looks for."""
        self.text.setText(before.text.text())
        for name, edit in self._edits.items():
            edit.setText(before.edit(name).text())
        self.know_states(tuple(before.state.itemData(at) for at in range(1, before.state.count())))
        self.state.setCurrentIndex(before.state.currentIndex())
        self.more.setChecked(before.more.isChecked())
        self._debounce.stop()
        self._last = self.sought
        self._show_clear()

    def _unfold(self, is_open: bool) -> None:
        self.more.setArrowType(Qt.ArrowType.DownArrow if is_open else Qt.ArrowType.RightArrow)
        self.fields.setVisible(is_open)

    def _show_clear(self) -> None:
        is_empty = not any(edit.text() for edit in (self.text, *self._edits.values()))
        self.clear_button.setEnabled(not is_empty or bool(self.state.currentData()))

    def _on_edited(self) -> None:
        self._show_clear()
        self._debounce.start()

    def _on_return(self) -> None:
        self._debounce.stop()
        self._tell()
        self.left_down.emit()

    def _tell(self) -> None:
        sought = self.sought
        if sought != self._last:
            self._last = sought
            self.changed.emit(sought)


def _size_m(text: str) -> float:
    from kerfdocket.quantity import LENGTH, parse_measure

    return parse_measure(text, LENGTH).si


def _day(text: str) -> date:
    from kerfdocket.planning.actuals import read_moment

    moment = read_moment(text, date.today())  # noqa: DTZ011  # the calendar on this wall
    if moment.day is None:
        raise InputError(
            _(
                "{given} is no date; write year, month and day: {example}",
                given=repr(text),
                example="2026-01-31",
            )
        )
    return moment.day
