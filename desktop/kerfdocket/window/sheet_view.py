"""The sheet beside the form, and what is to be said about it."""

from collections.abc import Callable, Iterator

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QPointF, Qt, Signal
from PySide6.QtPdf import QPdfDocument
from PySide6.QtPdfWidgets import QPdfView
from PySide6.QtWidgets import QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from kerfdocket.language import _

__all__ = ["SheetView"]

_ZOOM_STEP = 1.25
_SMALLEST, _LARGEST = 0.2, 6.0


class SheetView(QWidget):
    """Shows a PDF: fit to the width at first, page by page, larger, smaller.

    Signals:
        shown: a sheet is loaded and shown.
    """

    shown = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.pdf = b""
        self._buffer: QBuffer | None = None
        self.document = QPdfDocument(self)
        self.view = QPdfView(self)
        self.view.setDocument(self.document)
        self.view.setPageMode(QPdfView.PageMode.MultiPage)
        self.view.setZoomMode(QPdfView.ZoomMode.FitToWidth)
        self.view.setAccessibleName(_("The sheet"))
        self.view.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.view.pageNavigator().currentPageChanged.connect(self._on_page_changed)
        # Where to stay while a new sheet is laid out, until the person moves on; None: anywhere.
        self._place: int | None = None
        bar = self.view.verticalScrollBar()
        bar.rangeChanged.connect(self._go_to_place)
        bar.actionTriggered.connect(self._forget_place)
        bar.sliderPressed.connect(self._forget_place)
        self._page = QLabel(_("no page"))
        self._buttons = QHBoxLayout()
        self._stops: list[QWidget] = []
        self._buttons.setSpacing(2)
        self._buttons.addWidget(QLabel(_("Sheet")))
        self._buttons.addStretch(1)
        self._add_button(_("Previous page"), self.previous_page, Qt.ArrowType.LeftArrow)
        self._buttons.addWidget(self._page)
        self._add_button(_("Next page"), self.next_page, Qt.ArrowType.RightArrow)
        self._buttons.addSpacing(12)
        self._add_button(_("Smaller"), self.zoom_out)
        self._add_button(_("Larger"), self.zoom_in)
        self._add_button(_("Width"), self.fit_width, tip=_("Fit the page's width"))
        self._add_button(_("Page"), self.fit_page, tip=_("Fit the whole page"))
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(2)
        box.addLayout(self._buttons)
        box.addWidget(self.view, 1)

    def _add_button(
        self,
        text: str,
        slot: Callable[[], None],
        arrow: Qt.ArrowType = Qt.ArrowType.NoArrow,
        tip: str = "",
    ) -> None:
        button = QToolButton()
        button.setText(text)
        button.setArrowType(arrow)
        button.setAutoRaise(True)
        button.setToolTip(tip or text)
        button.setAccessibleName(tip or text)
        button.clicked.connect(slot)
        self._buttons.addWidget(button)
        self._stops.append(button)

    def tab_stops(self) -> Iterator[QWidget]:
        """Yield what Tab goes through, in order."""
        yield from (*self._stops, self.view)

    def show_pdf(self, pdf: bytes) -> None:
        """Show another PDF at the place where the last one was looked at."""
        if self._place is None and self.pdf:
            self._place = self.view.verticalScrollBar().value()
        buffer = QBuffer(self)
        buffer.setData(QByteArray(pdf))
        buffer.open(QIODevice.OpenModeFlag.ReadOnly)
        self.document.close()
        self.document.load(buffer)
        if self._buffer is not None:
            self._buffer.deleteLater()
        self._buffer = buffer  # the document reads from it as long as it is shown
        self.pdf = pdf
        self._go_to_place()
        self._on_page_changed(self.view.pageNavigator().currentPage())
        self.shown.emit()

    def take_over(self, before: "SheetView") -> None:
        """Show the sheet of another view, as large and at the same place."""
        self.view.setZoomFactor(before.view.zoomFactor())
        self.view.setZoomMode(before.view.zoomMode())
        if before.pdf:
            self._place = before.view.verticalScrollBar().value()
            self.show_pdf(before.pdf)

    def _go_to_place(self) -> None:
        """Go where the last sheet was looked at, as soon as there are pages laid out."""
        if self._place is not None:
            self.view.verticalScrollBar().setValue(self._place)

    def _forget_place(self) -> None:
        """The person goes elsewhere now."""
        self._place = None

    def clear(self) -> None:
        """Show nothing."""
        self._forget_place()
        self.document.close()
        self.pdf = b""
        self._on_page_changed(0)

    def next_page(self) -> None:
        """Go one page on."""
        self._jump(self.view.pageNavigator().currentPage() + 1)

    def previous_page(self) -> None:
        """Go one page back."""
        self._jump(self.view.pageNavigator().currentPage() - 1)

    def _jump(self, page: int) -> None:
        if 0 <= page < self.document.pageCount():
            self._forget_place()
            self.view.pageNavigator().jump(page, QPointF(), 0)

    def fit_width(self) -> None:
        """Fit the page's width."""
        self._forget_place()
        self.view.setZoomMode(QPdfView.ZoomMode.FitToWidth)

    def fit_page(self) -> None:
        """Fit the whole page."""
        self._forget_place()
        self.view.setZoomMode(QPdfView.ZoomMode.FitInView)

    def zoom_in(self) -> None:
        """Show it larger."""
        self._zoom(_ZOOM_STEP)

    def zoom_out(self) -> None:
        """Show it smaller."""
        self._zoom(1 / _ZOOM_STEP)

    def _zoom(self, by: float) -> None:
        self._forget_place()
        now = self.view.zoomFactor()
        if self.view.zoomMode() != QPdfView.ZoomMode.Custom and self.document.pageCount():
            page = self.document.pagePointSize(0) * (self.logicalDpiX() / 72)
            room = self.view.viewport().size()
            now = room.width() / page.width()
            if self.view.zoomMode() == QPdfView.ZoomMode.FitInView:
                now = min(now, room.height() / page.height())
        self.view.setZoomMode(QPdfView.ZoomMode.Custom)
        self.view.setZoomFactor(min(max(now * by, _SMALLEST), _LARGEST))

    def _on_page_changed(self, page: int) -> None:
        count = self.document.pageCount()
        if count:
            self._page.setText(_("{page} of {count}", page=page + 1, count=count))
        else:
            self._page.setText(_("no page"))
