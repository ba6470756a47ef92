"""Writes pages of sheets as pictures, to look at: `.venv/bin/python tests/pages.py FOLDER`.

Six samples in every language that the program speaks and on both papers; a file's name tells which.
"""

import os
import sys
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QBuffer, QByteArray, QSize
from PySide6.QtGui import QGuiApplication, QImage, QPainter
from PySide6.QtPdf import QPdfDocument

from kerfdocket.job import load_job
from kerfdocket.language import LANGUAGES, Language, speaking
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf

SAMPLES = Path(__file__).parents[1] / "samples"
# At ease; the most to set; with a picture; US units; preheat; refused.
LOOKED_AT = (
    "base-plates-12mm",
    "press-bed-120mm",
    "winter-yard-30mm",
    "ramp-feet-1in",
    "shaft-blocks-c45-60mm",
    "refused-stainless",
)
PAPERS = ("A4", "Letter")
_DOTS_PER_POINT = 100 / 72  # 100 dots in an inch


def write_pages(content: bytes, folder: Path, name: str) -> int:
    """Write each page of a PDF as a grey picture; return how many there are."""
    buffer = QBuffer()
    buffer.setData(QByteArray(content))
    buffer.open(QBuffer.OpenModeFlag.ReadOnly)
    document = QPdfDocument()
    document.load(buffer)
    for number in range(document.pageCount()):
        points = document.pagePointSize(number)
        size = QSize(
            round(points.width() * _DOTS_PER_POINT), round(points.height() * _DOTS_PER_POINT)
        )
        page = QImage(size, QImage.Format.Format_RGB32)
        page.fill(0xFFFFFFFF)  # paper: the page itself has no ground
        shown = document.render(number, size).convertToFormat(QImage.Format.Format_ARGB32)
        _lay_on(page, shown)
        grey = page.convertToFormat(QImage.Format.Format_Grayscale8)
        path = folder / f"{name}-page{number + 1}.png"
        if not grey.save(str(path)):
            raise OSError(f"{path} cannot be written")
    return document.pageCount()


def _lay_on(paper: QImage, page: QImage) -> None:
    painter = QPainter(paper)
    painter.drawImage(0, 0, page)
    painter.end()


def sheet_in(sample: str, paper: str, language: Language) -> bytes:
    """Return the sheet of a sample on a paper in a language."""
    job = load_job(SAMPLES / f"{sample}.toml").model_copy(
        update={"paper": paper, "language": language.code}
    )
    with speaking(language):
        return sheet_pdf(make_plan(job, load_reference()))


def main(folder: Path) -> None:
    """Write the pages of all that is looked at, and say how many each sheet has."""
    folder.mkdir(parents=True, exist_ok=True)
    for sample in LOOKED_AT:
        for language in LANGUAGES:
            for paper in PAPERS:
                name = f"{sample}-{language.code}-{paper}"
                count = write_pages(sheet_in(sample, paper, language), folder, name)
                print(f"{name}: {count} pages")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: pages.py FOLDER")
    application = QGuiApplication(sys.argv[:1])
    main(Path(sys.argv[1]))
