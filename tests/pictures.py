"""Makes the pictures of the README from the program: `.venv/bin/python tests/pictures.py`."""

import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QBuffer, QByteArray, QSize, QTimer
from PySide6.QtPdf import QPdfDocument
from PySide6.QtWidgets import QApplication

from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf
from kerfdocket.window import default_services
from kerfdocket.window.main_window import MainWindow

SAMPLES = Path(__file__).parents[1] / "samples"
PICTURES = SAMPLES / "pictures"
SAMPLE = SAMPLES / "base-plates-12mm.toml"
_SETTLE_MS = 1500  # the sheet's view draws its pages late


def sheet_pictures() -> None:
    """Save front and back of the sample's sheet."""
    pdf = sheet_pdf(make_plan(load_job(SAMPLE), load_reference()))
    buffer = QBuffer()
    buffer.setData(QByteArray(pdf))
    buffer.open(QBuffer.OpenModeFlag.ReadOnly)
    document = QPdfDocument()
    document.load(buffer)
    for page, name in enumerate(("sheet-front.png", "sheet-back.png")):
        image = document.render(page, QSize(910, 1287))
        image.save(str(PICTURES / name))


def window_picture(application: QApplication) -> None:
    """Save the window with the sample open and its sheet drawn."""
    window = MainWindow(default_services(), SAMPLE)
    window.resize(1500, 940)
    window.sheet_drawn.connect(lambda: QTimer.singleShot(_SETTLE_MS, application.quit))
    window.show()
    application.exec()
    window.grab().save(str(PICTURES / "window.png"))
    window.shut_down(keep_copy=False)


if __name__ == "__main__":
    PICTURES.mkdir(exist_ok=True)
    os.environ["XDG_STATE_HOME"] = tempfile.mkdtemp()
    app = QApplication(sys.argv)
    sheet_pictures()
    window_picture(app)
