"""Scans and photos: PNG, JPEG, and TIFF of many pages."""

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from struct import error as StructError  # noqa: N812
from typing import TYPE_CHECKING

from kerfdocket.archive.errors import NotReadable
from kerfdocket.archive.intake.scanned import MOST_PIXELS, PIXELS_KEPT, Scanned, grey
from kerfdocket.language import _

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

__all__ = ["check", "is_picture", "pages", "quietly"]

_BEGINNINGS = (
    b"\x89PNG\r\n\x1a\n",
    b"\xff\xd8\xff",  # JPEG
    b"II*\x00",  # TIFF of either order of bytes, and with places of eight bytes
    b"MM\x00*",
    b"II+\x00",
    b"MM\x00+",
)
_KINDS = ("PNG", "JPEG", "TIFF")
# What Pillow ends in where a file is damaged.
_DAMAGE = (
    OSError,
    ValueError,
    SyntaxError,
    LookupError,
    TypeError,
    AttributeError,
    ArithmeticError,
    RuntimeError,
    StructError,
)


def is_picture(content: bytes) -> bool:
    """Return whether a file begins like a PNG, JPEG or TIFF."""
    return content.startswith(_BEGINNINGS)


def check(content: bytes, name: str) -> None:
    """Make sure that there is at least one picture in a file.

    Raises:
        NotReadable: there is none.
    """
    from PIL.Image import DecompressionBombError

    try:
        with quietly(), _opened(content):
            pass
    except DecompressionBombError:
        return  # it has a picture, and its page will say why it is not unpacked
    except _DAMAGE as error:
        raise NotReadable(
            _(
                "{file} is damaged: there is no picture to be got from it; "
                "a PDF, PNG, JPEG or TIFF that can be opened would be accepted",
                file=name,
            )
        ) from error


def _opened(content: bytes) -> "ImageFile":
    from PIL import Image

    return Image.open(io.BytesIO(content), formats=_KINDS)


@contextmanager
def quietly() -> Iterator[None]:
    """Have Pillow warn of nothing, and take no part of a picture for the whole.

    It warns of many pixels, where pages are bounded here, and of damage that harms no picture. The
    library that draws sheets has it take parts, process-wide.
    """
    from PIL import ImageFile

    usual = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = usual


def pages(content: bytes) -> Iterator[Scanned]:
    """Give the pages of a picture, one after the other."""
    from PIL.Image import DecompressionBombError

    try:
        with quietly():
            opened = _opened(content)
    except DecompressionBombError:
        yield Scanned(None, problem=_too_many_pixels())
        return
    with opened as image:
        number = 0
        while True:
            with quietly():
                page = _page(image)
            yield page
            # A photo may have another picture behind it, which is no page.
            if image.format != "TIFF":
                return
            number += 1
            try:
                with quietly():
                    image.seek(number)
            except EOFError:
                return
            except DecompressionBombError:
                yield Scanned(None, problem=_too_many_pixels())
                return
            except _DAMAGE:
                # Where one page says in vain where the next one is, there is no way on.
                yield Scanned(None, problem=_("this page is damaged, and none behind it is found"))
                return


def _page(image: "ImageFile") -> Scanned:
    pixels = image.width * image.height
    if pixels > MOST_PIXELS:
        return Scanned(None, problem=_too_many_pixels())
    try:
        if image.format == "JPEG" and pixels > PIXELS_KEPT:
            # Unpacked at a half or less, as far as that keeps enough.
            image.draft(None, (image.width // 2, image.height // 2))
        # Once only: asked again, Pillow gives what it had of a damaged picture for the whole.
        image.load()
        return Scanned(grey(image))
    except (*_DAMAGE, MemoryError):
        return Scanned(None, problem=_("this page is damaged or of a kind that no scanner makes"))


def _too_many_pixels() -> str:
    return _(
        "this page has more than {most} million pixels; a scan of at most 600 dpi would be read",
        most=MOST_PIXELS // 1_000_000,
    )
