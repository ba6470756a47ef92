"""All of the archive that is beside the main window: it outlives the archive's own window."""

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from PySide6.QtCore import QObject, Signal

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _, current_language, marked
from kerfdocket.window.archive.asked import ArchiveMessages
from kerfdocket.window.archive.asking import Asker
from kerfdocket.window.archive.gentle import StoppableCrew
from kerfdocket.window.archive.intake import Intake, Outcome
from kerfdocket.window.archive.keeper import Keeper
from kerfdocket.window.archive.keeping import Copy, Faulty, Made
from kerfdocket.window.archive.looking import Looker
from kerfdocket.window.archive.page_reader import PageReader
from kerfdocket.window.archive.sayings import copy_doing, copy_outcome, outcome_text, outcomes_text
from kerfdocket.window.archive.verifying import Verified, verify_archive
from kerfdocket.window.archive_desk import ArchiveDesk
from kerfdocket.window.newest import Crew, NewestWins, ProcessCrew
from kerfdocket.window.person import person, remember_person
from kerfdocket.window.preferences import remember, remembered
from kerfdocket.window.services import ARCHIVE_VARIABLE, Services

if TYPE_CHECKING:
    from kerfdocket.archive import Archive
    from kerfdocket.window.archive.archive_window import ArchiveWindow

__all__ = ["ArchiveSide"]

_T = TypeVar("_T")
_DEBOUNCE_MS = 250
# Names in the preferences.
_PLACE, _FOLDER, _COLUMNS, _COPIES = "archive", "scanner", "archive-columns", "copies"


class ArchiveSide(QObject):
    """Takes scans, watches the scanner's folder, verifies, copies; opens the archive's window.

    Signals:
        said: a sentence for a status bar.
        warned: what is to be seen by somebody has changed; see `warnings`.
        job_wanted: a `JobOfSheet` that is to be put into the form.
        bug: an exception that is a fault of the program.
        moved: another archive is in use, or is known now.
        verified: it was gone over, or that was given up.
    """

    said = Signal(str)
    warned = Signal()
    job_wanted = Signal(object)
    bug = Signal(object)
    moved = Signal()
    verified = Signal()

    def __init__(
        self,
        services: Services,
        desk: ArchiveDesk,
        parent: QObject | None = None,
        messages: ArchiveMessages | None = None,
        reader: PageReader | None = None,
        debounce_ms: int = _DEBOUNCE_MS,
        verify_crew: Crew | None = None,
        copier: StoppableCrew | None = None,
        counter: Crew | None = None,
    ) -> None:
        """Serve the archive that `desk` asks.

        Args:
            services: what the window calls on.
            desk: asks the archive; whoever made it closes it.
            parent: of this.
            messages: asks and tells; made for the archive's window if none is given.
            reader: reads pages of scans.
            debounce_ms: how long after the last key it is looked for. [ms]
            verify_crew: goes over the archive.
            copier: makes backups and exports.
            counter: counts what is in the archive.
        """
        super().__init__(parent)
        self._services = services
        self.desk = desk
        self.debounce_ms = debounce_ms
        self.looker = Looker()
        self._own_messages = messages
        self._window: ArchiveWindow | None = None
        self._preferences = services.preferences()
        self.intake = Intake(
            services.archive_place, lambda: self.who or _("the scanner"), reader, self
        )
        self.intake.changed.connect(desk.changed)
        self.intake.came.connect(self._on_came)
        self.intake.ended.connect(self._on_ended)
        self.intake.troubled.connect(self._on_troubled)
        self.intake.bug.connect(self.bug)
        # Warnings that nobody has seen yet.
        self.warnings: list[str] = []
        self._verifier: NewestWins | None = None
        self._verify_crew = verify_crew
        self.is_verifying = False
        self.keeper = Keeper(services.archive_place, self, copier, counter)
        self.keeper.made.connect(self._on_made)
        self.keeper.faulty.connect(self._on_faulty)
        self.keeper.failed.connect(self._on_not_made)
        self.keeper.not_counted.connect(self._on_not_counted)

    # Where, who

    @property
    def is_place_given(self) -> bool:
        """True if the surroundings say which archive; then nothing that is chosen here counts."""
        return bool(os.environ.get(ARCHIVE_VARIABLE))

    def place(self) -> str:
        """Return where the archive is; loads the database's library if nothing did before."""
        return self._services.archive_place()

    def use_archive(self, place: str) -> None:
        """Use another archive from now on, and at the next start.

        Raises:
            EnvironmentProblem: that cannot be remembered.
        """
        remember(self._preferences, _PLACE, place)
        self.intake.desk.look_elsewhere(is_chosen=True)
        self.desk.look_elsewhere(is_chosen=True)
        self.keeper.forget()
        self.moved.emit()

    @property
    def who(self) -> str:
        """Who sits here; empty if nobody said so and the system does not know."""
        return person(self._preferences)

    def set_who(self, who: str) -> None:
        """Remember who sits here.

        Raises:
            EnvironmentProblem: it cannot be remembered.
        """
        remember_person(self._preferences, who.strip())

    def who_or_ask(self) -> str:
        """Return who sits here, asked where nobody knows; empty if there is no answer."""
        if known := self.who:
            return known
        given = self.messages.ask_person("").strip()
        if given:
            try:
                self.set_who(given)
            except KerfdocketError as error:
                self.messages.tell(_("Your name cannot be remembered."), error)
            self.moved.emit()
        return given

    @property
    def messages(self) -> ArchiveMessages:
        """Who asks and tells."""
        if self._own_messages is not None:
            return self._own_messages
        assert self._window is not None
        return ArchiveMessages(self._window)

    # Asking

    def ask_deed(
        self,
        owner: QObject,
        call: "Callable[[Archive], _T]",
        done: "Callable[[_T], object]",
        doing: str,
        is_change: bool = False,
    ) -> None:
        """Do something in the name of `owner`; if it fails, say `doing` and why."""
        Asker(self.desk, owner).ask(call, done, lambda error: self.report(doing, error), is_change)

    def ask_change(
        self,
        owner: QObject,
        call: "Callable[[Archive, str], _T]",
        done: "Callable[[_T], object]",
        doing: str,
    ) -> None:
        """Change something in the name of who sits here, asked first where nobody knows.

        Args:
            owner: in whose name it is asked; see `ask_deed`.
            call: is given the archive and who does it.
            done: is given what it returned.
            doing: what is said where it fails, with the reason.
        """
        if who := self.who_or_ask():
            self.ask_deed(owner, lambda archive: call(archive, who), done, doing, is_change=True)

    def report(self, doing: str, error: BaseException) -> None:
        """Turn an error into words."""
        if isinstance(error, KerfdocketError):
            self.messages.tell(doing, error)
        else:
            self.bug.emit(error)

    # Scans

    def take(self, paths: Sequence[Path]) -> None:
        """Take scans, and what is in folders; asks first who does it, where nobody knows."""
        if paths and self.who_or_ask():
            self.intake.take(paths)

    def begin(self) -> None:
        """Watch the scanner's folder, if one was chosen."""
        if folder := remembered(self._preferences, _FOLDER):
            self.intake.watch(Path(folder))

    def watch(self, folder: Path | None) -> None:
        """Watch a folder from now on, and at the next start; None: watch none.

        Raises:
            EnvironmentProblem: that cannot be remembered.
        """
        remember(self._preferences, _FOLDER, str(folder) if folder is not None else "")
        self.intake.watch(folder)

    def _on_came(self, outcome: Outcome) -> None:
        for warning in outcome.warnings:
            if outcome.taken is not None and outcome.taken.is_known:
                continue  # that was said when it was taken
            self.warn(warning)
        self.said.emit(outcome_text(outcome))

    def _on_ended(self, outcomes: tuple[Outcome, ...]) -> None:
        if len(outcomes) > 1:
            self.said.emit(outcomes_text(outcomes))

    def _on_troubled(self, trouble: str) -> None:
        self.said.emit(_("The scanner’s folder: {reason}", reason=trouble))

    def warn(self, warning: str) -> None:
        """Say something that must be seen by somebody."""
        if warning not in self.warnings:
            self.warnings.append(warning)
        self.warned.emit()

    def warnings_seen(self) -> None:
        """Remember that somebody has seen what was warned of."""
        self.warnings.clear()
        self.warned.emit()

    # Going over the archive

    def verify(self) -> None:
        """Go over the whole archive beside the window."""
        if self.is_verifying:
            return
        if self._verifier is None:
            crew = self._verify_crew or ProcessCrew()
            self._verifier = NewestWins(crew, marked("Going over the archive"), self)
            self._verifier.succeeded.connect(self._on_verified)
            self._verifier.failed.connect(self._on_not_verified)
        self.is_verifying = True
        self._verifier.submit(0, verify_archive, self.place(), current_language().code)
        self.verified.emit()

    def stop_verifying(self) -> None:
        """Give it up."""
        verifier, self._verifier = self._verifier, None
        if verifier is not None:
            verifier.close()
            verifier.deleteLater()
        self.is_verifying = False
        self.verified.emit()

    def _on_verified(self, _ticket: int, found: Any) -> None:
        self.is_verifying = False
        self.verified.emit()
        result: Verified = found
        end = _(
            "{count} events; the hash of the last is {hash}. Note it down elsewhere: it shows "
            "later whether the end was cut off.",
            count=result.count,
            hash=result.last,
        )
        if not result.faults:
            self.messages.tell_result(_("Nothing was altered or lost."), (end,))
        else:
            self.messages.tell_result(
                _("The archive is not as it was written. Keep it as it is, and compare a backup."),
                (*result.faults, "", end),
            )

    def _on_not_verified(self, _ticket: int, error: Any) -> None:
        self.is_verifying = False
        self.verified.emit()
        self.report(_("The archive could not be gone over."), error)

    # Copies and counts

    def copies_folder(self) -> Path:
        """Return where the last copy went, or the person's own folder."""
        return Path(remembered(self._preferences, _COPIES) or Path.home())

    def _on_made(self, made: Made) -> None:
        self._remember(_COPIES, str(made.copy.target.parent))
        self.said.emit(copy_outcome(made.copy, made).split("\n")[0])

    def _on_faulty(self, copy: Copy, faulty: Faulty) -> None:
        if self.messages.ask_despite_faults(faulty.faults):
            self.keeper.begin(replace(copy, despite_faults=True))

    def _on_not_made(self, copy: Copy, error: Any) -> None:
        if copy.deed == "export":
            self.report(_("The archive was not exported."), error)
        else:
            self.report(_("No backup was made."), error)

    def _on_not_counted(self, error: Any) -> None:
        # The page says what stands in the way.
        if not isinstance(error, KerfdocketError):
            self.bug.emit(error)

    # The window

    @property
    def window(self) -> "ArchiveWindow | None":
        """The archive's window, if it was opened."""
        return self._window

    def show(self) -> "ArchiveWindow":
        """Open the archive's window, or bring it to the front."""
        if self._window is None:
            from kerfdocket.window.archive.archive_window import ArchiveWindow

            self._window = ArchiveWindow(self)
            self._window.job_wanted.connect(self.job_wanted)
            self._window.set_widths(remembered(self._preferences, _COLUMNS))
        self._window.show()
        self._window.activateWindow()
        return self._window

    def remember_widths(self, widths: str) -> None:
        """Remember how wide the columns are."""
        if widths:
            self._remember(_COLUMNS, widths)

    def _remember(self, name: str, value: str) -> None:
        """Remember what is not worth a word if it fails."""
        if value != remembered(self._preferences, name):
            try:
                remember(self._preferences, name, value)
            except KerfdocketError:
                return

    def say_anew(self) -> None:
        """Say everything in the language that is spoken now."""
        if self._window is not None:
            self._window.say_anew()

    def may_leave(self) -> bool:
        """Ask about what is typed and not kept, or being copied; False if it must stay."""
        if self._window is not None and not self._window.may_leave():
            return False
        copy = self.keeper.copy
        if copy is None or self.keeper.is_giving_up:
            return True
        return self.messages.ask_give_up_copy(copy_doing(copy, is_giving_up=False))

    def close(self) -> None:
        """End all of it, the window too."""
        if self._window is not None:
            self._window.end()
            self._window.deleteLater()
            self._window = None
        if self._verifier is not None:
            self._verifier.close()
        self.keeper.close()
        self.intake.close()
