"""What was filled into the form fields of a PDF, page by page."""

import io
from typing import TYPE_CHECKING, Any

from kerfdocket.language import _

if TYPE_CHECKING:
    from pypdf import PdfReader

__all__ = ["Forms"]

_DEEPEST = 32  # fields within fields; a file may say that one is within itself
# Buttons say no words, and what is under a signature is not ours to read.
_WITHOUT_WORDS = ("/Btn", "/Sig")


class Forms:
    """The fields of a file.

    They are read from the pages and not from the form as a whole, as files that were put together
    of several often keep the pages' fields and lose the form.
    """

    def __init__(self, content: bytes) -> None:
        self._content = content
        self._reader: PdfReader | None = None

    def on_page(self, index: int) -> tuple[dict[str, str], str]:
        """Return what was filled in on a page, and why it cannot be read; one of both is empty.

        Args:
            index: of the page, from 0.
        """
        # Only whoever has fields waits for the reader of them.
        from pypdf import PdfReader
        from pypdf.errors import DependencyError, PyPdfError

        try:
            if self._reader is None:
                self._reader = PdfReader(io.BytesIO(self._content))
            return _filled(self._reader.pages[index]), ""
        except DependencyError:
            # It opens without a password and is enciphered all the same.
            return {}, _("what was filled in cannot be read, as the file is protected")
        except (
            PyPdfError,
            ValueError,
            LookupError,
            TypeError,
            AttributeError,
            ArithmeticError,
            OSError,
            RecursionError,
        ):
            # A damaged file ends in any of these; what is in it is not ours.
            return {}, _("what was filled in cannot be read, as the file is damaged")


def _filled(page: Any) -> dict[str, str]:
    found: dict[str, str] = {}
    for one in page.get("/Annots") or ():
        annotation = one.get_object()
        if annotation is None or annotation.get("/Subtype") != "/Widget":
            continue
        name, kind, value = _inherited(annotation)
        text = "" if kind in _WITHOUT_WORDS else _text(value)
        if name and text.strip():
            found[name] = text
    return found


def _inherited(widget: Any) -> tuple[str, str, Any]:
    """Return a field's whole name, its kind and value, each from itself or what it is part of.

    ISO 32000-1:2008, 12.7.3 (from memory).
    """
    names: list[str] = []
    kind, value = "", None
    part = widget
    for _level in range(_DEEPEST):
        if "/T" in part:
            names.append(_text(part["/T"]))
        kind = kind or str(part.get("/FT", ""))
        if value is None and "/V" in part:
            value = part["/V"].get_object()
        if "/Parent" not in part:
            break
        part = part["/Parent"].get_object()
    return ".".join(reversed(names)), kind, value


def _text(value: Any) -> str:
    """Return a value as words; of several chosen ones all."""
    from pypdf.generic import ArrayObject, NameObject, StreamObject

    if isinstance(value, ArrayObject):
        return ", ".join(filter(None, (_text(one.get_object()) for one in value)))
    if isinstance(value, StreamObject):
        value = value.get_data()
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    if not isinstance(value, str) or isinstance(value, NameObject):
        return ""
    return value.replace("\r\n", "\n").replace("\r", "\n")
