"""Scans and filled-in sheets as PDF: each page as a picture, with what was filled in on it."""

import math
import threading
from collections.abc import Iterator
from contextlib import closing
from typing import TYPE_CHECKING

from kerfdocket.archive.errors import NotReadable
from kerfdocket.archive.intake.forms import Forms
from kerfdocket.archive.intake.scanned import MOST_PIXELS, PIXELS_KEPT, Scanned, grey
from kerfdocket.language import _

if TYPE_CHECKING:
    from pypdfium2 import PdfDocument, PdfPage  # type: ignore[import-untyped]

__all__ = ["check", "is_pdf", "pages"]

_MARK = b"%PDF-"
_MARK_WITHIN = 1024  # bytes from the beginning, as most readers have it
_DPI = 300.0
_POINTS_PER_INCH = 72.0
# However small a page says that it is: the longer side of A4 at 300 dpi.
_LEAST_LONG_PX = 3508
# The library may be used by one thread at a time, says its documentation. Taken once more by the
# thread that has it, where a reading that was given up is cleared away meanwhile.
_ONE_AT_A_TIME = threading.RLock()


def is_pdf(content: bytes) -> bool:
    """Return whether a file says of itself that it is a PDF."""
    # A ZIP may hold one as it is.
    return _MARK in content[: _MARK_WITHIN + len(_MARK)] and not content.startswith(b"PK")


def check(content: bytes, name: str) -> None:
    """Make sure that a PDF can be opened and has pages.

    Raises:
        NotReadable: it is damaged, has none, or wants a password.
    """
    from pypdfium2 import PdfDocument, PdfiumError, raw

    try:
        with _ONE_AT_A_TIME, closing(PdfDocument(content)) as document:
            count = len(document)
    except PdfiumError as error:
        if error.err_code == raw.FPDF_ERR_PASSWORD:
            raise NotReadable(
                _(
                    "{file} is protected by a password; a PDF that opens without one "
                    "would be accepted",
                    file=name,
                )
            ) from error
        raise _damaged(name) from error
    if not count:
        raise _damaged(name)


def _damaged(name: str) -> NotReadable:
    return NotReadable(
        _(
            "{file} is damaged: it says that it is a PDF, and has no page that opens; "
            "a PDF, PNG, JPEG or TIFF that can be opened would be accepted",
            file=name,
        )
    )


def pages(content: bytes) -> Iterator[Scanned]:
    """Give the pages of a PDF, one after the other."""
    from pypdfium2 import PdfDocument

    forms = Forms(content)
    with _ONE_AT_A_TIME:
        document = PdfDocument(content)
        count = len(document)
    try:
        for index in range(count):
            # Not held while the page is looked at.
            with _ONE_AT_A_TIME:
                scanned, has_fields = _page(document, index)
            if not has_fields:
                yield scanned
                continue
            fields, problem = forms.on_page(index)
            yield Scanned(scanned.image, fields, " ".join(filter(None, (scanned.problem, problem))))
    finally:
        with _ONE_AT_A_TIME:
            document.close()


def _page(document: "PdfDocument", index: int) -> tuple[Scanned, bool]:
    """Return a page as it looks, and whether there are form fields on it."""
    from pypdfium2 import PdfiumError

    has_fields = False
    try:
        with closing(document[index]) as page:
            has_fields = _has_fields(page)
            if problem := _too_large(page):
                return Scanned(None, problem=problem), has_fields
            scale = _scale(*page.get_size())
            with closing(page.render(scale=scale, may_draw_forms=False)) as drawn:
                return Scanned(grey(drawn.to_pil())), has_fields
    except (PdfiumError, ValueError, OSError, MemoryError):
        return Scanned(None, problem=_("this page is damaged")), has_fields


def _has_fields(page: "PdfPage") -> bool:
    from pypdfium2 import raw

    for number in range(raw.FPDFPage_GetAnnotCount(page)):
        annotation = raw.FPDFPage_GetAnnot(page, number)
        kind = raw.FPDFAnnot_GetSubtype(annotation)
        raw.FPDFPage_CloseAnnot(annotation)
        if kind == raw.FPDF_ANNOT_WIDGET:
            return True
    return False


def _too_large(page: "PdfPage") -> str:
    """Return why the pictures on a page are not unpacked; empty if they may be."""
    from pypdfium2 import PdfImage, raw

    pixels = 0
    for one in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE]):
        if isinstance(one, PdfImage):
            width, height = one.get_px_size()
            pixels += width * height
    # A scanner may lay a coarse picture of the paper under a fine one of what is written.
    if pixels <= 2 * MOST_PIXELS:
        return ""
    return _(
        "the pictures on this page have {count} million pixels; up to {most} million are read",
        count=round(pixels / 1e6),
        most=2 * MOST_PIXELS // 1_000_000,
    )


def _scale(width_pt: float, height_pt: float) -> float:
    """Return how many pixels a point becomes: enough to read, and no more than are kept.

    >>> round(_scale(595, 842) * 72), round(_scale(28346, 28346) * 28346)
    (300, 4472)
    """
    longer = max(width_pt, height_pt, 1.0)
    wanted = max(_DPI / _POINTS_PER_INCH, _LEAST_LONG_PX / longer)
    return min(wanted, math.sqrt(PIXELS_KEPT / (longer * max(min(width_pt, height_pt), 1.0))))
