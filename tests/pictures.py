"""Makes the pictures of the README from the program: `.venv/bin/python tests/pictures.py`."""

import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QBuffer, QByteArray, QSize, QTimer
from PySide6.QtGui import QImage
from PySide6.QtPdf import QPdfDocument
from PySide6.QtWidgets import QApplication

from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf
from kerfdocket.window import default_services
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.values import ValuesDialog

SAMPLES = Path(__file__).parents[1] / "samples"
PICTURES = SAMPLES / "pictures"
SAMPLE = SAMPLES / "base-plates-12mm.toml"
YARD = SAMPLES / "winter-yard-30mm.toml"
_CHANGES_PART = (0.02, 0.776, 0.96, 0.112)  # left, top, width, height of the page
_SETTLE_MS = 1500  # the sheet's view draws its pages late


def _pages(job: Path, count: int, size: QSize) -> list[QImage]:
    buffer = QBuffer()
    buffer.setData(QByteArray(sheet_pdf(make_plan(load_job(job), load_reference()))))
    buffer.open(QBuffer.OpenModeFlag.ReadOnly)
    document = QPdfDocument()
    document.load(buffer)
    return [document.render(page, size) for page in range(count)]


def sheet_pictures() -> None:
    """Save front and back of the sample's sheet, and the change-over of another."""
    for name, image in zip(("front", "back"), _pages(SAMPLE, 2, QSize(910, 1287)), strict=True):
        image.save(str(PICTURES / f"sheet-{name}.png"))
    (front,) = _pages(YARD, 1, QSize(1400, 1980))
    left, top, width, height = _CHANGES_PART
    part = (left * front.width(), top * front.height(), width * front.width())
    cut = front.copy(*(round(one) for one in (*part, height * front.height())))
    cut.save(str(PICTURES / "changing-cylinders.png"))


def window_picture(application: QApplication) -> None:
    """Save the window with the sample open and its sheet drawn."""
    window = MainWindow(default_services(), SAMPLE)
    window.resize(1500, 940)
    window.sheet_drawn.connect(lambda: QTimer.singleShot(_SETTLE_MS, application.quit))
    window.show()
    application.exec()
    window.grab().save(str(PICTURES / "window.png"))
    window.show_values()
    dialog = window.findChild(ValuesDialog)
    assert isinstance(dialog, ValuesDialog)
    dialog.choose("line.oxygen_regulator_pressure")
    application.processEvents()
    dialog.grab().save(str(PICTURES / "all-values.png"))
    window.shut_down(keep_copy=False)


if __name__ == "__main__":
    PICTURES.mkdir(exist_ok=True)
    os.environ["XDG_STATE_HOME"] = tempfile.mkdtemp()
    app = QApplication(sys.argv)
    sheet_pictures()
    window_picture(app)
