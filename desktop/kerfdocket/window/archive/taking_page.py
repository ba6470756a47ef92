"""Taking scans: what became of each page, how far it is, and the scanner's folder."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QVBoxLayout, QWidget

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _, counted
from kerfdocket.window.archive.intake import Outcome
from kerfdocket.window.archive.rows import RowsModel, RowsView
from kerfdocket.window.archive.sayings import outcome_rows
from kerfdocket.window.looks import ElidedLabel, severity_colour, wrapped

if TYPE_CHECKING:
    from kerfdocket.window.archive.side import ArchiveSide

__all__ = ["TakingPage"]


class TakingPage(QWidget):
    """Shows what the intake does.

    Signals:
        traveller_wanted: number and revision of one that is to be shown.
    """

    traveller_wanted = Signal(str, str)

    def __init__(self, side: "ArchiveSide", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side = side
        self._intake = side.intake
        self.take_button = QPushButton(_("&Take scans…"))
        self.take_button.clicked.connect(self.choose_scans)
        hint = wrapped(_("Or drop files or folders anywhere on this window: PDF, PNG, JPEG, TIFF."))
        self.progress = QProgressBar()
        self.progress.setAccessibleName(_("How many files are taken"))
        self.progress.setFormat(_("{done} of {all}", done="%v", all="%m"))
        self.doing = ElidedLabel()
        self.stop_button = QPushButton(_("&Stop"))
        self.stop_button.setToolTip(
            _("Take none of the files that wait; nothing is kept of the one that is being read")
        )
        self.stop_button.clicked.connect(self._intake.stop)
        first = QHBoxLayout()
        first.addWidget(self.take_button)
        first.addWidget(hint, 1)
        self._second = QWidget()
        second = QHBoxLayout(self._second)
        second.setContentsMargins(0, 0, 0, 0)
        second.addWidget(self.progress, 1)
        second.addWidget(self.doing, 2)
        second.addWidget(self.stop_button)
        self.model = RowsModel(
            (_("When"), _("File"), _("Page"), _("What became of it"), _("More")), 3
        )
        self.view = RowsView(self.model, _("What became of each page that was taken"))
        self.view.share_widths(19, 34, 7, 30)
        self.view.activated.connect(self._on_activated)
        self.nothing = wrapped(
            _("Nothing was taken since the program started. What is taken is listed here.")
        )
        self.folder = wrapped()
        self.folder.setAccessibleName(_("The scanner’s folder"))
        self.folder_button = QPushButton(_("Scanner’s &folder…"))
        self.folder_button.clicked.connect(self.choose_folder)
        self.no_folder_button = QPushButton(_("Watch &none"))
        self.no_folder_button.clicked.connect(lambda: self.watch(None))
        third = QHBoxLayout()
        third.addWidget(self.folder, 1)
        third.addWidget(self.folder_button)
        third.addWidget(self.no_folder_button)
        box = QVBoxLayout(self)
        box.addLayout(first)
        box.addWidget(self._second)
        box.addWidget(self.nothing)
        box.addWidget(self.view, 1)
        box.addLayout(third)
        for outcome in self._intake.outcomes:
            self.model.add_rows(outcome_rows(outcome))
        self._intake.came.connect(self._on_came)
        self._intake.progressed.connect(self.show_progress)
        self._intake.troubled.connect(self.show_progress)
        self.show_progress()
        self._show_nothing()

    def show_progress(self) -> None:
        """Say how far it is, and how it stands with the scanner's folder."""
        intake = self._intake
        self._second.setVisible(intake.is_busy)
        if intake.current is not None:
            count = intake.done + 1 + intake.left
            self.progress.setRange(0, count)
            self.progress.setValue(intake.done)
            if intake.pages_read:
                text = counted(
                    "Reading {file}: {count} page so far",
                    "Reading {file}: {count} pages so far",
                    intake.pages_read,
                    file=intake.current.name,
                )
            else:
                text = _("Reading {file} …", file=intake.current.name)
            self.doing.setText(text)
        palette = QPalette(self.palette())
        if intake.folder is None:
            text = _("No folder is watched: a scanner’s files are taken by hand.")
        elif intake.trouble:
            text = _(
                "The scanner’s folder {folder} cannot be looked into: {reason}. It is tried again "
                "every 5 seconds.",
                folder=intake.folder,
                reason=intake.trouble,
            )
            colour = severity_colour("stop", palette)
            palette.setColor(QPalette.ColorRole.WindowText, colour)
        else:
            text = _(
                "The scanner’s folder {folder} is looked into every 5 seconds.",
                folder=intake.folder,
            )
        self.folder.setText(text)
        self.folder.setPalette(palette)
        self.no_folder_button.setEnabled(intake.folder is not None)

    def _show_nothing(self) -> None:
        self.nothing.setVisible(not self.model.rows)

    def _on_came(self, outcome: Outcome) -> None:
        self.model.add_rows(outcome_rows(outcome))
        self._show_nothing()
        self.view.scrollToBottom()

    def _on_activated(self) -> None:
        if (key := self.view.current_key) is not None:
            self.traveller_wanted.emit(*key)

    def choose_scans(self) -> None:
        """Ask which files to take, and take them."""
        self._side.take(self._side.messages.ask_scans(Path.home()))

    def choose_folder(self) -> None:
        """Ask which folder the scanner writes to, and watch it."""
        folder = self._side.messages.ask_scanner_folder(self._intake.folder or Path.home())
        if folder is not None and self._side.who_or_ask():
            self.watch(folder)

    def watch(self, folder: Path | None) -> None:
        """Watch a folder, or none."""
        try:
            self._side.watch(folder)
        except KerfdocketError as error:
            self._side.report(_("The scanner’s folder cannot be remembered."), error)

    def disconnect_intake(self) -> None:
        """Follow the intake no longer."""
        self._intake.came.disconnect(self._on_came)
        self._intake.progressed.disconnect(self.show_progress)
        self._intake.troubled.disconnect(self.show_progress)
