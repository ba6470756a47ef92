"""The main window: the form, what follows from it, and the sheet; light until it is painted.

What takes time to load (the job's models, Qt's PDF parts, reference tables, the sheet's renderer)
is loaded after the first paint, hence the imports inside methods.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QAction,
    QActionGroup,
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QKeySequence,
    QPaintEvent,
)
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QMainWindow, QMenu, QPushButton

from kerfdocket.errors import EnvironmentProblem, KerfdocketError
from kerfdocket.language import (
    LANGUAGES,
    Language,
    _,
    counted,
    current_language,
    marked,
    review_note,
    set_language,
)
from kerfdocket.window.document import Document, Issued, new_raw
from kerfdocket.window.services import Services, plan_twice

if TYPE_CHECKING:
    from kerfdocket.job import Job, Problem
    from kerfdocket.planning.model import Estimate, Plan
    from kerfdocket.window.archive.looking import JobOfSheet
    from kerfdocket.window.archive.side import ArchiveSide
    from kerfdocket.window.archive_desk import ArchiveDesk
    from kerfdocket.window.autosave import Autosave
    from kerfdocket.window.messages import Messages
    from kerfdocket.window.newest import NewestWins
    from kerfdocket.window.office import Office
    from kerfdocket.window.panes import Panes
    from kerfdocket.window.values import ValuesDialog
    from kerfdocket.window.work import WorkDialog

__all__ = ["MainWindow"]

_IMPORT, _WARM_UP = -2, -1  # tickets of work that is no plan and no sheet
_DEBOUNCE_MS = 200
_AUTOSAVE_MS = 3000
_GETTING_READY = marked("Getting ready …")


def _import_core() -> None:
    """Load the job's models; runs in a thread, so that the window answers meanwhile."""
    import kerfdocket.job
    import kerfdocket.planning.model  # noqa: F401


class MainWindow(QMainWindow):
    """The one window of the program.

    Signals:
        first_painted: something is on the screen for the first time.
        ready: all is loaded; the form is checked and planned from now on.
        checked: True if the form is a job now.
        planned: the plan that the form leads to.
        sheet_drawn: the sheet of that plan is shown.
        settled: nothing is being worked out any more.
    """

    first_painted = Signal()
    ready = Signal()
    checked = Signal(bool)
    planned = Signal(object)
    sheet_drawn = Signal()
    settled = Signal()

    def __init__(
        self,
        services: Services,
        argv_file: Path | None = None,
        messages: "Messages | None" = None,
        debounce_ms: int = _DEBOUNCE_MS,
        autosave_ms: int = _AUTOSAVE_MS,
    ) -> None:
        super().__init__()
        self._services = services
        self._argv_file = argv_file
        self._own_messages = messages
        self._autosave_ms = autosave_ms
        self._document = Document(new_raw(current_language()))
        self._revision = 0
        self._job: Job | None = None
        self._problems: tuple[Problem, ...] = ()
        self._plan: Plan | None = None
        self._plan_revision = -1
        self._sheet_revision = -1
        self._first_revision = 0  # of this document
        self._trouble = ""
        self._bugs_told: set[str] = set()
        self._is_painted = self._is_ready = self._is_shut_down = False
        self._panes: Panes | None = None
        self._values: ValuesDialog | None = None
        self._work: WorkDialog | None = None
        self._archive: ArchiveSide | None = None
        self._autosave: Autosave | None = None
        self._building: Iterator[None] = iter(())
        self._planner: NewestWins | None = None
        self._drawer: NewestWins | None = None
        self._desk: ArchiveDesk | None = None
        self._office: Office | None = None
        self._debounce = QTimer(self)
        self._debounce.setSingleShot(True)
        self._debounce.setInterval(debounce_ms)
        self._debounce.timeout.connect(self._on_debounced)
        self._step = QTimer(self)
        self._step.setInterval(0)
        self._step.timeout.connect(self._on_step)
        self._labels: list[tuple[Callable[[str], object], str]] = []
        self._make_actions()
        waiting = QLabel(_(_GETTING_READY))
        waiting.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setCentralWidget(waiting)
        self.statusBar().showMessage(_(_GETTING_READY))
        self._reviewed = QLabel(review_note())
        self._reviewed.setVisible(bool(review_note()))
        self.statusBar().addPermanentWidget(self._reviewed)
        self._warned = QPushButton()
        self._warned.clicked.connect(self.show_archive)
        self._warned.hide()
        self.statusBar().addPermanentWidget(self._warned)
        self._update_title()

    # What a test or a caller looks at

    @property
    def document(self) -> Document:
        """What the form holds."""
        return self._document

    @property
    def panes(self) -> "Panes":
        """Form, results, findings and sheet, once they are built."""
        assert self._panes is not None
        return self._panes

    @property
    def planner(self) -> "NewestWins":
        """Who makes plans, once the window is painted."""
        assert self._planner is not None
        return self._planner

    @property
    def drawer(self) -> "NewestWins":
        """Who draws sheets, once the window is painted."""
        assert self._drawer is not None
        return self._drawer

    @property
    def desk(self) -> "ArchiveDesk":
        """Asks the archive, which is opened with the first question."""
        if self._desk is None:
            from kerfdocket.window.archive_desk import ArchiveDesk

            self._desk = ArchiveDesk(self._services.archive_place, self)
        return self._desk

    @property
    def office(self) -> "Office":
        """Issues and shares what the form holds; made when it is first needed."""
        if self._office is None:
            from kerfdocket.window.host import Host
            from kerfdocket.window.office import Office

            self._office = Office(
                Host(
                    parent=self,
                    bar=self.statusBar(),
                    services=self._services,
                    messages=self._messages,
                    desk=self.desk,
                    crew=self.sheet_crew,
                    document=lambda: self._document,
                    show_document=self._set_document,
                    follow=self._on_stated,
                    kept=self._on_kept,
                    may_leave=self._may_leave,
                    report=self._report,
                    doings_changed=self._show_state,
                )
            )
        return self._office

    @property
    def _messages(self) -> "Messages":
        if self._own_messages is None:
            from kerfdocket.window.messages import Messages

            self._own_messages = Messages(self)
        return self._own_messages

    @property
    def plan(self) -> "Plan | None":
        """The last plan."""
        return self._plan

    @property
    def is_current(self) -> bool:
        """True if the sheet that is shown is the sheet of what the form says."""
        return self._job is not None and self._sheet_revision == self._revision

    # Actions

    def _make_actions(self) -> None:
        keys = QKeySequence.StandardKey
        file_menu = self._menu(marked("&File"))
        self.new_action = self._action(marked("&New"), keys.New, self.new_job)
        self.open_action = self._action(marked("&Open…"), keys.Open, self.open_job)
        self.save_action = self._action(marked("&Save"), keys.Save, self.save)
        self.save_as_action = self._action(marked("Save &as…"), keys.SaveAs, self.save_as)
        self.print_action = self._action(marked("&Print…"), keys.Print, self.print_sheet)
        self.export_action = self._action(
            marked("&Export sheet as PDF…"), QKeySequence("Ctrl+E"), self.export_sheet
        )
        self.shop_action = self._action(
            marked("Shop’s &folder…"), QKeySequence(), self.choose_shop_folder
        )
        self.no_shop_action = self._action(
            marked("Sheet &without a shop’s folder"),
            QKeySequence(),
            lambda: self._set_shop_folder(None),
        )
        quit_action = self._action(marked("&Quit"), QKeySequence("Ctrl+Q"), self.close)
        if self.save_as_action.shortcut().isEmpty():
            self.save_as_action.setShortcut(QKeySequence("Ctrl+Shift+S"))
        file_menu.addActions([self.new_action, self.open_action])
        file_menu.addSeparator()
        file_menu.addActions([self.save_action, self.save_as_action])
        file_menu.addSeparator()
        file_menu.addActions([self.print_action, self.export_action])
        file_menu.addSeparator()
        file_menu.addActions([self.shop_action, self.no_shop_action])
        file_menu.addSeparator()
        file_menu.addAction(quit_action)

        self._make_archive_menu()
        self._go_menu = self._menu(marked("&Go to"))

        self._view_menu = self._menu(marked("&View"))
        sheet = "Ctrl+0", "Ctrl+Alt+0"
        for text, key, slot in (
            (marked("Sheet &larger"), keys.ZoomIn, lambda: self.panes.sheet.zoom_in()),
            (marked("Sheet &smaller"), keys.ZoomOut, lambda: self.panes.sheet.zoom_out()),
            (
                marked("Sheet fits the &width"),
                QKeySequence(sheet[0]),
                lambda: self.panes.sheet.fit_width(),
            ),
            (marked("Whole &page"), QKeySequence(sheet[1]), lambda: self.panes.sheet.fit_page()),
        ):
            self._view_menu.addAction(self._action(text, key, slot))
        self._view_menu.addSeparator()
        self._view_menu.addAction(
            self._action(marked("All &values…"), QKeySequence("Ctrl+Shift+V"), self.show_values)
        )
        self._view_menu.addAction(
            self._action(
                marked("Steps and &reasons…"), QKeySequence("Ctrl+Shift+R"), self.show_work
            )
        )
        self._view_menu.addSeparator()
        self._units = QActionGroup(self)
        self._languages = QActionGroup(self)

        bar = self.addToolBar("")
        self._label(bar.setWindowTitle, marked("File"))
        bar.setMovable(False)
        bar.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        bar.addActions([self.new_action, self.open_action, self.save_action])
        bar.addSeparator()
        bar.addActions([self.print_action, self.export_action])
        bar.toggleViewAction().setEnabled(False)
        for action in (
            self.new_action,
            self.open_action,
            self.save_action,
            self.save_as_action,
        ):
            action.setEnabled(False)
        self._archive_menu.setEnabled(False)
        self._go_menu.setEnabled(False)
        self._view_menu.setEnabled(False)
        self._update_sheet_actions()

    def _make_archive_menu(self) -> None:
        self._archive_menu = self._menu(marked("&Archive"))
        none = QKeySequence()
        self.issue_action = self._action(
            marked("&Issue the sheet…"), QKeySequence("Ctrl+I"), self.issue
        )
        self.print_issued_action = self._action(
            marked("&Print the issued sheet…"), none, self.print_issued
        )
        self.share_action = self._action(
            marked("Save as shared &draft"), none, lambda: self.office.save_draft()
        )
        self.open_shared_action = self._action(
            marked("Open &shared draft…"), none, lambda: self.office.drafts.show_list()
        )
        self.person_action = self._action(
            marked("Your &name…"), none, lambda: self.office.ask_name()
        )
        self._archive_menu.addAction(
            self._action(
                marked("&Open the archive…"), QKeySequence("Ctrl+Shift+A"), self.show_archive
            )
        )
        self._archive_menu.addSeparator()
        self._archive_menu.addActions([self.issue_action, self.print_issued_action])
        self._archive_menu.addSeparator()
        self._archive_menu.addActions([self.share_action, self.open_shared_action])
        self._archive_menu.addSeparator()
        self._archive_menu.addAction(self.person_action)

    def _fill_go_menu(self) -> None:
        from kerfdocket.window.layout import PANELS

        for number, panel in enumerate(PANELS, start=1):
            self._go_menu.addAction(
                self._action(
                    panel.heading,
                    QKeySequence(f"Ctrl+{number}"),
                    partial(self._go_to_panel, number - 1),
                    before=f"&{number}  ",
                )
            )
        self._go_menu.addSeparator()
        self._go_menu.addAction(
            self._action(marked("Next &finding"), QKeySequence("F8"), self.go_to_next_finding)
        )
        self._go_menu.setEnabled(True)

    def _fill_units_menu(self) -> None:
        from kerfdocket.window.units import UNIT_NAMES

        for name, text in UNIT_NAMES:
            action = self._action(text, QKeySequence(), partial(self._use_units, name))
            action.setCheckable(True)
            action.setData(name)
            self._units.addAction(action)
            self._view_menu.addAction(action)
        self._check_units()

    def _fill_language_menu(self) -> None:
        self._view_menu.addSeparator()
        menu = self._view_menu.addMenu("")
        self._label(menu.setTitle, marked("Lan&guage"))
        for language in LANGUAGES:
            action = QAction(language.name, self)
            action.setCheckable(True)
            action.setData(language.code)
            action.setChecked(language == current_language())
            action.triggered.connect(partial(self._on_language_chosen, language))
            self._languages.addAction(action)
            menu.addAction(action)

    def _check_units(self) -> None:
        """Mark in the menu the units that the job is in."""
        if not self._units.actions():
            return
        from kerfdocket.window.units import system_of

        name = system_of(self._document).name
        for action in self._units.actions():
            action.setChecked(action.data() == name)

    def _label(self, write: Callable[[str], object], text: str, before: str = "") -> None:
        """Write a marked text where it is read, now and whenever the language changes."""
        self._labels.append((lambda said: write(f"{before}{said}"), text))
        write(f"{before}{_(text)}")

    def _menu(self, title: str) -> QMenu:
        menu = self.menuBar().addMenu("")
        self._label(menu.setTitle, title)
        return menu

    def _action(
        self,
        text: str,
        key: QKeySequence.StandardKey | QKeySequence,
        slot: Callable[[], object],
        before: str = "",
    ) -> QAction:
        action = QAction(self)
        self._label(action.setText, text, before)
        action.setShortcut(QKeySequence(key))
        action.triggered.connect(lambda _checked=False: slot())
        return action

    def _update_sheet_actions(self) -> None:
        for action in (self.print_action, self.export_action):
            action.setEnabled(self.is_current)
        is_busy = self._office is not None and self._office.is_busy
        is_stopped = self._plan is None or self._plan.is_stopped
        self.issue_action.setEnabled(self.is_current and not is_stopped and not is_busy)
        self.print_issued_action.setEnabled(self._may_print_issued())
        self.share_action.setEnabled(not is_busy)

    def _may_print_issued(self) -> bool:
        document, plan = self._document, self._plan
        if document.issued is None or document.issued.is_void:
            return False
        # What is known today may stop what was issued years ago.
        return not (document.is_as_issued and plan is not None and plan.is_stopped)

    # Getting ready, a piece at a time

    def _get_ready(self) -> None:
        if self._is_shut_down:
            return
        self.first_painted.emit()
        from kerfdocket.window.newest import NewestWins, ProcessCrew, ThreadCrew

        planner = NewestWins(ThreadCrew(), marked("Planning"), self)
        planner.succeeded.connect(self._on_planner_succeeded)
        planner.failed.connect(self._on_planner_failed)
        self.sheet_crew = ProcessCrew()
        drawer = NewestWins(self.sheet_crew, marked("Drawing the sheet"), self)
        drawer.succeeded.connect(self._on_drawn)
        drawer.failed.connect(self._on_drawing_failed)
        drawer.crashed.connect(self._on_drawer_crashed)
        drawer.went_idle.connect(self._on_went_idle)
        self._planner, self._drawer = planner, drawer
        planner.submit(_IMPORT, _import_core)
        if self._services.warm_sheet is not None:
            drawer.submit(_WARM_UP, self._services.warm_sheet)

    def _build_panes(self) -> Iterator[None]:
        """Make the panes in the language that is spoken and show the document in them."""
        from kerfdocket.window.panes import Panes

        yield
        panes = Panes(self)
        yield
        yield from panes.form.build()
        form = panes.form
        form.edited.connect(self._on_edited)
        form.add_wanted.connect(self._on_add_wanted)
        form.remove_wanted.connect(self._on_remove_wanted)
        panes.findings.field_wanted.connect(form.reveal)
        panes.findings.key_removal_wanted.connect(self._on_key_removal_wanted)
        panes.results.basis_wanted.connect(self._on_basis_wanted)
        self._panes = panes
        form.load(self._document)
        panes.set_state("", _(_GETTING_READY), is_warning=False)
        self.setCentralWidget(panes)

    def _build(self) -> Iterator[None]:
        yield from self._build_panes()
        yield
        from kerfdocket.window.autosave import Autosave, DraftFolder

        drafts = DraftFolder(self._services.draft_folder())
        self._autosave = Autosave(drafts, lambda: self._document, self._autosave_ms, self)
        self._autosave.failed.connect(self._on_autosave_failed)
        for action in (
            self.new_action,
            self.open_action,
            self.save_action,
            self.save_as_action,
        ):
            action.setEnabled(True)
        self._fill_go_menu()
        self._fill_units_menu()
        self._fill_language_menu()
        self._archive_menu.setEnabled(True)
        self._view_menu.setEnabled(True)
        self.setAcceptDrops(True)
        self.planner.submit(_WARM_UP, self._services.warm_up)
        if not self._offer_drafts(drafts) and self._argv_file is not None:
            self.open_path(self._argv_file)

    def _offer_drafts(self, drafts: Any) -> bool:
        is_restored = False
        for draft in drafts.left_behind():
            if is_restored:
                drafts.settle(draft, is_done=False)
                continue
            name = draft.path.name if draft.path else _("a new job")
            answer = self._messages.ask_restore(name, draft.when)
            if answer == "restore":
                content = b""
                if draft.path is not None and draft.path.is_file():
                    content = draft.path.read_bytes()
                document = Document(draft.raw, draft.path, content, draft.shared)
                document.mark_unsaved()
                self._set_document(document)
                assert self._autosave is not None
                self._autosave.take_over(draft)
                if draft.shared is not None:
                    self.office.drafts.resume(draft.shared)
                is_restored = True
            else:
                drafts.settle(draft, is_done=answer == "discard")
        return is_restored

    def _on_step(self) -> None:
        try:
            next(self._building)
        except StopIteration:
            self._step.stop()
        except BaseException:
            self._step.stop()
            raise

    # The language

    def use_language(self, language: Language) -> None:
        """Speak another language from now on, and at the next start; nothing that is typed is lost.

        The sheet keeps the language of its job, except that an empty job that nothing was typed
        into yet becomes one for a sheet in the new language.
        """
        from kerfdocket.window.preferences import remember_language

        try:
            remember_language(self._services.preferences(), language)
        except KerfdocketError as error:
            self._report(_("The choice of language cannot be remembered."), error)
        if language == current_language():
            return
        set_language(language)
        self._say_anew()

    def _on_language_chosen(self, language: Language, _checked: bool = False) -> None:
        # Later, when the menu has closed: it is said anew, too.
        QTimer.singleShot(0, self, partial(self.use_language, language))

    def _say_anew(self) -> None:
        """Say everything in the language that is spoken now."""
        from kerfdocket.window.qt_texts import say_qt_texts

        application = QApplication.instance()
        assert application is not None
        say_qt_texts(application, current_language())
        for write, text in self._labels:
            write(_(text))
        for action in self._languages.actions():
            action.setChecked(action.data() == current_language().code)
        self._reviewed.setText(review_note())
        self._reviewed.setVisible(bool(review_note()))
        if self._document.is_new:
            kept = {key: self._document.raw[key] for key in self._document.raw if key != "language"}
            self._document = Document({**kept, **new_raw(current_language())})
        last, self._plan, self._plan_revision = self._plan, None, -1
        self._remake_panes()
        self.statusBar().clearMessage()
        self._changed()
        if self._job is None and last is not None:
            # The values of the last valid state stay, and no plan of it follows by itself.
            self._plan = self._services.plan(last.job)
            self.panes.results.show_plan(self._plan)
            self._tell_dialogs(self._plan)

    def _remake_panes(self) -> None:
        """Put new panes, and windows beside them, in the place of those that are there."""
        before = self.panes
        reopen = [
            show
            for dialog, show in ((self._values, self.show_values), (self._work, self.show_work))
            if dialog is not None and dialog.isVisible()
        ]
        for dialog in self.findChildren(QDialog):
            dialog.close()
            dialog.deleteLater()
        self._values = self._work = None
        for _step in self._build_panes():
            pass
        self.panes.take_over(before)
        for show in reopen:
            show()
        if self._archive is not None:
            self._archive.say_anew()
            self._show_warned()

    # The document

    def _set_document(self, document: Document) -> None:
        self._document = document
        self._plan = None
        self._plan_revision = self._sheet_revision = -1
        self._first_revision = self._revision + 1
        if self._drawer is not None:
            self._drawer.drop_waiting()
        self.panes.form.load(document)
        self.panes.results.show_plan(None)
        self._tell_dialogs(None)
        self.panes.sheet.clear()
        self._changed()

    def _on_stated(self, wheres: Sequence[str]) -> None:
        """Show what was stated elsewhere than in the form."""
        for where in wheres:
            self.panes.form.field(where).load(self._document)
        self._changed()

    def _on_kept(self) -> None:
        """Follow up that the document was saved, or belongs elsewhere than before."""
        self._update_title()
        if self._autosave is not None:
            if self._document.is_changed:
                self._autosave.touch()
            else:
                self._autosave.forget()
        self._update_sheet_actions()

    def _on_edited(self, where: str, value: object) -> None:
        self._document.set_value(where, value)
        if where == "units":
            self.panes.form.show_units(self._document)
        self._changed()

    def _use_units(self, name: str) -> None:
        from kerfdocket.window.units import system_of

        if system_of(self._document).name == name:
            return
        # A file that named no units names none again once they are the usual ones again.
        self._document.set_value("units", None)
        if self._document.saved_value("units") or system_of(self._document).name != name:
            self._document.set_value("units", name)
        self.panes.form.show_units(self._document)
        self._changed()

    def _on_add_wanted(self, where: str) -> None:
        self._document.add_item(where)
        self.panes.form.rows_changed(where, self._document)
        self._changed()
        self.panes.form.reveal(f"{where}.{len(self._document.items(where)) - 1}")

    def _on_remove_wanted(self, where: str, index: int) -> None:
        self._document.remove_item(where, index)
        self.panes.form.rows_changed(where, self._document)
        self._changed()
        self.panes.form.reveal(where)

    def _on_key_removal_wanted(self, where: str) -> None:
        if self._messages.ask_take_out(where):
            self._document.set_value(where, None)
            self._changed()

    def _changed(self) -> None:
        """Follow up whatever changed in the document."""
        self._revision += 1
        self._trouble = ""
        self._update_title()
        self._check_units()
        if self._autosave is not None:
            self._autosave.touch()
        self._check()

    def _update_title(self) -> None:
        name = self._document.name.replace("[*]", "[*][*]")  # Qt's mark of what is unsaved
        self.setWindowTitle(f"{name}[*] – Kerfdocket")
        self.setWindowModified(self._document.is_changed)
        if self._office is not None:
            self._office.follow()

    # Checking, planning, drawing

    def _check(self) -> None:
        if not self._is_ready:
            return
        from kerfdocket.job import JobError, read_job

        try:
            self._job = read_job(self._document.for_checking())
            self._problems = ()
        except JobError as error:
            self._job = None
            self._problems = error.problems
        form = self.panes.form
        form.show_problems(self._problems)
        if self._job is None:
            # What was found in an earlier state would stand at fields that have changed since.
            form.show_findings(())
            self._debounce.stop()
            self.planner.drop_waiting()
        else:
            self._debounce.start()
        self._show_rows()
        self._show_state()
        self.checked.emit(self._job is not None)

    def _on_debounced(self) -> None:
        if self._job is not None:
            self.planner.submit(self._revision, plan_twice, self._services.plan, self._job)

    def _on_planner_succeeded(self, ticket: int, result: object) -> None:
        if ticket == _IMPORT:
            self._building = self._build()
            self._step.start()
        elif ticket == _WARM_UP:
            self._is_ready = True
            self.statusBar().clearMessage()
            self._check()
            self._watch_scanner()
            self.ready.emit()
        elif ticket == self._revision:
            self._on_planned(result)

    def _on_planned(self, result: Any) -> None:
        plan: Plan
        plan, sheet_plan = result
        self._plan = plan
        self._plan_revision = self._revision
        self.panes.results.show_plan(plan)
        self._tell_dialogs(plan)
        self.panes.form.show_findings(plan.findings)
        self._show_rows()
        if self._document.is_as_issued and not sheet_plan.is_stopped:
            self._show_issued()
        else:
            self.drawer.submit(self._revision, self._services.sheet, sheet_plan)
        self._show_state()
        self.planned.emit(plan)

    def _show_issued(self) -> None:
        """Show the sheet as it was issued, bit for bit: one drawn anew is another file."""
        assert self._document.issued is not None
        self.drawer.drop_waiting()
        self._on_drawn(self._revision, self._document.issued.pdf)
        if not self.drawer.is_busy:
            self.settled.emit()

    def _on_planner_failed(self, ticket: int, error: Any) -> None:
        if ticket in {_IMPORT, _WARM_UP}:
            self._report(_("Kerfdocket could not load all it needs."), error)
            self._trouble = _("Nothing can be worked out: {reason}", reason=error)
            self.statusBar().showMessage(self._trouble)
            if self._panes is not None:
                self._show_state()
            return
        if ticket == self._revision:
            self._trouble = _("The plan could not be made: {reason}", reason=error)
            self._show_state()
            self._report(_("The plan could not be made."), error, is_live=True)
            self.settled.emit()

    def _on_drawn(self, ticket: int, result: Any) -> None:
        if ticket == _WARM_UP or ticket < max(self._sheet_revision, self._first_revision):
            return  # or it was begun before what was issued was shown, or for another document
        self._sheet_revision = ticket
        self.panes.sheet.show_pdf(result)
        self._show_state()
        self.sheet_drawn.emit()

    def _on_drawing_failed(self, ticket: int, error: Any) -> None:
        if ticket == _WARM_UP:
            return  # the first sheet says what is the matter, if it still is
        if ticket == self._revision:
            self._trouble = _("The sheet could not be drawn: {reason}", reason=error)
        self._show_state()
        self._report(_("The sheet could not be drawn."), error, is_live=True)

    def _on_drawer_crashed(self, error: Any) -> None:
        self.statusBar().showMessage(f"{error}.")

    def _on_went_idle(self) -> None:
        if self._is_ready and not self._debounce.isActive() and not self.planner.is_busy:
            self.settled.emit()

    def _show_rows(self) -> None:
        from kerfdocket.window.summary import finding_rows, problem_rows

        rows = problem_rows(self._problems, self._document)
        if self._plan is not None and self._plan_revision == self._revision:
            rows += finding_rows(self._plan)
        elif self._job is not None:
            return  # the plan follows in a moment: until then the list stays still
        self.panes.findings.set_rows(rows)

    def _show_state(self) -> None:
        has_sheet = self._sheet_revision >= 0
        is_planned = self._plan_revision == self._revision
        is_stopped = self._plan is not None and is_planned and self._plan.is_stopped
        is_warning = True
        if self._trouble:
            results = sheet = self._trouble
        elif self._job is None and has_sheet:
            results = _("Of the last valid state, not what the form says now")
            sheet = _("The sheet shows the last valid state, not what the form says now.")
        elif self._job is None:
            results = ""
            sheet = _("The sheet appears here as soon as nothing is needed or to mend.")
            is_warning = False
        elif not is_planned:
            results, sheet, is_warning = self.panes.results.state, _("Working it out …"), False
        elif is_stopped:
            results = _("DRAFT, NOT FOR CUTTING: the findings say what stops it")
            sheet = _("DRAFT, NOT FOR CUTTING. The sheet says so, too; it is being drawn.")
            if self.is_current:
                sheet = _("DRAFT, NOT FOR CUTTING. The sheet says so, too; it matches the form.")
        else:
            is_warning = False
            results = ""
            sheet = _("Drawing the sheet …")
            if self.is_current:
                sheet = _("The sheet matches the form.")
            if self.is_current and self._document.issued is not None:
                issued = self._document.issued
                name = issued.name
                if self._document.must_not_be_cut_by and issued.is_void:
                    is_warning = True
                    sheet = _(
                        "{name} is {state}: do not cut by this sheet. Issue it anew, or give the "
                        "job another number.",
                        name=name,
                        state=_(issued.state),
                    )
                elif self._document.is_as_issued:
                    sheet = _("This is {name} as it was issued.", name=name)
                elif self._document.is_unlike_issued:
                    is_warning = True
                    sheet = _(
                        "The sheet matches the form, but {name} was issued otherwise: issue it "
                        "anew before anyone cuts by it.",
                        name=name,
                    )
        self.panes.set_state(results, sheet, is_warning=is_warning)
        self._update_sheet_actions()

    def _on_basis_wanted(self, estimate: "Estimate") -> None:
        from kerfdocket.window.results import BasisDialog

        BasisDialog(estimate, self).open()

    def show_values(self) -> None:
        """Open the list of all values beside the window, or bring it to the front."""
        if self._values is None:
            from kerfdocket.window.values import ValuesDialog

            self._values = ValuesDialog(self)
            self._values.show_plan(self._plan)
        self._values.show()
        self._values.activateWindow()

    def show_work(self) -> None:
        """Open the steps with their reasons beside the window, or bring them to the front."""
        if self._work is None:
            from kerfdocket.window.work import WorkDialog

            self._work = WorkDialog(self)
            self._work.show_plan(self._plan)
        self._work.show()
        self._work.activateWindow()

    def _tell_dialogs(self, plan: "Plan | None") -> None:
        """Let what stays open beside the form follow it."""
        for dialog in (self._values, self._work):
            if dialog is not None:
                dialog.show_plan(plan)

    def go_to_next_finding(self) -> None:
        """Go to the field of the next row of the list, from the top again after the last."""
        findings = self.panes.findings
        count = findings.model.rowCount()
        if count:
            current = findings.view.currentIndex()
            findings.go_to((current.row() + 1) % count if current.isValid() else 0)

    def _go_to_panel(self, index: int) -> None:
        self.panes.form.reveal_panel(index)

    # Files

    def new_job(self) -> None:
        """Begin an empty job in the units that were last in use; asks about unsaved changes."""
        if not self._may_leave(self.new_job):
            return
        from kerfdocket.window.units import system_of

        system = system_of(self._document)
        is_usual = system == system_of(Document())
        units = {} if is_usual else {"units": system.name}
        self._set_document(Document({**new_raw(current_language()), **units}))

    def open_job(self) -> None:
        """Ask for a file and open it."""
        folder = self._document.path.parent if self._document.path else Path.cwd()
        if (path := self._messages.ask_open_path(folder)) is not None:
            self.open_path(path)

    def open_path(self, path: Path) -> bool:
        """Open a file; one that is no job file leaves the form as it is.

        Returns:
            True if the form shows the file now, mistakes and all.
        """
        from kerfdocket.window.opening import refuse_unmendable

        try:
            loaded = self._services.load(path)
            refuse_unmendable(loaded.raw, str(path))
        except KerfdocketError as error:
            self._report(_("{file} cannot be opened.", file=path.name), error)
            return False
        if not self._may_leave(partial(self.open_path, path)):
            return False
        if loaded.is_carried:
            document = Document(loaded.raw)
            document.mark_unsaved()
            self._set_document(document)
            self.statusBar().showMessage(
                _("Took the job out of {path}; save it as a job file", path=path)
            )
            return True
        self._set_document(Document(loaded.raw, path, loaded.content))
        self.statusBar().showMessage(_("Opened {path}", path=path))
        return True

    def save(self) -> bool:
        """Save to the job's file, or ask for one; works with mistakes in the form, too.

        Returns:
            True if it is saved now; a shared draft is saved in a moment.
        """
        if self._document.shared is not None:
            self.office.save_draft()
            return False
        if self._document.path is None:
            return self.save_as()
        return self._save_to(self._document.path)

    def save_as(self) -> bool:
        """Ask for a file and save to it."""
        suggestion = self._document.path or Path.cwd() / f"{self._suggested_name()}.toml"
        path = self._messages.ask_save_path(suggestion)
        return path is not None and self._save_to(path)

    def _save_to(self, path: Path) -> bool:
        document = self._document
        try:
            is_changed_by_others = (
                path == document.path and path.is_file() and path.read_bytes() != document.content
            )
        except OSError:
            is_changed_by_others = False  # the writing says what is the matter
        if is_changed_by_others and not self._messages.ask_overwrite_changed(path):
            return False
        try:
            content = self._services.save(document.raw, path, document.content)
        except KerfdocketError as error:
            self._report(_("{file} cannot be saved.", file=path.name), error)
            return False
        document.mark_saved(path, content)
        if self._autosave is not None:
            self._autosave.forget()
        self._update_title()
        self.statusBar().showMessage(_("Saved {path}", path=path))
        return True

    def _suggested_name(self) -> str:
        number = str(self._document.value("about.number") or "job")
        return "".join(c if c.isalnum() or c in "-_." else "-" for c in number).strip(".-") or "job"

    def export_sheet(self) -> None:
        """Ask for a file and write the sheet to it."""
        if not self._may_hand_out():
            return
        pdf = self.panes.sheet.pdf
        folder = self._document.path.parent if self._document.path else Path.cwd()
        path = self._messages.ask_export_path(folder / f"{self._suggested_name()}.pdf")
        if path is None:
            return
        from kerfdocket.storage import write_atomically

        try:
            write_atomically(path, pdf)
        except EnvironmentProblem as error:
            self._report(_("The sheet cannot be exported."), error)
            return
        self.statusBar().showMessage(_("Exported {path}", path=path))

    def choose_shop_folder(self) -> None:
        """Ask for the folder with what the shop adds to its sheets, check it, and remember it."""
        folder = self._messages.ask_folder(self._services.shop_folder() or Path.home())
        if folder is not None:
            self._set_shop_folder(folder)

    def _set_shop_folder(self, folder: Path | None) -> None:
        try:
            name = self._services.set_shop_folder(folder)
        except KerfdocketError as error:
            self._report(_("The shop’s folder cannot be used."), error)
            return
        said = _("Sheets are those of {shop}.", shop=name) if name else _("Sheets are plain.")
        self.statusBar().showMessage(said)
        # What is shown is no longer what would be printed.
        self._sheet_revision = -1
        self._show_state()
        if self._job is not None and self._is_ready:
            self._debounce.start()

    def issue(self) -> None:
        """Ask what is needed, and issue the sheet of what the form says."""
        if self.issue_action.isEnabled() and self._job is not None:
            self.office.issuing.begin(self._job)

    def print_issued(self) -> None:
        """Print the sheet that was last issued of the document, whatever the form says by now."""
        if self._document.issued is not None and self._may_print_issued():
            self._print(self._document.issued.pdf)

    def print_sheet(self) -> None:
        """Ask for a printer and print the sheet."""
        if self._may_hand_out():
            self._print(self.panes.sheet.pdf)

    def _may_hand_out(self) -> bool:
        """Return whether the sheet may leave the window; two that differ must not bear one name."""
        if not self.is_current:
            return False
        is_draft = self._plan is not None and self._plan.is_stopped  # and says so across its face
        if is_draft or not self._document.must_not_be_cut_by:
            return True
        assert self._document.issued is not None
        if self._messages.ask_issue_instead(self._document.issued.name):
            self.issue()
        return False

    def _print(self, pdf: bytes) -> None:
        from kerfdocket.window.printing import ask_printer, page_count, print_pdf

        printer = ask_printer(page_count(pdf), self)
        if printer is None:
            return
        try:
            print_pdf(pdf, printer)
        except EnvironmentProblem as error:
            self._report(_("The sheet cannot be printed."), error)
            return
        self.statusBar().showMessage(_("The sheet went to the printer."))

    def _may_leave(self, again: Callable[[], object]) -> bool:
        """Ask what becomes of unsaved changes, and wait for what is being done with the document.

        Args:
            again: done later, where the archive is asked first.
        """
        if self._office is not None and self._office.must_wait(again):
            return False
        if not self._document.is_changed:
            return True
        answer = self._messages.ask_unsaved(self._document.name)
        if answer == "save" and self._document.shared is not None:
            self.office.save_draft(again)
            return False
        if answer == "save":
            return self.save()
        if answer == "discard" and self._autosave is not None:
            self._autosave.forget()
        return answer == "discard"

    def _on_autosave_failed(self, error: Any) -> None:
        self.statusBar().showMessage(
            _("No copy of unsaved work can be kept: {reason}", reason=error)
        )

    # The archive

    @property
    def archive(self) -> "ArchiveSide":
        """What takes scans and shows the archive."""
        if self._archive is None:
            from kerfdocket.window.archive.side import ArchiveSide

            self._archive = ArchiveSide(self._services, self.desk, self)
            self._archive.said.connect(self.statusBar().showMessage)
            self._archive.warned.connect(self._show_warned)
            self._archive.job_wanted.connect(self.open_archived)
            self._archive.bug.connect(self.report_bug)
        return self._archive

    def show_archive(self) -> None:
        """Open the archive's window beside this one, or bring it to the front."""
        self.archive.show()

    def _show_warned(self) -> None:
        """Keep in sight that there is a warning in the archive until somebody has seen it."""
        count = len(self.archive.warnings)
        said = counted("Look into {count} page…", "Look into {count} pages…", count)
        self._warned.setText(said)
        self._warned.setToolTip("\n".join(self.archive.warnings))
        self._warned.setVisible(count > 0)

    def _watch_scanner(self) -> None:
        """Watch the scanner's folder, where one was chosen: else nothing of it is loaded."""
        from kerfdocket.window.preferences import remembered

        if remembered(self._services.preferences(), "scanner"):
            self.archive.begin()

    def open_archived(self, sheet: "JobOfSheet") -> bool:
        """Put the job of a traveller into the form; asks about unsaved changes.

        Returns:
            True if the form shows it now, and its sheet as it was issued.
        """
        from kerfdocket.job import load_job_text, raw_from_job

        one = sheet.traveller
        name = f"{one.number} {one.revision}"
        try:
            raw = raw_from_job(load_job_text(sheet.text, name))
        except KerfdocketError as error:
            self._report(_("The job of {name} cannot be opened.", name=name), error)
            return False
        if not self._may_leave(partial(self.open_archived, sheet)):
            return False
        document = Document(raw)
        document.mark_issued(Issued(one.number, one.revision, raw, sheet.pdf, one.state))
        self._set_document(document)
        self.office.follow()  # from here on it learns what becomes of the sheet
        self.statusBar().showMessage(_("Took the job of {name} out of the archive", name=name))
        self.activateWindow()
        return True

    def _take_dropped(self, paths: list[Path]) -> None:
        """Take scans that were dropped here, asked first where the archive is not open."""
        side = self.archive
        window = side.window
        if window is None or not window.isVisible():
            if not self._messages.ask_take(len(paths), paths[0].name):
                return
            window = side.show()
        window.take(paths)

    # Errors

    def _report(self, doing: str, error: BaseException, *, is_live: bool = False) -> None:
        """Turn an error into words; live ones that are known are shown beside the form only."""
        if isinstance(error, KerfdocketError):
            if not is_live:
                self._messages.tell(doing, error)
        else:
            self.report_bug(error)

    def report_bug(self, error: BaseException) -> None:
        """Show a fault of the program, each once: it may come again with every letter typed."""
        known_by = f"{type(error).__name__}: {error}"
        if known_by not in self._bugs_told:
            self._bugs_told.add(known_by)
            self._messages.tell_bug(error)

    # The end

    def shut_down(self, *, keep_copy: bool = False) -> None:
        """End all work that runs beside the window.

        Args:
            keep_copy: True to keep the copy of unsaved work, as after a crash.
        """
        if self._is_shut_down:
            return
        self._is_shut_down = True
        self._step.stop()
        self._debounce.stop()
        for work in (self._archive, self._drawer, self._planner):
            if work is not None:
                work.close()
        last = self._office.close() if self._office is not None else None
        if self._desk is not None:
            self._desk.close(last)
        if self._autosave is not None:
            self._autosave.close(keep=keep_copy)

    # Qt overrides

    def sizeHint(self) -> QSize:
        screen = self.screen().availableSize()
        return QSize(min(1500, screen.width() - 40), min(940, screen.height() - 60))

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._is_painted:
            self._is_painted = True
            QTimer.singleShot(0, self, self._get_ready)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        from kerfdocket.window.archive.dropping import dropped_scans

        if dropped_scans(event.mimeData()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        from kerfdocket.window.archive.dropping import dropped_scans

        if paths := dropped_scans(event.mimeData()):
            event.setDropAction(Qt.DropAction.CopyAction)
            event.accept()
            # Later: whoever drags must not wait for the answer to a question.
            QTimer.singleShot(0, self, partial(self._take_dropped, paths))

    def closeEvent(self, event: QCloseEvent) -> None:
        is_archive_done = self._archive is None or self._archive.may_leave()
        if not is_archive_done or not self._may_leave(self.close):
            event.ignore()
            return
        self.hide()
        self.shut_down()
        event.accept()
