"""The archive's window: travellers, tray, taking scans, keeping; which archive it is, who asks."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDragMoveEvent,
    QDropEvent,
    QKeySequence,
    QPalette,
    QShortcut,
)
from PySide6.QtWidgets import (
    QDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMainWindow,
    QPushButton,
    QStackedWidget,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _
from kerfdocket.window.archive.actuals_dialog import ActualsDialog
from kerfdocket.window.archive.dropping import dropped_scans, let_drops_through
from kerfdocket.window.archive.keeping_page import KeepingPage
from kerfdocket.window.archive.taking_page import TakingPage
from kerfdocket.window.archive.travellers_page import TravellersPage
from kerfdocket.window.archive.tray_page import TrayPage
from kerfdocket.window.looks import ElidedLabel, em, heading_font, severity_colour, wrapped

if TYPE_CHECKING:
    from kerfdocket.window.archive.side import ArchiveSide

__all__ = ["ArchiveWindow"]


class ArchiveWindow(QMainWindow):
    """Shows one archive.

    Signals:
        job_wanted: a `JobOfSheet` that is to be put into the form.
    """

    job_wanted = Signal(object)

    def __init__(self, side: "ArchiveSide") -> None:
        super().__init__()
        self._side = side
        self._is_over = False
        self.setAcceptDrops(True)
        self._build()
        for keys, slot in (
            (QKeySequence.StandardKey.Refresh, self._refresh),
            (QKeySequence.StandardKey.Find, self._find),
            (QKeySequence.StandardKey.Close, self.close),
        ):
            QShortcut(QKeySequence(keys), self).activated.connect(slot)
        side.desk.changed.connect(self._on_changed)
        side.moved.connect(self._on_moved)
        side.warned.connect(self._show_warnings)
        side.verified.connect(self._show_verifying)
        side.said.connect(self._say)
        self.travellers.go_to_search()
        self.look_again()

    # Building

    def _build(self) -> None:
        self.setWindowTitle(_("Archive – Kerfdocket"))
        side = self._side
        self.travellers = TravellersPage(side)
        self.travellers.failed.connect(self._on_failed)
        self.travellers.said.connect(self._say)
        self.travellers.job_wanted.connect(self.job_wanted)
        self.travellers.model.counted.connect(self._on_opened)
        self.tray = TrayPage(side)
        self.tray.failed.connect(self._on_failed)
        self.tray.said.connect(self._say)
        self.tray.counted.connect(self._show_tray_count)
        self.taking = TakingPage(side)
        self.taking.traveller_wanted.connect(self.show_traveller)
        self.keeping = KeepingPage(side)
        self.keeping.said.connect(self._say)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(self.travellers, _("&Travellers"))
        self.tabs.addTab(self.tray, "")
        self.tabs.addTab(self.taking, _("Ta&king scans"))
        self.tabs.addTab(self.keeping, _("Keepin&g"))
        self._show_tray_count(0)
        self._pile = QStackedWidget()
        self._pile.addWidget(self.tabs)
        self._pile.addWidget(self._trouble_page())
        whole = QWidget()
        box = QVBoxLayout(whole)
        box.setContentsMargins(6, 6, 6, 0)
        box.setSpacing(4)
        box.addLayout(self._head())
        box.addWidget(self._warning_strip())
        box.addWidget(self._pile, 1)
        self.setCentralWidget(whole)
        let_drops_through(whole)
        self._show_warnings()
        self._show_verifying()

    def _head(self) -> QHBoxLayout:
        self.place = ElidedLabel(_("Opening the archive …"))
        self.place.setAccessibleName(_("Which archive this is"))
        self.other_button = QPushButton(_("&Use another archive…"))
        self.other_button.clicked.connect(self.use_another)
        self.verify_button = QPushButton(_("&Verify…"))
        self.verify_button.setToolTip(_("Prove that nothing was altered or lost"))
        self.verify_button.clicked.connect(self._on_verify)
        # Where the archive is, is known when its library is loaded: with the first answer.
        self.other_button.setEnabled(False)
        self.verify_button.setEnabled(False)
        self.who = QLineEdit(self._side.who)
        self.who.setAccessibleName(_("Your name"))
        self.who.setToolTip(_("Stands beside what you do in the archive"))
        self.who.setFixedWidth(em(self, 22))
        self.who.editingFinished.connect(self._on_who)
        label = QLabel(_("Your na&me"))
        label.setBuddy(self.who)
        row = QHBoxLayout()
        row.addWidget(self.place, 1)
        row.addWidget(self.other_button)
        row.addWidget(self.verify_button)
        row.addSpacing(12)
        row.addWidget(label)
        row.addWidget(self.who)
        return row

    def _warning_strip(self) -> QWidget:
        self.warning = wrapped()
        self.warning.setFont(heading_font(self.warning, 1.0))
        self.warning.setAccessibleName(_("Look into this"))
        self.seen_button = QPushButton(_("I have seen &it"))
        self.seen_button.clicked.connect(self._on_seen)
        self._strip = QFrame()
        self._strip.setFrameShape(QFrame.Shape.Box)
        self._strip.setLineWidth(2)
        row = QHBoxLayout(self._strip)
        row.addWidget(self.warning, 1)
        row.addWidget(self.seen_button, 0, Qt.AlignmentFlag.AlignTop)
        return self._strip

    def _trouble_page(self) -> QWidget:
        self.trouble = wrapped()
        self.trouble.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.trouble.setAccessibleName(_("Why the archive cannot be shown"))
        self.again_button = QPushButton(_("Try &again"))
        self.again_button.clicked.connect(self._try_again)
        other = QPushButton(_("&Use another archive…"))
        other.clicked.connect(self.use_another)
        other.setEnabled(not self._side.is_place_given)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.again_button)
        row.addWidget(other)
        row.addStretch(1)
        page = QWidget()
        box = QVBoxLayout(page)
        box.addStretch(1)
        box.addWidget(self.trouble)
        box.addLayout(row)
        box.addStretch(2)
        return page

    def say_anew(self) -> None:
        """Say everything in the language that is spoken now; search and choice stay."""
        travellers, tray, keeping = self.travellers, self.tray, self.keeping
        tab = self.tabs.currentIndex()
        # A dialog stays as it is until it is closed: what is typed in it must not be lost.
        self.taking.disconnect_intake()
        keeping.disconnect_keeper()
        before = self.takeCentralWidget()
        assert before is not None
        self._build()
        self.tabs.setCurrentIndex(tab)
        self.travellers.take_over(travellers)
        self.tray.take_over(tray)
        self.keeping.take_over(keeping)
        self.tray.look_again()
        before.setParent(None)
        before.deleteLater()
        self.statusBar().clearMessage()

    # Which archive

    @property
    def is_shown(self) -> bool:
        """True if the archive is shown, False if a message is in its place."""
        return self._pile.currentIndex() == 0

    def look_again(self) -> None:
        """Look at all of it again."""
        self.travellers.look_again()
        self.tray.look_again()

    def _refresh(self) -> None:
        self.look_again()
        if self.keeping.isVisible():
            self.keeping.count_again()

    def _try_again(self) -> None:
        self.trouble.setText(_("Opening the archive …"))
        self.look_again()

    def _show_place(self) -> None:
        from kerfdocket.archive.engine import shown_place

        given = self._side.is_place_given
        place = shown_place(self._side.place())
        text = _("Archive: {place}", place=place)
        if given:
            text = _("Archive: {place}, as KERFDOCKET_ARCHIVE says", place=place)
        self.place.setText(text)
        self.other_button.setEnabled(not given)
        self.verify_button.setEnabled(True)
        if given:
            self.other_button.setToolTip(
                _("The surroundings say which archive, by KERFDOCKET_ARCHIVE")
            )

    def _on_opened(self) -> None:
        self._show_place()
        self._pile.setCurrentIndex(0)

    def _on_failed(self, error: Exception) -> None:
        if not isinstance(error, KerfdocketError):
            self._side.bug.emit(error)
        self._show_place()
        self.trouble.setText(str(error))
        self._pile.setCurrentIndex(1)

    def use_another(self) -> None:
        """Ask which archive, and show that."""
        place = self._side.messages.ask_archive(self._side.place())
        if not place:
            return
        try:
            self._side.use_archive(place)
        except KerfdocketError as error:
            self._side.report(_("The archive cannot be remembered."), error)
            return
        # It would be withdrawn, say, in the other one, under the same number.
        self.travellers.forget()

    def _on_moved(self) -> None:
        self.who.setText(self._side.who)
        self.keeping.begin()

    def _on_changed(self) -> None:
        if not self._is_over:
            self.look_again()

    # Who

    def _on_who(self) -> None:
        who = self.who.text().strip()
        if who == self._side.who:
            return
        try:
            self._side.set_who(who)
        except KerfdocketError as error:
            self._side.report(_("Your name cannot be remembered."), error)
        self.who.setText(self._side.who)

    # What is to be seen

    def _say(self, text: str) -> None:
        self.statusBar().showMessage(text)

    def _show_tray_count(self, count: int) -> None:
        self.tabs.setTabText(1, _("T&ray ({count})", count=count))

    def _show_warnings(self) -> None:
        warnings = self._side.warnings
        self.warning.setText("\n".join(warnings))
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.WindowText, severity_colour("stop", palette))
        self.warning.setPalette(palette)
        self._strip.setVisible(bool(warnings))

    def _on_seen(self) -> None:
        self._side.warnings_seen()

    def show_traveller(self, number: str, revision: str) -> None:
        """Show a traveller."""
        self.tabs.setCurrentWidget(self.travellers)
        self.travellers.choose(number, revision)

    def _find(self) -> None:
        self.tabs.setCurrentWidget(self.travellers)
        self.travellers.go_to_search()

    # Verifying

    def _on_verify(self) -> None:
        if self._side.is_verifying:
            self._side.stop_verifying()
        else:
            self._side.verify()

    def _show_verifying(self) -> None:
        if self._side.is_verifying:
            self.verify_button.setText(_("Stop &verifying"))
            self._say(_("Going over the whole archive …"))
        else:
            self.verify_button.setText(_("&Verify…"))
            self.statusBar().clearMessage()

    # Widths

    def set_widths(self, widths: str) -> None:
        """Give the list's columns the widths that were remembered."""
        self.travellers.set_widths(widths)

    # Scans

    def take(self, paths: Sequence[Path]) -> None:
        """Take scans, and show what becomes of them."""
        self.tabs.setCurrentWidget(self.taking)
        self._side.take(paths)

    # The end

    def may_leave(self) -> bool:
        """Ask about values that are typed and not saved; False if they must stay."""
        open_ones = [one for one in self.findChildren(ActualsDialog) if one.isVisible()]
        if any(one.changed for one in open_ones):
            return self._side.messages.ask_drop_values()
        return True

    def end(self) -> None:
        """Close for good."""
        self._is_over = True
        self._side.remember_widths(self.travellers.widths)
        self.taking.disconnect_intake()
        self.keeping.disconnect_keeper()
        for dialog in self.findChildren(QDialog):
            dialog.done(0)
        self.hide()

    # Qt overrides

    def sizeHint(self) -> QSize:
        screen = self.screen().availableSize()
        return QSize(min(1500, screen.width() - 40), min(900, screen.height() - 60))

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if dropped_scans(event.mimeData()):
            event.acceptProposedAction()

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        if dropped_scans(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        if paths := dropped_scans(event.mimeData()):
            event.setDropAction(Qt.DropAction.CopyAction)
            event.accept()
            self.take(paths)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        # The name may have been given elsewhere meanwhile.
        if event.type() == QEvent.Type.ActivationChange and not self.who.hasFocus():
            self.who.setText(self._side.who)

    def closeEvent(self, event: QCloseEvent) -> None:
        # It stays: the next time it is opened as it was left.
        self._side.remember_widths(self.travellers.widths)
        super().closeEvent(event)
