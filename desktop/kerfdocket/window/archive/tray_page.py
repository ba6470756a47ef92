"""The tray: pages that found no traveller by their code, to be put to one by a person."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QStringListModel, Qt, QTimer, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QComboBox,
    QCompleter,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _
from kerfdocket.window.archive.asking import Asker
from kerfdocket.window.archive.looking import numbers_like
from kerfdocket.window.archive.pages_view import PagesView
from kerfdocket.window.archive.sayings import page_text, when_text
from kerfdocket.window.looks import em, severity_colour, wrapped

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, PageOfTraveller, TakenPage, Traveller
    from kerfdocket.archive.find import FoundTraveller
    from kerfdocket.window.archive.side import ArchiveSide

__all__ = ["TrayPage"]


class TrayPage(QWidget):
    """Shows the tray and empties it.

    Signals:
        counted: how many pages are in it.
        failed: an exception that keeps the archive from being shown.
        said: a sentence for the status bar.
    """

    counted = Signal(int)
    failed = Signal(object)
    said = Signal(str)

    def __init__(self, side: "ArchiveSide", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side = side
        self._desk = Asker(side.desk, self)
        self._known: tuple[Traveller, ...] = ()
        self._is_asking = self._is_stale = False
        self.pages = PagesView(
            side.desk,
            _("Pages that wait for their traveller"),
            _("The tray is empty: every page that was taken is with its traveller."),
        )
        self.pages.bug.connect(side.bug)
        self.pages.chosen.connect(self._on_chosen)
        self.reason = wrapped()
        self.number = QLineEdit()
        self.number.setAccessibleName(_("Number of the traveller"))
        self.number.setPlaceholderText(_("such as {example}", example="KD-0141"))
        self.number.textChanged.connect(self._on_number_changed)
        self._names = QStringListModel(self)
        completer = QCompleter(self._names, self)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        self.number.setCompleter(completer)
        self.revision = QComboBox()
        self.revision.setAccessibleName(_("Revision"))
        self.revision.currentIndexChanged.connect(self._show_what)
        self.side_box = QComboBox()
        self.side_box.setAccessibleName(_("Side of the sheet"))
        for text, side_code in (
            (_("not known"), ""),
            (_("front"), "F"),
            (_("back"), "B"),
            (_("front and back"), "2"),
        ):
            self.side_box.addItem(text, side_code)
        self.what = wrapped()
        self.what.setAccessibleName(_("What this number is"))
        self.warning = wrapped()
        font = self.warning.font()
        font.setBold(True)
        self.warning.setFont(font)
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.WindowText, severity_colour("stop", palette))
        self.warning.setPalette(palette)
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        form.addRow(_("&Number of the traveller"), self.number)
        form.addRow(_("&Revision"), self.revision)
        form.addRow(_("&Side of the sheet"), self.side_box)
        self.match_button = QPushButton(_("&Put it to this traveller"))
        self.match_button.clicked.connect(self.match)
        self.aside_button = QPushButton(_("Set it &aside…"))
        self.aside_button.setToolTip(_("Say that this page belongs to no traveller"))
        self.aside_button.clicked.connect(self.set_aside)
        column = QVBoxLayout()
        heading = wrapped(_("Why it is here"))
        font = heading.font()
        font.setBold(True)
        heading.setFont(font)
        column.addWidget(heading)
        column.addWidget(self.reason)
        column.addSpacing(8)
        column.addLayout(form)
        column.addWidget(self.what)
        column.addWidget(self.warning)
        column.addWidget(self.match_button)
        column.addSpacing(16)
        column.addWidget(self.aside_button)
        column.addStretch(1)
        self._form = QWidget()
        self._form.setLayout(column)
        self._form.setFixedWidth(max(em(self, 36), self._form.sizeHint().width()))
        row = QHBoxLayout(self)
        row.addWidget(self.pages, 1)
        row.addWidget(self._form)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(side.debounce_ms)
        self._timer.timeout.connect(self._ask)
        self._on_chosen(None)

    @property
    def count(self) -> int:
        """How many pages are in the tray."""
        return len(self.pages.pages)

    def look_again(self) -> None:
        """Look into the tray again."""

        def call(archive: "Archive") -> "tuple[PageOfTraveller, ...]":
            from kerfdocket.archive import tray

            return tray(archive)

        self._desk.ask(call, self._on_tray, self.failed.emit)

    def take_over(self, before: "TrayPage") -> None:
        """Hold what was typed into another one."""
        self.number.setText(before.number.text())
        self.side_box.setCurrentIndex(before.side_box.currentIndex())

    def _on_tray(self, pages: "tuple[PageOfTraveller, ...]") -> None:
        row = max(self.pages.list.currentRow(), 0)
        self.pages.show_pages(pages, self._page_name, row)
        self.counted.emit(len(pages))

    @staticmethod
    def _page_name(page: "PageOfTraveller") -> str:
        return f"{page_text(page)}\n{when_text(page.taken_at)}"

    def _on_chosen(self, page: "PageOfTraveller | None") -> None:
        self.reason.setText(page.reason if page is not None else "")
        self._form.setEnabled(page is not None)
        self._show_what()

    # Which traveller

    def _on_number_changed(self) -> None:
        self._known = ()
        self.revision.clear()
        self._show_what()
        self._timer.start()

    def _ask(self) -> None:
        if self._is_asking:
            self._is_stale = True
            return
        text = self.number.text().strip()
        if not text:
            return
        self._is_asking = True

        def call(
            archive: "Archive",
        ) -> "tuple[tuple[FoundTraveller, ...], tuple[Traveller, ...]]":
            return numbers_like(archive, text), archive.revisions(text)

        self._desk.ask(call, lambda found: self._on_known(text, *found), self._on_not_known)

    def _on_known(
        self,
        text: str,
        like: "tuple[FoundTraveller, ...]",
        known: "tuple[Traveller, ...]",
    ) -> None:
        self._is_asking = False
        if self._is_stale:
            self._is_stale = False
            self._ask()
        self._names.setStringList(list(dict.fromkeys(one.number for one in like)))
        if text != self.number.text().strip():
            return
        self._known = known
        self.revision.blockSignals(True)
        self.revision.clear()
        for one in reversed(known):
            self.revision.addItem(
                _("{revision}, {state}", revision=one.revision, state=_(one.state)), one.revision
            )
        self.revision.blockSignals(False)
        completer = self.number.completer()
        if not known and self.number.hasFocus() and completer is not None:
            completer.complete()
        self._show_what()

    def _on_not_known(self, error: BaseException) -> None:
        self._is_asking = self._is_stale = False
        self.what.setText(str(error))
        if not isinstance(error, KerfdocketError):
            self._side.bug.emit(error)

    @property
    def traveller(self) -> "Traveller | None":
        """The one that is meant, if there is such a one."""
        revision = self.revision.currentData()
        return next((one for one in self._known if one.revision == revision), None)

    def _show_what(self) -> None:
        one = self.traveller
        text = self.number.text().strip()
        warning = ""
        if one is not None:
            # What the warning will be is known before, too.
            from kerfdocket.archive import warning_of

            facts = [one.facts[name] for name in ("title", "customer", "grade", "thickness")]
            self.what.setText(", ".join(fact for fact in facts if fact))
            warning = warning_of(one)
        elif text and not self._timer.isActive() and not self._is_asking:
            self.what.setText(_("No traveller has this number."))
        else:
            self.what.setText("")
        self.warning.setText(warning)
        self.warning.setVisible(bool(warning))
        self.match_button.setEnabled(one is not None and self.pages.page is not None)

    # What becomes of the page

    def match(self) -> None:
        """Put the page to the traveller that is named."""
        page, one = self.pages.page, self.traveller
        if page is None or one is None:
            return
        side_code: str = self.side_box.currentData()

        def call(archive: "Archive", who: str) -> "TakenPage":
            from kerfdocket.archive import match_page

            return match_page(
                archive, page.file, page.page, one.number, one.revision, who, side_code
            )

        self._side.ask_change(self, call, self._on_matched, _("The page stays in the tray."))

    def _on_matched(self, taken: "TakenPage") -> None:
        from kerfdocket.window.archive.sayings import full_name

        assert taken.traveller is not None
        self.side_box.setCurrentIndex(0)
        if taken.warning:
            self._side.warn(taken.warning)
        self.said.emit(_("The page is with {name} now.", name=full_name(taken.traveller)))

    def set_aside(self) -> None:
        """Say that the page belongs to no traveller."""
        page = self.pages.page
        if page is None:
            return
        reason = self._side.messages.ask_aside_reason(page_text(page))
        if not reason:
            return

        def call(archive: "Archive", who: str) -> object:
            from kerfdocket.archive import set_page_aside

            return set_page_aside(archive, page.file, page.page, who, reason)

        self._side.ask_change(
            self,
            call,
            lambda _page: self.said.emit(_("The page is set aside; it is kept.")),
            _("The page stays in the tray."),
        )
