"""Who sits at this window, as colleagues are told."""

import getpass
from pathlib import Path

from kerfdocket.window.preferences import remember, remembered

__all__ = ["is_person_known", "person", "remember_person"]

_NAME = "person"


def is_person_known(preferences: Path) -> bool:
    """Return True if the person said their name once."""
    return bool(remembered(preferences, _NAME))


def person(preferences: Path) -> str:
    """Return the name that was given last, or what the system calls its user; may be empty."""
    if known := remembered(preferences, _NAME):
        return known
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # not every system knows a name
        return ""


def remember_person(preferences: Path, name: str) -> None:
    """Write down what the person is called; what else the file says stays.

    Raises:
        EnvironmentProblem: it cannot be written.
    """
    if name != remembered(preferences, _NAME):
        remember(preferences, _NAME, name)
