"""One traveller: what it is, what was done with it, what came back, plan and work side by side."""

import json
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QLabel,
    QPushButton,
    QStackedWidget,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.language import _, marked, zones_text
from kerfdocket.window.archive.comparing import comparison_rows
from kerfdocket.window.archive.pages_view import PagesView
from kerfdocket.window.archive.rows import Row, RowsModel, RowsView
from kerfdocket.window.archive.sayings import (
    BANNER_WORDS,
    event_text,
    full_name,
    how_text,
    page_text,
    when_text,
)
from kerfdocket.window.archive_desk import ArchiveDesk
from kerfdocket.window.looks import (
    ElidedLabel,
    FlowGrid,
    em,
    heading_font,
    severity_colour,
    wrapped,
)

if TYPE_CHECKING:
    from kerfdocket.archive import PageOfTraveller, Traveller
    from kerfdocket.window.archive.looking import Record

__all__ = ["DEEDS", "Detail"]

# What can be done with a traveller: the state that it goes into, or something else.
DEEDS = {
    "on the floor": (marked("Went to the &floor"), marked("Say that the sheet is with the cutter")),
    "returned": (marked("Came &back"), marked("Say that the sheet came back from the floor")),
    "closed": (marked("&Close…"), marked("Say that its work is done and signed")),
    "withdrawn": (marked("With&draw…"), marked("Say that nothing may be cut by it any more")),
    "enter": (marked("&Enter values…"), marked("Enter what was written on the sheet")),
    "print": (marked("&Print again…"), marked("Print the sheet as it was issued, bit for bit")),
    "export": (marked("E&xport PDF…"), marked("Write the sheet as it was issued, bit for bit")),
    "open": (marked("&Open its job"), marked("Put the job of this traveller into the form")),
}
_FACTS = {
    "customer": marked("Customer"),
    "drawing": marked("Drawing"),
    "grade": marked("Steel grade"),
    "thickness": marked("Thickness"),
    "nozzle": marked("Nozzle"),
    "gas": marked("Fuel gas"),
    "cutter": marked("Cutter"),
    "issued": marked("Issued"),
}
_NOTHING = marked("Choose a traveller on the left.")


class Detail(QWidget):
    """Shows a record.

    Signals:
        deed: what is to be done with it, one of `DEEDS`.
        revision_wanted: another revision of its number.
        bug: an exception that is a fault of the program.
    """

    deed = Signal(str)
    revision_wanted = Signal(str)
    bug = Signal(object)

    def __init__(self, desk: ArchiveDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.record: Record | None = None
        self.name = QLabel()
        self.name.setTextFormat(Qt.TextFormat.PlainText)
        self.name.setFont(heading_font(self.name, 1.4))
        self.name.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.title = wrapped()
        self.banner = wrapped()
        self.banner.setFont(heading_font(self.banner, 1.1))
        self.banner.setMargin(6)
        self.banner.setFrameShape(QFrame.Shape.Box)
        self.banner.setLineWidth(2)
        self.banner.setAccessibleName(_("Whether it may still be cut by"))
        self.reason = wrapped()
        self._facts = {name: ElidedLabel() for name in _FACTS}
        for value in self._facts.values():
            font = value.font()
            font.setBold(True)
            value.setFont(font)
        facts = QGridLayout()
        facts.setContentsMargins(0, 0, 0, 0)
        facts.setHorizontalSpacing(10)
        facts.setVerticalSpacing(1)
        for number, (name, title) in enumerate(_FACTS.items()):
            row, column = divmod(number, 2)
            label = QLabel(_(title))
            label.setTextFormat(Qt.TextFormat.PlainText)
            facts.addWidget(label, row, column * 2)
            facts.addWidget(self._facts[name], row, column * 2 + 1)
            facts.setColumnStretch(column * 2 + 1, 1)
        self.buttons: dict[str, QPushButton] = {}
        deeds = FlowGrid(em(self, 12), most=4)
        for deed, (text, tip) in DEEDS.items():
            button = QPushButton(_(text))
            button.setToolTip(_(tip))
            button.clicked.connect(lambda _checked=False, deed=deed: self.deed.emit(deed))
            self.buttons[deed] = button
            deeds.add(button, room=button.sizeHint().width())
        self._fill_tabs(desk)
        shown = QWidget()
        box = QVBoxLayout(shown)
        box.setContentsMargins(8, 0, 0, 0)
        box.setSpacing(6)
        box.addWidget(self.name)
        box.addWidget(self.title)
        box.addWidget(self.banner)
        box.addLayout(facts)
        box.addWidget(self.reason)
        box.addWidget(deeds)
        box.addWidget(self.tabs, 1)
        self._word = wrapped(_(_NOTHING))
        self._word.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._pile = QStackedWidget()
        self._pile.addWidget(self._word)
        self._pile.addWidget(shown)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._pile)

    def _fill_tabs(self, desk: ArchiveDesk) -> None:
        self.comparison = RowsModel(
            (_("What"), _("Planned"), _("Actual"), _("How it stands"), _("Remark")), 3
        )
        comparison = RowsView(self.comparison, _("Plan and work side by side"))
        comparison.share_widths(28, 20, 18, 16)
        self.comparison_note = wrapped()
        self.comparison_note.setMargin(4)
        both = QWidget()
        box = QVBoxLayout(both)
        box.setContentsMargins(0, 4, 0, 0)
        box.addWidget(self.comparison_note)
        box.addWidget(comparison, 1)
        self.pages = PagesView(
            desk, _("Pages that came back"), _("No page of this traveller came back yet.")
        )
        self.pages.bug.connect(self.bug)
        self.back_button = QPushButton(_("Put the page into the tray again…"))
        self.back_button.setToolTip(_("Say that this page is with the wrong traveller"))
        self.back_button.clicked.connect(lambda _checked=False: self.deed.emit("put back"))
        self.back_button.setEnabled(False)
        self.pages.chosen.connect(lambda page: self.back_button.setEnabled(page is not None))
        paged = QWidget()
        box = QVBoxLayout(paged)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self.pages, 1)
        box.addWidget(self.back_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.history = RowsModel((_("When"), _("Rev."), _("What happened"), _("Who"), _("More")))
        history = RowsView(self.history, _("What happened to this number"))
        history.share_widths(19, 6, 18, 16)
        self.zone = wrapped()
        self.zone.setMargin(4)
        told = QWidget()
        box = QVBoxLayout(told)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(history, 1)
        box.addWidget(self.zone)
        self.revisions = RowsModel((_("Rev."), _("State"), _("Issued"), _("Reason")), 1)
        self.revisions_view = RowsView(self.revisions, _("Revisions of this number"))
        self.revisions_view.share_widths(6, 18, 19)
        self.revisions_view.activated.connect(self._on_revision_activated)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(both, _("Plan and work"))
        self.tabs.addTab(paged, "")
        self.tabs.addTab(told, _("What happened"))
        self.tabs.addTab(self.revisions_view, "")

    def _on_revision_activated(self) -> None:
        if (revision := self.revisions_view.current_key) is not None:
            self.revision_wanted.emit(revision)

    def say(self, word: str) -> None:
        """Show a word and no traveller."""
        self.record = None
        self._word.setText(word or _(_NOTHING))
        self._pile.setCurrentIndex(0)

    def show_record(self, record: "Record") -> None:
        """Show a traveller; a tab that is open stays open."""
        from kerfdocket.archive.model import AFTER

        self.record = record
        one = record.traveller
        is_last = record.revisions[-1].revision == one.revision
        self.name.setText(_("{name}: {state}", name=full_name(one), state=_(one.state)))
        self.title.setText(one.facts["title"])
        self.title.setVisible(bool(one.facts["title"]))
        self._show_banner(record)
        for name, label in self._facts.items():
            label.setText(_fact(one, name) or "—")
        self.reason.setText(_("Issued anew: {reason}", reason=one.reason) if one.reason else "")
        self.reason.setVisible(bool(one.reason))
        for deed, button in self.buttons.items():
            is_move = deed not in ("enter", "print", "export", "open")
            if is_move:
                button.setEnabled(is_last and deed in AFTER[one.state])
            elif deed in ("enter", "open"):
                button.setEnabled(record.job is not None)
            elif deed == "print":
                button.setEnabled(one.state not in BANNER_WORDS)
        self._show_tabs(record)
        self._pile.setCurrentIndex(1)

    def _show_banner(self, record: "Record") -> None:
        one = record.traveller
        word = BANNER_WORDS.get(one.state)
        self.banner.setVisible(word is not None)
        if word is None:
            self.banner.setText("")
            return
        last = record.revisions[-1]
        if one.state == "superseded":
            text = _(
                "{word}: do not cut by this sheet. The last revision is {revision}, {state}.",
                word=_(word),
                revision=last.revision,
                state=_(last.state),
            )
        else:
            text = _(
                "{word}: do not cut by this sheet. {reason}",
                word=_(word),
                reason=_withdrawn_for(record),
            )
        self.banner.setText(text)
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.WindowText, severity_colour("stop", palette))
        self.banner.setPalette(palette)

    def _show_tabs(self, record: "Record") -> None:
        self.comparison.set_rows(comparison_rows(record))
        note = record.comparison.note if record.comparison is not None else ""
        if record.comparison is None:
            note = _("Plan and work cannot be compared: {reason}", reason=record.trouble)
        elif not record.texts:
            note = "\n".join((_("Nothing that was written on the sheet is entered yet."), note))
        self.comparison_note.setText(note)
        self.comparison_note.setVisible(bool(note))
        revision = record.traveller.revision
        mine = [page for page in record.pages if page.revision == revision]
        others = [page for page in record.pages if page.revision != revision]
        self.pages.show_pages((*mine, *others), self._page_name)
        self.zone.setText(zones_text(event.at for event in record.events))
        self.history.set_rows(
            [
                Row(
                    (
                        when_text(event.at),
                        event.revision,
                        _(event.what),
                        event.who,
                        event_text(event),
                    )
                )
                for event in record.events
            ]
        )
        self.revisions.set_rows(
            [
                Row(
                    (one.revision, _(one.state), when_text(one.issued_at), one.reason),
                    one.revision,
                    "stop" if one.state in BANNER_WORDS else "",
                )
                for one in record.revisions
            ]
        )
        self.tabs.setTabText(1, _("Pages ({count})", count=len(record.pages)))
        self.tabs.setTabText(3, _("Revisions ({count})", count=len(record.revisions)))

    def _page_name(self, page: "PageOfTraveller") -> str:
        return _(
            "{revision}: {page}\n{when}, {how}",
            revision=page.revision,
            page=page_text(page),
            when=when_text(page.taken_at),
            how=how_text(page),
        )


def _fact(one: "Traveller", name: str) -> str:
    if name == "cutter":
        return one.cutter
    if name == "issued":
        return when_text(one.issued_at)
    text = one.facts[name]
    return _(text) if name == "gas" else text


def _withdrawn_for(record: "Record") -> str:
    """Return why it was withdrawn."""
    for event in reversed(record.events):
        if event.what == "withdrawn" and event.revision == record.traveller.revision:
            return str(json.loads(event.details).get("reason", ""))
    return ""
