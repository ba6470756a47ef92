"""Issuing what the form holds: asked first, then drawn and kept beside the window."""

import copy
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Future
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Qt, Signal

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.job import Job
from kerfdocket.language import _, current_language
from kerfdocket.window.document import Document, Issued, SharedDraft, numbered
from kerfdocket.window.host import Host
from kerfdocket.window.issue_dialog import IssueDialog, Known
from kerfdocket.window.person import person
from kerfdocket.window.services import IssueAnswer, IssueOrder

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Draft

__all__ = ["Issuing"]


@dataclass(frozen=True)
class _Wanted:
    """What the form held when the person asked for it to be issued.

    Attributes:
        document: that it is from.
        raw: what it said; what is typed later is not issued.
        job: the same as a job.
        shared: the draft that it belonged to.
    """

    document: Document
    raw: dict[str, Any]
    job: Job
    shared: SharedDraft | None


class Issuing(QObject):
    """Issues one sheet at a time.

    Signals:
        began: what is being done.
        ended: True if a sheet was issued.
    """

    began = Signal(str)
    ended = Signal(bool)
    _came_back = Signal(object)

    def __init__(self, host: Host, settle: Callable[[BaseException], None]) -> None:
        """Issue what the window holds; `settle` is given a draft's ChangedMeanwhile."""
        super().__init__(host.parent)
        self._host = host
        self._settle = settle
        self._dialog: IssueDialog | None = None
        self._under_way: _Wanted | None = None
        self._is_closed = False
        self._came_back.connect(self._on_came_back, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """True while a sheet is being issued."""
        return self._under_way is not None

    @property
    def dialog(self) -> IssueDialog | None:
        """What asks before a sheet is issued, while it is open."""
        return self._dialog

    def begin(self, job: Job) -> None:
        """Ask what is needed to issue the job that the form holds now."""
        if self.is_busy or self._dialog is not None:
            return
        document = self._host.document()
        wanted = _Wanted(document, copy.deepcopy(document.raw), job, document.shared)
        who = person(self._host.services.preferences())
        dialog = IssueDialog(job, who, document.shared, self._host.parent)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.accepted.connect(partial(self._on_accepted, dialog, wanted))
        dialog.finished.connect(self._on_finished)
        self._dialog = dialog
        dialog.open()
        self._host.desk.ask(
            # Issued where it was asked, though another archive may be chosen meanwhile.
            partial(_look, lambda: self._host.desk.opened_at, job, document.shared),
            partial(self._on_known, dialog),
            partial(self._on_not_known, dialog),
        )

    def close(self) -> None:
        """End; no answer comes after this."""
        self._is_closed = True

    def _on_known(self, dialog: IssueDialog, known: Known) -> None:
        if self._dialog is dialog:
            dialog.show_known(known)

    def _on_not_known(self, dialog: IssueDialog, error: BaseException) -> None:
        from kerfdocket.archive import ChangedMeanwhile, NoArchive

        if self._dialog is not dialog:
            return
        if isinstance(error, NoArchive):
            dialog.show_known(Known(self._host.desk.opened_at, is_missing=True))
        elif isinstance(error, ChangedMeanwhile):
            dialog.reject()
            self._settle(error)
        else:
            dialog.show_failure(error)

    def _on_finished(self) -> None:
        self._dialog = None

    def _on_accepted(self, dialog: IssueDialog, wanted: _Wanted) -> None:
        known = dialog.known
        assert known is not None
        self._host.remember_who(dialog.name)
        order = IssueOrder(
            place=known.place,
            job=wanted.job,
            who=dialog.name,
            language=current_language().code,
            reason=dialog.why,
            is_fillable=dialog.fillable.isChecked(),
            draft=known.draft,
            revision=known.revision if known.last is not None else "",
            may_be_made=known.is_missing,
        )
        self._under_way = wanted
        self.began.emit(_("Issuing {number} …", number=wanted.job.about.number))
        try:
            future = self._host.crew.submit(self._host.services.issue, order)
        except Exception as error:  # no process, no memory: said in words
            future = Future()
            future.set_exception(error)
        future.add_done_callback(self._hand_over)

    def _hand_over(self, future: "Future[IssueAnswer]") -> None:
        """Pass on to the GUI thread; runs in whichever thread ended the call."""
        if not self._is_closed:
            self._came_back.emit(future)

    def _on_came_back(self, future: "Future[IssueAnswer]") -> None:
        wanted, self._under_way = self._under_way, None
        if self._is_closed or wanted is None or future.cancelled():
            return
        error = future.exception()
        if error is None:
            self._on_issued(wanted, future.result())
        self.ended.emit(error is None)
        if error is not None:
            self._on_failed(error)

    def _on_issued(self, wanted: _Wanted, answer: IssueAnswer) -> None:
        traveller = answer.traveller
        number, revision = traveller.number, traveller.revision
        document = wanted.document
        issued = Issued(number, revision, numbered(wanted.raw, number, revision), answer.pdf)
        before, after = Document(wanted.raw), Document(issued.raw)
        is_as_sent = document.raw == wanted.raw
        document.mark_issued(issued)
        taken_over = [
            where
            for where in ("about.number", "about.revision")
            # What was typed there meanwhile stays: it is not what was issued.
            if document.value(where) == before.value(where) != after.value(where)
        ]
        for where in taken_over:
            document.set_value(where, after.value(where))
        if document is self._host.document():
            self._host.follow(taken_over)
            self._host.kept()
        self._host.desk.changed.emit()
        text = _("{name} issued", name=issued.name)
        if not is_as_sent:
            text = _(
                "{name} issued, without what was typed meanwhile: that is in the form",
                name=issued.name,
            )
        self._host.say(text)

    def _on_failed(self, error: BaseException) -> None:
        from kerfdocket.archive import ChangedMeanwhile

        if isinstance(error, ChangedMeanwhile):
            self._settle(error)
            return
        if isinstance(error, BrokenExecutor):
            # Not tried again by itself: the archive may have it already.
            error = EnvironmentProblem(
                _(
                    "The work stopped unexpectedly. Whether the sheet was issued stands in the "
                    "archive: look there before it is issued again."
                )
            )
        self._host.report(_("The sheet was not issued; what was typed is still there."), error)


def _look(
    place: Callable[[], str], job: Job, shared: SharedDraft | None, archive: "Archive"
) -> Known:
    """Ask the archive for all that the person should know before a number is issued.

    Raises:
        ChangedMeanwhile: someone else saved the draft.
        ArchiveProblem: the archive cannot be read.
    """
    from kerfdocket.office import unchanged_text

    known = _with_draft(Known(place()), shared, archive)
    number = job.about.number
    revisions = archive.revisions(number)
    if not revisions:
        return known
    last = revisions[-1]
    moves = [
        event
        for event in archive.events(number)
        if (event.revision, event.what) == (last.revision, last.state)
    ]
    known = replace(known, last=last, moved=moves[-1] if moves else None)
    if last.state == "closed":
        return replace(known, revision="")
    revision, unchanged = archive.next_revision(number), unchanged_text(archive, job)
    return replace(known, revision=revision, unchanged=unchanged)


def _with_draft(known: Known, shared: SharedDraft | None, archive: "Archive") -> Known:
    from kerfdocket.archive import ChangedMeanwhile, draft

    if shared is None:
        return known
    there: Draft = draft(archive, shared.id)
    if there.ended:
        return replace(known, ended=there)
    if there.version != shared.version:
        raise ChangedMeanwhile(
            _("{who} saved shared draft {id} meanwhile", who=there.who, id=there.id)
        )
    return replace(known, draft=there)
