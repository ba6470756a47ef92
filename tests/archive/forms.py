"""A PDF with one page on which something was filled in."""

import io

from pypdf import PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, NumberObject, TextStringObject

__all__ = ["filled_page"]


def filled_page(**values: str) -> bytes:
    """Return a page with text fields of these names and values."""
    writer = PdfWriter()
    page = writer.add_blank_page(200, 200)
    page[NameObject("/Annots")] = ArrayObject(
        DictionaryObject(
            {
                NameObject("/Type"): NameObject("/Annot"),
                NameObject("/Subtype"): NameObject("/Widget"),
                NameObject("/FT"): NameObject("/Tx"),
                NameObject("/T"): TextStringObject(name),
                NameObject("/V"): TextStringObject(text),
                NameObject("/Rect"): ArrayObject(map(NumberObject, (10, 10, 100, 30))),
            }
        )
        for name, text in values.items()
    )
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
