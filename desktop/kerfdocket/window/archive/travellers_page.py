"""The travellers: what is looked for, what was found, and one of them beside it."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QItemSelectionModel, QModelIndex, Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QSplitter,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.errors import InputError, KerfdocketError
from kerfdocket.language import _
from kerfdocket.window.archive.asking import Asker
from kerfdocket.window.archive.detail import Detail
from kerfdocket.window.archive.filter_bar import FilterBar, Sought
from kerfdocket.window.archive.looking import JobOfSheet
from kerfdocket.window.archive.sayings import BANNER_WORDS, count_text, full_name, page_text
from kerfdocket.window.archive.travellers_model import TravellersModel
from kerfdocket.window.looks import em

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Traveller
    from kerfdocket.window.archive.looking import Record
    from kerfdocket.window.archive.side import ArchiveSide

__all__ = ["TravellersPage"]

_LOOK_UP_MS = 80  # a person who holds an arrow key passes by what is not looked up
_WIDTHS = (14, 5, 20, 24, 18, 12, 10, 14, 11, 14, 12, 12)  # of the columns, in letters


class TravellersPage(QWidget):
    """Finds travellers and shows one.

    Signals:
        failed: an exception that keeps the archive from being shown.
        said: a sentence for the status bar.
        job_wanted: a `JobOfSheet` that is to be put into the form.
    """

    failed = Signal(object)
    said = Signal(str)
    job_wanted = Signal(object)

    def __init__(self, side: "ArchiveSide", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side = side
        self._desk = Asker(side.desk, self)
        self._key: tuple[str, str] | None = None
        self._row_id = -1
        self._is_looking_up = False
        self._is_stale = False
        self.filter = FilterBar(side.debounce_ms)
        self.filter.changed.connect(self._on_sought)
        self.filter.left_down.connect(self._go_to_list)
        self.model = TravellersModel(side.desk, self)
        self.model.counted.connect(self._on_counted)
        self.model.failed.connect(self._on_failed)
        self.view = QTableView()
        self.view.setModel(self.model)
        self.view.setAccessibleName(_("Travellers that were found, the newest first"))
        self.view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.view.setTabKeyNavigation(False)
        self.view.setAlternatingRowColors(True)
        self.view.setShowGrid(False)
        self.view.setWordWrap(False)
        rows = self.view.verticalHeader()
        rows.hide()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setDefaultSectionSize(round(self.fontMetrics().lineSpacing() * 1.5))
        columns = self.view.horizontalHeader()
        columns.setHighlightSections(False)
        columns.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for column, width in enumerate(_WIDTHS):
            self.view.setColumnWidth(column, max(em(self, width), columns.sectionSizeHint(column)))
        self.view.selectionModel().currentRowChanged.connect(self._on_current_changed)
        self.count = QLabel(_("Opening the archive …"))
        self.count.setTextFormat(Qt.TextFormat.PlainText)
        self.count.setAccessibleName(_("How many were found"))
        self.detail = Detail(side.desk)
        self.detail.deed.connect(self._on_deed)
        self.detail.revision_wanted.connect(self._on_revision_wanted)
        self.detail.bug.connect(side.bug)
        left = QWidget()
        box = QVBoxLayout(left)
        box.setContentsMargins(0, 0, 4, 0)
        box.addWidget(self.filter)
        box.addWidget(self.view, 1)
        box.addWidget(self.count)
        self.split = QSplitter(Qt.Orientation.Horizontal)
        self.split.addWidget(left)
        self.split.addWidget(self.detail)
        self.split.setChildrenCollapsible(False)
        self.split.setStretchFactor(0, 2)
        self.split.setStretchFactor(1, 3)
        self.split.setSizes([em(self, 62), em(self, 100)])
        whole = QVBoxLayout(self)
        whole.addWidget(self.split)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(min(_LOOK_UP_MS, side.debounce_ms))
        self._timer.timeout.connect(self._look_up)

    @property
    def key(self) -> tuple[str, str] | None:
        """Number and revision of the traveller that is shown."""
        return self._key

    # The list

    def look_again(self) -> None:
        """Look for the same again, and at the same traveller."""
        self.model.look_again()
        if self._key is not None:
            self._look_up()

    def forget(self) -> None:
        """Show no traveller until the archive has answered: it is another one."""
        self.detail.say(_("Opening the archive …"))

    def choose(self, number: str, revision: str) -> None:
        """Show a traveller, whether or not the list has it."""
        self._key = (number, revision)
        self._row_id = -1
        self.view.clearSelection()
        self._look_up()

    def take_over(self, before: "TravellersPage") -> None:
        """Look for the same and show the same as another page."""
        self.filter.take_over(before.filter)
        self.set_widths(before.widths)
        self.split.setSizes(before.split.sizes())
        self.detail.tabs.setCurrentIndex(before.detail.tabs.currentIndex())
        self._key, self._row_id = before.key, before._row_id
        self.model.look_for(self.filter.sought)
        if self._key is not None:
            self._look_up()

    @property
    def widths(self) -> str:
        """Widths of the columns, to be remembered."""
        return " ".join(str(self.view.columnWidth(at)) for at in range(self.model.columnCount()))

    def set_widths(self, text: str) -> None:
        """Give the columns the widths that were remembered; what does not fit is passed over."""
        widths = text.split()
        if len(widths) == self.model.columnCount() and all(one.isdigit() for one in widths):
            for column, width in enumerate(widths):
                self.view.setColumnWidth(column, min(max(int(width), 20), 2000))

    def _on_sought(self, sought: Sought) -> None:
        self.count.setText(_("Looking …"))
        self.view.scrollToTop()
        self.model.look_for(sought)

    def _on_counted(self, count: int) -> None:
        from kerfdocket.archive import STATES

        self.filter.know_states(STATES)
        self.count.setText(count_text(count, is_all=self.model.sought.is_all))

        self._mark()

    def _on_failed(self, error: BaseException) -> None:
        if isinstance(error, InputError):
            # What is looked for cannot be looked for; the archive is in order.
            self.count.setText(str(error))
        else:
            self.failed.emit(error)

    def _mark(self) -> None:
        """Let the list point to what is shown, where it has it."""
        row = self.model.row_of(self._row_id)
        if row is None or row == self.view.currentIndex().row():
            return
        selection = self.view.selectionModel()
        selection.blockSignals(True)
        selection.setCurrentIndex(
            self.model.index(row, 0),
            QItemSelectionModel.SelectionFlag.ClearAndSelect
            | QItemSelectionModel.SelectionFlag.Rows,
        )
        selection.blockSignals(False)
        self.view.viewport().update()

    def _go_to_list(self) -> None:
        self.view.setFocus()
        if not self.view.currentIndex().isValid() and self.model.rowCount():
            self.view.setCurrentIndex(self.model.index(0, 0))

    def _on_current_changed(self, index: QModelIndex) -> None:
        one = self.model.traveller(index.row()) if index.isValid() else None
        if one is None:
            return
        self._key, self._row_id = (one.number, one.revision), one.id
        self._timer.start()

    # One of them

    def _look_up(self) -> None:
        self._timer.stop()
        if self._key is None:
            return
        if self._is_looking_up:
            self._is_stale = True
            return
        self._is_looking_up = True
        key = self._key
        self._desk.ask(
            lambda archive: self._side.looker.look_up(archive, *key),
            self._on_looked_up,
            self._on_look_up_failed,
        )

    def _on_looked_up(self, record: "Record") -> None:
        self._is_looking_up = False
        if self._is_stale:
            self._is_stale = False
            self._look_up()
            return
        self.detail.show_record(record)

    def _on_look_up_failed(self, error: BaseException) -> None:
        self._is_looking_up = self._is_stale = False
        self.detail.say(str(error))
        if not isinstance(error, KerfdocketError):
            self._side.bug.emit(error)

    def _on_revision_wanted(self, revision: str) -> None:
        if self._key is not None:
            self.choose(self._key[0], revision)

    # What is done with it

    def _on_deed(self, deed: str) -> None:
        record = self.detail.record
        if record is None:
            return
        if deed == "enter":
            self._enter(record)
        elif deed == "print":
            self._print(record)
        elif deed == "export":
            self._export(record)
        elif deed == "open":
            self._open(record)
        elif deed == "put back":
            self._put_back()
        else:
            self._move(record, deed)

    def _move(self, record: "Record", state: str) -> None:
        one = record.traveller
        messages = self._side.messages
        reason = ""
        if state == "withdrawn":
            given = messages.ask_withdraw_reason(full_name(one))
            if not given:
                return
            reason = given
        if state == "closed":
            is_bare = not record.texts and all(
                page.revision != one.revision for page in record.pages
            )
            if not messages.ask_close(full_name(one), is_bare):
                return

        def call(archive: "Archive", who: str) -> object:
            return archive.move(one.number, state, who, reason, one.revision)  # type: ignore[arg-type]

        def done(_moved: object) -> None:
            self.said.emit(_("{name} is {state} now.", name=full_name(one), state=_(state)))

        self._side.ask_change(self, call, done, _("{name} stays as it was.", name=full_name(one)))

    def _put_back(self) -> None:
        page = self.detail.pages.page
        if page is None:
            return
        reason = self._side.messages.ask_put_back_reason(page_text(page))
        if not reason:
            return

        def call(archive: "Archive", who: str) -> object:
            from kerfdocket.archive import put_page_back

            return put_page_back(
                archive, page.file, page.page, page.number, page.revision, who, reason
            )

        self._side.ask_change(
            self,
            call,
            lambda _page: self.said.emit(_("The page is in the tray again.")),
            _("The page stays where it is."),
        )

    def _enter(self, record: "Record") -> None:
        from kerfdocket.window.archive.actuals_dialog import ActualsDialog

        dialog = ActualsDialog(self._side, record, self.window())
        dialog.said.connect(self.said)
        dialog.finished.connect(dialog.deleteLater)  # its pictures are large
        dialog.open()

    def _open(self, record: "Record") -> None:
        one = record.traveller
        self._side.ask_deed(
            self,
            lambda archive: JobOfSheet(
                one, archive.content(one.job).decode(), archive.content(one.pdf)
            ),
            self.job_wanted.emit,
            _("The job of {name} cannot be opened.", name=full_name(one)),
        )

    def _print(self, record: "Record") -> None:
        one = record.traveller
        doing = _("{name} cannot be printed.", name=full_name(one))

        def done(pdf: bytes) -> None:
            from kerfdocket.window.printing import ask_printer, page_count, print_pdf

            printer = ask_printer(page_count(pdf), self.window())
            if printer is None:
                return
            try:
                print_pdf(pdf, printer)
            except KerfdocketError as error:
                self._side.messages.tell(doing, error)
                return
            self.said.emit(_("{name} went to the printer.", name=full_name(one)))

        self._side.ask_deed(self, lambda archive: _sheet_to_cut_by(archive, one), done, doing)

    def _export(self, record: "Record") -> None:
        one = record.traveller
        # Evidence may be wanted of what is void, too: its file says what it is.
        word = f" {_(one.state)}" if one.state in BANNER_WORDS else ""
        name = "".join(
            letter if letter.isalnum() or letter in "-_." else "-"
            for letter in full_name(one) + word
        )
        path = self._side.messages.ask_export_path(Path.cwd() / f"{name}.pdf")
        if path is None:
            return

        def call(archive: "Archive") -> None:
            from kerfdocket.storage import write_atomically

            write_atomically(path, archive.content(one.pdf))

        self._side.ask_deed(
            self,
            call,
            lambda _nothing: self.said.emit(_("Exported {path}", path=path)),
            _("{name} cannot be exported.", name=full_name(one)),
        )

    def go_to_search(self) -> None:
        """Put the cursor where one types what is looked for."""
        self.filter.text.setFocus()
        self.filter.text.selectAll()

    def visible_rows(self) -> tuple[int, int]:
        """Return the first and the last row in sight."""
        room = self.view.viewport().rect()
        first = self.view.rowAt(0)
        last = self.view.rowAt(room.height() - 1)
        return first, last if last >= 0 else self.model.rowCount() - 1


def _sheet_to_cut_by(archive: "Archive", one: "Traveller") -> bytes:
    """Return the sheet of a traveller that may be cut by, as the archive knows it now.

    Raises:
        InputError: it is superseded or withdrawn.
        ArchiveProblem: it cannot be read.
    """
    # Somebody else may have changed it since it was shown.
    known = archive.revisions(one.number)
    state = next((it.state for it in known if it.revision == one.revision), one.state)
    if state in BANNER_WORDS:
        raise InputError(
            _(
                "It is {state}: nothing may be cut by it. Where it is wanted to show what was "
                "issued, it can be exported.",
                state=_(state),
            )
        )
    return archive.content(one.pdf)
