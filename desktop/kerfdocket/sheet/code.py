"""The code on each page: which sheet it is, which side, and a check of what was printed."""

import hashlib
from dataclasses import dataclass
from functools import lru_cache

from kerfdocket.job import job_text
from kerfdocket.planning.model import Plan

__all__ = ["Code", "check_value", "code_text", "page_code"]

_PREFIX = "KDT1"  # of this kind of code, first form
_CHECK_LETTERS = 10
_QUIET = 4  # modules of white that ISO/IEC 18004 wants round the symbol


@dataclass(frozen=True)
class Code:
    """A QR code as the template draws it.

    Attributes:
        text: what it says.
        path: its dark modules as an SVG path; one module is one unit.
        size: of the symbol with its quiet zone, in modules.
    """

    text: str
    path: str
    size: str


def check_value(plan: Plan) -> str:
    """Return ten letters that change with the job or the program that planned it."""
    said = f"{plan.program_version}\n{job_text(plan.job)}"
    return hashlib.sha256(said.encode()).hexdigest()[:_CHECK_LETTERS].upper()


def code_text(plan: Plan, side: str) -> str:
    """Return what the code of a page says: kind, number, revision, side, check value.

    `KDT1:KD-0141:A:F:56344795C3` is the front of revision A of job KD-0141.

    Args:
        plan: what the sheet is made of.
        side: `F` or `B`.
    """
    about = plan.job.about
    return ":".join((_PREFIX, _part(about.number), _part(about.revision), side, check_value(plan)))


def _part(text: str) -> str:
    """A part of the code: what parts it from the next, or cannot be printed, is left out."""
    return "".join(letter if letter.isprintable() and letter != ":" else " " for letter in text)


def page_code(plan: Plan, side: str) -> Code:
    """Return the code of a page, with a quarter of it to spare for stains and folds.

    Args:
        plan: what the sheet is made of.
        side: `F` or `B`.
    """
    return _drawn(code_text(plan, side))


@lru_cache(maxsize=4)  # a page is laid out more than once until it fits
def _drawn(text: str) -> Code:
    # Loaded with the first sheet, like all that draws one.
    import segno

    made = segno.make(text, error="q", boost_error=False, micro=False)
    runs = []
    for y, row in enumerate(made.matrix):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                runs.append(f"M{start + _QUIET} {y + _QUIET}h{x - start}v1h{start - x}z")
            x += 1
    return Code(text, "".join(runs), str(len(made.matrix) + 2 * _QUIET))
