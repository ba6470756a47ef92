"""What happens to a printed page between the printer and the scan of it.

Each harm takes a page and gives it back harmed; severities are ours, chosen so that the worst of
them defeat a plain reading. Lengths are in millimetres on the paper.
"""

import io
import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFilter

__all__ = [
    "SAVED_AS",
    "Harm",
    "Page",
    "blotted",
    "blurred",
    "coarse",
    "coffee",
    "copied",
    "crumpled",
    "dark_margins",
    "faded",
    "folded",
    "noisy",
    "painted_over",
    "photographed",
    "scribbled",
    "shaken",
    "streaked",
    "torn",
    "turned",
    "washed",
]

Point = tuple[float, float]
_MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Page:
    """A page as grey values, and where its code is.

    Attributes:
        image: mode L.
        dpi: pixels to the inch of paper.
        code: corners of the symbol without its quiet zone, clockwise from its upper left. [px]
    """

    image: Image.Image
    dpi: float
    code: tuple[Point, Point, Point, Point]

    def px(self, mm: float) -> float:
        """Return a length on the paper in pixels."""
        return mm * self.dpi / _MM_PER_INCH

    def at(self, across: float, down: float) -> Point:
        """Return a point of the code; 0, 0 is its upper left corner and 1, 1 its lower right."""
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self.code
        top = ax + (bx - ax) * across, ay + (by - ay) * across
        low = dx + (cx - dx) * across, dy + (cy - dy) * across
        return top[0] + (low[0] - top[0]) * down, top[1] + (low[1] - top[1]) * down


Harm = Callable[[Page, np.random.Generator], Page]


def _grey(image: Image.Image) -> NDArray[np.float64]:
    return np.asarray(image, dtype=np.float64)


def _image(grey: NDArray[np.float64]) -> Image.Image:
    return Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8))


def turned(degrees: float) -> Harm:
    """Laid askew on the glass, counter-clockwise; what is round the paper is white."""

    def harm(page: Page, _random: np.random.Generator) -> Page:
        before = page.image
        after = before.rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=255)
        angle = math.radians(degrees)
        cos, sin = math.cos(angle), math.sin(angle)

        def moved(point: Point) -> Point:
            x, y = point[0] - before.width / 2, point[1] - before.height / 2
            return x * cos + y * sin + after.width / 2, y * cos - x * sin + after.height / 2

        a, b, c, d = page.code
        return replace(page, image=after, code=(moved(a), moved(b), moved(c), moved(d)))

    return harm


def coarse(dpi: float) -> Harm:
    """Scanned with fewer pixels."""

    def harm(page: Page, _random: np.random.Generator) -> Page:
        factor = dpi / page.dpi
        size = round(page.image.width * factor), round(page.image.height * factor)
        a, b, c, d = ((x * factor, y * factor) for x, y in page.code)
        image = page.image.resize(size, Image.Resampling.BOX)
        return Page(image, dpi, (a, b, c, d))

    return harm


def noisy(spread: float) -> Harm:
    """Grain of the sensor: standard deviation in grey values."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        shape = page.image.height, page.image.width
        grain = random.standard_normal(shape, dtype=np.float32) * spread
        return replace(page, image=_image(_grey(page.image) + grain))

    return harm


def blurred(mm: float) -> Harm:
    """Out of focus: standard deviation on the paper."""

    def harm(page: Page, _random: np.random.Generator) -> Page:
        soft = page.image.filter(ImageFilter.GaussianBlur(page.px(mm)))
        return replace(page, image=soft)

    return harm


def shaken(mm: float) -> Harm:
    """Moved sideways while it was taken."""

    def harm(page: Page, _random: np.random.Generator) -> Page:
        grey, steps = _grey(page.image), max(2, round(page.px(mm)))
        moved = sum(np.roll(grey, step - steps // 2, axis=1) for step in range(steps))
        return replace(page, image=_image(np.asarray(moved) / steps))

    return harm


def copied(times: int, threshold: int = 120) -> Harm:
    """Copies of copies in black and white."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        image = page.image
        for _ in range(times):
            soft = _grey(image.filter(ImageFilter.GaussianBlur(page.px(0.11))))
            soft += random.standard_normal(soft.shape, dtype=np.float32) * 12
            image = _image(np.where(soft < threshold, 0.0, 255.0))
        return replace(page, image=image)

    return harm


def faded(darkest: int) -> Harm:
    """Little toner left: black has become this grey."""

    def harm(page: Page, _random: np.random.Generator) -> Page:
        return replace(page, image=_image(darkest + _grey(page.image) * (255 - darkest) / 255))

    return harm


def washed(low: float, high: float) -> Harm:
    """Lit unevenly: this part of the light falls on one corner, that on the opposite one."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        width, height = page.image.size
        across = np.linspace(0.0, 1.0, width)[None, :]
        down = np.linspace(0.0, 1.0, height)[:, None]
        if random.random() < 0.5:
            across = 1.0 - across
        light = low + (high - low) * (across + down) / 2
        # The shadow of what holds the lamp, over the code itself.
        x, y = page.at(0.5, 0.5)
        edge = (np.arange(width)[None, :] - x) + 0.4 * (np.arange(height)[:, None] - y)
        light = light * (0.8 + 0.2 / (1.0 + np.exp(-np.clip(edge / page.px(0.6), -50, 50))))
        return replace(page, image=_image((20 + _grey(page.image) * 235 / 255) * light))

    return harm


def coffee(darkness: int) -> Harm:
    """The ring of a cup through the code, and a splash on it."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        stain = Image.new("L", page.image.size, 255)
        draw = ImageDraw.Draw(stain)
        x, y = page.at(*random.uniform(-0.4, 1.4, 2))
        radius = page.px(random.uniform(12, 20))
        box = (x - radius, y - radius, x + radius, y + radius)
        draw.ellipse(box, fill=(255 + darkness) // 2, outline=darkness, width=round(page.px(1.6)))
        for _ in range(4):
            x, y = page.at(*random.uniform(0.1, 0.9, 2))
            spot = page.px(random.uniform(0.5, 1.3))
            draw.ellipse((x - spot, y - spot, x + spot, y + spot), fill=darkness)
        wet = _grey(stain.filter(ImageFilter.GaussianBlur(page.px(0.25)))) / 255
        return replace(page, image=_image(_grey(page.image) * wet))

    return harm


def folded(mm: float) -> Harm:
    """Folded through the code: ink broken off along a line, and what is beyond it shifted."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        grey = _grey(page.image)
        _, y = page.at(0.5, random.uniform(0.3, 0.7))
        at, width, shift = round(y), max(1, round(page.px(mm))), round(page.px(mm / 2))
        grey[at:] = np.roll(grey[at:], shift, axis=1) * 0.9
        grey[at : at + width] = 205
        grey[at + width : at + width + max(1, width // 3)] *= 0.5
        return replace(page, image=_image(grey))

    return harm


def scribbled(strokes: int, mm: float = 0.5) -> Harm:
    """Pen strokes across the code; ink makes paper darker, and toner no lighter."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        ink = Image.new("L", page.image.size, 255)
        draw = ImageDraw.Draw(ink)
        for _ in range(strokes):
            start, turn, end = random.uniform(-0.2, 1.2, (3, 2))
            line = [page.at(*start), page.at(*turn), page.at(*end)]
            draw.line(line, fill=55, width=max(1, round(page.px(mm))), joint="curve")
        return replace(page, image=ImageChops.darker(page.image, ink))

    return harm


def streaked(lines: int) -> Harm:
    """Dust on the glass of a scanner that draws the paper past it: lines along the whole page."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        image = page.image.copy()
        draw = ImageDraw.Draw(image)
        for place in random.uniform(0.05, 0.95, lines):
            x, _ = page.at(place, 0.5)
            draw.line([(x, 0), (x, image.height)], fill=60, width=max(1, round(page.px(0.25))))
        return replace(page, image=image)

    return harm


def _covered(page: Page, outline: list[Point], grey: int) -> Page:
    image = page.image.copy()
    ImageDraw.Draw(image).polygon([page.at(*point) for point in outline], fill=grey)
    return replace(page, image=image)


def torn(part: float, corner: str, behind: int = 255) -> Harm:
    """A corner of the page torn off through the code.

    Args:
        part: of the code's edge that is gone, both ways.
        corner: of the code, `lower right` (where no finder pattern is) or `upper right`.
        behind: grey of what lies behind the paper.
    """

    def harm(page: Page, random: np.random.Generator) -> Page:
        jag = random.uniform(0.0, 0.05)
        outline = [(1 - part, 1.6), (1 - part + jag, 1.0), (1.0, 1 - part - jag), (1.6, 1 - part)]
        outline.append((1.6, 1.6))
        if corner == "upper right":
            outline = [(across, 1 - down) for across, down in outline]
        return _covered(page, outline, behind)

    return harm


def blotted(mm: float, across: float, down: float, grey: int = 30) -> Harm:
    """One blot of oil or soot on the code."""

    def harm(page: Page, _random: np.random.Generator) -> Page:
        image, radius = page.image.copy(), page.px(mm)
        x, y = page.at(across, down)
        ImageDraw.Draw(image).ellipse((x - radius, y - radius, x + radius, y + radius), fill=grey)
        return replace(page, image=image)

    return harm


def painted_over(page: Page, _random: np.random.Generator) -> Page:
    """The code made unreadable with a thick pen."""
    return _covered(page, [(-0.1, -0.1), (1.1, -0.1), (1.1, 1.1), (-0.1, 1.1)], 25)


def dark_margins(mm: float) -> Harm:
    """Scanned with the lid open: black round the paper, up to its edge."""

    def harm(page: Page, _random: np.random.Generator) -> Page:
        margin = round(page.px(mm))
        image = Image.new("L", tuple(side + 2 * margin for side in page.image.size), 12)
        image.paste(page.image, (margin, margin))
        a, b, c, d = ((x + margin, y + margin) for x, y in page.code)
        return replace(page, image=image, code=(a, b, c, d))

    return harm


def crumpled(mm: float) -> Harm:
    """Crushed in a pocket: waves of the paper that move things by so much."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        width, height = page.image.size
        down, across = np.mgrid[0:height, 0:width]
        move, shade = np.zeros((2, height, width)), np.zeros((height, width))
        for _ in range(4):
            length, angle = page.px(random.uniform(14, 40)), random.uniform(0, math.tau)
            phase = random.uniform(0, math.tau)
            wave = (across * math.cos(angle) + down * math.sin(angle)) * math.tau / length + phase
            bump = np.sin(wave)
            move[0] += bump * math.cos(angle)
            move[1] += bump * math.sin(angle)
            shade += np.cos(wave)
        move *= page.px(mm) / 2
        x = np.clip(np.rint(across + move[0]), 0, width - 1).astype(np.intp)
        y = np.clip(np.rint(down + move[1]), 0, height - 1).astype(np.intp)
        return replace(page, image=_image(_grey(page.image)[y, x] * (0.88 + 0.03 * shade)))

    return harm


def photographed(lean: float) -> Harm:
    """Taken with a telephone from aside, on a dark bench: `lean` of the width is lost far away."""

    def harm(page: Page, random: np.random.Generator) -> Page:
        width, height = page.image.size
        one, two, three, four = random.uniform(0.02, 1.0, 4) * lean
        corners = [
            (width * (0.06 + one), height * (0.06 + two / 2)),
            (width * (0.94 - two), height * (0.06 + one / 2)),
            (width * (0.94 - three / 3), height * (0.94 - four / 4)),
            (width * (0.06 + four / 3), height * (0.94 - three / 4)),
        ]
        flat = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
        there = _projection(flat, corners)
        back = _projection(corners, flat)
        image = page.image.transform(
            page.image.size,
            Image.Transform.PERSPECTIVE,
            back.tolist(),
            Image.Resampling.BICUBIC,
            fillcolor=70,
        )
        a, b, c, d = (_projected(there, point) for point in page.code)
        leant = replace(page, image=image, dpi=page.dpi * 0.88, code=(a, b, c, d))
        return washed(0.6, 1.05)(leant, random)

    return harm


def _projection(source: list[Point], target: list[Point]) -> NDArray[np.float64]:
    """The eight numbers of the projection that takes four points to four others."""
    rows, right = [], []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.linalg.solve(np.array(rows, dtype=np.float64), np.array(right, dtype=np.float64))


def _projected(by: NDArray[np.float64], point: Point) -> Point:
    a, b, c, d, e, f, g, h = by.tolist()
    x, y = point
    far = g * x + h * y + 1
    return (a * x + b * y + c) / far, (d * x + e * y + f) / far


def _saved(image: Image.Image, kind: str, **options: object) -> bytes:
    made = io.BytesIO()
    image.save(made, kind, **options)
    return made.getvalue()


def _black_and_white(image: Image.Image) -> Image.Image:
    return image.point([0] * 128 + [255] * 128).convert("1")


def _dpi(page: Page) -> tuple[int, int]:
    return round(page.dpi), round(page.dpi)


# How a page is kept, by the name that a test shows.
SAVED_AS: dict[str, Callable[[Page], bytes]] = {
    "PNG": lambda page: _saved(page.image, "PNG", compress_level=1),
    "JPEG 85": lambda page: _saved(page.image.convert("RGB"), "JPEG", quality=85),
    "JPEG 20": lambda page: _saved(page.image, "JPEG", quality=20),
    "TIFF": lambda page: _saved(page.image, "TIFF", compression="tiff_lzw"),
    "TIFF G4": lambda page: _saved(
        _black_and_white(page.image), "TIFF", compression="group4", dpi=_dpi(page)
    ),
    "PDF": lambda page: _saved(page.image, "PDF", resolution=page.dpi, quality=75),
    "PDF G4": lambda page: _saved(_black_and_white(page.image), "PDF", resolution=page.dpi),
}
