"""A page as it is handed to what looks for codes: grey, and no larger than there is use for."""

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["MOST_PIXELS", "PIXELS_KEPT", "Scanned", "grey"]

# A picture with more pixels is not unpacked: A3 at 600 dpi has 70 million.
MOST_PIXELS = 72_000_000
# A page is looked at with no more than these: A3 at 300 dpi has 17 million, 8 pixels to a module.
PIXELS_KEPT = 20_000_000


@dataclass(frozen=True)
class Scanned:
    """A page before its code is looked for.

    Attributes:
        image: mode L; None if there is none.
        fields: what was filled in, by name.
        problem: why the page, or its fields, could not be read; else empty.
    """

    image: "Image | None"
    fields: dict[str, str] = field(default_factory=dict, hash=False)
    problem: str = ""


def grey(image: "Image") -> "Image":
    """Return a picture of any mode in grey values, upright, of at most `PIXELS_KEPT`.

    Of colours the brightest part counts: black print stays dark, while a blue pen, a brown stain
    and yellowed paper grow pale.

    Args:
        image: loaded.

    Raises:
        ValueError: it has a mode that no scan has.
    """
    from PIL import Image, ImageOps

    try:
        upright = ImageOps.exif_transpose(image)
    except (ValueError, TypeError, SyntaxError, LookupError, OSError):
        upright = image  # what a camera noted is damaged; a code is found lying on its side, too
    mode = upright.mode
    if mode.startswith(("I", "F")):
        result = _stretched(upright)
    elif "A" in upright.getbands() or "transparency" in upright.info:
        seen = upright.convert("RGBA")
        paper = Image.new("RGBA", seen.size, "white")
        result = _brightest(Image.alpha_composite(paper, seen).convert("RGB"))
    elif mode in ("1", "L"):
        result = upright.convert("L")
    elif mode == "LAB":
        result = upright.getchannel("L")
    else:
        result = _brightest(upright.convert("RGB"))
    times = math.ceil(math.sqrt(result.width * result.height / PIXELS_KEPT))
    return result.reduce(times) if times > 1 else result


def _brightest(image: "Image") -> "Image":
    from PIL import ImageChops

    red, green, blue = image.split()
    return ImageChops.lighter(ImageChops.lighter(red, green), blue)


def _stretched(image: "Image") -> "Image":
    """Return a picture of more than eight bits, from its darkest to its lightest value."""
    wide = image.convert("F")
    low, high = cast(tuple[float, float], wide.getextrema())  # of one band
    if not (math.isfinite(low) and math.isfinite(high)) or high <= low:
        raise ValueError("a picture without any light and dark")
    span = 255.0 / (high - low)
    return wide.point(lambda value: value * span - low * span).convert("L")
