"""What the archive's window asks in boxes; a test puts another in its place."""

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
from kerfdocket.window.looks import em, wrapped
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

    def ask_close(self, name: str) -> bool:
        """Ask whether a traveller's work is done and signed."""
        return self._ask_yes(
            _("Close {name}?", name=name),
            _(
                "Its work is done and signed then: nothing can be entered, and it can be neither "
                "withdrawn nor issued anew. That cannot be taken back."
            ),
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

    def tell_result(self, text: str, lines: Sequence[str] = ()) -> None:
        """Say how something ended, with a list that can be copied."""
        if not lines:
            self._box(QMessageBox.Icon.Information, text).exec()
            return
        dialog = QDialog(self._parent)
        dialog.setWindowTitle("Kerfdocket")
        box = QVBoxLayout(dialog)
        box.addWidget(wrapped(text))
        listing = QPlainTextEdit("\n".join(lines))
        listing.setReadOnly(True)
        listing.setAccessibleName(text)
        box.addWidget(listing, 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(dialog.reject)
        box.addWidget(buttons)
        dialog.resize(em(dialog, 90), dialog.fontMetrics().lineSpacing() * 24)
        dialog.exec()
