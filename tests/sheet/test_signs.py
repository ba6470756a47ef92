"""The drawings of the safety signs, and how they stand on the sheet."""

import io
import re
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pypdf
import pytest
from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from jobs import SAMPLES, make_job
from kerfdocket.language import ENGLISH, PSEUDO, speaking
from kerfdocket.planning import Plan, make_plan
from kerfdocket.reference import load_reference
from kerfdocket.resources import data_dir
from kerfdocket.sheet import sheet_html, sheet_pdf
from kerfdocket.sheet.context import Layout, traveller_context
from kerfdocket.sheet.render import _lay_out
from sheet.sheets import sample_plan, sample_sheet

REFERENCE = load_reference()
FOLDER = data_dir("sheet_templates") / "shared" / "signs"
DRAWINGS = sorted(FOLDER.glob("*.svg"))
SVG = "{http://www.w3.org/2000/svg}"
BOX = {"W": (100, 88), "M": (100, 100), "P": (100, 100)}
SCALE = 4  # pixels to a unit of the drawing
MARGIN = 20  # units of bare paper around it
SMALL = 33  # pixels: 8 mm at 100 dpi
BLACK, GREY = 64, 128


def _pixels(text: str, width: int, height: int) -> list[bytes]:
    """Rows of grey pixels of an SVG on white paper."""
    renderer = QSvgRenderer(QByteArray(text.encode()))
    assert renderer.isValid()
    image = QImage(width, height, QImage.Format.Format_Grayscale8)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer.render(painter, QRectF(0, 0, width, height))
    painter.end()
    return [bytes(image.constScanLine(y))[:width] for y in range(height)]


def _with_margin(text: str) -> list[bytes]:
    """The drawing with bare paper around it, so that what leaves its box is seen."""
    (box,) = re.findall(r'viewBox="0 0 (\d+) (\d+)"', text)
    width, height = (int(one) + 2 * MARGIN for one in box)
    wider = re.sub(r'viewBox="[^"]*"', f'viewBox="{-MARGIN} {-MARGIN} {width} {height}"', text)
    return _pixels(wider, width * SCALE, height * SCALE)


def _frame(text: str) -> str:
    """The drawing without its pictogram, which is the first group."""
    root = ElementTree.fromstring(text)
    root.remove(root.find(f"{SVG}g"))
    return ElementTree.tostring(root, encoding="unicode")


def _share(rows: list[bytes], outline: list[bytes]) -> float:
    """Black part of what the outline covers."""
    inside = [
        (pixel, cover)
        for row, covers in zip(rows, outline, strict=True)
        for pixel, cover in zip(row, covers, strict=True)
        if cover < GREY
    ]
    return sum(pixel < GREY for pixel, _cover in inside) / len(inside)


def _filled(text: str) -> list[bytes]:
    """The frame's outline, filled."""
    return _with_margin(_frame(text).replace("#fff", "#000"))


def test_each_sign_has_a_drawing_and_each_drawing_a_sign() -> None:
    assert [path.stem for path in DRAWINGS] == sorted(row.sign for row in REFERENCE.signs)


@pytest.mark.parametrize("row", REFERENCE.signs, ids=lambda row: row.sign)
def test_a_drawing_says_its_number_and_meaning(row) -> None:
    title = ElementTree.parse(FOLDER / f"{row.sign}.svg").getroot().find(f"{SVG}title")
    assert title is not None
    assert title.text == f"{row.sign} {row.referent}"


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_a_drawing_is_plain_shapes_in_black_and_white(path: Path) -> None:
    root = ElementTree.parse(path).getroot()
    for one in root.iter():
        assert one.tag.removeprefix(SVG) in {
            "svg",
            "title",
            "g",
            "path",
            "circle",
            "ellipse",
            "rect",
        }
        for name in ("fill", "stroke"):
            assert one.get(name, "#000") in {"#000", "#fff", "none"}
        assert not set(one.attrib) & {"style", "opacity", "class", "href"}
    assert root.get("viewBox") == "0 0 {} {}".format(*BOX[path.stem[0]])


@pytest.mark.parametrize("letter", BOX)
def test_signs_of_one_kind_have_one_frame(letter: str) -> None:
    frames = {
        re.sub(r"<(ns0:)?title>.*?</(ns0:)?title>|\s+", "", _frame(path.read_text("utf-8")))
        for path in DRAWINGS
        if path.stem.startswith(letter)
    }
    assert len(frames) == 1


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_a_drawing_stays_within_its_frame(path: Path) -> None:
    text = path.read_text("utf-8")
    for row, covers in zip(_with_margin(text), _filled(text), strict=True):
        for pixel, cover in zip(row, covers, strict=True):
            assert pixel == 255 or cover < 255


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_a_frame_stays_within_the_box(path: Path) -> None:
    width, height = BOX[path.stem[0]]
    rows = _filled(path.read_text("utf-8"))
    for y, row in enumerate(rows):
        for x in (x for x, pixel in enumerate(row) if pixel < 255):
            # Half a unit for the edge, which is softened.
            assert -0.5 <= x / SCALE - MARGIN <= width + 0.5
            assert -0.5 <= y / SCALE - MARGIN <= height + 0.5


def _touched(rows: list[bytes], x: int, y: int) -> set[tuple[int, int]]:
    """All black pixels that hang together with the one at (x, y)."""
    found, waiting = set(), [(x, y)]
    while waiting:
        one = waiting.pop()
        if one in found or rows[one[1]][one[0]] >= GREY:
            continue
        found.add(one)
        waiting += [(one[0] + dx, one[1] + dy) for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    return found


@pytest.mark.parametrize(
    "path", [one for one in DRAWINGS if one.stem[0] == "W"], ids=lambda path: path.stem
)
def test_a_warning_s_pictogram_is_clear_of_its_border(path: Path) -> None:
    text = path.read_text("utf-8")
    foot = ((MARGIN + 50) * SCALE, (MARGIN + 86) * SCALE)
    border, whole = _touched(_with_margin(_frame(text)), *foot), _touched(_with_margin(text), *foot)
    assert len(border) > 1000
    assert whole == border


@pytest.mark.parametrize(
    "path", [one for one in DRAWINGS if one.stem[0] == "M"], ids=lambda path: path.stem
)
def test_a_mandatory_sign_s_pictogram_is_clear_of_the_edge(path: Path) -> None:
    rows = _with_margin(path.read_text("utf-8"))
    for y, row in enumerate(rows):
        for x, pixel in enumerate(row):
            radius = ((x / SCALE - MARGIN - 50) ** 2 + (y / SCALE - MARGIN - 50) ** 2) ** 0.5
            if 47.5 < radius < 49.5:
                assert pixel < BLACK


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: path.stem)
def test_frames_have_their_share_of_the_sign(path: Path) -> None:
    # Directive 92/58/EEC, annex II, as its Spanish and Portuguese forms have it: ring and bar of
    # a prohibition at least 35 % of the sign, field of a warning and of a mandatory sign 50 %.
    text = path.read_text("utf-8")
    frame = _share(_with_margin(_frame(text)), _filled(text))
    if path.stem[0] == "P":
        assert frame >= 0.35
    elif path.stem[0] == "W":
        assert 1.0 - frame >= 0.5
    else:
        assert _share(_with_margin(text), _filled(text)) >= 0.5


def test_a_prohibition_s_bar_falls_from_left_to_right() -> None:
    # Same directive: at 45°, downwards from left to right.
    rows = _with_margin((FOLDER / "P003.svg").read_text("utf-8"))

    def at(x: float, y: float) -> int:
        return rows[round((MARGIN + y) * SCALE)][round((MARGIN + x) * SCALE)]

    for way in (-25, -15, 0, 15, 25):
        assert at(50 + way, 50 + way) < BLACK
        assert at(50 + way + 4.5, 50 + way - 4.5) > 255 - BLACK  # clear of the pictogram
        assert at(50 + way - 4.5, 50 + way + 4.5) > 255 - BLACK


def test_signs_are_told_apart_when_small_and_grey() -> None:
    small = {
        path.stem: b"".join(_pixels(path.read_text("utf-8"), SMALL, SMALL)) for path in DRAWINGS
    }
    for one, other in combinations(small, 2):
        if one[0] == other[0]:
            pairs = zip(small[one], small[other], strict=True)
            differ = sum(abs(a - b) > GREY for a, b in pairs) / SMALL**2
            assert differ > 0.05, f"{one} and {other} differ in {differ:.1%} of their pixels"


# --- on the sheet


def _plan(**changes: object) -> Plan:
    return make_plan(make_job(**changes), REFERENCE)


def _alternatives(content: bytes) -> Iterator[str]:
    def walk(node: object) -> Iterator[str]:
        node = node.get_object() if isinstance(node, pypdf.generic.IndirectObject) else node
        if isinstance(node, pypdf.generic.ArrayObject):
            for child in node:
                yield from walk(child)
        elif isinstance(node, pypdf.generic.DictionaryObject):
            if "/Alt" in node:
                yield str(node["/Alt"])
            if "/K" in node:
                yield from walk(node["/K"])

    root = pypdf.PdfReader(io.BytesIO(content)).trailer["/Root"]
    return walk(root["/StructTreeRoot"]["/K"])


def test_who_cannot_see_a_sign_has_its_meaning_read_out() -> None:
    plan = _plan(plate__surface="zinc", site__place="confined space")
    texts = list(_alternatives(sheet_pdf(plan)))
    signs = [text for text in texts if "ISO 7010" in text]
    assert signs == [f"{one.meaning} (ISO 7010-{one.number})" for one in plan.signs]
    assert "Warning: toxic material (ISO 7010-W016)" in signs


def test_the_condition_stands_beside_its_sign() -> None:
    html = sheet_html(_plan())
    after = html[html.index("P003.svg") :]
    assert "while leak-testing and blowing out" in after[: after.index("<img")]


@pytest.mark.parametrize("room", ["as it comes", "packed"])
def test_signs_stand_where_there_is_room(room) -> None:
    front = traveller_context(_plan(), Layout(room=room)).front
    assert [one.number for one in front.signs] == [one.number for one in _plan().signs]


@pytest.mark.parametrize("room", ["no signs", "no pictures"])
def test_signs_give_way_before_the_front_is_parted(room) -> None:
    assert traveller_context(_plan(), Layout(room=room)).front.signs == ()
    assert "shared/signs" not in sheet_html(_plan(), Layout(room=room))


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_every_sample_shows_its_signs_on_its_one_front(path: Path) -> None:
    plan, content = sample_plan(path.stem), sample_sheet(path.stem)
    assert len(pypdf.PdfReader(io.BytesIO(content)).pages) == 2
    shown = sum("ISO 7010" in text for text in _alternatives(content))
    assert shown == len(plan.signs) > 0


def _most() -> Plan:
    return _plan(
        plate__surface="zinc",
        plate__length="3 m",
        plate__width="2 m",
        site__place="confined space",
        parts=[{"name": "A", "cut_length": "1 m", "start": "pierce"}],
    )


@pytest.mark.parametrize("room", ["as it comes", "packed"])
@pytest.mark.parametrize("language", [ENGLISH, PSEUDO], ids=lambda one: one.code)
def test_the_most_signs_that_a_job_can_have_stand_in_one_row(room, language) -> None:
    with speaking(language):
        plan = _most()
        html = sheet_html(plan, Layout(room=room))
    assert len(plan.signs) == len(REFERENCE.signs) - 1  # the mask stands for the goggles
    boxes = [
        box
        for box in _lay_out(html).pages[0]._page_box.descendants()
        if box.element_tag == "img" and "signs/" in box.element.get("src")
    ]
    assert len(boxes) == len(plan.signs)
    tops = [box.position_y for box in boxes]
    assert max(tops) - min(tops) < 3.0  # CSS pixels: triangles are a little higher than discs
    rights = [box.position_x + box.width for box in boxes]
    assert rights == sorted(rights)
