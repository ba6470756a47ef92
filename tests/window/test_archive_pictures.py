"""Pages as pictures, and reading them beside the program: with the real libraries."""

import dataclasses
from io import BytesIO
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image, ImageChops, ImageStat
from pypdf import PdfReader, PdfWriter
from PySide6.QtCore import QBuffer
from pytestqt.qtbot import QtBot

from kerfdocket.archive import open_archive
from kerfdocket.errors import InputError
from kerfdocket.job import Job
from kerfdocket.office import issue_job
from kerfdocket.planning import Plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf
from kerfdocket.window import Services
from kerfdocket.window.archive.picture import page_picture
from kerfdocket.window.archive.side import ArchiveSide
from kerfdocket.window.archive_desk import ArchiveDesk
from window import fakes
from window.conftest import WAIT_MS


def image(size: tuple[int, int], form: str, **options: object) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, "navy").save(out, form, **options)
    return out.getvalue()


def test_a_page_of_a_pdf_is_as_long_as_is_allowed() -> None:
    pdf = fakes.pdf_of("front", "back")
    shown = page_picture(pdf, 1, 842)
    assert (shown.width(), shown.height()) == (595, 842)
    assert shown.pixelColor(1, 1).name() == "#ffffff"
    dark = [
        (x, y)
        for x in range(200)
        for y in range(100, 170)
        if shown.pixelColor(x, y).lightness() < 100
    ]
    assert dark


def test_a_small_picture_stays_small_and_a_large_one_shrinks() -> None:
    small, large = image((40, 30), "PNG"), image((6000, 3000), "JPEG")
    assert page_picture(small, 0, 400).size().toTuple() == (40, 30)
    assert page_picture(large, 0, 400).size().toTuple() == (400, 200)
    assert page_picture(small, 0, 400).pixelColor(0, 0).name() == "#000080"


def test_a_phones_picture_stands_upright() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera was turned by a quarter (Exif 2.32, 4.6.4 A)
    turned = page_picture(image((40, 30), "JPEG", exif=exif), 0, 400)
    assert turned.size().toTuple() == (30, 40)


@pytest.mark.parametrize("degrees", [0, 90, 180, 270, 176, 93])
@pytest.mark.parametrize("is_pdf", [False, True])
def test_a_page_that_was_scanned_lying_on_its_side_stands_upright(
    planned: tuple[Job, Plan], degrees: int, is_pdf: bool
) -> None:
    back = pypdfium2.PdfDocument(sheet_pdf(planned[1]))[1].render(scale=150 / 72).to_pil()
    laid = back.convert("RGB").rotate(degrees, expand=True, fillcolor="white")
    out = BytesIO()
    laid.save(out, "PDF" if is_pdf else "PNG", resolution=150)
    shown = page_picture(out.getvalue(), 0)
    assert shown.width() < shown.height()
    buffer = QBuffer()
    shown.save(buffer, "PNG")
    again = Image.open(BytesIO(buffer.data().data())).convert("L")
    upright = back.convert("L").resize(again.size)
    # Nearer to the page as it was printed than to any other way to lay it.
    apart = [
        ImageStat.Stat(ImageChops.difference(again, upright.rotate(turn))).sum[0]
        for turn in (0, 180)
    ]
    assert apart[0] < apart[1]
    if degrees % 90 == 0:
        assert apart[0] < apart[1] / 2


def test_every_page_of_a_tiff_can_be_shown() -> None:
    out = BytesIO()
    pages = [Image.new("1", (50, 20 + at), at % 2) for at in range(3)]
    pages[0].save(out, "TIFF", save_all=True, append_images=pages[1:])
    assert [page_picture(out.getvalue(), at).height() for at in range(3)] == [20, 21, 22]
    with pytest.raises(InputError, match="no such page"):
        page_picture(out.getvalue(), 3)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"%PDF-1.4 and nothing more", "damaged"),
        (b"a letter", "no picture that is known"),
        (image((40, 30), "PNG")[:60], "cannot be shown"),
        (fakes.pdf_of("one"), "no such page"),
    ],
    ids=["cut off PDF", "text", "cut off picture", "no such page"],
)
def test_what_cannot_be_shown_says_why(content: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        page_picture(content, 1 if b"Catalog" in content else 0)


def test_a_real_sheet_comes_back_scanned_and_filled_in(
    qtbot: QtBot,
    services: Services,
    planned: tuple[Job, Plan],
    tmp_path: Path,
) -> None:
    place = tmp_path / "a.sqlite"
    archive = open_archive(place)
    _traveller, pdf = issue_job(archive, planned[0], load_reference(), "F", is_fillable=True)
    front = pypdfium2.PdfDocument(pdf)[0].render(scale=150 / 72).to_pil()
    front.save(tmp_path / "front.png")
    writer = PdfWriter(clone_from=PdfReader(BytesIO(pdf)))
    writer.update_page_form_field_values(
        writer.pages[1], {"remarks": "Slag hung on."}, auto_regenerate=False
    )
    writer.write(tmp_path / "form.pdf")
    filled = (tmp_path / "form.pdf").read_bytes()
    # What was filled in is seen, and nothing else has changed.
    assert page_picture(filled, 1, 800) != page_picture(pdf, 1, 800)
    assert page_picture(filled, 0, 800) == page_picture(pdf, 0, 800)
    desk = ArchiveDesk(lambda: str(place))
    changed = dataclasses.replace(services, archive_place=lambda: str(place))
    side = ArchiveSide(changed, desk)
    side.set_who("M. Quay")
    side.intake.take([tmp_path / "front.png", tmp_path / "form.pdf"])
    qtbot.waitUntil(lambda: len(side.intake.outcomes) == 2, timeout=3 * WAIT_MS)
    number = planned[0].about.number
    pages = [
        page for outcome in side.intake.outcomes if outcome.taken for page in outcome.taken.pages
    ]
    assert [(one.page.number, one.page.side) for one in pages] == [
        (number, "F"),
        (number, "F"),
        (number, "B"),
    ]
    from kerfdocket.archive import actuals_of

    assert actuals_of(archive, number, planned[0].about.revision or "A") == {
        "remarks": "Slag hung on."
    }
    side.close()
    desk.close()
    archive.close()
