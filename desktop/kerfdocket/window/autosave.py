"""A copy of unsaved work in the user's state folder, offered at the next start after a crash."""

import contextlib
import copy
import dataclasses
import datetime
import json
import tomllib
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import marked
from kerfdocket.storage import make_folder, write_atomically
from kerfdocket.window.document import Document, SharedDraft
from kerfdocket.window.newest import NewestWins, ThreadCrew

__all__ = ["Autosave", "Draft", "DraftFolder"]

_SUFFIX = ".draft"


@dataclass(frozen=True)
class Draft:
    """Unsaved work that was left behind.

    Attributes:
        file: where the copy is.
        raw: what the form held.
        path: the job file that it belongs to, or None.
        when: when it was written, local time.
        shared: the draft in the archive that it belongs to, or None.
        content: what file or draft said when it was read, so that it is seen if others changed it.
    """

    file: Path
    raw: dict[str, Any]
    path: Path | None
    when: str
    shared: SharedDraft | None = None
    content: bytes = b""


def write_draft(
    file: Path,
    raw: Mapping[str, Any],
    path: Path | None,
    when: str,
    shared: SharedDraft | None = None,
    content: bytes = b"",
) -> None:
    """Write a copy of unsaved work.

    Raises:
        EnvironmentProblem: it cannot be written.
    """
    from kerfdocket.job import toml_text

    state = {
        "path": str(path) if path else None,
        "when": when,
        "text": toml_text(raw),
        "shared": dataclasses.asdict(shared) if shared else None,
        "content": content.decode("utf-8", "surrogateescape"),
    }
    # Escaped, as a form may hold what no text file can: that copy is the only one.
    write_atomically(file, json.dumps(state).encode())


def remove_draft(file: Path) -> None:
    """Remove a copy, if there is one."""
    with contextlib.suppress(OSError):
        file.unlink()


class DraftFolder:
    """The copies of all running and crashed windows; a lock file tells which is which."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock: QLockFile | None = None
        self._found_locks: dict[Path, QLockFile] = {}
        self.own_file = folder / f"{uuid.uuid4().hex}{_SUFFIX}"

    @staticmethod
    def _lock_on(file: Path) -> QLockFile | None:
        lock = QLockFile(str(file.with_suffix(".lock")))
        lock.setStaleLockTime(0)  # only a process that is gone makes it stale
        return lock if lock.tryLock(0) else None

    def take_own(self) -> None:
        """Make the folder and mark this window's copy as in use.

        Raises:
            EnvironmentProblem: the folder cannot be made.
        """
        if self._lock is not None:
            return
        make_folder(self._folder)
        self._lock = self._lock_on(self.own_file)

    def left_behind(self) -> list[Draft]:
        """Return the copies whose window is gone, newest first; unreadable ones are set aside."""
        drafts = []
        for file in sorted(self._folder.glob(f"*{_SUFFIX}")):
            if file == self.own_file or (lock := self._lock_on(file)) is None:
                continue
            try:
                state = json.loads(file.read_bytes())
                path = Path(state["path"]) if state["path"] else None
                raw, when = tomllib.loads(state["text"]), str(state["when"])
                known = state.get("shared")
                shared = SharedDraft(**known) if known else None
                content = state.get("content", "").encode("utf-8", "surrogateescape")
                draft = Draft(file, raw, path, when, shared, content)
            except (OSError, ValueError, KeyError, TypeError, AttributeError):
                with contextlib.suppress(OSError):
                    file.rename(file.with_suffix(".unreadable"))
                lock.unlock()
                continue
            self._found_locks[file] = lock
            drafts.append(draft)
        return sorted(drafts, key=lambda draft: draft.when, reverse=True)

    def settle(self, draft: Draft, *, is_done: bool) -> None:
        """Remove a copy that was taken over or refused; keep it for the next start otherwise."""
        if is_done:
            remove_draft(draft.file)
        if (lock := self._found_locks.pop(draft.file, None)) is not None:
            lock.unlock()

    def close(self) -> None:
        """Let go of everything."""
        for lock in self._found_locks.values():
            lock.unlock()
        self._found_locks = {}
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None


class Autosave(QObject):
    """Keeps the copy up to date while something is unsaved.

    Signals:
        kept: a copy was written.
        failed: an error; the copy could not be written.
    """

    kept = Signal()
    failed = Signal(object)

    def __init__(
        self,
        folder: DraftFolder,
        document: Callable[[], Document],
        interval_ms: int,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._folder = folder
        self._document = document
        self._runner = NewestWins(ThreadCrew(), marked("Keeping a copy of unsaved work"), self)
        self._runner.succeeded.connect(self._on_succeeded)
        self._runner.failed.connect(self._on_failed)
        self._restored: Draft | None = None
        self._ticket = self._first_ticket = 0
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(interval_ms)
        self._timer.timeout.connect(self._on_timeout)

    def touch(self) -> None:
        """Take note that something changed; the copy follows within the interval."""
        if not self._timer.isActive():
            self._timer.start()

    def take_over(self, draft: Draft) -> None:
        """Answer for a copy that was restored: it goes when its work is kept elsewhere."""
        self._restored = draft
        self._first_ticket = self._ticket + 1  # a write that runs may be of the document before
        self.touch()

    def _settle_restored(self) -> None:
        if self._restored is not None:
            self._folder.settle(self._restored, is_done=True)
            self._restored = None

    def forget(self) -> None:
        """Remove the copy: all is saved, or was given up."""
        self._timer.stop()
        self._settle_restored()
        self._runner.submit(0, remove_draft, self._folder.own_file)

    def close(self, *, keep: bool) -> None:
        """Stop; only if `keep` does what is unsaved stay, and then with all that was typed."""
        self._timer.stop()
        self._runner.close()
        if keep and self._document().is_changed:
            # Nobody is there any more who could be told; what was kept before stays then.
            with contextlib.suppress(EnvironmentProblem):
                self._folder.take_own()
                write_draft(*self._copy())
                self._settle_restored()
        else:
            self._settle_restored()
            remove_draft(self._folder.own_file)
        self._folder.close()

    def _copy(self) -> tuple[Path, dict[str, Any], Path | None, str, SharedDraft | None, bytes]:
        """What `write_draft` is given."""
        document = self._document()
        when = datetime.datetime.now().astimezone().strftime("%Y-%m-%d %H:%M:%S")
        raw = copy.deepcopy(document.raw)
        file, content = self._folder.own_file, document.content
        return file, raw, document.path, when, document.shared, content

    def _on_timeout(self) -> None:
        if not self._document().is_changed:
            self.forget()
            return
        try:
            self._folder.take_own()
        except EnvironmentProblem as error:
            self.failed.emit(error)
            return
        self._ticket += 1
        self._runner.submit(self._ticket, write_draft, *self._copy())

    def _on_succeeded(self, ticket: int, _result: object) -> None:
        if not ticket:
            return  # the copy was removed
        if ticket >= self._first_ticket:
            self._settle_restored()
        self.kept.emit()

    def _on_failed(self, _ticket: int, error: object) -> None:
        self.failed.emit(error)
