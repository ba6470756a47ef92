"""What no shop's template or style may keep off the sheet, such as what to do when it goes wrong.

A shop may move and dress what the sheet says. Here the laid-out page is read as the cutter would
read it: what is not there, hidden, faint, tiny, turned, struck through, cut off, under something
else or off the paper counts as not said. A font of the shop's own is trusted to have the letters.
"""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
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
_TIGHTEST = -0.08  # between letters, as a part of their size; closer they run into each other
_TIGHTEST_WORDS = -0.2
_THICKEST_PX = 3.0  # of a line under a text
_SOLID = 0.4  # what covers no more than this lets black be read
_OVER_PX = 2.0
_CORE = 0.5  # the part of a line's height in which its small letters stand
_OVER_CORE = 0.4
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
    pages = [_read(page) for page in document.pages]
    legible = [one for page in pages for one in page.legible()]
    read = _bare("".join(text for text, _size in legible))
    large = {_bare(text) for text, size in legible if size >= _LARGE_PX}
    missing = [text for text in dict.fromkeys(_must_say(sheet)) if _bare(text) not in read]
    missing += [text for text in dict.fromkeys(_must_stand_out(sheet)) if _bare(text) not in large]
    if sum(page.codes() for page in pages) < _SIDES:
        missing.append(_("the code of each page"))
    if missing:
        named = "; ".join(repr(text[:_SHOWN]) for text in missing[:_MOST_NAMED])
        what = shop.template or shop.style
        raise ShopError(
            (
                f"{shop.folder / str(what)}: "
                + _(
                    "the sheet must say this, in 9 pt or more, black, upright, on the page and "
                    "with nothing over it: {named}",
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
    # Which of the others are whole and which a title alone, the room has decided.
    for notice in back.cautions:
        yield notice.title
        yield notice.remedy
    yield back.also
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


def _bare(text: str) -> str:
    """A text without what line breaks, spaces, hyphenation and capitals make of it."""
    return "".join(
        letter
        for letter in text
        if not letter.isspace() and letter not in "-‐" and unicodedata.category(letter) != "Cf"
    ).casefold()


@dataclass(frozen=True)
class _Area:
    """A part of a page. [px]"""

    left: float
    top: float
    right: float
    bottom: float

    def common(self, other: "_Area") -> "_Area":
        return _Area(
            max(self.left, other.left),
            max(self.top, other.top),
            min(self.right, other.right),
            min(self.bottom, other.bottom),
        )

    def is_over(self, core: "_Area") -> bool:
        """Whether it takes away from a line of text; its core is given."""
        shared = self.common(core)
        return (
            shared.right - shared.left >= _OVER_PX
            and shared.bottom - shared.top >= _OVER_CORE * (core.bottom - core.top)
            and shared.bottom > shared.top
        )

    def holds(self, other: "_Area") -> bool:
        slack = _OVER_PX
        return (
            self.left - slack <= other.left
            and self.top - slack <= other.top
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )


@dataclass(frozen=True)
class _Mark:
    """What is drawn somewhere, within which boxes."""

    area: _Area
    within: frozenset[int]
    text: str = ""
    size: float = 0.0


@dataclass(frozen=True)
class _Around:
    """What the boxes round a box do to it.

    Attributes:
        solid: how much of what is drawn is seen.
        ground: how bright what lies below is; None where a picture does.
        clip: the part of the page that is drawn.
        is_upright: False where it is turned, moved or stretched when it is drawn.
        within: the boxes.
    """

    clip: _Area
    solid: float = 1.0
    ground: float | None = 1.0
    is_upright: bool = True
    within: frozenset[int] = frozenset()


@dataclass
class _Page:
    texts: list[_Mark] = field(default_factory=list)
    covers: list[_Mark] = field(default_factory=list)
    squares: list[_Mark] = field(default_factory=list)

    def legible(self) -> Iterator[tuple[str, float]]:
        """The texts that can be read, with their size [px]."""
        piled = _piled(self.texts)
        for index, one in enumerate(self.texts):
            if index not in piled and not self._is_covered(one):
                yield one.text, one.size

    def codes(self) -> int:
        """Count the codes that can be read."""
        return sum(not self._is_covered(one) for one in self.squares)

    def _is_covered(self, one: _Mark) -> bool:
        return any(
            # What lies round it lies under it, too.
            not (cover.within and cover.within <= one.within) and cover.area.is_over(one.area)
            for cover in self.covers
        )


def _piled(texts: Sequence[_Mark]) -> set[int]:
    """Which of the texts stand on each other."""
    piled: set[int] = set()
    order = sorted(range(len(texts)), key=lambda index: texts[index].area.top)
    for place, index in enumerate(order):
        one = texts[index].area
        for other in order[place + 1 :]:
            if texts[other].area.top >= one.bottom:
                break
            if texts[other].area.is_over(one) or one.is_over(texts[other].area):
                piled |= {index, other}
    return piled


def _read(page: Any) -> _Page:
    """What stands on a page, its margins last."""
    read, box = _Page(), page._page_box
    around = _Around(clip=_Area(0.0, 0.0, page.width, page.height))
    for is_margin in (False, True):
        for child in box.children:
            if (type(child).__name__ == "MarginBox") == is_margin:
                _read_box(child, around, read)
    return read


def _read_box(box: Any, around: _Around, read: _Page) -> None:
    text = getattr(box, "text", None)
    if isinstance(text, str):
        core, size = _core(_border_area(box)), box.style["font_size"]
        if text.strip() and _is_legible(box.style, core, around):
            read.texts.append(_Mark(core, around.within, text, size))
        return
    around = _inside(box, around)
    read.covers += _covers(box, around)
    if _is_code(box):
        square = _border_area(box)
        if around.is_upright and around.solid >= _LEAST_CONTRAST and around.clip.holds(square):
            read.squares.append(_Mark(square, around.within))
        return
    for child in getattr(box, "children", ()):
        _read_box(child, around, read)


def _is_code(box: Any) -> bool:
    """Whether a box is a code that is large enough to be read."""
    return (
        str(box.element_tag).endswith("svg")
        and box.element is not None
        and "code" in (box.element.get("class") or "").split()
        and box.style["visibility"] == "visible"
        and min(box.width, box.height) >= _LEAST_CODE_PX
    )


def _core(area: _Area) -> _Area:
    spare = (area.bottom - area.top) * (1.0 - _CORE) / 2.0
    return replace(area, top=area.top + spare, bottom=area.bottom - spare)


def _border_area(box: Any) -> _Area:
    left, top = box.border_box_x(), box.border_box_y()
    return _Area(left, top, left + box.border_width(), top + box.border_height())


def _inside(box: Any, around: _Around) -> _Around:
    """What a box and all round it do to what is in it."""
    style = box.style
    clip, ground = around.clip, _brightness(style["background_color"], around.ground)
    if any(kind != "none" for kind, _value in style["background_image"]):
        ground = None
    if style["overflow"] != "visible":
        left, top = box.padding_box_x(), box.padding_box_y()
        clip = clip.common(_Area(left, top, left + box.padding_width(), top + box.padding_height()))
    is_cut = style["position"] in ("absolute", "fixed") and bool(style["clip"])
    return _Around(
        clip=clip,
        solid=around.solid * style["opacity"],
        ground=ground,
        is_upright=around.is_upright and not style["transform"] and not is_cut,
        within=around.within | {id(box)},
    )


def _covers(box: Any, around: _Around) -> Iterator[_Mark]:
    """What a box puts over that which lies there already."""
    style = box.style
    if style["visibility"] != "visible" or around.solid < _SOLID:
        return
    area = _border_area(box)
    colour = style["background_color"]
    is_painted = (
        hasattr(box, "replacement")
        or any(kind != "none" for kind, _value in style["background_image"])
        or (colour is not None and colour != "currentcolor" and colour.alpha >= _SOLID)
    )
    if is_painted:
        yield _Mark(area, around.within)
    top, right, bottom, left = (
        getattr(box, f"border_{side}_width") for side in ("top", "right", "bottom", "left")
    )
    # Its own text runs under its border, too, where it runs over.
    for strip, width in (
        (replace(area, bottom=area.top + top), top),
        (replace(area, left=area.right - right), right),
        (replace(area, top=area.bottom - bottom), bottom),
        (replace(area, right=area.left + left), left),
    ):
        if width > 0.0:
            yield _Mark(strip, frozenset())
    if style["outline_style"] != "none" and style["outline_width"] > 0.0:
        wide = style["outline_width"] + max(style["outline_offset"], 0.0)
        yield _Mark(
            _Area(area.left - wide, area.top - wide, area.right + wide, area.bottom + wide),
            frozenset(),
        )


def _is_legible(style: Any, core: _Area, around: _Around) -> bool:
    size, ground = style["font_size"], around.ground
    if ground is None or not around.is_upright or not around.clip.holds(core):
        return False
    contrast = abs((_brightness(style["color"], ground) or 0.0) - ground) * around.solid
    lines = style["text_decoration_line"]
    thickness = style["text_decoration_thickness"]
    return bool(
        style["visibility"] == "visible"
        and size >= _LEAST_PX
        and contrast >= _LEAST_CONTRAST
        and "line-through" not in lines
        and (lines == "none" or not _is_more(thickness, _THICKEST_PX))
        and not _is_more(-_number(style["letter_spacing"]), -_TIGHTEST * size)
        and not _is_more(-_number(style["word_spacing"]), -_TIGHTEST_WORDS * size)
    )


def _number(length: Any) -> float:
    return 0.0 if isinstance(length, str) else float(length)


def _is_more(length: Any, most: float) -> bool:
    """Whether a length in pixels is more; in other units it is not taken for a thin line."""
    if isinstance(length, str):
        return False
    return not isinstance(length, int | float) or length > most


def _brightness(colour: Any, ground: float | None) -> float | None:
    """How bright a colour looks on a ground: 0 black, 1 white, the mean of its parts."""
    if colour is None or colour == "currentcolor":
        return ground
    bright = sum(colour.to("srgb").coordinates) / 3.0
    if ground is None:
        return float(bright) if colour.alpha >= 1.0 else None
    return float(bright * colour.alpha + ground * (1.0 - colour.alpha))
