"""What the archive's window asks in boxes; a test puts another in its place."""

import os
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QMessageBox,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.language import _
from kerfdocket.window.archive.dropping import SCAN_SUFFIXES
from kerfdocket.window.looks import em, make_default, wrapped
from kerfdocket.window.messages import Messages

__all__ = ["ArchiveMessages"]


class _Line(QDialog):
    """Asks for one line; goes on only with one."""

    def __init__(
        self, title: str, more: str, name: str, yes: str, text: str, parent: QWidget | None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Kerfdocket")
        self.box = QVBoxLayout(self)
        question = wrapped(title)
        font = question.font()
        font.setBold(True)
        question.setFont(font)
        self.box.addWidget(question)
        if more:
            self.box.addWidget(wrapped(more))
        self.edit = QLineEdit(text)
        self.edit.setAccessibleName(name)
        self.edit.textChanged.connect(self._on_changed)
        self.row = QHBoxLayout()
        self.row.addWidget(self.edit, 1)
        self.box.addLayout(self.row)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.yes = buttons.addButton(yes, QDialogButtonBox.ButtonRole.AcceptRole)
        self.yes.setDefault(True)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        self.box.addWidget(buttons)
        self.resize(em(self, 70), self.sizeHint().height())
        self._on_changed()

    def _on_changed(self) -> None:
        self.yes.setEnabled(bool(self.edit.text().strip()))

    def ask(self) -> str | None:
        """Return what was typed, or None."""
        return self.edit.text().strip() if self.exec() else None


class ArchiveMessages(Messages):
    """Asks and tells about the archive."""

    def _line(self, title: str, more: str, name: str, yes: str, text: str = "") -> str | None:
        return _Line(title, more, name, yes, text, self._parent).ask()

    def ask_withdraw_reason(self, name: str) -> str | None:
        """Ask why a traveller is withdrawn."""
        return self._line(
            _("Withdraw {name}?", name=name),
            _("Nothing may be cut by it any more, and that cannot be taken back. Say why:"),
            _("Reason"),
            _("Withdraw it"),
        )

    def ask_aside_reason(self, name: str) -> str | None:
        """Ask why a page belongs to no traveller."""
        return self._line(
            _("Set this page aside? {name}", name=name),
            _("It is kept, but leaves the tray. Say why it belongs to no traveller:"),
            _("Reason"),
            _("Set it aside"),
        )

    def ask_put_back_reason(self, name: str) -> str | None:
        """Ask why a page is not its traveller's."""
        return self._line(
            _("Put this page into the tray again? {name}", name=name),
            _("What was filled in on it goes with it. Say why it is with the wrong traveller:"),
            _("Reason"),
            _("Put it back"),
        )

    def ask_close(self, name: str, is_bare: bool) -> bool:
        """Ask whether a traveller's work is done and signed.

        Args:
            name: of the traveller.
            is_bare: nothing came back of it, so nothing shows that it was.
        """
        what_then = _(
            "Its work is done and signed then: what was written on it is put right only for a "
            "reason, and it can be neither withdrawn nor issued anew. That cannot be taken back."
        )
        bare = _(
            "Nothing that came back of it is kept, neither a page nor a value: nothing shows who "
            "signed it."
        )
        return self._ask_yes(
            _("Close {name}?", name=name),
            f"{bare}\n\n{what_then}" if is_bare else what_then,
            _("Close it"),
        )

    def ask_drop_values(self) -> bool:
        """Ask whether values that were typed are to be lost."""
        return self._ask_yes(
            _("Throw away what you typed?"),
            _("It was not saved."),
            _("Throw it away"),
        )

    def ask_scans(self, folder: Path) -> list[Path]:
        """Ask which scans to take."""
        patterns = " ".join(f"*{suffix} *{suffix.upper()}" for suffix in SCAN_SUFFIXES)
        kinds = "{name} ({patterns});;{all_files} (*)".format(
            name=_("Scans and filled forms"), patterns=patterns, all_files=_("All files")
        )
        names: Sequence[str] = QFileDialog.getOpenFileNames(
            self._parent, _("Take scans"), str(folder), kinds
        )[0]
        return [Path(name) for name in names]

    def ask_scanner_folder(self, folder: Path) -> Path | None:
        """Ask which folder the scanner writes to."""
        title = _("Folder that the scanner writes to")
        name = QFileDialog.getExistingDirectory(self._parent, title, str(folder))
        return Path(name) if name else None

    def ask_archive(self, place: str) -> str | None:
        """Ask for another archive: a file, or an address of a server."""
        dialog = _Line(
            _("Which archive?"),
            _(
                "A file, which is made if it is not there yet; or the address of a server, such as "
                "postgresql://name@server/archive. An address is remembered as it is typed here: "
                "leave a password out of it and keep that where PostgreSQL looks for one."
            ),
            _("File, or address of a server"),
            _("Use it"),
            place,
            self._parent,
        )
        browse = QPushButton(_("Choose a file…"))

        def choose() -> None:
            typed = dialog.edit.text()
            start = str(Path.home()) if "://" in typed else typed
            name = QFileDialog.getSaveFileName(
                dialog,
                _("Archive"),
                start,
                f"{_('Archives')} (*.sqlite);;{_('All files')} (*)",
                options=QFileDialog.Option.DontConfirmOverwrite,
            )[0]
            if name:
                dialog.edit.setText(name)

        browse.clicked.connect(choose)
        dialog.row.addWidget(browse)
        return dialog.ask()

    def ask_backup_path(self, suggestion: Path) -> Path | None:
        """Ask for the file of a backup; whether it may be replaced is asked by `ask_replace`."""
        kinds = f"{_('Archives')} (*.sqlite);;{_('All files')} (*)"
        dialog = QFileDialog(self._parent, _("Back up the archive"), str(suggestion.parent), kinds)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setOption(QFileDialog.Option.DontConfirmOverwrite)
        dialog.setDefaultSuffix("sqlite")
        dialog.selectFile(suggestion.name)
        return Path(dialog.selectedFiles()[0]) if dialog.exec() else None

    def ask_replace(self, path: Path) -> bool:
        """Ask whether a file may be replaced by a backup."""
        return self._ask_yes(
            _("Replace {file}?", file=path.name),
            _(
                "{path} is there already. It stays until the new backup is whole, and is lost "
                "then.",
                path=path,
            ),
            _("Replace it"),
        )

    def ask_new_folder(self, suggestion: Path) -> Path | None:
        """Ask for the name of a new folder."""
        dialog = _Line(
            _("Into which folder?"),
            _("A new one, which is made; or one that is there and empty."),
            _("Folder"),
            _("Export"),
            str(suggestion),
            self._parent,
        )
        browse = QPushButton(_("Choose where…"))

        def choose() -> None:
            typed = Path(dialog.edit.text().strip() or suggestion)
            name = QFileDialog.getExistingDirectory(
                dialog, _("Where the new folder is to be"), str(typed.parent)
            )
            if name:
                dialog.edit.setText(str(Path(name) / typed.name))

        browse.clicked.connect(choose)
        dialog.row.addWidget(browse)
        given = dialog.ask()
        # What is typed without a place would be made wherever the program was started.
        return suggestion.parent / os.path.expanduser(given) if given else None  # noqa: PTH111  # never fails

    def ask_list_path(self, suggestion: Path) -> Path | None:
        """Ask where to put a list; asks before it replaces a file."""
        kinds = f"CSV (*.csv);;{_('All files')} (*)"
        return self._ask_path(_("Save the list"), suggestion, kinds, "csv")

    def ask_despite_faults(self, faults: Sequence[str]) -> bool:
        """Ask whether an archive that is not whole is to be copied as it is."""
        return self._listing(
            _(
                "The archive is not as it was written, and nothing was made. It can be copied with "
                "its faults, to keep what is left. Do not replace a good backup by that."
            ),
            faults,
            _("Copy it with its faults"),
        )

    def ask_give_up_copy(self, doing: str) -> bool:
        """Ask whether a copy that is being made is to be given up."""
        return self._ask_yes(
            _("Give up what is being made?"),
            _("{doing} It takes a while; nothing of it stays if it is given up now.", doing=doing),
            _("Give it up"),
        )

    def tell_result(self, text: str, lines: Sequence[str] = ()) -> None:
        """Say how something ended, with a list that can be copied."""
        if not lines:
            self._box(QMessageBox.Icon.Information, text).exec()
            return
        self._listing(text, lines)

    def _listing(self, text: str, lines: Sequence[str], yes: str = "") -> bool:
        """Show a list that can be copied; return whether `yes` was said, where that is asked."""
        dialog = QDialog(self._parent)
        dialog.setWindowTitle("Kerfdocket")
        box = QVBoxLayout(dialog)
        box.addWidget(wrapped(text))
        listing = QPlainTextEdit("\n".join(lines))
        listing.setReadOnly(True)
        listing.setAccessibleName(text)
        box.addWidget(listing, 1)
        no = (
            QDialogButtonBox.StandardButton.Cancel if yes else QDialogButtonBox.StandardButton.Close
        )
        buttons = QDialogButtonBox(no)
        if yes:
            buttons.addButton(yes, QDialogButtonBox.ButtonRole.AcceptRole)
            make_default(buttons.button(no), buttons)
        buttons.accepted.connect(dialog.accept)
        buttons.rejected.connect(dialog.reject)
        box.addWidget(buttons)
        dialog.resize(em(dialog, 90), dialog.fontMetrics().lineSpacing() * 24)
        return bool(dialog.exec())
