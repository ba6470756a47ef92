"""Files that commands are given."""

from pathlib import Path

from kerfdocket.errors import InputError
from kerfdocket.language import _

__all__ = ["refuse_itself"]


def refuse_itself(read: Path, written: Path) -> None:
    """See that what is written does not take the place of what is read.

    Raises:
        InputError: it would.
    """
    if written.resolve() == read.resolve():
        raise InputError(_("{file} is what is read; give another file to write", file=written))
