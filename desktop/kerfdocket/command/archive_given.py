"""What commands to the archive are given: who does it, and to which traveller."""

import argparse
import getpass
from typing import TYPE_CHECKING

from kerfdocket.errors import InputError
from kerfdocket.language import _

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Traveller

__all__ = ["STATE_WIDTH", "number_as_issued", "side_word", "traveller_named", "who_does"]

STATE_WIDTH = 16  # letters of the longest state in any language


def who_does(given: argparse.Namespace) -> str:
    """Return who does it; asked only where something is done, as not every system knows a name.

    Raises:
        InputError: nobody said, and the system knows no name.
    """
    try:
        who: str = given.who or getpass.getuser()
    except (KeyError, OSError) as error:
        raise InputError(_("this system knows no name of its user; give one with --who")) from error
    return who


def number_as_issued(archive: "Archive", number: str) -> str:
    """Return a number as it was issued, of one that was typed in small letters or with a space.

    What was issued under neither stays as it is, for whoever looks for it to say so.
    """
    bare = number.strip()
    return next((one for one in (number, bare, bare.upper()) if archive.revisions(one)), number)


def traveller_named(archive: "Archive", number: str, revision: str | None) -> "Traveller":
    """Return a revision of a traveller, the last one where none is named.

    Raises:
        InputError: there is none such; the message says which there are.
    """
    from kerfdocket.archive.store import one_of

    return one_of(archive.revisions(number), number, revision or None)


def side_word(side: str) -> str:
    """Return what a side of a sheet is called; nothing where it is not known."""
    from kerfdocket.archive import BOTH

    return {"F": _("front"), "B": _("back"), BOTH: _("front and back")}.get(side, "")
