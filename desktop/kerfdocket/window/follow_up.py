"""Follows up what the form says: checked, planned, drawn, and shown how all of it stands.

The job's models are loaded in a thread first, hence the imports inside methods.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import _, marked
from kerfdocket.window.document import Document
from kerfdocket.window.newest import NewestWins, ProcessCrew, ThreadCrew
from kerfdocket.window.services import Services, plan_twice
from kerfdocket.window.standing import Standing, words_of

if TYPE_CHECKING:
    from kerfdocket.job import Job, Problem
    from kerfdocket.planning.model import Plan
    from kerfdocket.window.panes import Panes

__all__ = ["FollowUp"]

_IMPORT, _WARM_UP = -2, -1  # tickets of work that is no plan and no sheet


def _import_core() -> None:
    """Load the job's models; runs in a thread, so that the window answers meanwhile."""
    import kerfdocket.job
    import kerfdocket.planning.model  # noqa: F401


class FollowUp(QObject):
    """Keeps problems, plan and sheet up with the document; each change is a revision of its own.

    Does nothing until `begin` is called, and follows nothing up until `warm_up` is done.

    Attributes:
        planner: makes plans.
        drawer: draws sheets.
        sheet_crew: the process that draws them.

    Signals:
        loaded: the job's models are there, so that panes can be made.
        ready: the form is followed from now on.
        planned: the plan that the form leads to.
        plan_shown: the plan that is shown from now on; None takes away the last one.
        sheet_drawn: the sheet of that plan is shown.
        state_shown: how all of it stands has changed, perhaps.
        settled: nothing is being worked out any more.
        said: something for the bar below the form.
        failed: what was being done, and the exception; not where the form shows why.
    """

    loaded = Signal()
    ready = Signal()
    planned = Signal(object)
    plan_shown = Signal(object)
    sheet_drawn = Signal()
    state_shown = Signal()
    settled = Signal()
    said = Signal(str)
    failed = Signal(str, object)

    def __init__(
        self,
        services: Services,
        document: Callable[[], Document],
        debounce_ms: int,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._services = services
        self._document = document
        self._shown_in: Panes | None = None
        self._is_ready = False
        self._trouble = ""
        self._job: Job | None = None
        self._problems: tuple[Problem, ...] = ()
        self._plan: Plan | None = None
        self._revision = 0
        self._first_revision = 0  # of this document
        self._plan_revision = self._sheet_revision = -1
        self._debounce = QTimer(self)
        self._debounce.setSingleShot(True)
        self._debounce.setInterval(debounce_ms)
        self._debounce.timeout.connect(self._on_debounced)
        self.planner = NewestWins(ThreadCrew(), marked("Planning"), self)
        self.planner.succeeded.connect(self._on_planner_succeeded)
        self.planner.failed.connect(self._on_planner_failed)
        self.sheet_crew = ProcessCrew()
        self.drawer = NewestWins(self.sheet_crew, marked("Drawing the sheet"), self)
        self.drawer.succeeded.connect(self._on_drawn)
        self.drawer.failed.connect(self._on_drawing_failed)
        self.drawer.crashed.connect(self._on_drawer_crashed)
        self.drawer.went_idle.connect(self._on_went_idle)

    @property
    def _panes(self) -> "Panes":
        assert self._shown_in is not None
        return self._shown_in

    @property
    def job(self) -> "Job | None":
        """What the form says; None if it has mistakes."""
        return self._job

    @property
    def problems(self) -> "tuple[Problem, ...]":
        """Why the form is no job yet."""
        return self._problems

    @property
    def plan(self) -> "Plan | None":
        """The last plan."""
        return self._plan

    @property
    def is_current(self) -> bool:
        """True if the sheet that is shown is the sheet of what the form says."""
        return self._job is not None and self._sheet_revision == self._revision

    @property
    def may_print_issued(self) -> bool:
        """True if the sheet that was last issued of the document may be printed again."""
        document = self._document()
        if document.issued is None or document.issued.is_void:
            return False
        # What is known today may stop what was issued years ago.
        plan = self._plan if self._plan_revision == self._revision else None
        return not document.is_as_issued or (plan is not None and not plan.is_stopped)

    # Getting ready

    def begin(self) -> None:
        """Load what takes time beside the window; `loaded` follows."""
        self.planner.submit(_IMPORT, _import_core)
        if self._services.warm_sheet is not None:
            self.drawer.submit(_WARM_UP, self._services.warm_sheet)

    def show_in(self, panes: "Panes") -> None:
        """Show what follows in these panes from now on."""
        self._shown_in = panes

    def warm_up(self) -> None:
        """Load the reference beside the window; `ready` follows."""
        self.planner.submit(_WARM_UP, self._services.warm_up)

    def close(self) -> None:
        """End all work."""
        self._debounce.stop()
        self.drawer.close()
        self.planner.close()

    # What there is to follow up

    def follow(self) -> None:
        """Follow up whatever changed in the document."""
        self._revision += 1
        self._trouble = ""
        self._check()

    def forget(self) -> None:
        """Show nothing any more, as another document takes the place of the last one."""
        self._plan = None
        self._plan_revision = self._sheet_revision = -1
        self._first_revision = self._revision + 1
        self.drawer.drop_waiting()
        self._panes.results.show_plan(None)
        self._panes.sheet.clear()
        self.plan_shown.emit(None)

    def take_plan(self) -> "Plan | None":
        """Return the last plan and forget it, as it is in words of another language."""
        last, self._plan, self._plan_revision = self._plan, None, -1
        return last

    def show_last(self, job: "Job") -> None:
        """Show the values of the last valid state anew, where no plan of it follows by itself."""
        if self._job is None:
            self._show_plan(self._services.plan(job))

    def draw_anew(self) -> None:
        """Plan and draw again, as what is shown is no longer what would be printed."""
        # Nor is what is being drawn now: it must not be taken for what is wanted when it comes.
        self._revision += 1
        self._sheet_revision = -1
        if self._is_ready:
            self._trouble = ""  # it may be mended by just this
        self.show_state()
        if self._job is not None and self._is_ready:
            self._debounce.start()

    # Checking, planning, drawing

    def _check(self) -> None:
        if not self._is_ready:
            return
        from kerfdocket.job import JobError, read_job

        try:
            self._job = read_job(self._document().for_checking())
            self._problems = ()
        except JobError as error:
            self._job = None
            self._problems = error.problems
        self._panes.form.show_problems(self._problems)
        if self._job is None:
            # What was found in an earlier state would stand at fields that have changed since.
            self._panes.form.show_findings(())
            self._debounce.stop()
            self.planner.drop_waiting()
        else:
            self._debounce.start()
        self._show_rows()
        self.show_state()

    def _on_debounced(self) -> None:
        if self._job is not None:
            self.planner.submit(self._revision, plan_twice, self._services.plan, self._job)

    def _on_planner_succeeded(self, ticket: int, result: Any) -> None:
        if ticket == _IMPORT:
            self.loaded.emit()
        elif ticket == _WARM_UP:
            self._is_ready = True
            self._check()
            self.ready.emit()
        elif ticket == self._revision:
            self._on_planned(*result)

    def _on_planned(self, plan: "Plan", sheet_plan: "Plan") -> None:
        self._plan_revision = self._revision
        self._show_plan(plan)
        self._panes.form.show_findings(plan.findings)
        self._show_rows()
        if self._document().is_as_issued and not sheet_plan.is_stopped:
            self._show_issued()
        else:
            self.drawer.submit(self._revision, self._services.sheet, sheet_plan)
        self.show_state()
        self.planned.emit(plan)

    def _show_issued(self) -> None:
        """Show the sheet as it was issued, bit for bit: one drawn anew is another file."""
        issued = self._document().issued
        assert issued is not None
        self.drawer.drop_waiting()
        self._on_drawn(self._revision, issued.pdf)
        if not self.drawer.is_busy:
            self.settled.emit()

    def _on_planner_failed(self, ticket: int, error: Any) -> None:
        if ticket in {_IMPORT, _WARM_UP}:
            self.failed.emit(_("Kerfdocket could not load all it needs."), error)
            self._trouble = _("Nothing can be worked out: {reason}", reason=error)
            self.said.emit(self._trouble)
            self.show_state()
            return
        if ticket == self._revision:
            self._trouble = _("The plan could not be made: {reason}", reason=error)
            self.show_state()
            self._report_live(_("The plan could not be made."), error)
            self.settled.emit()

    def _on_drawn(self, ticket: int, pdf: Any) -> None:
        if ticket == _WARM_UP or ticket < max(self._sheet_revision, self._first_revision):
            return  # or it was begun before what was issued was shown, or for another document
        self._sheet_revision = ticket
        self._panes.sheet.show_pdf(pdf)
        self.show_state()
        self.sheet_drawn.emit()

    def _on_drawing_failed(self, ticket: int, error: Any) -> None:
        if ticket == _WARM_UP:
            return  # the first sheet says what is the matter, if it still is
        if ticket == self._revision:
            self._trouble = _("The sheet could not be drawn: {reason}", reason=error)
        self.show_state()
        self._report_live(_("The sheet could not be drawn."), error)

    def _report_live(self, doing: str, error: BaseException) -> None:
        if not isinstance(error, KerfdocketError):  # what is known is shown beside the form
            self.failed.emit(doing, error)

    def _on_drawer_crashed(self, error: Any) -> None:
        self.said.emit(f"{error}.")

    def _on_went_idle(self) -> None:
        if self._is_ready and not self._debounce.isActive() and not self.planner.is_busy:
            self.settled.emit()

    # Showing

    def _show_plan(self, plan: "Plan") -> None:
        self._plan = plan
        self._panes.results.show_plan(plan)
        self.plan_shown.emit(plan)

    def _show_rows(self) -> None:
        from kerfdocket.window.summary import finding_rows, problem_rows

        rows = problem_rows(self._problems, self._document())
        if self._plan is not None and self._plan_revision == self._revision:
            rows += finding_rows(self._plan)
        elif self._job is not None:
            return  # the plan follows in a moment: until then the list stays still
        self._panes.findings.set_rows(rows)

    def show_state(self) -> None:
        """Show how results and sheet stand to the form."""
        if self._shown_in is None:
            return
        document = self._document()
        is_planned = self._plan_revision == self._revision
        words = words_of(
            Standing(
                trouble=self._trouble,
                is_job=self._job is not None,
                has_sheet=self._sheet_revision >= 0,
                is_planned=is_planned,
                is_stopped=is_planned and self._plan is not None and self._plan.is_stopped,
                is_drawn=self.is_current,
                issued=document.issued,
                is_as_issued=document.is_as_issued,
                is_unlike_issued=document.is_unlike_issued,
                must_not_be_cut_by=document.must_not_be_cut_by,
            )
        )
        self._panes.set_state(words.results, words.sheet, is_warning=words.is_warning)
        self.state_shown.emit()
