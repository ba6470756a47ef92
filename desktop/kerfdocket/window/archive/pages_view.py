"""Pages in a list, and beside it the picture of the one that is chosen."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListWidget,
    QListWidgetItem,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _
from kerfdocket.window.archive.asking import Asker
from kerfdocket.window.archive.looking import picture_of
from kerfdocket.window.archive.picture_view import PictureView
from kerfdocket.window.archive_desk import ArchiveDesk

if TYPE_CHECKING:
    from kerfdocket.archive import PageOfTraveller

__all__ = ["PagesView"]

_KEPT = 4  # pictures that are kept: to and fro between two sides takes no time


class PagesView(QWidget):
    """Shows pages of the archive; fetches each picture when its page is chosen.

    Signals:
        chosen: the page that is chosen now, or None.
        bug: an exception that is a fault of the program.
    """

    chosen = Signal(object)
    bug = Signal(object)

    def __init__(
        self,
        desk: ArchiveDesk,
        name: str,
        nothing: str,
        orientation: Qt.Orientation = Qt.Orientation.Horizontal,
    ) -> None:
        """Ask `desk`; `name` is what the list is called, `nothing` what an empty one says."""
        super().__init__()
        self._desk = Asker(desk, self)
        self._nothing = nothing
        self._pages: tuple[PageOfTraveller, ...] = ()
        self._pictures: dict[tuple[str, int], QImage] = {}
        self.list = QListWidget()
        self.list.setAccessibleName(name)
        self.list.setWordWrap(True)
        self.list.setAlternatingRowColors(True)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.currentRowChanged.connect(self._on_row_changed)
        self.picture = PictureView()
        self.split = QSplitter(orientation)
        self.split.addWidget(self.list)
        self.split.addWidget(self.picture)
        self.split.setChildrenCollapsible(False)
        shares = (1, 3) if orientation == Qt.Orientation.Horizontal else (1, 5)
        for number, share in enumerate(shares):
            self.split.setStretchFactor(number, share)
        if orientation == Qt.Orientation.Vertical:
            self.list.setMaximumHeight(self.fontMetrics().lineSpacing() * 5)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self.split)
        self.picture.say(nothing)

    @property
    def pages(self) -> "tuple[PageOfTraveller, ...]":
        """What is shown."""
        return self._pages

    @property
    def page(self) -> "PageOfTraveller | None":
        """The page that is chosen."""
        row = self.list.currentRow()
        return self._pages[row] if 0 <= row < len(self._pages) else None

    def show_pages(
        self,
        pages: "Sequence[PageOfTraveller]",
        text: "Callable[[PageOfTraveller], str]",
        at: int = 0,
    ) -> None:
        """Show pages, each as `text` calls it; the chosen one stays chosen, else the one `at`."""
        before = self.page
        if tuple(pages) == self._pages and self.list.count():
            return
        self._pages = tuple(pages)
        self.list.blockSignals(True)
        self.list.clear()
        for page in self._pages:
            item = QListWidgetItem(text(page))
            item.setToolTip(text(page))
            self.list.addItem(item)
        self.list.blockSignals(False)
        row = self._pages.index(before) if before in self._pages else min(at, len(pages) - 1)
        self.list.setCurrentRow(row)
        if row < 0:
            self._on_row_changed(row)

    def _on_row_changed(self, _row: int) -> None:
        page = self.page
        if page is None:
            self.picture.say(self._nothing)
        else:
            self._fetch(page)
        self.chosen.emit(page)

    def _fetch(self, page: "PageOfTraveller") -> None:
        key = page.file, page.page
        if (known := self._pictures.get(key)) is not None:
            self.picture.show_image(known)
            return
        self.picture.say(_("Fetching the picture …"))
        self._desk.ask(
            lambda archive: picture_of(archive, *key),
            lambda image: self._on_fetched(key, image),
            lambda error: self._on_failed(key, error),
        )

    def _is_wanted(self, key: tuple[str, int]) -> bool:
        page = self.page
        return page is not None and (page.file, page.page) == key

    def _on_fetched(self, key: tuple[str, int], image: QImage) -> None:
        self._pictures[key] = image
        while len(self._pictures) > _KEPT:
            del self._pictures[next(iter(self._pictures))]
        if self._is_wanted(key):
            self.picture.show_image(image)

    def _on_failed(self, key: tuple[str, int], error: BaseException) -> None:
        if not isinstance(error, KerfdocketError):
            self.bug.emit(error)
        if self._is_wanted(key):
            self.picture.say(str(error))
