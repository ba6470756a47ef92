"""A page of a scan as a picture; made in a thread, as a large one takes half a second."""

from io import BytesIO

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize
from PySide6.QtGui import QImage
from PySide6.QtPdf import QPdfDocument, QPdfDocumentRenderOptions

from kerfdocket.errors import InputError
from kerfdocket.language import _

__all__ = ["LONGEST_PX", "page_picture"]

# A4 at 220 dots an inch: handwriting can be read, and the picture takes 19 MB.
LONGEST_PX = 2600


def page_picture(content: bytes, page: int, longest_px: int = LONGEST_PX) -> QImage:
    """Return a page of a PDF or of an image file as a picture.

    Args:
        content: the file.
        page: of it, from 0.
        longest_px: length of its longer side at most. [px]

    Raises:
        InputError: it cannot be shown.
    """
    if content.lstrip()[:5] == b"%PDF-":
        return _of_pdf(content, page, longest_px)
    return _of_image(content, page, longest_px)


def _cannot(reason: object) -> InputError:
    return InputError(_("This page cannot be shown: {reason}", reason=reason))


def _of_pdf(content: bytes, page: int, longest_px: int) -> QImage:
    buffer = QBuffer()
    buffer.setData(QByteArray(content))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    document = QPdfDocument()
    try:
        document.load(buffer)
        if document.status() != QPdfDocument.Status.Ready:
            raise _cannot(_("the file is damaged, or needs a password"))
        if not 0 <= page < document.pageCount():
            raise _cannot(_("the file has no such page"))
        points = document.pagePointSize(page)
        longest = max(points.width(), points.height(), 1.0)
        scale = longest_px / longest
        size = QSize(max(round(points.width() * scale), 1), max(round(points.height() * scale), 1))
        options = QPdfDocumentRenderOptions()
        # What was filled in on a screen stands in fields, and those are annotations.
        options.setRenderFlags(QPdfDocumentRenderOptions.RenderFlag.Annotations)
        drawn = document.render(page, size, options)
        if drawn.isNull():
            raise _cannot(_("the file is damaged, or needs a password"))
        # A page without a ground of its own is drawn on nothing.
        paper = QImage(drawn.size(), QImage.Format.Format_RGB32)
        paper.fill(0xFFFFFFFF)
        _draw_onto(paper, drawn)
        return paper
    finally:
        document.close()
        buffer.close()


def _draw_onto(paper: QImage, drawn: QImage) -> None:
    from PySide6.QtGui import QPainter

    painter = QPainter(paper)
    painter.drawImage(0, 0, drawn)
    painter.end()


def _of_image(content: bytes, page: int, longest_px: int) -> QImage:
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(BytesIO(content)) as image:
            image.seek(page)
            image.draft("RGB", (longest_px, longest_px))  # a large JPEG is read smaller at once
            turned = ImageOps.exif_transpose(image) or image
            turned = turned.convert("RGB")
    except UnidentifiedImageError as error:
        raise _cannot(_("it is no picture that is known here")) from error
    except EOFError as error:
        raise _cannot(_("the file has no such page")) from error
    except (OSError, ValueError, SyntaxError, MemoryError, Image.DecompressionBombError) as error:
        raise _cannot(error) from error
    turned.thumbnail((longest_px, longest_px))
    data = turned.tobytes()
    # A copy: the picture must not point into bytes that go when this returns.
    return QImage(
        data, turned.width, turned.height, turned.width * 3, QImage.Format.Format_RGB888
    ).copy()
