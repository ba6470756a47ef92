"""Where on a page a code is likely to be, without reading it."""

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["CROP_PX", "Spot", "cut", "likely_spots", "only_darkest", "without_fields"]

CROP_PX = 420  # edge of what is cut out; a module has about eight pixels then
_LONG_PX = 1000  # longer side of the page that is looked over; a module has about two pixels
# The rest is chosen on harmed sheets, no source.
_NEAR = 0.003  # of the longer side: within this, a code has light and dark
_CELL_PX = 6
_WINDOW = 7  # cells, about as large as a code
_PART = 0.15  # of a code that may be without light and dark, under a blot or a tear
_CROP_SHARE = 0.12  # of the longer side: a code and as much again
_APART = 5  # cells
_LEAST = 4  # of 255; less is grain of the paper
_FIELD_PX = 22  # half the edge of a square that is dark all over; a code has none so large
_TONER = 0.15  # of the way from the darkest to the lightest; pens are lighter than toner
_SHADE = 30.0  # grey values from where on a change counts by how many times as light it is


@dataclass(frozen=True)
class Spot:
    """A place on a page. [px]"""

    x: float
    y: float


@cache
def _by_proportion() -> list[int]:
    """Grey values so that the same print is the same step in the light and in a shadow."""
    whole = math.log1p(255 / _SHADE)
    return [round(255 * math.log1p(value / _SHADE) / whole) for value in range(256)]


def likely_spots(image: "Image", most: int) -> list[Spot]:
    """Return where light and dark change most closely over a whole code's size, likelier first.

    Text and lines have gaps, and large print has fields; a code has neither.

    Args:
        image: mode L.
        most: places to return.
    """
    from PIL import ImageChops, ImageFilter, ImageOps

    times = max(image.size) / _LONG_PX
    size = (max(round(image.width / times), 1), max(round(image.height / times), 1))
    near = ImageFilter.BoxBlur(_NEAR * _LONG_PX)
    page = image.resize(size, reducing_gap=2.0).point(_by_proportion())
    busy = ImageChops.difference(page, page.filter(near)).filter(near).reduce(_CELL_PX)
    rim = _WINDOW // 2
    ranked = ImageOps.expand(busy, rim).filter(
        ImageFilter.RankFilter(_WINDOW, int(_WINDOW**2 * _PART))
    )
    # Of a plateau the middle.
    ranked = ImageChops.add(ranked, ranked.filter(ImageFilter.BoxBlur(1)), 2.0)
    ranked = ImageOps.crop(ranked, rim)
    found = []
    for _number in range(most):
        high = max(ranked.tobytes())
        if high < _LEAST:
            break
        y, x = divmod(ranked.tobytes().index(high), ranked.width)
        middle = [(place + 0.5) * _CELL_PX * times for place in (x, y)]
        found.append(Spot(*middle))
        ranked.paste(0, (x - _APART, y - _APART, x + _APART + 1, y + _APART + 1))
    return found


def cut(image: "Image", spot: Spot) -> "Image":
    """Return what is at a spot, `CROP_PX` wide and high, however finely the page was scanned."""
    half = min(max(image.size) * _CROP_SHARE, *image.size) / 2
    left = min(max(spot.x - half, 0.0), image.width - 2 * half)
    top = min(max(spot.y - half, 0.0), image.height - 2 * half)
    box = (left, top, left + 2 * half, top + 2 * half)
    return image.resize((CROP_PX, CROP_PX), box=box)


def without_fields(crop: "Image") -> "Image":
    """Return a crop with its dark fields made light: no part of a code, but the bench behind it.

    Args:
        crop: as `cut` makes it.
    """
    from PIL import ImageFilter

    wide = ImageFilter.BoxBlur(_FIELD_PX)
    darkest, lightest = _ends(crop)
    middle = (darkest + lightest) // 2
    is_dark = crop.point([255] * middle + [0] * (256 - middle))
    is_field = is_dark.filter(wide).point([0] * 250 + [255] * 6).filter(wide)
    light = crop.copy()
    light.paste(lightest, mask=is_field.point([0] + [255] * 255))
    return light


def only_darkest(crop: "Image") -> "Image":
    """Return a crop in black and white, with nothing black but what is as dark as toner."""
    darkest, lightest = _ends(crop)
    end = round(darkest + _TONER * (lightest - darkest))
    return crop.point([0] * end + [255] * (256 - end))


def _ends(crop: "Image") -> tuple[int, int]:
    """Return the darkest and the lightest grey."""
    values = crop.tobytes()
    return min(values), max(values)
