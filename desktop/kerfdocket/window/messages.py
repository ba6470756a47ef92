"""The one place that turns errors and questions into words on the screen."""

import sys
import threading
import traceback
from pathlib import Path
from types import TracebackType
from typing import Literal

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QAbstractButton,
    QFileDialog,
    QInputDialog,
    QMessageBox,
    QWidget,
)

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _

__all__ = ["BugCatcher", "Messages", "details_of"]

_MOST_LINES = 12


def _kinds(name: str, patterns: str) -> str:
    """What a file dialog offers: files of one kind, or all."""
    all_files = _("All files")
    return f"{name} ({patterns});;{all_files} (*)"


def details_of(error: BaseException) -> str:
    """Return what a person who mends the program needs to see."""
    from kerfdocket import __version__

    lines = traceback.format_exception(type(error), error, error.__traceback__)
    return f"Kerfdocket {__version__}, Python {sys.version.split()[0]}\n{''.join(lines)}"


class Messages:
    """Asks and tells; a test puts another in its place."""

    def __init__(self, parent: QWidget) -> None:
        self._parent = parent

    def _box(self, icon: QMessageBox.Icon, text: str, more: str = "") -> QMessageBox:
        box = QMessageBox(icon, "Kerfdocket", text, parent=self._parent)
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setInformativeText(more)
        return box

    def tell(self, doing: str, error: KerfdocketError) -> None:
        """Say what went wrong, and what was being done."""
        lines = str(error).split("\n")
        if len(lines) > _MOST_LINES:
            more = _("... and {count} more", count=len(lines) - _MOST_LINES)
            lines = [*lines[:_MOST_LINES], more]
        self._box(QMessageBox.Icon.Warning, doing, "\n".join(lines)).exec()

    def tell_bug(self, error: BaseException) -> None:
        """Say that the program has a fault; what is typed is still there."""
        box = self._box(
            QMessageBox.Icon.Critical,
            _("Something in the program went wrong."),
            _(
                "{fault}\n\nThe window goes on, and what was typed is still there. Save it, then "
                "please send the details to whoever looks after Kerfdocket.",
                fault=f"{type(error).__name__}: {error}",
            ),
        )
        box.setDetailedText(details_of(error))
        copy = box.addButton(_("Copy details"), QMessageBox.ButtonRole.ActionRole)
        box.addButton(QMessageBox.StandardButton.Close)
        copy.clicked.disconnect()  # copying must not close the box
        copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(details_of(error)))
        box.exec()

    def ask_unsaved(self, name: str) -> Literal["save", "discard", "cancel"]:
        """Ask what becomes of unsaved changes."""
        box = self._box(
            QMessageBox.Icon.Question,
            _("Save the changes to {name}?", name=name),
            _("They are lost otherwise."),
        )
        save = box.addButton(QMessageBox.StandardButton.Save)
        discard = box.addButton(QMessageBox.StandardButton.Discard)
        box.addButton(QMessageBox.StandardButton.Cancel)
        box.setDefaultButton(save)
        box.exec()
        if box.clickedButton() is save:
            return "save"
        return "discard" if box.clickedButton() is discard else "cancel"

    def ask_restore(self, name: str, when: str) -> Literal["restore", "discard", "later"]:
        """Ask what becomes of unsaved work from before a crash."""
        box = self._box(
            QMessageBox.Icon.Question,
            _("There is unsaved work on {name}.", name=name),
            _("The window ended without saving it; this copy is from {when}.", when=when),
        )
        restore = box.addButton(_("Restore it"), QMessageBox.ButtonRole.AcceptRole)
        discard = box.addButton(_("Throw it away"), QMessageBox.ButtonRole.DestructiveRole)
        later = box.addButton(_("Ask again next time"), QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(restore)
        box.setEscapeButton(later)
        box.exec()
        if box.clickedButton() is restore:
            return "restore"
        return "discard" if box.clickedButton() is discard else "later"

    def _ask_yes(self, text: str, more: str, yes: str) -> bool:
        box = self._box(QMessageBox.Icon.Question, text, more)
        accept = box.addButton(yes, QMessageBox.ButtonRole.AcceptRole)
        box.setDefaultButton(box.addButton(QMessageBox.StandardButton.Cancel))
        box.exec()
        return box.clickedButton() is accept

    def ask_overwrite_changed(self, path: Path) -> bool:
        """Ask whether to replace a file that someone else has changed."""
        return self._ask_yes(
            _("{file} was changed by someone else.", file=path.name),
            _(
                "It no longer says what it said when it was opened here. Replacing it loses their "
                "changes; Save as keeps both."
            ),
            _("Replace it"),
        )

    def ask_take_out(self, key: str) -> bool:
        """Ask whether an unknown key is to go."""
        return self._ask_yes(
            _("Take {key} out of the job?", key=key),
            _("What it says goes with the next saving."),
            _("Take it out"),
        )

    def ask_person(self, known: str) -> str:
        """Ask what the person is called, as colleagues are told; empty if they would not say."""
        dialog = QInputDialog(self._parent)
        dialog.setWindowTitle("Kerfdocket")
        dialog.setLabelText(
            _("Your name, as it stands beside what you issue, save or open in the archive:")
        )
        dialog.setTextValue(known)
        return dialog.textValue() if dialog.exec() else ""

    def ask_open_held(self, name: str, who: str, since: str, *, is_old: bool) -> bool:
        """Ask whether to open a draft that someone else has open."""
        more = _(
            "What you both save is kept: whoever saves second is told, and nothing is written over."
        )
        if is_old:
            more = _("That is long ago: perhaps it was never closed, as after a crash.")
        return self._ask_yes(
            _("{who} has “{name}” open since {when}.", who=who, name=name, when=since),
            more,
            _("Open it all the same"),
        )

    def ask_draft_conflict(
        self, name: str, reason: str, *, can_look: bool
    ) -> Literal["own", "look", "go on"]:
        """Ask what becomes of the form's work on a draft that is another by now, or none."""
        box = self._box(
            QMessageBox.Icon.Question,
            _("“{name}” is not what it was when it was opened here.", name=name),
            _("{reason}\n\nWhat you typed is still in the form, and is not saved.", reason=reason),
        )
        own = box.addButton(_("Keep mine as a draft of its own"), QMessageBox.ButtonRole.AcceptRole)
        look: QAbstractButton | None = None
        if can_look:
            look = box.addButton(
                _("Keep mine so, and look at theirs"), QMessageBox.ButtonRole.AcceptRole
            )
        go_on = box.addButton(_("Go on editing"), QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(own)
        box.setEscapeButton(go_on)
        box.exec()
        if box.clickedButton() is own:
            return "own"
        return "look" if look is not None and box.clickedButton() is look else "go on"

    def ask_drop(self, name: str, held_by: str) -> bool:
        """Ask whether a shared draft is to be one no more."""
        more = _("It is no longer listed for anyone. The archive keeps what it said.")
        if held_by:
            more = _("{who} has it open now. {more}", who=held_by, more=more)
        return self._ask_yes(_("Drop the shared draft “{name}”?", name=name), more, _("Drop it"))

    def ask_wait(self, doing: str) -> bool:
        """Ask whether to wait for what is being done; False gives it up."""
        box = self._box(
            QMessageBox.Icon.Question,
            doing,
            _(
                "It is not done yet. If the window does not wait for it, look in the archive "
                "whether it was done."
            ),
        )
        wait = box.addButton(_("Wait"), QMessageBox.ButtonRole.RejectRole)
        give_up = box.addButton(_("Do not wait"), QMessageBox.ButtonRole.DestructiveRole)
        box.setDefaultButton(wait)
        box.setEscapeButton(wait)
        box.exec()
        return box.clickedButton() is not give_up

    def ask_issue_instead(self, name: str) -> bool:
        """Ask whether to issue what must not leave the window under the name of another sheet."""
        return self._ask_yes(
            _(
                "Not under the name {name}: the sheet that was issued says something else, or is "
                "void.",
                name=name,
            ),
            _(
                "Two sheets of one number and revision must not be on the floor. Issue this one "
                "anew, as the next revision; or give the job another number."
            ),
            _("Issue it…"),
        )

    def ask_open_path(self, folder: Path) -> Path | None:
        """Ask which file to open."""
        kinds = _kinds(_("Job files and printed sheets"), "*.toml *.pdf")
        name = QFileDialog.getOpenFileName(self._parent, _("Open a job"), str(folder), kinds)[0]
        return Path(name) if name else None

    def _ask_path(self, title: str, suggestion: Path, kinds: str, suffix: str) -> Path | None:
        dialog = QFileDialog(self._parent, title, str(suggestion.parent), kinds)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(suffix)
        dialog.selectFile(suggestion.name)
        if not dialog.exec():
            return None
        return Path(dialog.selectedFiles()[0])

    def ask_save_path(self, suggestion: Path) -> Path | None:
        """Ask where to save the job; asks before it replaces a file."""
        kinds = _kinds(_("Job files"), "*.toml")
        return self._ask_path(_("Save the job as"), suggestion, kinds, "toml")

    def ask_export_path(self, suggestion: Path) -> Path | None:
        """Ask where to put the sheet; asks before it replaces a file."""
        kinds = _kinds("PDF", "*.pdf")
        return self._ask_path(_("Export the sheet as PDF"), suggestion, kinds, "pdf")

    def ask_take(self, count: int, name: str) -> bool:
        """Ask whether files that were dropped on the main window are scans for the archive."""
        return self._ask_yes(
            _("Take {name} into the archive?", name=name)
            if count == 1
            else _("Take {count} files into the archive?", count=count),
            _(
                "Each page is put to its traveller by the code on it. The files stay where they "
                "are."
            ),
            _("Take them"),
        )

    def ask_folder(self, folder: Path) -> Path | None:
        """Ask for the folder with what a shop adds to its sheets."""
        title = _("The shop’s folder, with a shop.toml in it")
        name = QFileDialog.getExistingDirectory(self._parent, title, str(folder))
        return Path(name) if name else None


class BugCatcher(QObject):
    """Catches what nothing else caught, in any thread, and keeps the window going.

    Signals:
        caught: the exception; arrives in the GUI thread.
    """

    caught = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._former = sys.excepthook
        self._former_in_threads = threading.excepthook

    def install(self) -> None:
        """Begin to catch."""
        self._former, self._former_in_threads = sys.excepthook, threading.excepthook
        sys.excepthook = self._on_exception
        threading.excepthook = self._on_thread_exception

    def remove(self) -> None:
        """Put back what was there before."""
        sys.excepthook = self._former
        threading.excepthook = self._former_in_threads

    def _on_exception(
        self,
        kind: type[BaseException],
        error: BaseException,
        trace: TracebackType | None,
    ) -> None:
        self._former(kind, error, trace)
        if issubclass(kind, Exception):
            self.caught.emit(error)

    def _on_thread_exception(self, args: threading.ExceptHookArgs) -> None:
        self._former_in_threads(args)
        if isinstance(args.exc_value, Exception):
            self.caught.emit(args.exc_value)
