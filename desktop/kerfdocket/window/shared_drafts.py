"""Shared drafts: saved to the archive, opened from it, and never lost to whoever saves second."""

import contextlib
import copy
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Qt, Signal

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _, marked, moment_text
from kerfdocket.window.document import Document, SharedDraft
from kerfdocket.window.host import Host

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Draft
    from kerfdocket.window.draft_list import DraftList

__all__ = ["SharedDrafts", "is_old"]

# After so long a draft that is said to be open was rather never closed: longer than anyone's
# working day. Common practice, no source.
_LONG = timedelta(hours=12)
_BOM = b"\xef\xbb\xbf"
_NOT_OPENED = marked("The shared draft cannot be opened.")
_NOT_SAVED = marked("The shared draft was not saved; what was typed is still there.")


def is_old(held_at: str) -> bool:
    """Return True if a draft has been open for so long that it was rather never closed.

    Args:
        held_at: since when; UTC, ISO 8601.
    """
    return datetime.now(UTC) - datetime.fromisoformat(held_at) > _LONG


@dataclass(frozen=True)
class _Opened:
    """A draft as it was read.

    Attributes:
        draft: as the archive has it; says who had it open before.
        raw: its keys and values.
        content: its job file.
    """

    draft: "Draft"
    raw: dict[str, Any]
    content: bytes

    @property
    def shared(self) -> SharedDraft:
        return SharedDraft(self.draft.id, self.draft.version, self.draft.title)


class SharedDrafts(QObject):
    """Saves what the form holds as a shared draft, and opens those of others.

    Signals:
        began: what is being done with the document.
        ended: True if it is kept.
    """

    began = Signal(str)
    ended = Signal(bool)

    def __init__(self, host: Host) -> None:
        super().__init__(host.parent)
        self._host = host
        self._held: dict[int, str] = {}  # drafts that are open here, in whose name
        self._is_saving = False
        self._chooser: DraftList | None = None

    @property
    def is_busy(self) -> bool:
        """True while the document is being saved."""
        return self._is_saving

    @property
    def chooser(self) -> "DraftList | None":
        """The list to choose from, while it is open."""
        return self._chooser

    # Saving

    def save(self) -> None:
        """Save what the form holds: as the next version of its draft, or as a new one."""
        document = self._host.document()
        if document.shared is not None and not document.is_changed:
            self._host.say(_("{name} says this already", name=document.name))
            self.ended.emit(True)
            return
        self._save(document.shared)

    def _save(self, onto: SharedDraft | None, then: Callable[[], object] | None = None) -> None:
        who = self._host.who()
        if not who:
            self.ended.emit(False)
            return
        document = self._host.document()
        raw = copy.deepcopy(document.raw)
        self._is_saving = True
        self.began.emit(_("Saving the shared draft …"))
        self._host.desk.ask(
            partial(_keep, onto, raw, document.content, who),
            partial(self._on_saved, document, raw, who, then),
            partial(self._on_not_saved, onto),
            is_change=True,
            may_be_made=onto is None,
        )

    def _on_saved(
        self,
        document: Document,
        raw: Mapping[str, Any],
        who: str,
        then: Callable[[], object] | None,
        kept: tuple[SharedDraft, bytes],
    ) -> None:
        shared, content = kept
        document.mark_shared(shared, raw, content)
        self._held[shared.id] = who
        self._is_saving = False
        self._host.kept()
        self._host.say(_("Saved shared draft {id}", id=shared.id))
        self.ended.emit(True)
        if then is not None:
            then()

    def _on_not_saved(self, onto: SharedDraft | None, error: BaseException) -> None:
        from kerfdocket.archive import NotPossible

        self._is_saving = False
        self.ended.emit(False)
        if onto is not None and isinstance(error, NotPossible):
            self.settle(error)
        else:
            self._host.report(_(_NOT_SAVED), error)

    def settle(self, error: BaseException) -> None:
        """Ask what becomes of the form's work, as its draft says something else by now, or ended.

        Args:
            error: what the archive said.
        """
        shared = self._host.document().shared
        if shared is None:
            self._host.report(_(_NOT_SAVED), error)
            return
        self._host.desk.ask(
            partial(_there, shared.id),
            partial(self._on_there, shared, str(error)),
            lambda _error: self._host.report(_(_NOT_SAVED), error),
        )

    def _on_there(self, mine: SharedDraft, said: str, there: "Draft") -> None:
        if self._host.document().shared != mine:
            return
        if not there.ended:
            said = _(
                "{who} saved it meanwhile, {when}. Nothing was written over.",
                who=there.who,
                when=moment_text(there.at),
            )
        name = self._host.document().name
        match self._host.messages.ask_draft_conflict(name, said, can_look=not there.ended):
            case "own":
                self._save(None)
            case "look":
                self._save(None, partial(self.open, mine.id))
            case "go on":
                self._host.say(_("Not saved: {name}", name=name))

    # Opening

    def show_list(self) -> None:
        """Let the person choose from the drafts that the office shares."""
        from kerfdocket.window.draft_list import DraftList

        if self._chooser is not None:
            return
        chooser = DraftList(self._host)
        chooser.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        chooser.open_wanted.connect(self.open)
        chooser.dropped.connect(self._on_dropped)
        chooser.finished.connect(self._on_chooser_finished)
        self._chooser = chooser
        chooser.open()
        chooser.look()

    def _on_chooser_finished(self) -> None:
        self._chooser = None

    def open(self, draft_id: int) -> None:
        """Show a draft in the form, and let others know that it is open here."""
        shared = self._host.document().shared
        if shared is not None and shared.id == draft_id and self._host.document().is_changed:
            # Opening it again would have to ask what becomes of the very work that it is about.
            self._host.say(_("{name} is open here", name=self._host.document().name))
            return
        if not (who := self._host.who()):
            return
        self._host.say(_("Opening shared draft {id} …", id=draft_id))
        self._host.desk.ask(
            partial(_open, draft_id, who),
            partial(self._on_opened, who),
            lambda error: self._host.report(_(_NOT_OPENED), error),
        )

    def _on_opened(self, who: str, opened: _Opened) -> None:
        draft = opened.draft
        if draft.held_by and draft.held_by != who:
            old = is_old(draft.held_at)
            since = moment_text(draft.held_at)
            name = _called(opened.shared)
            if not self._host.messages.ask_open_held(name, draft.held_by, since, is_old=old):
                self._host.bar.clearMessage()
                return
            if old:
                self._hold(draft.id, who, draft.held_by)
        else:
            self._held[draft.id] = who
        # Where it must wait it is read again: someone may save it meanwhile.
        if not self._host.may_leave(partial(self.open, draft.id)):
            self.let_go()
            return
        document = Document(opened.raw, None, opened.content, opened.shared)
        self._host.show_document(document)
        self._host.say(_("Opened {name}", name=document.name))

    def resume(self, shared: SharedDraft) -> None:
        """Say that a draft is open here whose unsaved work was restored after a crash."""
        who = self._host.who()
        if who:
            self._hold(shared.id, who)

    def _hold(self, draft_id: int, who: str, instead_of: str = "") -> None:
        self._held[draft_id] = who
        # Only a courtesy: saving tells whoever is second, held or not.
        self._host.desk.ask(
            partial(_hold, draft_id, who, instead_of),
            lambda _done: None,
            lambda error: self._host.say(str(error)),
        )

    def let_go(self) -> None:
        """Say of all drafts that the form no longer holds that they are open here no more."""
        shared = self._host.document().shared
        stays = shared.id if shared is not None else None
        for draft_id in [one for one in self._held if one != stays]:
            who = self._held.pop(draft_id)
            self._host.desk.ask(
                partial(_release, {draft_id: who}),
                lambda _done: None,
                lambda error: self._host.say(str(error)),
            )

    def last_wish(self) -> "Callable[[Archive], object] | None":
        """Return what is to be asked of the archive before the window ends, if anything."""
        held, self._held = self._held, {}
        return partial(_release, held) if held else None

    # Dropping

    def _on_dropped(self, draft_id: int) -> None:
        self._held.pop(draft_id, None)
        document = self._host.document()
        if document.shared is not None and document.shared.id == draft_id:
            # What the form says stays, and counts as unsaved.
            document.mark_dropped()
            self._host.kept()


def _called(shared: SharedDraft) -> str:
    return Document(shared=shared).name


# What is asked of the archive, in its thread


def _keep(
    onto: SharedDraft | None, raw: Mapping[str, Any], content: bytes, who: str, archive: "Archive"
) -> tuple[SharedDraft, bytes]:
    """Keep a job as a draft; return what it is now, and its file.

    Raises:
        JobError: a text holds half of a letter.
        ChangedMeanwhile: someone else saved the draft.
        NotPossible: the draft has ended.
        ArchiveProblem: it could not be written.
    """
    from kerfdocket.archive import hold_draft, new_draft, save_draft
    from kerfdocket.job import file_content

    # Its comments are kept as in a file; what marks a file of one system is not.
    before = content.removeprefix(_BOM).replace(b"\r\n", b"\n")
    written = file_content(raw, "", before)
    about = raw.get("about")
    title = about.get("title") if isinstance(about, dict) else None
    title = title.strip() if isinstance(title, str) else ""
    if onto is not None:
        kept = save_draft(archive, onto.id, onto.version, written.decode(), title, who)
    else:
        kept = new_draft(archive, written.decode(), title, who)
        with contextlib.suppress(KerfdocketError):  # kept it is; that it is open is a courtesy
            hold_draft(archive, kept.id, who)
    return SharedDraft(kept.id, kept.version, kept.title), written


def _open(draft_id: int, who: str, archive: "Archive") -> _Opened:
    """Read a draft and say that it is open.

    Raises:
        NotPossible: there is no such draft, or it has ended.
        JobError: it is no job file, or a newer program saved it.
        ArchiveProblem: the archive cannot be read or written.
    """
    from kerfdocket.archive import hold_draft, release_draft
    from kerfdocket.job import raw_from_text
    from kerfdocket.window.opening import refuse_unmendable

    before = hold_draft(archive, draft_id, who)
    try:
        content = archive.content(before.job)
        name = _called(SharedDraft(before.id, before.version, before.title))
        raw = raw_from_text(content.decode("utf-8-sig"), name)
        refuse_unmendable(raw, name)
    except KerfdocketError:
        release_draft(archive, draft_id, who)
        raise
    return _Opened(before, raw, content)


def _there(draft_id: int, archive: "Archive") -> "Draft":
    from kerfdocket.archive import draft

    return draft(archive, draft_id)


def _hold(draft_id: int, who: str, instead_of: str, archive: "Archive") -> None:
    from kerfdocket.archive import hold_draft, release_draft

    if instead_of:
        release_draft(archive, draft_id, instead_of)
    hold_draft(archive, draft_id, who)


def _release(held: Mapping[int, str], archive: "Archive") -> None:
    from kerfdocket.archive import release_draft

    for draft_id, who in held.items():
        release_draft(archive, draft_id, who)
