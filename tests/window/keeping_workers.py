"""What is done in another process in place of copying: slowly, or to its death."""

import time
from pathlib import Path
from typing import Any

from kerfdocket.archive.keeping.places import beside

__all__ = ["copy_slowly", "die", "write_and_hear_nothing_once", "write_slowly"]


def write_slowly(target: Path) -> None:
    """Write beside a place, as copies are, and never come to an end."""
    with beside(target) as folder:
        (folder / "half").write_bytes(b"half")
        while True:
            time.sleep(0.01)


class _Deaf:
    """Is cleared away until an interrupt comes, of which nothing comes there."""

    def __init__(self, mark: Path) -> None:
        self._mark = mark

    def __del__(self) -> None:
        self._mark.write_bytes(b"half")
        while True:
            time.sleep(0.01)


def write_and_hear_nothing_once(target: Path) -> None:
    """Write beside a place, and lose the first interrupt."""
    with beside(target) as folder:
        deaf = _Deaf(folder / "half")
        del deaf
        while True:
            time.sleep(0.01)


def copy_slowly(copy: Any, _language: str) -> None:
    """Copy so."""
    write_slowly(copy.target)


def die(*_ignored: object) -> None:
    """Die as a library in C does."""
    import os

    os._exit(3)
