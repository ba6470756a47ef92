"""Who sits at the window: the name that stands beside what is done in the archive."""

import getpass
from pathlib import Path

from kerfdocket.window.preferences import remember, remembered

__all__ = ["known_who", "remember_who"]

_NAME = "who"  # in the file of preferences


def known_who(preferences: Path) -> str:
    """Return the name that was given, else the system's; empty where neither is known."""
    if given := remembered(preferences, _NAME):
        return given
    try:
        return getpass.getuser()
    except (ImportError, KeyError, OSError):
        return ""


def remember_who(preferences: Path, who: str) -> None:
    """Write down who sits here.

    Raises:
        EnvironmentProblem: it cannot be written.
    """
    remember(preferences, _NAME, who.strip())
