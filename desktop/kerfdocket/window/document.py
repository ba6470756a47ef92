"""The job file in the making: keys and values as typed, judged by nobody here."""

import copy
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from kerfdocket.language import ENGLISH, LANGUAGES, Language, _

__all__ = ["NEW_JOB", "Document", "new_raw"]

NEW_JOB: Mapping[str, Any] = {"kerfdocket-job": 1}
_ALWAYS_THERE = ("about", "plate", "fuel")  # so that problems name their fields, not the group


def new_raw(language: Language) -> dict[str, Any]:
    """Return what a new job states for a person who speaks a language: it is their sheet's, too.

    >>> new_raw(ENGLISH)
    {'kerfdocket-job': 1}
    """
    is_usual = language == ENGLISH or language not in LANGUAGES
    return dict(NEW_JOB) if is_usual else {**NEW_JOB, "language": language.code}


class Document:
    """What the form holds.

    Attributes:
        raw: nested keys and values; keys that no field shows stay in it.
        path: the file that it belongs to, or None.
        content: what that file said when it was last read or written.
    """

    def __init__(
        self, raw: Mapping[str, Any] = NEW_JOB, path: Path | None = None, content: bytes = b""
    ) -> None:
        self.raw: dict[str, Any] = copy.deepcopy(dict(raw))
        self.path = path
        self.content = content
        self._saved = copy.deepcopy(self.raw)

    @property
    def is_changed(self) -> bool:
        """True if it says something else than its file."""
        return self.raw != self._saved

    @property
    def name(self) -> str:
        """What the title bar calls it."""
        return self.path.name if self.path else _("New job")

    def mark_saved(self, path: Path, content: bytes) -> None:
        """Remember that `path` now says what this says."""
        self.path = path
        self.content = content
        self._saved = copy.deepcopy(self.raw)

    def mark_unsaved(self) -> None:
        """Remember that no file says what this says."""
        self._saved = {}

    def value(self, where: str) -> Any:
        """Return what is stated at a path such as `oxygen.cylinders.0.gauge`, or None."""
        return self._at(self.raw, where)

    def saved_value(self, where: str) -> Any:
        """Return what the file states at a path, or None."""
        return self._at(self._saved, where)

    @staticmethod
    def _at(raw: dict[str, Any], where: str) -> Any:
        at: Any = raw
        for step in where.split("."):
            if isinstance(at, dict):
                at = at.get(step)
            elif isinstance(at, list) and step.isdigit() and int(step) < len(at):
                at = at[int(step)]
            else:
                return None
        return at

    def items(self, where: str) -> list[Any]:
        """Return the list at a path; empty if there is none."""
        found = self.value(where)
        return found if isinstance(found, list) else []

    def set_value(self, where: str, value: Any) -> None:
        """State a value; None takes it back, and with it a group that is left empty."""
        steps = where.split(".")
        if value is None:
            self._unset(self.raw, steps)
            return
        at: Any = self.raw
        for step in steps[:-1]:
            at = self._inside(at, step)
        at[int(steps[-1]) if isinstance(at, list) else steps[-1]] = value

    @staticmethod
    def _inside(at: Any, step: str) -> Any:
        if isinstance(at, list):
            if not isinstance(at[int(step)], dict | list):
                at[int(step)] = {}
            return at[int(step)]
        if not isinstance(at.get(step), dict | list):
            at[step] = {}
        return at[step]

    def _unset(self, at: Any, steps: list[str]) -> None:
        step, rest = steps[0], steps[1:]
        if isinstance(at, list):
            # A row of a list is taken away on purpose only, never because it is empty.
            if rest and step.isdigit() and int(step) < len(at):
                self._unset(at[int(step)], rest)
            return
        if not isinstance(at, dict) or step not in at:
            return
        if not rest:
            del at[step]
            return
        self._unset(at[step], rest)
        if at[step] == {}:
            del at[step]

    def add_item(self, where: str) -> None:
        """Append an empty row to the list at a path."""
        if not isinstance(self.value(where), list):
            self.set_value(where, [])
        self.items(where).append({})

    def remove_item(self, where: str, index: int) -> None:
        """Take a row out of the list at a path; a list that is left empty goes, too."""
        rows = self.items(where)
        del rows[index]
        if not rows:
            self.set_value(where, None)

    def for_checking(self) -> dict[str, Any]:
        """Return what to judge: as `raw`, with the groups that every job has."""
        return {**{key: {} for key in _ALWAYS_THERE}, **self.raw}
