"""The travellers that were found as a table; only those in sight are fetched."""

from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    QTimer,
    Signal,
)
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from kerfdocket.language import _, marked
from kerfdocket.window.archive.asking import Asker
from kerfdocket.window.archive.filter_bar import Sought
from kerfdocket.window.archive.looking import search
from kerfdocket.window.archive.sayings import BANNER_WORDS, day_text, when_text
from kerfdocket.window.archive_desk import ArchiveDesk
from kerfdocket.window.looks import severity_colour

if TYPE_CHECKING:
    from kerfdocket.archive.find import FoundTraveller
    from kerfdocket.archive.paged import PagedRows

__all__ = ["COLUMNS", "PAGE_ROWS", "TravellersModel"]

AnyIndex = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
PAGE_ROWS = 100  # fetched at once: some screens full
_MOST_WAITING = 2  # pages: what was passed by while scrolling is not fetched any more
_STATE = 2
COLUMNS = (
    marked("Traveller"),
    marked("Rev."),
    marked("State"),
    marked("Title"),
    marked("Customer"),
    marked("Steel grade"),
    marked("Thickness"),
    marked("Nozzle"),
    marked("Fuel gas"),
    marked("Cutter"),
    marked("Date"),
    marked("Issued"),
)
_COMING = "…"


class TravellersModel(QAbstractTableModel):
    """Asks for a page of rows when one of them comes into sight; until it is there, it says so.

    Of several searches only the newest is shown.

    Signals:
        counted: how many were found.
        came: rows have come that were asked for.
        failed: an exception.
    """

    counted = Signal(int)
    came = Signal()
    failed = Signal(object)

    def __init__(self, desk: ArchiveDesk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = Asker(desk, self)
        self._sought = Sought()
        self._is_searching = self._is_stale = False
        self._found: PagedRows | None = None
        self._waiting: list[int] = []
        self._fetching: int | None = None
        self.fetched = 0  # pages that were ever asked for

    @property
    def sought(self) -> Sought:
        """What is looked for."""
        return self._sought

    @property
    def is_busy(self) -> bool:
        """True while an answer is awaited."""
        return self._is_searching or self._fetching is not None

    def look_for(self, sought: Sought) -> None:
        """Look for something else."""
        self._sought = sought
        self.look_again()

    def look_again(self) -> None:
        """Look for the same again; what is shown stays until the answer comes."""
        self._waiting.clear()
        if self._is_searching:
            self._is_stale = True
            return
        self._is_searching = True
        self._desk.ask(
            partial(search, sought=self._sought, page_rows=PAGE_ROWS),
            self._on_found,
            self._on_failed,
        )

    def traveller(self, row: int) -> "FoundTraveller | None":
        """Return what stands in a row, if it has come."""
        if self._found is None or not 0 <= row < len(self._found):
            return None
        return self._found.known_row(row)

    def row_of(self, row_id: int) -> int | None:
        """Return where a traveller stands, by the id of its row in the archive."""
        if self._found is None:
            return None
        # The newest first: ids fall.
        low, high = 0, len(self._found)
        while low < high:
            middle = (low + high) // 2
            if self._found.id_at(middle) > row_id:
                low = middle + 1
            else:
                high = middle
        is_there = low < len(self._found) and self._found.id_at(low) == row_id
        return low if is_there else None

    def _on_found(self, found: "PagedRows") -> None:
        self._is_searching = False
        if self._is_stale:
            self._is_stale = False
            self.look_again()
            return
        self.beginResetModel()
        self._found = found
        self.endResetModel()
        self.counted.emit(len(found))

    def _on_failed(self, error: BaseException) -> None:
        self._is_searching = False
        if self._is_stale:
            self._is_stale = False
            self.look_again()
            return
        self.failed.emit(error)

    def _want(self, page: int) -> None:
        if page == self._fetching or self._is_searching:
            return
        if page in self._waiting:
            self._waiting.remove(page)
        self._waiting.append(page)
        del self._waiting[:-_MOST_WAITING]
        # Not at once: a whole screen is painted first, and of its pages the last counts.
        QTimer.singleShot(0, self, self._fetch_next)

    def _fetch_next(self) -> None:
        if self._fetching is not None or not self._waiting or self._found is None:
            return
        page = self._fetching = self._waiting.pop()
        self.fetched += 1
        found = self._found
        if page * PAGE_ROWS >= len(found):
            self._fetching = None
            return
        self._desk.ask(
            lambda _archive: found.fetch(page * PAGE_ROWS),
            lambda _rows: self._on_fetched(found, page),
            self._on_not_fetched,
        )

    def _on_fetched(self, found: "PagedRows", page: int) -> None:
        self._fetching = None
        if found is self._found:
            first = page * PAGE_ROWS
            last = min(first + PAGE_ROWS, len(found)) - 1
            self.dataChanged.emit(self.index(first, 0), self.index(last, len(COLUMNS) - 1))
            self.came.emit()
        self._fetch_next()

    def _on_not_fetched(self, error: BaseException) -> None:
        self._fetching = None
        self._waiting.clear()
        self.failed.emit(error)

    # Qt overrides

    def rowCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() or self._found is None else len(self._found)

    def columnCount(self, parent: AnyIndex = _ROOT) -> int:
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        column = index.column()
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        texts = (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole)
        looks = (Qt.ItemDataRole.ForegroundRole, Qt.ItemDataRole.FontRole)
        if role not in texts and not (role in looks and column == _STATE):
            return None
        one = self.traveller(index.row())
        if one is None:
            if role == Qt.ItemDataRole.DisplayRole:
                self._want(index.row() // PAGE_ROWS)
                return _COMING if column == 0 else ""
            return None
        if role in texts:
            return _cells(one)[column]
        if one.state not in BANNER_WORDS:
            return None
        if role == Qt.ItemDataRole.ForegroundRole:
            return severity_colour("stop", QApplication.palette())
        font = QFont(QApplication.font())
        font.setBold(True)
        return font

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return _(COLUMNS[section])
        return None


def _cells(one: "FoundTraveller") -> tuple[str, ...]:
    return (
        one.number,
        one.revision,
        _(one.state),
        one.title,
        one.customer,
        one.grade,
        one.thickness,
        one.nozzle,
        _(one.gas),
        one.cutter,
        day_text(one.date),
        when_text(one.issued_at, with_time=False),
    )
