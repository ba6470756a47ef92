"""Who gives a command to the archive."""

import argparse
import getpass

from kerfdocket.errors import InputError
from kerfdocket.language import _

__all__ = ["who_does"]


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
