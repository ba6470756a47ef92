"""Entering what was written on a sheet, with the page beside the fields."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QPalette
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _
from kerfdocket.planning.actuals import ACTUAL_FIELDS, place_unit, read_actuals
from kerfdocket.window.archive.asking import Asker
from kerfdocket.window.archive.pages_view import PagesView
from kerfdocket.window.archive.sayings import full_name, page_text
from kerfdocket.window.looks import em, heading_font, severity_colour, wrapped

if TYPE_CHECKING:
    from kerfdocket.archive import Archive
    from kerfdocket.window.archive.looking import Record
    from kerfdocket.window.archive.side import ArchiveSide

__all__ = ["ActualsDialog"]

_CHECK_MS = 200
_LONG = {"remarks"}  # take several lines


class _Place:
    """One value: what it is for, where it is typed, what is the matter with it."""

    def __init__(self, name: str, title: str, unit: str, text: str) -> None:
        self.name = name
        self.before = text
        self.label = wrapped(title)
        self.edit: QLineEdit | QPlainTextEdit
        # A line shows one line: a text of several must not lose them by being looked at.
        if name in _LONG or "\n" in text:
            self.edit = QPlainTextEdit(text)
            self.edit.setTabChangesFocus(True)
            self.edit.setFixedHeight(self.edit.fontMetrics().lineSpacing() * 4)
        else:
            self.edit = QLineEdit(text)
        self.edit.setAccessibleName(title)
        self.label.setBuddy(self.edit)
        self.unit = QLabel(unit)
        self.unit.setTextFormat(Qt.TextFormat.PlainText)
        self.problem = wrapped()
        self.problem.hide()

    @property
    def text(self) -> str:
        """What is typed."""
        if isinstance(self.edit, QPlainTextEdit):
            return self.edit.toPlainText()
        return self.edit.text()

    @property
    def is_changed(self) -> bool:
        """True if it says something else than before."""
        return self.text.strip() != self.before.strip()

    def show_problem(self, problem: str) -> None:
        """Say what is the matter, below the field."""
        said = ""
        if problem:
            said = _("Not read as a value, kept as it is written: {problem}", problem=problem)
        self.problem.setText(said)
        self.problem.setVisible(bool(said))
        palette = QPalette(self.label.palette())
        palette.setColor(QPalette.ColorRole.WindowText, severity_colour("mend", palette))
        self.problem.setPalette(palette)
        self.edit.setAccessibleDescription(said)


class ActualsDialog(QDialog):
    """All that may be written on a sheet, as it is known; what cannot be read is kept as a text.

    Signals:
        said: a sentence for the status bar.
    """

    said = Signal(str)

    def __init__(
        self, side: "ArchiveSide", record: "Record", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        assert record.job is not None
        self._side = side
        self._traveller = record.traveller
        self._job = record.job
        self._is_saving = False
        self.setWindowTitle(_("What was written on {name}", name=full_name(record.traveller)))
        self.places: dict[str, _Place] = {}
        self._check = QTimer(self)
        self._check.setSingleShot(True)
        self._check.setInterval(_CHECK_MS)
        self._check.timeout.connect(self.check)
        fields = self._fields(record)
        revision = record.traveller.revision
        self.pages = PagesView(
            side.desk,
            _("Pages that came back"),
            _("No page of this traveller came back yet."),
            Qt.Orientation.Vertical,
        )
        self.pages.bug.connect(side.bug)
        from kerfdocket.archive import BOTH

        mine = [page for page in record.pages if page.revision == revision]
        back = next((at for at, page in enumerate(mine) if page.side in ("B", BOTH)), 0)
        self.pages.show_pages(mine, page_text, back)
        self.split = QSplitter(Qt.Orientation.Horizontal)
        self.split.addWidget(fields)
        self.split.addWidget(self.pages)
        self.split.setChildrenCollapsible(False)
        self.split.setSizes([em(self, 80), em(self, 80)])
        self.pages.setVisible(bool(mine))
        self.reason = QLineEdit()
        self.reason.setAccessibleName(_("Why the values are put right"))
        self.reason.textChanged.connect(self._show_what_can_be_saved)
        label = QLabel(_("&Reason"))
        label.setBuddy(self.reason)
        why = QHBoxLayout()
        why.addWidget(label)
        why.addWidget(self.reason, 1)
        self._for_a_reason = (
            wrapped(
                _(
                    "It is closed: what it was signed with is put right for a reason, which stands "
                    "in the history beside the values before and after."
                )
            ),
            label,
            self.reason,
        )
        self._ask_for_a_reason(record.traveller.state == "closed")
        self.trouble = wrapped()
        self.trouble.hide()
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.save_button = buttons.addButton(_("&Save"), QDialogButtonBox.ButtonRole.AcceptRole)
        self.save_button.setDefault(True)
        self.save_button.setEnabled(False)
        buttons.accepted.connect(self.save)
        buttons.rejected.connect(self.reject)
        box = QVBoxLayout(self)
        box.addWidget(
            wrapped(
                _(
                    "Enter each value as it is written, with its unit. A number alone takes the "
                    "unit beside its field. What is emptied is taken back; the history keeps both."
                )
            )
        )
        box.addWidget(self.split, 1)
        box.addWidget(self._for_a_reason[0])
        box.addLayout(why)
        box.addWidget(self.trouble)
        box.addWidget(buttons)
        screen = self.screen().availableSize()
        width = em(self, 175) if mine else em(self, 95)
        self.resize(min(width, screen.width() - 60), min(900, screen.height() - 80))
        self.check()

    def _fields(self, record: "Record") -> QWidget:
        texts = record.texts
        inside = QWidget()
        grid = QGridLayout(inside)
        grid.setColumnStretch(0, 5)
        grid.setColumnStretch(1, 6)
        row = 0
        asked = [name for name in ACTUAL_FIELDS if _is_asked(record, name)]
        office = [name for name in ACTUAL_FIELDS if name not in asked]
        others = [name for name in texts if name not in ACTUAL_FIELDS]
        for name in (*asked, *office, *others):
            known = ACTUAL_FIELDS.get(name)
            if known is not None and name == office[0]:
                row = self._heading(grid, row, _("Not on the sheet: what the office knows"))
            elif known is None and name == others[0]:
                row = self._heading(grid, row, _("The shop’s own fields"))
            title = _(known.title) if known is not None else name
            unit = place_unit(self._job, name) if known is not None else ""
            place = _Place(name, title, unit, texts.get(name, ""))
            self.places[name] = place
            place.edit.textChanged.connect(self._on_edited)
            grid.addWidget(place.label, row, 0, Qt.AlignmentFlag.AlignVCenter)
            grid.addWidget(place.edit, row, 1)
            grid.addWidget(place.unit, row, 2)
            grid.addWidget(place.problem, row + 1, 0, 1, 3)
            row += 2
        grid.setRowStretch(row, 1)
        area = QScrollArea()
        area.setWidget(inside)
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        return area

    def _ask_for_a_reason(self, is_needed: bool) -> None:
        for widget in self._for_a_reason:
            widget.setVisible(is_needed)

    def _heading(self, grid: QGridLayout, row: int, text: str) -> int:
        label = wrapped(text)
        label.setFont(heading_font(label, 1.1))
        label.setContentsMargins(0, 8, 0, 0)
        grid.addWidget(label, row, 0, 1, 3)
        return row + 1

    @property
    def changed(self) -> dict[str, str]:
        """What is typed and not saved."""
        return {name: one.text for name, one in self.places.items() if one.is_changed}

    @property
    def _why(self) -> str | None:
        """The reason; empty where none is needed, None where it is needed and not given."""
        if self.reason.isHidden():
            return ""
        return self.reason.text().strip() or None

    def _show_what_can_be_saved(self) -> None:
        can_save = bool(self.changed) and self._why is not None and not self._is_saving
        self.save_button.setEnabled(can_save)

    def _on_edited(self) -> None:
        self._show_what_can_be_saved()
        self._check.start()

    def check(self) -> None:
        """Say at each field what is the matter with it."""
        self._check.stop()
        texts = {name: place.text for name, place in self.places.items()}
        problems = read_actuals(self._job, texts).problems
        for name, place in self.places.items():
            place.show_problem(problems.get(name, ""))

    def save(self) -> None:
        """Keep what was changed, and close; what cannot be kept stays in its fields."""
        changed, why = self.changed, self._why
        if self._is_saving or not changed or why is None:
            return
        who = self._side.who_or_ask()
        if not who:
            return
        one = self._traveller

        def call(archive: "Archive") -> dict[str, str]:
            from kerfdocket.archive import record_actuals

            return record_actuals(archive, one.number, one.revision, changed, who, why)

        self._set_saving(True)
        Asker(self._side.desk, self).ask(call, self._on_saved, self._on_not_saved, is_change=True)

    def _set_saving(self, is_saving: bool) -> None:
        self._is_saving = is_saving
        for place in self.places.values():
            place.edit.setReadOnly(is_saving)
        self.reason.setReadOnly(is_saving)
        self._show_what_can_be_saved()

    def _on_saved(self, _changed: object) -> None:
        self.said.emit(_("What was written on {name} is kept.", name=full_name(self._traveller)))
        for place in self.places.values():
            place.before = place.text
        self.accept()

    def _on_not_saved(self, error: BaseException) -> None:
        # The library is loaded: its answer came from there.
        from kerfdocket.archive import ReasonNeeded

        if isinstance(error, ReasonNeeded):  # somebody closed it meanwhile
            self._ask_for_a_reason(True)
            self.reason.setFocus()
        self._set_saving(False)
        self.trouble.setText(_("Not saved: {reason}. What you typed is still here.", reason=error))
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.WindowText, severity_colour("stop", palette))
        self.trouble.setPalette(palette)
        self.trouble.show()
        if not isinstance(error, KerfdocketError):
            self._side.bug.emit(error)

    # Qt overrides

    def reject(self) -> None:
        if self._is_saving:
            return
        if self.changed and not self._side.messages.ask_drop_values():
            return
        super().reject()

    def closeEvent(self, event: QCloseEvent) -> None:
        self.reject()
        if self.isVisible():
            event.ignore()


def _is_asked(record: "Record", name: str) -> bool:
    """Whether the sheet has a place for a value; of one whose plan is lost, what each sheet has."""
    if record.planned is not None:
        return record.planned.asks_for(name)
    return ACTUAL_FIELDS[name].on_sheet == "always"
