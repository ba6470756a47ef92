"""What the code on each page of a sheet says: which sheet it is, which side, and a check value."""

import hashlib
import re
from dataclasses import dataclass

from kerfdocket.job import job_text
from kerfdocket.planning.model import Plan

__all__ = ["PageCode", "check_of", "check_value", "code_text", "printable", "read_code"]

_PREFIX = "KDT1"  # of this kind of code, first form
_CHECK_LETTERS = 10
_FORM = re.compile(rf"{_PREFIX}:([^:]+):([^:]*):([FB]):([0-9A-F]{{{_CHECK_LETTERS}}})")


@dataclass(frozen=True)
class PageCode:
    """What a code says.

    Attributes:
        number, revision: of the sheet, as `printable` leaves them.
        side: `F` or `B`.
        check: ten letters that change with the job or the program that planned it.
    """

    number: str
    revision: str
    side: str
    check: str


def check_of(program: str, job_file: str) -> str:
    """Return ten letters that change with the job or the program that planned it.

    Args:
        program: its version.
        job_file: the job's text, as `job_text` writes it.
    """
    said = f"{program}\n{job_file}"
    return hashlib.sha256(said.encode()).hexdigest()[:_CHECK_LETTERS].upper()


def check_value(plan: Plan) -> str:
    """Return the check value of a plan's sheet."""
    return check_of(plan.program_version, job_text(plan.job))


def code_text(plan: Plan, side: str) -> str:
    """Return what the code of a page says: kind, number, revision, side, check value.

    `KDT1:KD-0141:A:F:56344795C3` is the front of revision A of job KD-0141.

    Args:
        plan: what the sheet is made of.
        side: `F` or `B`.
    """
    about = plan.job.about
    parts = _PREFIX, printable(about.number), printable(about.revision), side, check_value(plan)
    return ":".join(parts)


def printable(text: str) -> str:
    """Return a number or a revision as a code says it.

    What parts it from the next, or cannot be printed, becomes a space.

    >>> printable("Bay 2: KD-7")
    'Bay 2  KD-7'
    """
    return "".join(letter if letter.isprintable() and letter != ":" else " " for letter in text)


def read_code(text: str) -> PageCode | None:
    """Return what a code says, or None if it is not one of a sheet.

    >>> read_code("KDT1:KD-0141:A:F:56344795C3")
    PageCode(number='KD-0141', revision='A', side='F', check='56344795C3')
    >>> read_code("a parcel's label") is None
    True
    """
    found = _FORM.fullmatch(text)
    return PageCode(*found.groups()) if found else None
