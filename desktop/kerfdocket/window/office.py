"""What the main window does with the archive: issuing, shared drafts, and waiting for both."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLabel

from kerfdocket.language import _
from kerfdocket.window.host import Host
from kerfdocket.window.issuing import Issuing
from kerfdocket.window.shared_drafts import SharedDrafts

if TYPE_CHECKING:
    from kerfdocket.archive import Archive

__all__ = ["Office"]


class Office:
    """Issues and shares what the form holds.

    Attributes:
        issuing: issues sheets.
        drafts: saves and opens shared drafts.
    """

    def __init__(self, host: Host) -> None:
        self._host = host
        self._waiting: Callable[[], object] | None = None
        # Beside what the bar says for a while: whatever is said meanwhile, this stays.
        self._doing = QLabel()
        self._doing.setVisible(False)
        host.bar.addPermanentWidget(self._doing)
        self.drafts = SharedDrafts(host)
        self.issuing = Issuing(host, self.drafts.settle)
        for part in (self.drafts, self.issuing):
            part.began.connect(self._on_began)
            part.ended.connect(self._on_ended)
        host.desk.changed.connect(self._look_at_issued)

    @property
    def is_busy(self) -> bool:
        """True while the document is being issued or saved."""
        return self.issuing.is_busy or self.drafts.is_busy

    def must_wait(self, then: Callable[[], object]) -> bool:
        """Keep the window from leaving a document that is being issued or saved.

        Args:
            then: done as soon as that has succeeded.

        Returns:
            True if there is something to wait for, and the person does not give that up.
        """
        if not self.is_busy:
            return False
        if self._waiting is not None and not self._host.messages.ask_wait(self._doing.text()):
            self._waiting = None
            return False
        self._waiting = then
        self._host.say(_("This is done as soon as the archive has answered."))
        return True

    def save_draft(self, then: Callable[[], object] | None = None) -> None:
        """Save what the form holds as a shared draft; `then` is done once it is kept."""
        if self.is_busy:
            self._host.say(_("This is done as soon as the archive has answered."))
            self._waiting = self._save_if_shared
            return
        self._waiting = then
        self.drafts.save()

    def _save_if_shared(self) -> None:
        # Issued meanwhile it is a draft no more, and must not become another one.
        if self._host.document().shared is not None:
            self.save_draft()

    def ask_name(self) -> None:
        """Let the person say what they are called from now on."""
        if name := self._host.ask_who():
            self._host.say(_("Your name is {name}", name=name))

    def follow(self) -> None:
        """Let go of the draft that the form no longer holds."""
        self.drafts.let_go()

    def _look_at_issued(self) -> None:
        """Learn what became of the sheet that the form's was issued as."""
        document = self._host.document()
        issued = document.issued
        if issued is None:
            return

        def call(archive: "Archive") -> str:
            known = archive.revisions(issued.number)
            return next((one.state for one in known if one.revision == issued.revision), "")

        def done(state: str) -> None:
            if state and document.issued is issued and state != issued.state:
                document.issued = replace(issued, state=state)
                self._host.doings_changed()

        # That it cannot be asked is said to whoever asks it for something.
        self._host.desk.ask(call, done, lambda _error: None)

    def close(self) -> "Callable[[Archive], object] | None":
        """End; returns what is to be asked of the archive last, if anything."""
        self.issuing.close()
        return self.drafts.last_wish()

    def _on_began(self, doing: str) -> None:
        self._doing.setText(doing)
        self._doing.setVisible(True)
        self._host.doings_changed()

    def _on_ended(self, is_done: bool) -> None:
        if self.is_busy:
            return
        self._doing.setVisible(False)
        self._host.doings_changed()
        then, self._waiting = self._waiting, None
        if is_done and then is not None:
            then()
