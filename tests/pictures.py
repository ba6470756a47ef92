"""Makes the pictures of the README from the program: `.venv/bin/python tests/pictures.py`."""

import dataclasses
import os
import sys
import tempfile
from io import BytesIO
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from pypdf import PdfWriter
from PySide6.QtCore import QBuffer, QByteArray, QSize, QTimer
from PySide6.QtGui import QImage
from PySide6.QtPdf import QPdfDocument
from PySide6.QtWidgets import QApplication

from kerfdocket.archive import open_archive, take_file
from kerfdocket.job import load_job
from kerfdocket.office import issue_job, reissue_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf
from kerfdocket.window import default_services
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.person import remember_person
from kerfdocket.window.values import ValuesDialog

SAMPLES = Path(__file__).parents[1] / "samples"
PICTURES = SAMPLES / "pictures"
SAMPLE = SAMPLES / "base-plates-12mm.toml"
YARD = SAMPLES / "winter-yard-30mm.toml"
_CHANGES_PART = (0.02, 0.776, 0.96, 0.112)  # left, top, width, height of the page
WRITTEN = {
    "nozzle_type": "1.2 mm, acetylene",
    "oxygen_before": "150 bar",
    "oxygen_after": "131",
    "fuel_before": "66.2",
    "fuel_after": "65.9 kg",
    "begun": "7:30",
    "ended": "8.35",
    "measured_perpendicularity": "0.4",
    "measured_roughness": "150",
    "cutter_name": "Cutter, early shift",
    "cutter_time": "2026-11-25 8:40",
    "remarks": "Two plates were rusty: brushed first.",
}
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
    window.follow_up.sheet_drawn.connect(lambda: QTimer.singleShot(_SETTLE_MS, application.quit))
    window.show()
    application.exec()
    window.grab().save(str(PICTURES / "window.png"))
    window.beside.show_values()
    dialog = window.findChild(ValuesDialog)
    assert isinstance(dialog, ValuesDialog)
    dialog.choose("line.oxygen_regulator_pressure")
    application.processEvents()
    dialog.grab().save(str(PICTURES / "all-values.png"))
    window.shut_down(keep_copy=False)


def _fill_archive(place: Path) -> str:
    """Issue the samples and let one come back filled in; return its number."""
    archive, reference = open_archive(place), load_reference()
    for file in sorted(SAMPLES.glob("*.toml"), reverse=True):
        job = load_job(file)
        if make_plan(job, reference).is_stopped:
            continue
        issued, pdf = issue_job(archive, job, reference, "Foreman", is_fillable=True)
        if file == SAMPLE:
            came_back, form = issued.number, pdf
        elif file == YARD:
            archive.move(issued.number, "on the floor", "Foreman")
        elif job.plate.grade == "C45":
            reissue_job(archive, job, reference, "Coordinator", "the certificate says more carbon")
    archive.move(came_back, "on the floor", "Foreman")
    writer = PdfWriter(clone_from=BytesIO(form))
    for page in writer.pages:
        writer.update_page_form_field_values(page, WRITTEN)
    filled = BytesIO()
    writer.write(filled)
    take_file(archive, filled.getvalue(), "tablet-bay-2.pdf", "Clerk")
    archive.close()
    return came_back


def archive_picture(application: QApplication) -> None:
    """Save the archive's window with one traveller that came back."""
    # No path of this machine in a picture.
    os.chdir(tempfile.mkdtemp())
    place = Path("archive.sqlite")
    number = _fill_archive(place)
    services = dataclasses.replace(default_services(), archive_place=lambda: str(place))
    remember_person(services.preferences(), "Foreman")
    window = MainWindow(services)
    window.ready.connect(lambda: QTimer.singleShot(0, application.quit))
    window.show()
    application.exec()
    window.show_archive()
    shown = window.archive.window
    assert shown is not None
    shown.resize(1500, 820)
    shown.show_traveller(number, "A")
    QTimer.singleShot(2 * _SETTLE_MS, application.quit)
    application.exec()
    shown.grab().save(str(PICTURES / "archive.png"))
    window.shut_down(keep_copy=False)


if __name__ == "__main__":
    PICTURES.mkdir(exist_ok=True)
    for kept in ("XDG_STATE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        os.environ[kept] = tempfile.mkdtemp()
    app = QApplication(sys.argv)
    sheet_pictures()
    window_picture(app)
    archive_picture(app)
