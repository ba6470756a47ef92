"""A sheet to a printer."""

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRectF, QSize
from PySide6.QtGui import QPageSize, QPainter
from PySide6.QtPdf import QPdfDocument
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QWidget

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _

__all__ = ["ask_printer", "page_count", "print_pdf"]

_DPI = 300  # sharp enough for the smallest print of a sheet, and quick


def ask_printer(pages: int, parent: QWidget) -> QPrinter | None:
    """Ask which printer, and which pages; None if the person thinks better of it."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    printer.setFullPage(True)
    printer.setDuplex(QPrinter.DuplexMode.DuplexLongSide)
    dialog = QPrintDialog(printer, parent)
    dialog.setOption(QPrintDialog.PrintDialogOption.PrintPageRange, True)
    dialog.setMinMax(1, pages)
    return printer if dialog.exec() else None


@contextmanager
def _opened(pdf: bytes) -> Iterator[QPdfDocument]:
    buffer = QBuffer()
    buffer.setData(QByteArray(pdf))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    document = QPdfDocument()
    document.load(buffer)
    try:
        yield document
    finally:
        document.close()


def page_count(pdf: bytes) -> int:
    """Return how many pages a sheet has."""
    with _opened(pdf) as document:
        return document.pageCount()


def print_pdf(pdf: bytes, printer: QPrinter) -> None:
    """Print a sheet, each page as large as the paper takes it.

    Raises:
        EnvironmentProblem: the printer cannot be used.
    """
    with _opened(pdf) as document:
        _print(document, printer)


def _print(document: QPdfDocument, printer: QPrinter) -> None:
    printer.setResolution(_DPI)
    printer.setFullPage(True)
    first = max(printer.fromPage(), 1)
    last = min(printer.toPage() or document.pageCount(), document.pageCount())
    painter = QPainter()
    if not painter.begin(printer):
        raise EnvironmentProblem(
            _(
                "printer {name} cannot be used; look at its queue, or export the sheet as PDF",
                name=repr(printer.printerName()),
            )
        )
    try:
        for page in range(first, last + 1):
            if page > first and not printer.newPage():
                name = repr(printer.printerName())
                raise EnvironmentProblem(_("printer {name} refused a page", name=name))
            _draw_page(document, page - 1, printer, painter)
    finally:
        painter.end()


def _draw_page(document: QPdfDocument, page: int, printer: QPrinter, painter: QPainter) -> None:
    paper = printer.pageLayout().fullRectPixels(printer.resolution())
    points = document.pagePointSize(page)
    # Never larger than drawn: a sheet on A4 stays to scale, on Letter it shrinks a little.
    scale = min(
        printer.resolution() / 72,
        paper.width() / points.width(),
        paper.height() / points.height(),
    )
    size = QSize(round(points.width() * scale), round(points.height() * scale))
    image = document.render(page, size)
    left = (paper.width() - size.width()) / 2
    painter.drawImage(QRectF(left, 0, size.width(), size.height()), image)
