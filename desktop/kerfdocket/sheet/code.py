"""The code on each page, as it is drawn."""

from dataclasses import dataclass
from functools import lru_cache

from kerfdocket.planning.model import Plan
from kerfdocket.planning.page_code import code_text

__all__ = ["Code", "page_code"]

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

    # Which letters they are is said where they are not ASCII: readers else go by what the bytes
    # look like, and take ÖÖß for Japanese.
    is_named = not text.isascii()
    made = segno.make(
        text,
        error="q",
        boost_error=False,
        micro=False,
        encoding="utf-8" if is_named else None,
        eci=is_named,
    )
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
