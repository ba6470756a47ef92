"""Files that are dropped on a window."""

from pathlib import Path

from PySide6.QtCore import QMimeData
from PySide6.QtWidgets import QWidget

__all__ = ["SCAN_SUFFIXES", "dropped_scans", "is_scan", "let_drops_through"]

SCAN_SUFFIXES = (".pdf", ".png", ".jpg", ".jpeg", ".tif", ".tiff")


def is_scan(path: Path) -> bool:
    """Return True if a file's name is that of a scan or form."""
    return path.suffix.lower() in SCAN_SUFFIXES


def dropped_scans(mime: QMimeData) -> list[Path]:
    """Return the scans and folders among what is dropped."""
    paths = [Path(url.toLocalFile()) for url in mime.urls() if url.isLocalFile()]
    return [path for path in paths if is_scan(path) or path.is_dir()]


def let_drops_through(whole: QWidget) -> None:
    """Let files that are dropped on a field arrive at the window, and not in the field as text."""
    for one in whole.findChildren(QWidget):
        one.setAcceptDrops(False)
