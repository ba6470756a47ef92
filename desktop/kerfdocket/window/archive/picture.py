"""A page of a scan as a picture; made in a thread, as a large one takes half a second."""

import threading
from contextlib import closing
from io import BytesIO
from typing import TYPE_CHECKING

from PySide6.QtGui import QImage

from kerfdocket.errors import InputError
from kerfdocket.language import _

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["LONGEST_PX", "page_picture"]

# A4 at 220 dots an inch: handwriting can be read, and the picture takes 19 MB.
LONGEST_PX = 2600
# The library may be used by one thread at a time, says its documentation.
_ONE_AT_A_TIME = threading.Lock()


def page_picture(content: bytes, page: int, longest_px: int = LONGEST_PX) -> QImage:
    """Return a page of a PDF or of an image file as a picture, upright where its code is read.

    Args:
        content: the file.
        page: of it, from 0.
        longest_px: length of its longer side at most. [px]

    Raises:
        InputError: it cannot be shown.
    """
    is_pdf = content.lstrip()[:5] == b"%PDF-"
    image = (_of_pdf if is_pdf else _of_image)(content, page, longest_px)
    return _qimage(_upright(image))


def _cannot(reason: object) -> InputError:
    return InputError(_("This page cannot be shown: {reason}", reason=reason))


def _of_pdf(content: bytes, page: int, longest_px: int) -> "Image":
    # Not Qt's own: that leaves out what was filled into form fields.
    from pypdfium2 import PdfDocument, PdfiumError  # type: ignore[import-untyped]

    try:
        with _ONE_AT_A_TIME, closing(PdfDocument(content)) as document:
            if not 0 <= page < len(document):
                raise _cannot(_("the file has no such page"))
            document.init_forms()
            with closing(document[page]) as opened:
                longest = max(*opened.get_size(), 1.0)
                with closing(opened.render(scale=longest_px / longest)) as drawn:
                    return drawn.to_pil().convert("RGB").copy()
    except (PdfiumError, ValueError, OSError, MemoryError) as error:
        raise _cannot(_("the file is damaged, or needs a password")) from error


def _of_image(content: bytes, page: int, longest_px: int) -> "Image":
    from PIL import Image, ImageOps, UnidentifiedImageError

    from kerfdocket.archive.intake.pictures import quietly

    try:
        with quietly(), Image.open(BytesIO(content)) as image:
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
    return turned


def _upright(image: "Image") -> "Image":
    """Turn a page as its code says; one whose code is not read at once stays as it is.

    Worked out anew for each picture, so the archive need not keep it: it takes 15 ms, or 50 where
    nothing is found, and keeps no other thread waiting longer than 8 (measured).
    """
    from PIL.Image import Transpose

    from kerfdocket.archive.intake.codes import quarters_turned
    from kerfdocket.archive.intake.scanned import grey

    back = {1: Transpose.ROTATE_90, 2: Transpose.ROTATE_180, 3: Transpose.ROTATE_270}
    turned = back.get(quarters_turned(grey(image)))
    return image if turned is None else image.transpose(turned)


def _qimage(image: "Image") -> QImage:
    """Return a picture of mode RGB as one of Qt's."""
    data = image.tobytes()
    # A copy: the picture must not point into bytes that go when this returns.
    return QImage(
        data, image.width, image.height, image.width * 3, QImage.Format.Format_RGB888
    ).copy()
