"""The job file in the making: keys and values as typed, judged by nobody here."""

import copy
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from kerfdocket.language import ENGLISH, LANGUAGES, Language, _

__all__ = ["NEW_JOB", "Document", "Issued", "SharedDraft", "new_raw", "numbered"]

NEW_JOB: Mapping[str, Any] = {"kerfdocket-job": 1}
_FIRST = "A"  # revision of a job that states none
_VOID = ("superseded", "withdrawn")  # of `kerfdocket.archive.model`, whose database loads later
_ALWAYS_THERE = ("about", "plate", "fuel")  # so that problems name their fields, not the group


def new_raw(language: Language) -> dict[str, Any]:
    """Return what a new job states for a person who speaks a language: it is their sheet's, too.

    >>> new_raw(ENGLISH)
    {'kerfdocket-job': 1}
    """
    is_usual = language == ENGLISH or language not in LANGUAGES
    return dict(NEW_JOB) if is_usual else {**NEW_JOB, "language": language.code}


@dataclass(frozen=True)
class SharedDraft:
    """A draft in the archive that a document belongs to.

    Attributes:
        id: of the draft.
        version: that was read or saved here.
        title: of the job, as that version says; may be empty.
    """

    id: int
    version: int
    title: str


@dataclass(frozen=True)
class Issued:
    """The sheet that was last issued of a document.

    Attributes:
        number, revision: what stands on it.
        raw: what the job said; number and revision are those of the sheet.
        pdf: the sheet.
        state: of the traveller, when it was last looked at.
    """

    number: str
    revision: str
    raw: dict[str, Any] = field(hash=False)
    pdf: bytes = field(repr=False)
    state: str = "issued"

    @property
    def is_void(self) -> bool:
        """True if nothing may be cut by it any more."""
        return self.state in _VOID

    @property
    def name(self) -> str:
        """What it is called: `KD-0142 A`."""
        return f"{self.number} {self.revision}"


def numbered(raw: Mapping[str, Any], number: str, revision: str) -> dict[str, Any]:
    """Return what a job says once it has a number and a revision.

    The first revision is not written where none is stated, as a job without one is that.

    >>> numbered({"about": {"number": "KD-????"}}, "KD-0142", "A")
    {'about': {'number': 'KD-0142'}}
    """
    document = Document(raw)
    document.set_value("about.number", number)
    if revision != (document.value("about.revision") or _FIRST):
        document.set_value("about.revision", revision)
    return document.raw


class Document:
    """What the form holds. It belongs to a file, or to a shared draft, or to neither.

    Attributes:
        raw: nested keys and values; keys that no field shows stay in it.
        path: the file that it belongs to, or None.
        shared: the draft that it belongs to, or None.
        content: what the file or the draft said when it was last read or written.
        issued: the last sheet that was issued of it, or None.
    """

    def __init__(
        self,
        raw: Mapping[str, Any] = NEW_JOB,
        path: Path | None = None,
        content: bytes = b"",
        shared: SharedDraft | None = None,
    ) -> None:
        self.raw: dict[str, Any] = copy.deepcopy(dict(raw))
        self.path = path
        self.shared = shared
        self.content = content
        self.issued: Issued | None = None
        self._saved = copy.deepcopy(self.raw)

    @property
    def is_changed(self) -> bool:
        """True if it says something else than what it belongs to."""
        return self.raw != self._saved

    @property
    def is_new(self) -> bool:
        """True if nothing was typed yet into a job that belongs nowhere."""
        return not (self.is_changed or self.path or self.shared or self.issued)

    @property
    def is_as_issued(self) -> bool:
        """True if it says what the sheet says that was issued of it."""
        return self.issued is not None and self.raw == self.issued.raw

    @property
    def is_unlike_issued(self) -> bool:
        """True if it says something else under the number and revision of an issued sheet."""
        return self._is_named_as_issued and not self.is_as_issued

    @property
    def must_not_be_cut_by(self) -> bool:
        """True if its sheet would bear the name of one that says otherwise or is void."""
        is_void = self.issued is not None and self.issued.is_void
        return self._is_named_as_issued and (is_void or not self.is_as_issued)

    @property
    def _is_named_as_issued(self) -> bool:
        return (
            self.issued is not None
            and self.value("about.number") == self.issued.number
            and (self.value("about.revision") or _FIRST) == self.issued.revision
        )

    @property
    def name(self) -> str:
        """What the title bar calls it."""
        if self.path is not None:
            return self.path.name
        if self.shared is not None:
            draft = _("Shared draft {id}", id=self.shared.id)
            return f"{draft}: {self.shared.title}" if self.shared.title else draft
        return self.issued.name if self.issued is not None else _("New job")

    @property
    def folder(self) -> Path:
        """Where its files are looked for first."""
        return self.path.parent if self.path is not None else Path.cwd()

    @property
    def file_stem(self) -> str:
        """What its files are called if nobody says otherwise, without an ending."""
        number = str(self.value("about.number") or "job")
        return "".join(c if c.isalnum() or c in "-_." else "-" for c in number).strip(".-") or "job"

    def mark_saved(self, path: Path, content: bytes) -> None:
        """Remember that `path` now says what this says."""
        self.path = path
        self.shared = None
        self.content = content
        self._saved = copy.deepcopy(self.raw)

    def mark_shared(self, shared: SharedDraft, raw: Mapping[str, Any], content: bytes) -> None:
        """Remember that a draft says `raw`, which this said when it was sent to the archive."""
        self.path = None
        self.shared = shared
        self.content = content
        self._saved = copy.deepcopy(dict(raw))

    def mark_issued(self, issued: Issued) -> None:
        """Remember that a sheet was issued of this; a draft that it belonged to ended with it.

        The archive keeps the job of each sheet. So where there is no file that says something
        else, what was issued counts as saved.
        """
        self.issued = issued
        self.shared = None
        if self.path is None:
            self.content = b""
            self._saved = copy.deepcopy(issued.raw)

    def mark_unsaved(self) -> None:
        """Remember that nothing kept says what this says."""
        self._saved = {}

    def mark_dropped(self) -> None:
        """Remember that the draft that this belonged to is one no more."""
        self.shared = None
        self.mark_unsaved()

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
