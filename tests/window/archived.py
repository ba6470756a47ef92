"""An archive with travellers, pages and values, all invented, and what is dropped on its window."""

import dataclasses
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent

from kerfdocket.archive import IssuedSheet, keep_pages, open_archive, record_actuals
from kerfdocket.job import Job
from kerfdocket.office import issued_sheet
from kerfdocket.planning import Plan
from kerfdocket.planning.page_code import PageCode
from window import fakes, scans

__all__ = ["CHECKS", "drop", "dropped", "fill", "picture", "sheet_of"]

CHECKS = {"KD-1": "AAAAAAAAAA", "KD-2": "BBBBBBBBBB", "KD-3": "CCCCCCCCCC"}


def picture(colour: str = "white") -> bytes:
    out = BytesIO()
    Image.new("RGB", (60, 80), colour).save(out, "PNG")
    return out.getvalue()


def sheet_of(planned: tuple[Job, Plan], number: str, **facts: str) -> IssuedSheet:
    job, plan = planned
    about = job.about.model_copy(update={"number": number, "revision": "A"})
    numbered = job.model_copy(update={"about": about})
    plan = dataclasses.replace(plan, job=numbered)
    made = issued_sheet(numbered, plan, fakes.pdf_of(f"front {number}", f"back {number}"))
    return dataclasses.replace(made, facts={**made.facts, **facts}, check=CHECKS[number])


def fill(path: Path, planned: tuple[Job, Plan]) -> None:
    """Keep three travellers: one came back with two pages, one is out, one was issued anew."""
    archive = open_archive(path)
    archive.issue("KD-1", sheet_of(planned, "KD-1", title="Winch bed"), "F")
    archive.issue("KD-2", sheet_of(planned, "KD-2", title="Ribs", customer="Tidal Works"), "F")
    archive.move("KD-2", "on the floor", "F")
    archive.issue("KD-3", sheet_of(planned, "KD-3", title="Lugs"), "F")
    newer = dataclasses.replace(sheet_of(planned, "KD-3", title="Lugs"), check="DDDDDDDDDD")
    archive.reissue("KD-3", "B", newer, "F", "The plate is thicker.")
    for side, colour in (("F", "white"), ("B", "grey")):
        page = scans.Read(0, (PageCode("KD-1", "A", side, CHECKS["KD-1"]),))
        keep_pages(archive, picture(colour), f"{side}.png", [page], "F")
    record_actuals(
        archive, "KD-1", "A", {"nozzle_pressure": "about five", "remarks": "one\ntwo"}, "F"
    )
    keep_pages(archive, picture("red"), "whose.png", [scans.Read(0)], "F")
    archive.close()


def dropped(paths: Sequence[Path]) -> QMimeData:
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    return mime


def drop(target: Any, mime: QMimeData) -> bool:
    """Drop on a window; returns False if it does not take that."""
    where, copy = QPointF(300, 300), Qt.DropAction.CopyAction
    no_button, no_key = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(where.toPoint(), copy, mime, no_button, no_key)
    enter.ignore()
    target.dragEnterEvent(enter)
    if not enter.isAccepted():
        return False
    event = QDropEvent(where, copy, mime, no_button, no_key)
    target.dropEvent(event)
    return True
