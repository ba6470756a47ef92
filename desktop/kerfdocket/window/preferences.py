"""What the window remembers from one start to the next, such as the language chosen in it."""

import json
from pathlib import Path
from typing import Any

from kerfdocket.language import LANGUAGES, Language
from kerfdocket.storage import make_folder, write_atomically

__all__ = ["remember", "remember_language", "remembered", "remembered_language"]


def _read(file: Path) -> dict[str, Any]:
    # A file that is not there or was spoilt is no reason not to start.
    try:
        known = json.loads(file.read_bytes())
    except (OSError, ValueError):
        return {}
    return known if isinstance(known, dict) else {}


def remembered(file: Path, name: str) -> str:
    """Return what was remembered under a name; empty if nothing was."""
    value = _read(file).get(name)
    return value if isinstance(value, str) else ""


def remember(file: Path, name: str, value: str) -> None:
    """Write something down under a name; what else the file says stays.

    Raises:
        EnvironmentProblem: it cannot be written.
    """
    make_folder(file.parent)
    content = json.dumps({**_read(file), name: value}, ensure_ascii=False, indent=1)
    write_atomically(file, content.encode())


def remembered_language(file: Path) -> Language | None:
    """Return the language that was chosen in the window, or None if none was."""
    code = remembered(file, "language")
    return next((one for one in LANGUAGES if one.code == code), None)


def remember_language(file: Path, language: Language) -> None:
    """Write down which language was chosen; what else the file says stays.

    Raises:
        EnvironmentProblem: it cannot be written.
    """
    remember(file, "language", language.code)
