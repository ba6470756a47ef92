"""What no shop's template or style may keep off the sheet, such as what to do when it goes wrong.

A shop may move and dress what the sheet says. Here the laid-out page is read as the cutter would
read it: what is not there, hidden, faint, tiny or off the paper counts as not said.
"""

import unicodedata
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from kerfdocket.language import _
from kerfdocket.sheet.context import Traveller, Value
from kerfdocket.sheet.shop import Shop, ShopError

if TYPE_CHECKING:
    from weasyprint import Document  # type: ignore[import-untyped]

__all__ = ["check_says_all"]

_LEAST_PX = 8.9 / 72.0 * 96.0  # nothing that must be read is smaller than 9 pt
_LARGE_PX = 13.9 / 72.0 * 96.0
_LEAST_CONTRAST = 0.6  # of black on white
_LEAST_CODE_PX = 19.0 / 25.4 * 96.0  # what a scan of 150 dpi reads
_SIDES = 2
_MOST_NAMED = 5
_SHOWN = 60


def check_says_all(document: "Document", sheet: Traveller, shop: Shop) -> None:
    """Refuse a sheet that does not say what it must, legibly.

    Args:
        document: as it is laid out.
        sheet: what there is to say.
        shop: whose template or style it is.

    Raises:
        ShopError: something is not on it; what, in the message.
    """
    legible = [one for page in document.pages for one in _legible(page)]
    read = _bare("".join(text for text, _size in legible))
    large = {_bare(text) for text, size in legible if size >= _LARGE_PX}
    missing = [text for text in dict.fromkeys(_must_say(sheet)) if _bare(text) not in read]
    missing += [text for text in dict.fromkeys(_must_stand_out(sheet)) if _bare(text) not in large]
    codes = sum(_codes(page._page_box) for page in document.pages)
    if codes < _SIDES:
        missing.append(_("the code of each page"))
    if missing:
        named = "; ".join(repr(text[:_SHOWN]) for text in missing[:_MOST_NAMED])
        what = shop.template or shop.style
        raise ShopError(
            (
                f"{shop.folder / str(what)}: "
                + _(
                    "the sheet must say this, in 9 pt or more, black and on the page: {named}",
                    named=named,
                ),
            )
        )


def _must_say(sheet: Traveller) -> Iterator[str]:
    """What is about life and limb, and what the sheet is known by."""
    front, back = sheet.front, sheet.back
    yield sheet.number
    yield sheet.foot
    if sheet.is_draft:
        yield _("DRAFT – NOT FOR CUTTING")
    for notice in (*front.stops, *front.warnings):
        yield notice.text
        yield notice.remedy
    for value in _settings(sheet):
        if value.manner == "guide":
            yield value.line
    yield from front.protections
    for notice in back.emergencies:
        yield notice.title
        yield notice.remedy
    # Which of the others are whole and which a title alone, the room decides.
    yield from (notice.title for notice in back.cautions)
    for group in back.steps:
        yield from group.steps
    if not sheet.is_draft:
        yield _("Signature")


def _must_stand_out(sheet: Traveller) -> Iterator[str]:
    """What is set by, and must be found at arm's length."""
    return (value.number for value in _settings(sheet) if value.manner == "firm")


def _settings(sheet: Traveller) -> Iterator[Value]:
    for block in sheet.front.blocks:
        yield from (value for value in (block.regulator, block.torch) if value is not None)


def _codes(box: Any) -> int:
    """Count the codes that are large enough to be read."""
    if (
        str(box.element_tag).endswith("svg")
        and box.element is not None
        and box.style["visibility"] == "visible"
    ):
        is_code = "code" in (box.element.get("class") or "").split()
        return int(is_code and min(box.width, box.height) >= _LEAST_CODE_PX)
    return sum(_codes(child) for child in getattr(box, "children", ()))


def _bare(text: str) -> str:
    """A text without what line breaks and spaces make of it."""
    return "".join(
        letter for letter in text if not letter.isspace() and unicodedata.category(letter) != "Cf"
    )


def _legible(page: Any) -> Iterator[tuple[str, float]]:
    """The texts of a page that can be read with their size [px], its margins last."""
    box = page._page_box
    for is_margin in (False, True):
        for child in box.children:
            if (type(child).__name__ == "MarginBox") == is_margin:
                yield from _texts(child, page, 1.0, 1.0)


def _texts(box: Any, page: Any, solid: float, ground: float) -> Iterator[tuple[str, float]]:
    """`solid`: how much of what is drawn is seen; `ground`: how bright what lies below is."""
    style = box.style
    solid *= style["opacity"]
    ground = _brightness(style["background_color"], ground)
    text = getattr(box, "text", None)
    if isinstance(text, str):
        contrast = abs(_brightness(style["color"], ground) - ground) * solid
        if (
            style["visibility"] == "visible"
            and style["font_size"] >= _LEAST_PX
            and contrast >= _LEAST_CONTRAST
            and -1.0 <= box.position_x <= page.width
            and -1.0 <= box.position_y <= page.height
        ):
            yield text, style["font_size"]
    for child in getattr(box, "children", ()):
        yield from _texts(child, page, solid, ground)


def _brightness(colour: Any, ground: float) -> float:
    """How bright a colour looks on a ground: 0 black, 1 white, the mean of its parts."""
    if colour is None or colour == "currentcolor":
        return ground
    bright = sum(colour.to("srgb").coordinates) / 3.0
    return float(bright * colour.alpha + ground * (1.0 - colour.alpha))
