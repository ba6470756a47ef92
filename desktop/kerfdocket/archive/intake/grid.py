"""A code that a reader does not find, laid under a net mesh by mesh and drawn anew.

Readers find a QR code by its three finder patterns. Where a pen, a blot or a tear has spoilt one of
them, they see none, though enough of what it says may be left. Here a net is laid over the place
and bent until the patterns that every such code has are seen through it. What lies in its meshes
is drawn clean, with those patterns whole, to be read like any other code: its error correction,
and not this, decides whether it says anything.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from operator import mul
from typing import TYPE_CHECKING, Literal

from kerfdocket.archive.intake.spots import CROP_PX, only_darkest, without_fields

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["is_face_up", "redrawn"]

Point = tuple[float, float]
Net = tuple[tuple[Point, ...], ...]  # rows of knots

# What is set here without a source was chosen on harmed sheets.
_LEVEL: Literal["q"] = "q"  # as the sheet has its codes made
_VERSIONS = (2, 3, 4)  # of the code of a number of any usual length
_QUIET = 4  # modules of white that ISO/IEC 18004 wants round the symbol
_DRAWN_PX = 4  # a module that is drawn clean
_SAMPLES = 3  # across a mesh
_MIDDLE = 128
_ANGLES = range(0, 90, 3)
_EXTENT_PX = 140  # edge of the crop in which the extent of the ink is measured
_SIZES = (0.94, 0.97, 1.0, 1.03)  # of that extent
_SHIFTS = (-1.0, 0.0, 1.0)  # modules
_BEST = 2
_MASKS_TRIED = 4
_COARSE_STEPS = (0.8, 0.4, 0.2)  # modules
_FINE_STEPS = (0.5, 0.25)
_ROUNDS = 2
_CLEAR_CUT = 0.5  # weight of light and dark in the meshes beside the patterns


@dataclass(frozen=True)
class _Form:
    """What every code of a version has.

    Attributes:
        size: modules in a row.
        patterns: 1 where a module is light, -1 where it is dark, 0 where it depends; row by row,
            for the symbol upright and for each quarter turn clockwise.
        masks: for each of the eight masks, what stands in each module; None for what it says.
        format: places of the modules that tell the mask.
    """

    size: int
    patterns: tuple[tuple[int, ...], ...]
    masks: tuple[tuple[bool | None, ...], ...]
    format: tuple[int, ...]


@dataclass(frozen=True)
class _Fit:
    """A net over a crop, and what it was laid for."""

    form: _Form
    turns: int  # quarter turns clockwise that the symbol stands in the crop
    net: Net  # [px]
    score: float


@cache
def _form(version: int) -> _Form:
    """Take the patterns of a version from the library that draws the codes."""
    import segno
    from segno import consts

    says = {consts.TYPE_DATA_DARK, consts.TYPE_DATA_LIGHT}
    tells = {consts.TYPE_FORMAT_DARK, consts.TYPE_FORMAT_LIGHT}
    masks, places, kinds = [], [], []
    for mask in range(8):
        made = segno.make(
            "0", version=version, error=_LEVEL, mask=mask, boost_error=False, micro=False
        )
        kinds = [kind for row in made.matrix_iter(border=0, verbose=True) for kind in row]
        dark = [bool(module) for row in made.matrix for module in row]
        masks.append(
            tuple(
                None if kind in says else is_dark for kind, is_dark in zip(kinds, dark, strict=True)
            )
        )
        places = [place for place, kind in enumerate(kinds) if kind in tells]
    size = math.isqrt(len(kinds))
    upright = [
        0 if is_dark is None or place in set(places) else 1 - 2 * is_dark
        for place, is_dark in enumerate(masks[0])
    ]
    rows = [upright[start : start + size] for start in range(0, len(upright), size)]
    return _Form(size, tuple(_quarter_turns(rows)), tuple(masks), tuple(places))


def is_face_up(image: "Image", net: Net, text: str, version: int, mask: int) -> bool:
    """Return whether a symbol that was read is seen from its printed side.

    A reader reads its mirror image as well and does not tell which it was.

    Args:
        image: mode L.
        net: the symbol's corners. [px]
        text: what it says.
        version, mask: with which it says so.
    """
    import segno

    try:
        made = segno.make(
            text,
            version=version,
            error=_LEVEL,
            mask=mask,
            boost_error=False,
            micro=False,
            encoding=None if text.isascii() else "utf-8",
            eci=not text.isascii(),
        )
    except ValueError:
        return False  # it does not fit there as a sheet has it
    rows = [[1 - 2 * bool(module) for module in row] for row in made.matrix]
    seen = _meshes(image, net, len(rows)).tobytes()

    def best(rows: list[list[int]]) -> float:
        return max(_agreement(seen, pattern) for pattern in _quarter_turns(rows))

    return best(rows) > best([list(column) for column in zip(*rows, strict=True)])


def _quarter_turns(rows: list[list[int]]) -> list[tuple[int, ...]]:
    """Return a square's modules row by row, for it upright and for each quarter turn clockwise."""
    turns = []
    for _turn in range(4):
        turns.append(tuple(module for row in rows for module in row))
        rows = [list(row) for row in zip(*rows[::-1], strict=True)]
    return turns


def redrawn(crop: "Image") -> "Iterator[Image]":
    """Give symbols that may stand in a crop, drawn clean; the likelier ones first.

    Args:
        crop: of `CROP_PX`, the symbol about in its middle and half as wide.
    """
    from PIL import ImageFilter

    plain = without_fields(crop)
    sharp = plain.filter(ImageFilter.UnsharpMask(6, 300, 0))
    pictures = [_even(plain), _even(sharp), only_darkest(plain)]
    for fit in _first_fits(pictures[0]):
        for is_split, steps in ((False, ()), (False, _COARSE_STEPS), (True, _FINE_STEPS)):
            if is_split:
                fit = replace(fit, net=_split(fit.net))
            fit = _bent(pictures[0], fit, steps)
            for picture in pictures:
                yield from _drawn(picture, fit)


def _even(crop: "Image") -> "Image":
    """Return a crop with the same grey all over, and light and dark on either side of it."""
    from PIL import ImageChops, ImageFilter

    around = crop.filter(ImageFilter.BoxBlur(CROP_PX / 8))
    return ImageChops.subtract(crop, around, 0.5, _MIDDLE)


def _first_fits(picture: "Image") -> list[_Fit]:
    """Return how nets laid over the extent of the ink fit, the best ones."""
    fits = []
    for net in _squares(picture):
        for version in _VERSIONS:
            form = _form(version)
            seen = _meshes(picture, net, form.size).tobytes()
            for turns, pattern in enumerate(form.patterns):
                fits.append(_Fit(form, turns, net, _agreement(seen, pattern)))
    fits.sort(key=lambda fit: -fit.score)
    best: list[_Fit] = []
    for fit in fits:
        if all((fit.form, fit.turns) != (one.form, one.turns) for one in best):
            best.append(fit)
        if len(best) == _BEST:
            break
    return best


def _squares(picture: "Image") -> Iterator[Net]:
    """Give squares that may bound the symbol."""
    for degrees in _likely_angles(picture):
        left, top, right, bottom = _extent(picture, degrees)
        wide, high = right - left, bottom - top
        edges = {min(wide, high), max(wide, high)} if _differ(wide, high) else {(wide + high) / 2}
        for edge in sorted(edges):
            for size in _SIZES:
                half, module = edge * size / 2, edge * size / _form(_VERSIONS[0]).size
                for x in _middles(left, right, half, module):
                    for y in _middles(top, bottom, half, module):
                        yield _square(x, y, half, degrees)


def _differ(one: float, other: float) -> bool:
    return abs(one - other) > 0.06 * (one + other)


def _middles(low: float, high: float, half: float, module: float) -> list[float]:
    """Return where the middle may be: of what is seen, or at one end of what is too long."""
    if _differ(high - low, 2 * half):
        return [low + half, high - half]
    return [(low + high) / 2 + shift * module for shift in _SHIFTS]


def _square(x: float, y: float, half: float, degrees: float) -> Net:
    """Return a square of the crop as it lay before it was turned by `degrees`."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def before(at_x: float, at_y: float) -> Point:
        across, down = at_x - CROP_PX / 2, at_y - CROP_PX / 2
        return CROP_PX / 2 + across * cos - down * sin, CROP_PX / 2 + across * sin + down * cos

    return (
        (before(x - half, y - half), before(x + half, y - half)),
        (before(x - half, y + half), before(x + half, y + half)),
    )


def _likely_angles(picture: "Image") -> list[int]:
    """Return by how many degrees to turn a crop so that its edges run along rows and columns."""
    from PIL import Image

    small = picture.resize((_EXTENT_PX, _EXTENT_PX))
    rim = _EXTENT_PX // 7
    rated = []
    for degrees in _ANGLES:
        turned = small.rotate(degrees, Image.Resampling.BILINEAR, fillcolor=_MIDDLE)
        inner = turned.crop((rim, rim, _EXTENT_PX - rim, _EXTENT_PX - rim))
        sharp = 0
        for size in ((inner.width, 1), (1, inner.height)):
            profile = inner.resize(size, Image.Resampling.BOX).tobytes()
            sharp += sum((one - other) ** 2 for one, other in pairwise(profile))
        rated.append((sharp, degrees))
    rated.sort(reverse=True)
    best = rated[0][1]
    for _sharp, degrees in rated:
        if 6 < abs(degrees - best) < 84:
            return [best, degrees]
    return [best]


def _extent(picture: "Image", degrees: float) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of the ink in the middle of a crop turned so. [px]"""
    from PIL import Image, ImageFilter

    turned = picture.rotate(degrees, Image.Resampling.BILINEAR, fillcolor=_MIDDLE)
    ink = turned.filter(ImageFilter.BoxBlur(3)).point([255] * 108 + [0] * 148)
    ink = ink.resize((_EXTENT_PX, _EXTENT_PX), Image.Resampling.BOX)
    usual = (round(_EXTENT_PX * 0.32), round(_EXTENT_PX * 0.68))
    across = down = usual
    for _round in range(3):
        for is_across in (True, False):
            if is_across:
                band = ink.crop((0, down[0], _EXTENT_PX, down[1])).resize((_EXTENT_PX, 1))
            else:
                band = ink.crop((across[0], 0, across[1], _EXTENT_PX)).resize((1, _EXTENT_PX))
            run = _run(band.tobytes())
            run = run if run[1] - run[0] > _EXTENT_PX // 7 else usual
            across, down = (run, down) if is_across else (across, run)
    times = CROP_PX / _EXTENT_PX
    return across[0] * times, down[0] * times, across[1] * times, down[1] * times


def _run(profile: bytes) -> tuple[int, int]:
    """Return from where to where there is ink, from the middle to the quiet zone on either side."""
    middle, gap_ends = len(profile) // 2, 0.035 * len(profile)
    core = sorted(profile[middle - len(profile) // 8 : middle + len(profile) // 8])
    least = core[len(core) // 2] * 0.4
    ends = []
    for way in (-1, 1):
        last, gap, at = middle, 0, middle
        while 0 <= at < len(profile) and gap <= gap_ends:
            last, gap = (at, 0) if profile[at] >= least else (last, gap + 1)
            at += way
        ends.append(last)
    return ends[0], ends[1] + 1


def _meshes(picture: "Image", net: Net, size: int) -> "Image":
    """Return the mean grey of each mesh, `size` by `size`."""
    from PIL import Image

    edge, fields = size * _SAMPLES, len(net) - 1
    cuts = [round(edge * number / fields) for number in range(fields + 1)]
    data = []
    for row in range(fields):
        for column in range(fields):
            box = (cuts[column], cuts[row], cuts[column + 1], cuts[row + 1])
            corners = (
                *net[row][column],
                *net[row + 1][column],
                *net[row + 1][column + 1],
                *net[row][column + 1],
            )
            data.append((box, corners))
    way = Image.Transform.MESH
    return picture.transform((edge, edge), way, data, Image.Resampling.BILINEAR).reduce(_SAMPLES)


def _agreement(seen: bytes, pattern: tuple[int, ...]) -> float:
    """Return how far what is seen is light and dark where a pattern is, in grey values."""
    right: float = sum(map(mul, pattern, seen)) - _MIDDLE * sum(pattern)
    return right / sum(map(abs, pattern))


def _score(picture: "Image", form: _Form, turns: int, net: Net) -> float:
    """Return how well a net fits: by the patterns, and by how clear-cut its meshes are."""
    seen = _meshes(picture, net, form.size).tobytes()
    clear = sum(abs(grey - _MIDDLE) for grey in seen) / len(seen)
    return _agreement(seen, form.patterns[turns]) + _CLEAR_CUT * clear


def _bent(picture: "Image", fit: _Fit, steps: tuple[float, ...]) -> _Fit:
    """Return a net whose knots were moved as long as that made it fit better."""
    form, turns, net = fit.form, fit.turns, fit.net
    module = math.dist(net[0][0], net[0][-1]) / form.size
    best = _score(picture, form, turns, net)
    places = [(row, column) for row in range(len(net)) for column in range(len(net))]
    for step in (step * module for step in steps for _round in range(_ROUNDS)):
        for row, column in places:
            for x, y in ((step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)):
                moved = _moved(net, row, column, x, y)
                score = _score(picture, form, turns, moved)
                if score > best:
                    best, net = score, moved
    return replace(fit, net=net, score=best)


def _moved(net: Net, row: int, column: int, x: float, y: float) -> Net:
    knots = list(net[row])
    knots[column] = knots[column][0] + x, knots[column][1] + y
    return (*net[:row], tuple(knots), *net[row + 1 :])


def _split(net: Net) -> Net:
    """Return a net with a knot more between each two."""

    def between(one: Point, other: Point) -> Point:
        return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2

    def longer(row: tuple[Point, ...]) -> tuple[Point, ...]:
        more = [knot for one, other in pairwise(row) for knot in (one, between(one, other))]
        return (*more, row[-1])

    rows = [longer(row) for row in net]
    more = [
        knots for one, other in pairwise(rows) for knots in (one, tuple(map(between, one, other)))
    ]
    return (*more, rows[-1])


def _drawn(picture: "Image", fit: _Fit) -> "Iterator[Image]":
    """Give what is seen through a net, with its patterns whole, for each mask that may be meant."""
    from PIL import Image

    form = fit.form
    cells = _meshes(picture, fit.net, form.size)
    for _turn in range(fit.turns):
        cells = cells.transpose(Image.Transpose.ROTATE_90)
    is_dark = [grey < _MIDDLE for grey in cells.tobytes()]

    def told(mask: tuple[bool | None, ...]) -> int:
        return sum(is_dark[place] == mask[place] for place in form.format)

    for mask in sorted(form.masks, key=told, reverse=True)[:_MASKS_TRIED]:
        dark = [seen if must is None else must for seen, must in zip(is_dark, mask, strict=True)]
        modules = bytes(0 if one else 255 for one in dark)
        symbol = Image.new("L", (form.size + 2 * _QUIET,) * 2, 255)
        symbol.paste(Image.frombytes("L", (form.size, form.size), modules), (_QUIET, _QUIET))
        yield symbol.resize((symbol.width * _DRAWN_PX,) * 2, Image.Resampling.NEAREST)
