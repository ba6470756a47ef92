"""What the window lends to those of its parts that are made when they are first needed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _
from kerfdocket.window.archive_desk import ArchiveDesk
from kerfdocket.window.document import Document
from kerfdocket.window.messages import Messages
from kerfdocket.window.newest import Crew
from kerfdocket.window.person import is_person_known, person, remember_person
from kerfdocket.window.services import Services

if TYPE_CHECKING:
    from PySide6.QtWidgets import QStatusBar

__all__ = ["Host"]


@dataclass(frozen=True)
class Host:
    """What a part of the window may use.

    Attributes:
        parent: of dialogs.
        bar: where it is said what goes on.
        services: what the window calls on.
        messages: asks and tells.
        desk: asks the archive.
        crew: the process that draws sheets.
        document: what the form holds now.
        show_document: puts another in its place.
        follow: shows the fields at these paths anew, and follows up whatever changed.
        kept: to be called when the document belongs elsewhere, or was saved.
        may_leave: False if the document must stay, as the person wants it or as something is
            still being done with it; then what is passed is done once it may go.
        report: turns an error into words; says first what was being done.
        doings_changed: to be called when something begins or ends.
    """

    parent: QWidget
    bar: "QStatusBar"
    services: Services
    messages: Messages
    desk: ArchiveDesk
    crew: Crew
    document: Callable[[], Document]
    show_document: Callable[[Document], None]
    follow: Callable[[Sequence[str]], None]
    kept: Callable[[], None]
    may_leave: Callable[[Callable[[], object]], bool]
    report: Callable[[str, BaseException], None]
    doings_changed: Callable[[], None]

    def say(self, text: str) -> None:
        """Say something below the form, in nobody's way."""
        self.bar.showMessage(text)

    def who(self) -> str:
        """Return what the person is called; asks once. Empty if they would not say."""
        file = self.services.preferences()
        known = person(file)
        if is_person_known(file):
            return known
        return self.ask_who()

    def ask_who(self) -> str:
        """Ask what the person is called, and remember it; empty if they would not say."""
        given = self.messages.ask_person(person(self.services.preferences())).strip()
        if given:
            self.remember_who(given)
        return given

    def remember_who(self, name: str) -> None:
        """Remember what the person is called; told if that cannot be."""
        try:
            remember_person(self.services.preferences(), name)
        except KerfdocketError as error:
            self.report(_("The name cannot be remembered."), error)
