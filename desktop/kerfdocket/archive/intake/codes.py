"""The sheet codes on a picture of a page, also where the page has been through a lot.

What is tried goes from cheap to dear and ends with the first that helps; nothing is ever guessed.
A code counts if its error correction says that it is whole, its text is one of a sheet's in every
letter, and it is not seen from behind. What was done to the picture before is of no matter then.
"""

import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

from kerfdocket.archive.intake.grid import is_face_up, redrawn
from kerfdocket.archive.intake.spots import cut, likely_spots, only_darkest, without_fields
from kerfdocket.planning.page_code import PageCode, read_code

if TYPE_CHECKING:
    from PIL.Image import Image
    from zxingcpp import Barcode

__all__ = ["codes_on", "quarters_turned"]

# Nothing new is begun on a page after this long; it takes one or two where nothing is found. Of the
# processor's time: what is read must not depend on what else a machine does.
_LONGEST_S = 15.0
_SPOTS = 4
# A page of A4 with a code of version 2 is so many times as large as the symbol, 17.4 mm wide on
# paper (sheet.css): 210 · 297 / 17.4². derived
_PAGE_IN_CODES = 206.0
# A sheet laid out tightly has a smaller code, and seems 1.3 times as large.
_SLACK = 0.6
_COARSE_PX = 1700  # the longer side of A4 at less than 150 dpi

Step = Callable[["Image"], "Image"]


@dataclass
class _Found:
    """What was found on a page so far.

    Attributes:
        codes: each once.
        places: middle and edge of each symbol, also of those that say the same. [px]
    """

    codes: list[PageCode] = field(default_factory=list)
    places: list[tuple[float, float, float]] = field(default_factory=list)

    def is_all(self, image: "Image") -> bool:
        """Return whether the page has no room for one more sheet."""
        if not self.places:
            return False
        largest = max(edge for _x, _y, edge in self.places)
        sheets = image.width * image.height / (_PAGE_IN_CODES * largest**2)
        return len(self.places) >= sheets - _SLACK

    def has(self, x: float, y: float) -> bool:
        """Return whether there is already one at this place."""
        return any(math.hypot(x - at_x, y - at_y) < edge for at_x, at_y, edge in self.places)

    def add(self, code: PageCode, place: tuple[float, float, float]) -> None:
        """Note a code."""
        if code not in self.codes:
            self.codes.append(code)
        if not self.has(place[0], place[1]):
            self.places.append(place)


def codes_on(image: "Image") -> tuple[PageCode, ...]:
    """Return the sheet codes on a page, each once, in the order in which they were found.

    Args:
        image: the page, mode L, any side up.
    """
    end = time.thread_time() + _LONGEST_S
    found = _Found()
    for step in _whole_steps(image):
        seen = step(image)
        times = seen.width / image.width
        for code, (x, y, edge) in _read(seen):
            found.add(code, (x / times, y / times, edge / times))
        if found.is_all(image) or time.thread_time() > end:
            return tuple(found.codes)
    spots = [spot for spot in likely_spots(image, _SPOTS) if not found.has(spot.x, spot.y)]
    crops = {spot: cut(image, spot) for spot in spots}
    for look in (_through_steps, _under_grid):
        for spot, crop in crops.items():
            if found.has(spot.x, spot.y):
                continue
            if (seen_code := look(crop, end)) is not None:
                found.add(seen_code, (spot.x, spot.y, _usual_edge(image, found)))
                if found.is_all(image):
                    return tuple(found.codes)
    return tuple(found.codes)


def quarters_turned(image: "Image") -> int:
    """Return by how many quarters to the right a page lies turned, as its codes say.

    Only what is cheap is tried, as someone waits for the picture.

    Args:
        image: the page, mode L.

    Returns:
        0 to 3; 0 also where no code is read, or two codes disagree.
    """
    for step in (_as_it_is, _halved):
        turns = {_quarters(one) for _code, one in _symbols(step(image))}
        if turns:
            return turns.pop() if len(turns) == 1 else 0
    return 0


def _quarters(one: "Barcode") -> int:
    at = one.position
    across, down = at.top_right.x - at.top_left.x, at.top_right.y - at.top_left.y
    return round(math.degrees(math.atan2(down, across)) / 90) % 4


def _usual_edge(image: "Image", found: _Found) -> float:
    """Return how long a symbol's edge is, as on the others or on a page of one sheet. [px]"""
    if found.places:
        return found.places[0][2]
    return math.sqrt(image.width * image.height / _PAGE_IN_CODES)


def _through_steps(crop: "Image", end: float) -> PageCode | None:
    for step in _crop_steps():
        for code, _place in _read(step(crop)):
            return code
        if time.thread_time() > end:
            return None
    return None


def _under_grid(crop: "Image", end: float) -> PageCode | None:
    for drawn in redrawn(crop):
        for code, _place in _read(drawn):
            return code
        if time.thread_time() > end:
            return None
    return None


def _read(image: "Image") -> Iterator[tuple[PageCode, tuple[float, float, float]]]:
    """Give each sheet code with the middle and the edge of its symbol. [px]"""
    for code, one in _symbols(image):
        yield code, _place(one)


def _symbols(image: "Image") -> Iterator[tuple[PageCode, "Barcode"]]:
    import zxingcpp

    for one in zxingcpp.read_barcodes(
        image,
        formats=zxingcpp.BarcodeFormat.QRCode,  # type: ignore[arg-type]  # one will do
        text_mode=zxingcpp.TextMode.Plain,
    ):
        code = _sheet_code(image, one)
        if code is not None:
            yield code, one


def _sheet_code(image: "Image", one: "Barcode") -> PageCode | None:
    """Return what a code says, if it is one of a sheet and can be trusted."""
    if not one.valid:
        return None
    # A sheet's letters are UTF-8. Where a code does not say which ones its are, the reader goes by
    # what they look like, and takes ÖÖß for Japanese.
    try:
        text = one.bytes.decode()
    except UnicodeDecodeError:
        return None
    code = read_code(text) if text == one.text else None
    if code is None:
        return None
    at = one.position
    corners = at.top_left, at.top_right, at.bottom_left, at.bottom_right
    a, b, c, d = ((float(one.x), float(one.y)) for one in corners)
    told = cast(dict[str, str], one.extra)
    version, mask = int(told["Version"]), int(told["DataMask"])
    return code if is_face_up(image, ((a, b), (c, d)), text, version, mask) else None


def _place(one: "Barcode") -> tuple[float, float, float]:
    at = one.position
    corners = at.top_left, at.top_right, at.bottom_right, at.bottom_left
    edge = math.hypot(at.top_right.x - at.top_left.x, at.top_right.y - at.top_left.y)
    return sum(one.x for one in corners) / 4, sum(one.y for one in corners) / 4, max(edge, 1.0)


# What helps a reader to see. Chosen on harmed sheets, no source: each reads some that none of those
# before it does.


def _whole_steps(image: "Image") -> Iterator[Step]:
    yield _as_it_is
    if max(image.size) < _COARSE_PX:
        yield _enlarged(2.0)
    else:
        yield _halved
    yield _sharpened(3, 300)


def _crop_steps() -> tuple[Step, ...]:
    """Steps for a crop, in which a module has about eight pixels."""
    return (
        _as_it_is,
        _without_strokes(4),
        _in_turn(_without_strokes(6), _sharpened(6, 200)),
        without_fields,
        only_darkest,
        _softened(1),
        _against_surroundings(8),
        _in_turn(_without_strokes(3), _turned(10)),
        _in_turn(_without_strokes(6), _softened(2)),
        _sharpened(4, 200),
        _turned(30),
        _enlarged(1.5),
    )


def _as_it_is(image: "Image") -> "Image":
    return image


def _halved(image: "Image") -> "Image":
    return image.reduce(2)


def _enlarged(times: float) -> Step:
    return lambda image: image.resize((round(image.width * times), round(image.height * times)))


def _turned(degrees: float) -> Step:
    """Turned: a line that runs along the rows of modules does so no more."""
    return lambda image: image.rotate(degrees, fillcolor=255)


def _softened(radius_px: float) -> Step:
    """Without the grain."""
    from PIL import ImageFilter

    return lambda image: image.filter(ImageFilter.GaussianBlur(radius_px))


def _sharpened(radius_px: float, percent: int) -> Step:
    from PIL import ImageFilter

    return lambda image: image.filter(ImageFilter.UnsharpMask(radius_px, percent, 0))


def _against_surroundings(radius_px: float) -> Step:
    """Black where it is darker than what is round it, as under a stain or in a shadow."""

    def step(image: "Image") -> "Image":
        from PIL import ImageChops, ImageFilter

        around = image.filter(ImageFilter.BoxBlur(radius_px))
        return ImageChops.subtract(image, around, 1.0, 128).point([0] * 128 + [255] * 128)

    return step


def _without_strokes(width_px: int) -> Step:
    """Without dark lines that are thinner than this, as of a pen."""

    def step(image: "Image") -> "Image":
        from PIL import ImageChops

        for pick, way in ((ImageChops.lighter, 1), (ImageChops.darker, -1)):
            for _pixel in range(width_px):
                image = pick(image, ImageChops.offset(image, way, 0))
                image = pick(image, ImageChops.offset(image, 0, way))
        return image

    return step


def _in_turn(*steps: Step) -> Step:
    def step(image: "Image") -> "Image":
        for one in steps:
            image = one(image)
        return image

    return step
