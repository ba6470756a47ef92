"""The files of jobs: begun, opened and saved, and nothing of them lost."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _, current_language
from kerfdocket.window.document import Document, new_raw
from kerfdocket.window.host import Host
from kerfdocket.window.opening import refuse_unmendable
from kerfdocket.window.units import system_of

__all__ = ["Files"]


class Files:
    """Begins, opens and saves what the form holds."""

    def __init__(self, host: Host, save_draft: Callable[[], object]) -> None:
        """Serve a window; `save_draft` saves what belongs to a shared draft."""
        self._host = host
        self._save_draft = save_draft

    def new(self) -> None:
        """Begin an empty job in the units that were last in use; asks about unsaved changes."""
        if not self._host.may_leave(self.new):
            return
        system = system_of(self._host.document())
        is_usual = system == system_of(Document())
        units = {} if is_usual else {"units": system.name}
        self._host.show_document(Document({**new_raw(current_language()), **units}))

    def open(self) -> None:
        """Ask for a file and open it."""
        if (path := self._host.messages.ask_open_path(self._host.document().folder)) is not None:
            self.open_path(path)

    def open_path(self, path: Path) -> bool:
        """Open a file; one that is no job file leaves the form as it is.

        Returns:
            True if the form shows the file now, mistakes and all.
        """
        try:
            loaded = self._host.services.load(path)
            refuse_unmendable(loaded.raw, str(path))
        except KerfdocketError as error:
            self._host.report(_("{file} cannot be opened.", file=path.name), error)
            return False
        if not self._host.may_leave(partial(self.open_path, path)):
            return False
        if loaded.is_carried:
            document = Document(loaded.raw)
            document.mark_unsaved()
            self._host.show_document(document)
            self._host.say(_("Took the job out of {path}; save it as a job file", path=path))
            return True
        self._host.show_document(Document(loaded.raw, path, loaded.content))
        self._host.say(_("Opened {path}", path=path))
        return True

    def save(self) -> bool:
        """Save to the job's file, or ask for one; works with mistakes in the form, too.

        Returns:
            True if it is saved now; a shared draft is saved in a moment.
        """
        document = self._host.document()
        if document.shared is not None:
            self._save_draft()
            return False
        if document.path is None:
            return self.save_as()
        return self._save_to(document.path)

    def save_as(self) -> bool:
        """Ask for a file and save to it."""
        document = self._host.document()
        suggestion = document.path or document.folder / f"{document.file_stem}.toml"
        path = self._host.messages.ask_save_path(suggestion)
        return path is not None and self._save_to(path)

    def _save_to(self, path: Path) -> bool:
        document = self._host.document()
        try:
            is_changed_by_others = (
                path == document.path and path.is_file() and path.read_bytes() != document.content
            )
        except OSError:
            is_changed_by_others = False  # the writing says what is the matter
        if is_changed_by_others and not self._host.messages.ask_overwrite_changed(path):
            return False
        try:
            content = self._host.services.save(document.raw, path, document.content)
        except KerfdocketError as error:
            self._host.report(_("{file} cannot be saved.", file=path.name), error)
            return False
        document.mark_saved(path, content)
        self._host.kept()
        self._host.say(_("Saved {path}", path=path))
        return True
