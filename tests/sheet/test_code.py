"""The code on each page is read again after printing, copying, a stain and a skewed scan."""

import io
from collections.abc import Callable

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter
from PySide6.QtCore import QBuffer, QByteArray, QSize
from PySide6.QtGui import QImage
from PySide6.QtPdf import QPdfDocument

from kerfdocket.planning import Plan
from kerfdocket.planning.page_code import PageCode, check_value, code_text, read_code
from kerfdocket.sheet import sheet_pdf
from kerfdocket.sheet.code import page_code
from sheet.hand_plan import hand_job, hand_plan

_A4_INCHES = (8.268, 11.693)


def _scan(content: bytes, page: int, dpi: int) -> Image.Image:
    buffer = QBuffer()
    buffer.setData(QByteArray(content))
    buffer.open(QBuffer.OpenModeFlag.ReadOnly)
    document = QPdfDocument()
    document.load(buffer)
    size = QSize(*(round(inches * dpi) for inches in _A4_INCHES))
    image = document.render(page, size).convertToFormat(QImage.Format.Format_RGBA8888)
    raw = Image.frombytes("RGBA", (image.width(), image.height()), bytes(image.constBits()))
    white = Image.new("RGBA", raw.size, "white")
    return Image.alpha_composite(white, raw).convert("L")


def _noisy(image: Image.Image) -> Image.Image:
    noise = np.random.default_rng(7).normal(0.0, 28.0, (image.height, image.width))
    return Image.fromarray(np.clip(np.asarray(image, dtype=float) + noise, 0, 255).astype("uint8"))


def _copied(image: Image.Image) -> Image.Image:
    """A copy of a copy: blurred, and as hard as a worn drum makes it."""
    for _ in range(2):
        soft = image.filter(ImageFilter.GaussianBlur(0.8))
        image = soft.point(lambda grey: 0 if grey < 110 else min(255, grey + 20))
    return image


def _stained(image: Image.Image) -> Image.Image:
    """A ring and a splash of coffee over the code in the upper right corner and near the lower."""
    stain = Image.new("L", image.size, 255)
    draw = ImageDraw.Draw(stain)
    width, height = image.size
    for x, y in ((0.93, 0.055), (0.95, 0.79)):
        at, radius = (x * width, y * height), 0.05 * width
        box = (at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius)
        draw.ellipse(box, outline=165, width=max(2, round(0.006 * width)))
        spot = 0.011 * width
        draw.ellipse((at[0], at[1], at[0] + spot, at[1] + spot), fill=150)
    return Image.fromarray(np.minimum(np.asarray(image), np.asarray(stain)))


def _skewed(image: Image.Image) -> Image.Image:
    return image.rotate(3.5, expand=True, fillcolor=255)


def _upside_down(image: Image.Image) -> Image.Image:
    return image.rotate(180)


def _read(image: Image.Image) -> set[str]:
    return {found.text for found in zxingcpp.read_barcodes(image)}


@pytest.fixture(scope="module")
def plan() -> Plan:
    return hand_plan()


@pytest.fixture(scope="module")
def content(plan: Plan) -> bytes:
    return sheet_pdf(plan)


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize("side", ["F", "B"])
@pytest.mark.parametrize(
    ("harm", "dpi"),
    [
        (lambda image: image, 100),
        (lambda image: image, 300),
        (_noisy, 150),
        (_copied, 150),
        (_stained, 150),
        (_skewed, 150),
        (_upside_down, 150),
        (lambda image: _skewed(_noisy(_stained(_copied(image)))), 200),
    ],
    ids=["100dpi", "300dpi", "noisy", "copied", "stained", "skewed", "upside-down", "all"],
)
def test_each_page_is_known_again(
    plan: Plan,
    content: bytes,
    side: str,
    harm: Callable[[Image.Image], Image.Image],
    dpi: int,
) -> None:
    page = "FB".index(side)
    assert _read(harm(_scan(content, page, dpi))) == {code_text(plan, side)}


def test_the_code_says_record_revision_side_and_check(plan: Plan) -> None:
    kind, number, revision, side, check = code_text(plan, "B").split(":")
    assert (kind, number, revision, side) == ("KDT1", "TEST-001", "A", "B")
    assert check == check_value(plan)
    assert len(check) == 10
    assert read_code(code_text(plan, "B")) == PageCode("TEST-001", "A", "B", check)


def test_the_check_changes_with_what_was_planned(plan: Plan) -> None:
    other = hand_plan(hand_job(note="Keep the offcuts wider than 210 mm."))
    assert check_value(other) != check_value(plan)
    assert check_value(hand_plan()) == check_value(plan)


# The second is Japanese to a reader that goes by what its bytes look like.
@pytest.mark.parametrize("number", ["Auftrag: Ü-7/μ", "ÖÖß"])
def test_a_number_of_any_letters_has_a_code(number: str) -> None:
    odd = hand_plan(hand_job(number=number, revision="B"))
    made = page_code(odd, "F")
    assert made.text.split(":")[1] == number.replace(":", " ")
    size = int(made.size)
    picture = Image.new("L", (size, size), 255)
    for run in made.path.split("M")[1:]:
        x, rest = run.split(" ")
        y, length = rest.split("h")[0], rest.split("h")[1].split("v")[0]
        for step in range(int(length)):
            picture.putpixel((int(x) + step, int(y)), 0)
    image = picture.resize((size * 6, size * 6), Image.Resampling.NEAREST)
    assert _read(image) == {made.text}
    assert io.BytesIO(sheet_pdf(odd)).getbuffer().nbytes > 10_000
