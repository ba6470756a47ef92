"""The drafts that an office shares, to choose from."""

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QPalette, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
)

from kerfdocket.language import _, moment_text
from kerfdocket.window.host import Host
from kerfdocket.window.looks import em, make_default, severity_colour, wrapped
from kerfdocket.window.shared_drafts import is_old

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Draft

__all__ = ["DraftList"]

_DRAFT = Qt.ItemDataRole.UserRole


class DraftList(QDialog):
    """Lists what is shared and not issued yet, the last saved first.

    Signals:
        open_wanted: id of the draft to be opened.
        dropped: id of a draft that is one no more.
    """

    open_wanted = Signal(int)
    dropped = Signal(int)

    def __init__(self, host: Host) -> None:
        super().__init__(host.parent)
        self._host = host
        self.setWindowTitle(_("Shared drafts"))
        self.state = wrapped(_("Asking the archive …"))
        self.tree = QTreeWidget()
        self.tree.setRootIsDecorated(False)
        self.tree.setUniformRowHeights(True)
        self.tree.setAlternatingRowColors(True)
        self.tree.setAllColumnsShowFocus(True)
        self.tree.setAccessibleName(_("Shared drafts"))
        self.tree.setHeaderLabels(
            [
                _("Draft"),
                _("What is cut"),
                _("Version"),
                _("Last saved"),
                _("By"),
                _("Open now"),
            ]
        )
        header = self.tree.header()
        header.setStretchLastSection(False)
        for column in range(self.tree.columnCount()):
            # The title gives way: all of it is in its tool tip.
            is_title = column == 1
            mode = QHeaderView.ResizeMode
            header.setSectionResizeMode(column, mode.Stretch if is_title else mode.ResizeToContents)
        self.tree.currentItemChanged.connect(self._update_buttons)
        self.tree.itemActivated.connect(self._on_activated)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        role = QDialogButtonBox.ButtonRole
        self.open_button = buttons.addButton(_("&Open"), role.AcceptRole)
        self.drop_button = buttons.addButton(_("&Drop…"), role.ActionRole)
        self.look_button = buttons.addButton(_("&Look again"), role.ActionRole)
        make_default(self.open_button, buttons)
        self.open_button.clicked.connect(self._open)
        self.drop_button.clicked.connect(self._drop)
        self.look_button.clicked.connect(self.look)
        buttons.rejected.connect(self.reject)
        QShortcut(QKeySequence.StandardKey.Refresh, self, self.look)
        box = QVBoxLayout(self)
        box.addWidget(self.state)
        box.addWidget(self.tree, 1)
        box.addWidget(buttons)
        room = self.screen().availableSize()
        self.resize(
            min(em(self, 170), room.width() - 40),
            min(self.fontMetrics().lineSpacing() * 24, room.height() - 60),
        )
        self._update_buttons()

    @property
    def chosen(self) -> "Draft | None":
        """The draft that the cursor is on."""
        item = self.tree.currentItem()
        return item.data(0, _DRAFT) if item is not None else None

    def look(self) -> None:
        """Ask the archive what drafts there are."""
        self._host.desk.ask(_drafts, self._on_looked, self._on_failed)

    def _on_looked(self, found: "tuple[Draft, ...]") -> None:
        before = self.chosen
        self.tree.clear()
        items = {draft.id: self._item(draft) for draft in found}
        self.tree.addTopLevelItems(list(items.values()))
        current = items.get(before.id) if before is not None else None
        if found:
            self.tree.setCurrentItem(current or items[found[0].id])
        nothing = _("No draft is shared. “Save as shared draft” makes one of what the form holds.")
        self._say("" if found else nothing, is_warning=False)
        self._update_buttons()
        self.tree.setFocus()

    def _on_failed(self, error: BaseException) -> None:
        self._say(_("The archive cannot be asked.\n{reason}", reason=error), is_warning=True)

    def _say(self, text: str, *, is_warning: bool) -> None:
        self.state.setText(text)
        self.state.setVisible(bool(text))
        palette = QPalette(self.palette())
        if is_warning:
            palette.setColor(QPalette.ColorRole.WindowText, severity_colour("caution", palette))
        self.state.setPalette(palette)

    def _item(self, draft: "Draft") -> QTreeWidgetItem:
        held = ""
        if draft.held_by:
            since = moment_text(draft.held_at)
            held = _("{who}, since {when}", who=draft.held_by, when=since)
            if is_old(draft.held_at):
                held = _("{who}, since {when}: never closed?", who=draft.held_by, when=since)
        title = draft.title or _("no title yet")
        texts = [str(draft.id), title, str(draft.version), moment_text(draft.at), draft.who, held]
        item = QTreeWidgetItem(texts)
        item.setData(0, _DRAFT, draft)
        for column in (0, 2):
            item.setTextAlignment(
                column, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            )
        item.setToolTip(1, title)
        return item

    def _update_buttons(self) -> None:
        for button in (self.open_button, self.drop_button):
            button.setEnabled(self.chosen is not None)

    def _on_activated(self, _item: QTreeWidgetItem) -> None:
        self._open()

    def _open(self) -> None:
        draft = self.chosen
        if draft is not None:
            self.accept()
            self.open_wanted.emit(draft.id)

    def _drop(self) -> None:
        draft = self.chosen
        if draft is None or not (who := self._host.who()):
            return
        held = draft.held_by if draft.held_by != who else ""
        name = draft.title or str(draft.id)
        if not self._host.messages.ask_drop(name, held):
            return
        self._host.desk.ask(
            partial(_end, draft.id, who),
            partial(self._on_dropped, draft.id),
            lambda error: self._host.report(_("The shared draft was not dropped."), error),
            is_change=True,
        )

    def _on_dropped(self, draft_id: int, _ended: "Draft") -> None:
        self.dropped.emit(draft_id)
        self.look()


def _drafts(archive: "Archive") -> "tuple[Draft, ...]":
    from kerfdocket.archive import drafts

    return drafts(archive)


def _end(draft_id: int, who: str, archive: "Archive") -> "Draft":
    from kerfdocket.archive import end_draft

    return end_draft(archive, draft_id, who, "dropped")
