"""What is to be issued, who issues it and why; asked before a sheet is drawn and kept."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.job import Job
from kerfdocket.language import _, moment_text, sense
from kerfdocket.window.document import SharedDraft
from kerfdocket.window.looks import em, make_default, severity_colour, wrapped

if TYPE_CHECKING:
    from kerfdocket.archive import Draft, Event, Traveller

__all__ = ["IssueDialog", "Known"]

_FIRST = "A"


@dataclass(frozen=True)
class Known:
    """What the archive knows of what is to be issued.

    Attributes:
        place: of the archive.
        last: the last revision of the number; None if it was never issued.
        moved: how that came to be where it is now.
        revision: that the sheet becomes; empty if the number cannot be issued any more.
        draft: that the job comes from, in the version that the form holds; None if there is none.
        ended: the same draft, if it is one no more.
        unchanged: that nothing has changed since the last revision; empty if something has.
        is_missing: there is no archive at the place; issuing makes one.
    """

    place: str
    last: "Traveller | None" = None
    moved: "Event | None" = None
    revision: str = _FIRST
    draft: "Draft | None" = None
    ended: "Draft | None" = None
    unchanged: str = ""
    is_missing: bool = False


def _plain(text: str) -> QLabel:
    label = wrapped(text)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return label


class IssueDialog(QDialog):
    """Opens at once and asks for more as soon as the archive has answered."""

    def __init__(
        self, job: Job, who: str, shared: SharedDraft | None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(_("Issue the sheet"))
        self._job = job
        self._shared = shared
        self.known: Known | None = None
        number = job.about.number
        is_series = "?" in number
        shown = _("the next one of the series {series}", series=number) if is_series else number
        self.number = _plain(shown)
        self.revision = _plain(_("asking the archive …"))
        self.who = QLineEdit(who)
        self.reason = QLineEdit()
        self.fillable = QCheckBox(_("with &fields to fill in on a screen"))
        self.news = wrapped()
        self.what_happens = wrapped()
        self.needed = wrapped()
        font = self.needed.font()
        font.setBold(True)
        self.needed.setFont(font)
        self._form = form = QFormLayout()
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        form.addRow(sense("of a traveller", "Number"), self.number)
        form.addRow(_("What is cut"), _plain(job.about.title))
        form.addRow(_("Revision"), self.revision)
        form.addRow(_("Issued &by"), self.who)
        form.addRow(_("&Reason"), self.reason)
        form.addRow(_("Sheet"), self.fillable)
        self._buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.issue_button = self._buttons.addButton(
            _("&Issue"), QDialogButtonBox.ButtonRole.AcceptRole
        )
        make_default(self.issue_button, self._buttons)
        self._buttons.accepted.connect(self.accept)
        self._buttons.rejected.connect(self.reject)
        box = QVBoxLayout(self)
        # By itself it asks for the height that labels have where they are narrowest.
        box.setSizeConstraint(QVBoxLayout.SizeConstraint.SetNoConstraint)
        box.setSpacing(self.fontMetrics().lineSpacing() // 2)
        box.addLayout(form)
        box.addWidget(self.news)
        box.addWidget(self.what_happens)
        box.addStretch(1)
        box.addWidget(self.needed)
        box.addWidget(self._buttons)
        form.setRowVisible(self.reason, False)
        self.news.setVisible(False)
        self.who.textChanged.connect(self._look_what_is_needed)
        self.reason.textChanged.connect(self._look_what_is_needed)
        self._say_what_happens()
        self._look_what_is_needed()
        self.setMinimumWidth(em(self, 84))
        self.resize(self.minimumWidth(), 0)
        self._fit()

    @property
    def name(self) -> str:
        """Who issues it."""
        return self.who.text().strip()

    @property
    def why(self) -> str:
        """Why it is issued anew; empty where it is issued for the first time."""
        return self.reason.text().strip() if self._is_anew else ""

    @property
    def _is_anew(self) -> bool:
        return self.known is not None and self.known.last is not None

    def show_known(self, known: Known) -> None:
        """Show what the archive knows."""
        self.known = known
        news = []
        if known.is_missing:
            news.append(_missing_text(known.place))
        if known.ended is not None:
            news.append(_ended_text(known.ended))
        if known.last is not None:
            news += _last_texts(known.last, known.moved)
        if known.unchanged:
            news.append(known.unchanged)
        if known.revision:
            said = _("{revision}, the first one", revision=known.revision)
            if known.last is not None:
                said = _(
                    "{revision}, after {last}", revision=known.revision, last=known.last.revision
                )
            self.revision.setText(said)
        else:
            self.revision.setText(sense("of revisions", "none"))
        is_open = self._is_anew and bool(known.revision)
        self._form.setRowVisible(self.reason, is_open)
        is_warning = bool(known.is_missing or known.ended or known.unchanged) or self._is_out
        self._say_news("\n".join(news), is_warning=is_warning)
        self._say_what_happens()
        self._look_what_is_needed()
        if is_open:
            self.reason.setFocus()
        self._fit()

    def show_failure(self, error: BaseException) -> None:
        """Say that the archive cannot be asked; nothing can be issued then."""
        self.revision.setText(_("not known"))
        self._say_news(_("The archive cannot be asked.\n{reason}", reason=error), is_warning=True)
        self._fit()

    @property
    def _is_out(self) -> bool:
        last = self.known.last if self.known is not None else None
        return last is not None and last.state == "on the floor"

    def _say_news(self, text: str, *, is_warning: bool) -> None:
        self.news.setText(text)
        self.news.setVisible(bool(text))
        palette = QPalette(self.palette())
        if is_warning:
            colour = severity_colour("caution", palette)
            palette.setColor(QPalette.ColorRole.WindowText, colour)
        self.news.setPalette(palette)

    def _say_what_happens(self) -> None:
        lines = [
            _(
                "The sheet is drawn with its number, kept in the archive for good, and shown, "
                "ready to be printed. What is kept is never altered, only followed by the next "
                "revision."
            )
        ]
        if self._is_anew:
            lines.append(_("The revision before is superseded."))
        if self._shared is not None and not (self.known and self.known.ended):
            lines.append(_("Shared draft {id} ends with this.", id=self._shared.id))
        self.what_happens.setText(" ".join(lines))
        self.what_happens.setVisible(self.known is None or bool(self.known.revision))

    def _look_what_is_needed(self) -> None:
        needed = ""
        if self.known is None or not self.known.revision:
            needed = ""  # what stands above says why
        elif not self.name:
            needed = _("Still needed: who issues it.")
        elif self._is_anew and not self.why:
            needed = _("Still needed: the reason why it is issued anew.")
        can_issue = self.known is not None and bool(self.known.revision) and not needed
        self.issue_button.setEnabled(can_issue)
        if needed != self.needed.text():
            self.needed.setText(needed)
            self._fit()

    def _fit(self) -> None:
        """Be as high as what wraps asks for, and no higher."""
        layout = self.layout()
        assert layout is not None
        layout.activate()
        height = layout.totalHeightForWidth(self.width())
        self.setMinimumHeight(height)
        self.resize(self.width(), height)


def _missing_text(place: str) -> str:
    # The library is loaded: its answer came from there.
    from kerfdocket.archive.engine import shown_place

    return _(
        "There is no archive at {place}: this makes a new one, which knows of no number. If there "
        "was one, look first what has become of it.",
        place=shown_place(place),
    )


def _ended_text(draft: "Draft") -> str:
    if draft.ended == "issued":
        return _(
            "Shared draft {id} was issued as {number} meanwhile: this issues its work once more.",
            id=draft.id,
            number=draft.number,
        )
    return _("Shared draft {id} was dropped meanwhile.", id=draft.id)


def _last_texts(last: "Traveller", moved: "Event | None") -> list[str]:
    """Say where the last revision is, and what that means for the next."""
    name = f"{last.number} {last.revision}"
    texts = [_("{name} was issued before; it is now {state}.", name=name, state=_(last.state))]
    if moved is not None:
        texts[0] = _(
            "{name} was issued before; it is now {state}, as {who} said on {when}.",
            name=name,
            state=_(last.state),
            who=moved.who,
            when=moment_text(moved.at),
        )
    if last.state == "on the floor":
        texts.append(_("Take its paper back, or two that differ are on the floor."))
    elif last.state == "closed":
        texts.append(
            _("Its work is done and signed, so it is issued no more: give the job another number.")
        )
    return texts
