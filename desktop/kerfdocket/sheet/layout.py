"""How a sheet is laid out, and how much room its texts take."""

import math
from dataclasses import dataclass
from typing import Literal

__all__ = ["AT_EASE", "SHORTER_MM", "Fine", "Layout", "Room", "line_count"]

# How hard the front is pressed onto one page.
Room = Literal["as it comes", "packed", "no signs", "no pictures"]
# How much of the small print stands on the back; the file carries all of it.
Fine = Literal["whole", "short", "least", "notes", "none"]
SHORTER_MM = {"A4": 0.0, "Letter": 17.6}  # than A4: ISO 216 and ANSI/ASME Y14.1
_WORD_LETTERS = 6.5  # of the English texts that were counted, the space with it


@dataclass(frozen=True)
class Layout:
    """How a sheet is laid out.

    Attributes:
        spare_lines: lines of the back to leave free beyond what is judged to be needed.
        room: how hard the front is pressed onto one page.
        fine: how much of the small print stands on the back.
        is_pressed: True sets the back as close as it can still be read and written on.
        is_fillable: True puts fields where one writes, to be filled in on a screen.
    """

    spare_lines: int = 0
    room: Room = "as it comes"
    fine: Fine = "whole"
    is_pressed: bool = False
    is_fillable: bool = False


AT_EASE = Layout()


def line_count(text: str, letters: int) -> int:
    """Return how many lines a text takes.

    A line ends half a word short, and German has longer words.

    Args:
        text: what is printed.
        letters: that a line has room for, of the English texts that were counted.
    """
    word = len(text) / (text.count(" ") + 1)
    return math.ceil(len(text) / max(letters - (word - _WORD_LETTERS) / 2.0, 1.0))
