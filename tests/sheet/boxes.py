"""Where a laid-out sheet puts its text: what runs out of its place, or over something else."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch

from kerfdocket.planning import Plan
from kerfdocket.sheet import render, sheet_pdf

__all__ = ["Word", "laid_out", "misplaced", "sections", "words"]

_ROUNDING = 0.6  # CSS pixels, a sixth of a millimetre
_LETTER = 0.5  # of the size: a small letter's height, from the line that it stands on
_DOWN = 0.2  # of the size: what hangs below that line


@dataclass(frozen=True)
class Word:
    """A run of text on a line.

    Attributes:
        left, top, right, bottom: of its small letters, in CSS pixels.
        inside: the boxes around it, outermost first.
    """

    page: int
    text: str
    left: float
    top: float
    right: float
    bottom: float
    hangs_to: float
    inside: tuple[Any, ...]

    def is_in(self, name: str) -> bool:
        """True if it stands in an element of that class."""
        return any(name in _classes(box) for box in self.inside)


def laid_out(plan: Plan, is_fillable: bool = False) -> Any:
    """Return the document that the sheet of a plan is written from, without writing it."""
    kept: list[Any] = []

    def keep(document: Any, *_rest: Any) -> bytes:
        kept.append(document)
        return b""

    with patch.object(render, "_write", keep):
        sheet_pdf(plan, is_fillable)
    [document] = kept
    return document


def _classes(box: Any) -> list[str]:
    element = getattr(box, "element", None)
    return [] if element is None else str(element.get("class", "")).split()


def _kids(box: Any) -> Iterator[Any]:
    for kid in getattr(box, "children", ()):
        yield getattr(kid, "_box", kid)  # a box placed absolutely stands behind another


def words(document: Any) -> list[Word]:
    """Return every run of text of a document."""
    found: list[Word] = []

    def look(box: Any, page: int, inside: tuple[Any, ...]) -> None:
        if type(box).__name__ == "TextBox":
            if box.text.strip():
                size = float(box.style["font_size"])
                line = box.position_y + box.baseline
                found.append(
                    Word(
                        page,
                        box.text,
                        box.position_x,
                        line - _LETTER * size,
                        box.position_x + box.width,
                        line,
                        line + _DOWN * size,
                        inside,
                    )
                )
            return
        for kid in _kids(box):
            look(kid, page, (*inside, box))

    for number, page in enumerate(document.pages):
        look(page._page_box, number, ())
    return [one for one in found if not one.is_in("across")]  # it lies across all else


def _out_of_place(word: Word) -> str:
    page = word.inside[0]
    is_margin = any(type(box).__name__ == "MarginBox" for box in word.inside)
    left, right = page.content_box_x(), page.content_box_x() + page.width
    top, bottom = page.content_box_y(), page.content_box_y() + page.height
    if is_margin:
        top, bottom = 0.0, page.margin_height()
    if word.left < left - _ROUNDING or word.right > right + _ROUNDING:
        return "beside the page's text"
    if word.top < top - _ROUNDING or word.hangs_to > bottom + _ROUNDING:
        return "above or below the page's text"
    for box in word.inside:
        is_cell = type(box).__name__ == "TableCellBox"
        edge_left, edge_top = box.border_box_x(), box.border_box_y()
        edge_right = edge_left + box.border_width()
        edge_bottom = edge_top + box.border_height()
        if is_cell and (word.left < edge_left - _ROUNDING or word.right > edge_right + _ROUNDING):
            return "beside its cell"
        is_cut = getattr(box, "style", {}).get("overflow") == "hidden"
        if (is_cell or is_cut or "blank" in _classes(box)) and word.hangs_to > edge_bottom + 1.0:
            return "below its cell or frame"
        if "blank" in _classes(box) and word.left < edge_left - _ROUNDING:
            return "beside its frame"
    return ""


def _overlaps(one: Any, other: Any) -> bool:
    return (
        min(one.right, other.right) - max(one.left, other.left) > 1.5
        and min(one.bottom, other.bottom) - max(one.top, other.top) > 1.5
    )


@dataclass(frozen=True)
class _Thing:
    """A code, a picture, a box to tick or a field."""

    page: int
    name: str
    left: float
    top: float
    right: float
    bottom: float


def _things(document: Any) -> list[_Thing]:
    found: list[_Thing] = []

    def look(box: Any, page: int) -> None:
        names = [
            one for one in _classes(box) if one in {"code", "content", "box", "field", "measured"}
        ]
        if names and hasattr(box, "width"):
            left, top = box.border_box_x(), box.border_box_y()
            found.append(
                _Thing(
                    page,
                    names[0],
                    left,
                    top,
                    left + box.border_width(),
                    top + box.border_height(),
                )
            )
        for kid in _kids(box):
            look(kid, page)

    for number, page in enumerate(document.pages):
        look(page._page_box, number)
    return found


def misplaced(document: Any) -> list[str]:
    """Return each text that runs out of its page, cell or frame, or over another or a thing."""
    found, said = words(document), []
    for word in found:
        if why := _out_of_place(word):
            said.append(f"page {word.page + 1}: {word.text!r} is {why}")
    things = _things(document)
    for number, word in enumerate(found):
        for other in (*found[number + 1 :], *things):
            if other.page == word.page and _overlaps(word, other):
                what = getattr(other, "text", getattr(other, "name", ""))
                said.append(f"page {word.page + 1}: {word.text!r} lies over {what!r}")
    return said


def sections(document: Any, name: str) -> list[tuple[int, Any]]:
    """Return the boxes of a class, each with its page."""
    found: list[tuple[int, Any]] = []

    def look(box: Any, page: int) -> None:
        if name in _classes(box):
            found.append((page, box))
            return
        for kid in _kids(box):
            look(kid, page)

    for number, page in enumerate(document.pages):
        look(page._page_box, number)
    return found
