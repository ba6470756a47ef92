"""Keeping the archive: copies, what need not be kept any longer, and what there is."""

from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFontDatabase, QGuiApplication, QPalette, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QSpinBox,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _, sense
from kerfdocket.window.archive.asking import Asker
from kerfdocket.window.archive.gentle import GivenUp
from kerfdocket.window.archive.keeping import Copy, Made
from kerfdocket.window.archive.rows import Row, RowsModel, RowsView
from kerfdocket.window.archive.sayings import as_typed, copy_doing, copy_outcome, when_text
from kerfdocket.window.looks import ElidedLabel, em, heading_font, severity_colour

if TYPE_CHECKING:
    from kerfdocket.archive import Archive
    from kerfdocket.archive.keeping import Proposal
    from kerfdocket.window.archive.side import ArchiveSide

__all__ = ["KeepingPage"]

_YEARS = 10  # `kerfdocket.archive.keeping.YEARS`, whose database loads with the first question
_MOST_YEARS = 1000
_MOST_ROWS = 24  # that are shown under a head before somebody opens it
_FILL = "kerfdocket archive --archive {new} restore {backup}"
_FILL_AGAIN = "kerfdocket archive --archive {new} import {folder}"
_DISCARD = "kerfdocket archive --archive {place} discard {number} --reason {reason}"


class _Words(QLabel):
    """A label that wraps, and asks for no more lines than it has at its width.

    Qt's own asks for as many as it would have in a narrow column; so many of them would make the
    window taller than a small screen.
    """

    def __init__(self, text: str = "") -> None:
        super().__init__(text)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    # Qt overrides

    def sizeHint(self) -> QSize:
        return QSize(0, self.heightForWidth(self.width()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.updateGeometry()


def _heading(text: str) -> QLabel:
    label = _Words(text)
    label.setFont(heading_font(label, 1.1))
    return label


def _command(text: str, name: str) -> QLabel:
    """What is to be typed elsewhere, as it is typed; it can be copied."""
    label = _Words(text)
    font = QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont)
    font.setPointSizeF(label.font().pointSizeF())
    label.setFont(font)
    label.setAccessibleName(name)
    label.setTextInteractionFlags(
        Qt.TextInteractionFlag.TextSelectableByMouse
        | Qt.TextInteractionFlag.TextSelectableByKeyboard
    )
    return label


class KeepingPage(QWidget):
    """Copies the archive, proposes, counts. Nothing is given up here, and nothing filled.

    Signals:
        said: a sentence for the status bar.
    """

    said = Signal(str)

    def __init__(self, side: "ArchiveSide", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side = side
        self._keeper = side.keeper
        self._desk = Asker(side.desk, self)
        self._proposals: tuple[Proposal, ...] = ()
        self._is_asking = self._is_stale = False
        self._is_to_ask = True
        left = QVBoxLayout()
        left.setSpacing(6)
        self._build_copies(left)
        left.addSpacing(10)
        self._build_proposals(left)
        right = QVBoxLayout()
        right.setSpacing(6)
        self._build_counts(right)
        row = QHBoxLayout(self)
        row.setSpacing(18)
        row.addLayout(left, 11)
        row.addLayout(right, 9)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(side.debounce_ms)
        self._timer.timeout.connect(self._ask)
        self._keeper.changed.connect(self.show_copying)
        self._keeper.count_changed.connect(self.show_counts)
        side.desk.changed.connect(self._on_changed)
        self.show_copying()
        self.show_counts()

    # Building

    def _build_copies(self, box: QVBoxLayout) -> None:
        self.backup_button = QPushButton(_("&Back up…"))
        self.backup_button.clicked.connect(self.back_up)
        self.export_button = QPushButton(_("E&xport all…"))
        self.export_button.clicked.connect(self.export_all)
        grid = QGridLayout()
        grid.setColumnStretch(1, 1)
        grid.setHorizontalSpacing(10)
        for row, (button, text) in enumerate(
            (
                (
                    self.backup_button,
                    _(
                        "All of it in one file, verified as it is made. Others can go on working. "
                        "Keep it on another disk than the archive."
                    ),
                ),
                (
                    self.export_button,
                    _(
                        "All of it in a folder, in formats that need no program of ours: sheets "
                        "and scans as they are, the rest as CSV and JSON lines."
                    ),
                ),
            )
        ):
            grid.addWidget(button, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(_Words(text), row, 1)
        self.doing = ElidedLabel()
        self.doing.setAccessibleName(_("What is being made"))
        self.progress = QProgressBar()
        self.progress.setRange(0, 0)  # nobody knows how long it takes
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName(_("It is being made"))
        self.progress.setFixedWidth(em(self, 16))
        self.stop_button = QPushButton(_("Give it u&p"))
        self.stop_button.setToolTip(_("Nothing of it stays then"))
        self.stop_button.clicked.connect(self._keeper.give_up)
        self._strip = QWidget()
        strip = QHBoxLayout(self._strip)
        strip.setContentsMargins(0, 0, 0, 0)
        strip.addWidget(self.progress)
        strip.addWidget(self.doing, 1)
        strip.addWidget(self.stop_button)
        self.outcome = _Words()
        self.outcome.setAccessibleName(_("How it ended"))
        self.outcome.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        new, backup = _("NEW.sqlite"), _("BACKUP.sqlite")
        commands = "\n".join(
            (
                _FILL.format(new=new, backup=backup),
                _FILL_AGAIN.format(new=new, folder=_("FOLDER")),
            )
        )
        box.addWidget(_heading(_("Copies")))
        box.addLayout(grid)
        box.addWidget(self._strip)
        box.addWidget(self.outcome)
        box.addWidget(
            _Words(_("Either fills an empty archive again, on the command line and not here:"))
        )
        box.addWidget(_command(commands, _("Commands that fill an empty archive")))

    def _build_proposals(self, box: QVBoxLayout) -> None:
        self.years = QSpinBox()
        self.years.setRange(1, _MOST_YEARS)
        self.years.setValue(_YEARS)
        for one in (self.years, self.years.lineEdit()):
            one.setAccessibleName(_("Years since anything happened"))
        self.years.valueChanged.connect(self._on_years_changed)
        label = QLabel(_("&Years since anything happened:"))
        label.setBuddy(self.years)
        self.csv_button = QPushButton(_("&Save the list as CSV…"))
        self.csv_button.clicked.connect(self.save_list)
        first = QHBoxLayout()
        first.addWidget(label)
        first.addWidget(self.years)
        first.addStretch(1)
        first.addWidget(self.csv_button)
        self.count = _Words()
        self.count.setAccessibleName(_("How many need not be kept any longer"))
        self.model = RowsModel(
            (
                sense("of a traveller", "Number"),
                _("State"),
                _("Since"),
                _("Pages"),
                sense("in bytes", "Size"),
            )
        )
        self.view = RowsView(self.model, _("What need not be kept any longer"), is_one_line=True)
        self.view.share_widths(20, 18, 16, 18)
        self.view.setMinimumHeight(self.fontMetrics().lineSpacing() * 6)
        self.how_long = _Words()
        box.addWidget(_heading(_("What need not be kept any longer")))
        box.addLayout(first)
        box.addWidget(self.how_long)
        box.addWidget(self.count)
        box.addWidget(self.view, 1)
        box.addWidget(
            _Words(
                _("Nothing is given up here. That is for good, and done on the command line only:")
            )
        )
        self.discard_command = _command("", _("Command that gives contents up"))
        box.addWidget(self.discard_command)

    def _build_counts(self, box: QVBoxLayout) -> None:
        self.as_of = _Words()
        self.as_of.setAccessibleName(_("When it was counted"))
        self.refresh_button = QPushButton(_("Count &anew"))
        self.refresh_button.clicked.connect(self._keeper.count)
        self.copy_button = QPushButton(_("&Copy"))
        self.copy_button.setToolTip(_("Put all of it on the clipboard, for a spreadsheet"))
        self.copy_button.clicked.connect(self._copy_counts)
        first = QHBoxLayout()
        first.addWidget(self.as_of, 1)
        first.addWidget(self.copy_button)
        first.addWidget(self.refresh_button)
        self.total = _Words()
        self.total.setAccessibleName(_("How much there is"))
        self.counts = QTreeWidget()
        self.counts.setAccessibleName(_("What there is"))
        self.counts.setColumnCount(2)
        self.counts.setHeaderLabels((_("What"), _("How much")))
        self.counts.setAlternatingRowColors(True)
        self.counts.setWordWrap(True)
        self.counts.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        header = self.counts.header()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        self.not_compared = _Words()
        box.addWidget(_heading(_("What there is")))
        box.addLayout(first)
        box.addWidget(self.total)
        box.addWidget(self.counts, 1)
        box.addWidget(self.not_compared)

    def take_over(self, before: "KeepingPage") -> None:
        """Hold what was chosen into another one."""
        self.years.setValue(before.years.value())

    def disconnect_keeper(self) -> None:
        """Follow the keeper no longer."""
        self._timer.stop()
        self._keeper.changed.disconnect(self.show_copying)
        self._keeper.count_changed.disconnect(self.show_counts)
        self._side.desk.changed.disconnect(self._on_changed)

    # Copies

    def back_up(self) -> None:
        """Ask for a file, and make a backup."""
        messages = self._side.messages
        name = f"archive-{date.today().isoformat()}.sqlite"  # noqa: DTZ011  # the day it is here
        path = messages.ask_backup_path(self._side.copies_folder() / name)
        if path is None:
            return
        may_replace = path.is_file()
        if may_replace and not messages.ask_replace(path):
            return
        self._keeper.begin(Copy(self._side.place(), "backup", path, may_replace))

    def export_all(self) -> None:
        """Ask for a new folder, and write all of it there."""
        name = f"archive-{date.today().isoformat()}"  # noqa: DTZ011  # the day it is here
        path = self._side.messages.ask_new_folder(self._side.copies_folder() / name)
        if path is not None:
            self._keeper.begin(Copy(self._side.place(), "export", path))

    def show_copying(self) -> None:
        """Say what is being made, or how that ended."""
        keeper = self._keeper
        copy = keeper.copy
        # Whoever works with the keyboard stays where it goes on.
        is_at_begin = self.backup_button.hasFocus() or self.export_button.hasFocus()
        is_at_end = self.stop_button.hasFocus()
        self._strip.setVisible(copy is not None)
        if copy is not None and is_at_begin:
            self.stop_button.setFocus()
        self.backup_button.setEnabled(copy is None)
        self.export_button.setEnabled(copy is None)
        if copy is not None:
            self.doing.setText(copy_doing(copy, is_giving_up=keeper.is_giving_up))
            self.stop_button.setEnabled(not keeper.is_giving_up)
        elif is_at_end:
            self.backup_button.setFocus()
        text = ""
        palette = QPalette(self.palette())
        if copy is None and keeper.last is not None and keeper.last_copy is not None:
            text = copy_outcome(keeper.last_copy, keeper.last)
            if not isinstance(keeper.last, Made | GivenUp):
                colour = severity_colour("stop", palette)
                palette.setColor(QPalette.ColorRole.WindowText, colour)
        self.outcome.setPalette(palette)
        self.outcome.setText(text)
        self.outcome.setVisible(bool(text))

    # What need not be kept any longer

    def look_again(self) -> None:
        """Look again what need not be kept; later, if nobody sees it now."""
        self._is_to_ask = True
        if self.isVisible():
            self._ask()

    def _on_changed(self) -> None:
        self.look_again()

    def _on_years_changed(self) -> None:
        self._timer.start()

    def _ask(self) -> None:
        self._timer.stop()
        if self._is_asking:
            self._is_stale = True
            return
        self._is_asking, self._is_to_ask = True, False
        years = self.years.value()

        def call(archive: "Archive") -> "tuple[tuple[Proposal, ...], list[Row]]":
            from kerfdocket.archive.keeping import Rule, proposals
            from kerfdocket.office.keeping import proposal_cells

            found = proposals(archive, Rule(years))
            # They may be thousands.
            return found, [Row(proposal_cells(one), one.number) for one in found]

        self._desk.ask(call, lambda found: self._on_proposals(*found, years), self._on_no_proposals)

    def _on_proposals(self, found: "tuple[Proposal, ...]", rows: list[Row], years: int) -> None:
        # The library is loaded: its answer came from there.
        from kerfdocket.archive.engine import shown_place
        from kerfdocket.office.keeping import how_long_text, proposals_text

        self._is_asking = False
        # Its own place: a number of another archive must not be given up by mistake.
        place = as_typed(shown_place(self._side.place()))
        self.discard_command.setText(
            _DISCARD.format(place=place, number=_("NUMBER"), reason=_("REASON"))
        )
        self._proposals = found
        self.how_long.setText(how_long_text())
        self.count.setText(proposals_text(len(found), years))
        self.model.set_rows(rows)
        self.csv_button.setEnabled(bool(found))
        self._go_on()

    def _on_no_proposals(self, error: BaseException) -> None:
        self._is_asking = False
        self._proposals = ()
        self.count.setText(str(error))
        self.model.set_rows([])
        self.csv_button.setEnabled(False)
        if not isinstance(error, KerfdocketError):
            self._side.bug.emit(error)
        self._go_on()

    def _go_on(self) -> None:
        if self._is_stale:
            self._is_stale = False
            self._ask()
        else:
            self._count_if_new()

    def save_list(self) -> None:
        """Ask for a file, and write the list as it is shown into it."""
        found = self._proposals
        name = "not-kept-any-longer.csv"
        path = self._side.messages.ask_list_path(self._side.copies_folder() / name)
        if path is None:
            return

        def call(_archive: "Archive") -> None:
            from kerfdocket.office.keeping import proposals_csv
            from kerfdocket.storage import write_atomically

            write_atomically(path, proposals_csv(found))

        self._side.ask_deed(
            self,
            call,
            lambda _nothing: self.said.emit(_("Saved {path}", path=path)),
            _("The list cannot be saved."),
        )

    # What there is

    def show_counts(self) -> None:
        """Show what was counted."""
        keeper = self._keeper
        self.refresh_button.setEnabled(not keeper.is_counting)
        self.copy_button.setEnabled(keeper.counted is not None)
        palette = QPalette(self.palette())
        if keeper.is_counting:
            text = _("Counting …")
        elif keeper.count_error is not None:
            text = _("It could not be counted: {reason}", reason=keeper.count_error)
            colour = severity_colour("stop", palette)
            palette.setColor(QPalette.ColorRole.WindowText, colour)
        elif keeper.counted_at is not None:
            text = _("Counted {when}", when=when_text(keeper.counted_at.isoformat()))
        else:
            text = ""
        self.as_of.setPalette(palette)
        self.as_of.setText(text)
        counted = keeper.counted
        self.total.setText(counted.total if counted is not None else "")
        self.not_compared.setText(counted.not_compared if counted is not None else "")
        self.not_compared.setVisible(bool(self.not_compared.text()))
        if not keeper.is_counting or counted is None:
            self._fill_counts()

    def _fill_counts(self) -> None:
        self.counts.clear()
        counted = self._keeper.counted
        for told in counted.told if counted is not None else ():
            head = QTreeWidgetItem((told.head,))
            font = head.font(0)
            font.setBold(True)
            head.setFont(0, font)
            head.addChildren([QTreeWidgetItem(row) for row in told.rows])
            self.counts.addTopLevelItem(head)
            head.setFirstColumnSpanned(True)
            head.setExpanded(len(told.rows) <= _MOST_ROWS)  # ten years are 120 months

    def _copy_counts(self) -> None:
        counted = self._keeper.counted
        if counted is None:
            return
        lines = [counted.total]
        for told in counted.told:
            lines += ["", told.head, *(f"{name}\t{text}" for name, text in told.rows)]
        if counted.not_compared:
            lines += ["", counted.not_compared]
        QGuiApplication.clipboard().setText("\n".join(lines) + "\n")
        self.said.emit(_("It is on the clipboard."))

    def count_again(self) -> None:
        """Look at all of it again."""
        self._ask()
        self._keeper.count()

    def begin(self) -> None:
        """Ask what nobody has asked yet, if somebody sees it."""
        if not self.isVisible():
            return
        if self._is_to_ask:
            self._ask()
        self._count_if_new()

    def _count_if_new(self) -> None:
        # A new archive is made with the first question; before that there is nothing to count.
        if self.isVisible() and not self._is_asking and self._keeper.is_to_count:
            self._keeper.count()

    # Qt overrides

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.begin()
