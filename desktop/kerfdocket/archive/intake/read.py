"""A file of sheets that came back, read page by page."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from kerfdocket.archive.errors import NotReadable
from kerfdocket.archive.intake import pdf, pictures
from kerfdocket.archive.intake.codes import codes_on
from kerfdocket.archive.intake.forms import Forms
from kerfdocket.archive.intake.scanned import Scanned
from kerfdocket.language import _
from kerfdocket.planning.page_code import PageCode

__all__ = ["ReadPage", "page_fields", "read_file"]


@dataclass(frozen=True)
class ReadPage:
    """What a page says.

    Attributes:
        index: of the page in its file, from 0.
        codes: the sheet codes on it, each once. More than one if several sheets were laid on the
            glass together; none if the page is no sheet's, or its code is past reading.
        fields: what was filled into the form fields on this page, by their names; no empty ones.
        problem: why the page, or its fields, could not be read, in words; else empty.
    """

    index: int
    codes: tuple[PageCode, ...] = ()
    fields: dict[str, str] = field(default_factory=dict, hash=False)
    problem: str = ""


def read_file(content: bytes, name: str) -> Iterator[ReadPage]:
    """Return the pages of a file, each read when it is asked for.

    One page is held at a time. A damaged page does not keep the others from being read.

    Args:
        content: of a PDF, PNG, JPEG or TIFF; what is in it counts, not what it is called.
        name: of the file, for messages.

    Raises:
        NotReadable: it is none of these, empty, damaged as a whole, or protected by a password.
            Raised at once, not with the first page.
    """
    if not content:
        raise NotReadable(
            _("{file} is empty; a PDF, PNG, JPEG or TIFF would be accepted", file=name)
        )
    if pdf.is_pdf(content):
        pdf.check(content, name)
        return _read(pdf.pages(content))
    if pictures.is_picture(content):
        pictures.check(content, name)
        return _read(pictures.pages(content))
    raise NotReadable(
        _(
            "{file} is no scan and no filled-in sheet; a PDF, PNG, JPEG or TIFF would be accepted",
            file=name,
        )
    )


def _read(pages: Iterator[Scanned]) -> Iterator[ReadPage]:
    for index, page in enumerate(pages):
        codes = codes_on(page.image) if page.image is not None else ()
        yield ReadPage(index, codes, page.fields, page.problem)


def page_fields(content: bytes, index: int) -> dict[str, str]:
    """Return what was filled into the form fields on one page; nothing where there are none.

    Args:
        content: of the file.
        index: of the page in it, from 0.
    """
    return Forms(content).on_page(index)[0] if pdf.is_pdf(content) else {}
