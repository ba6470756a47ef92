"""The main window: the form, what follows from it, and the sheet; light until it is painted.

What takes time to load (the job's models, Qt's PDF parts, reference tables, the sheet's renderer)
is loaded after the first paint, hence the imports inside methods.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QPaintEvent
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QMainWindow, QPushButton

from kerfdocket.errors import KerfdocketError
from kerfdocket.language import (
    Language,
    _,
    counted,
    current_language,
    marked,
    review_note,
    set_language,
)
from kerfdocket.window.document import Document, Issued, new_raw
from kerfdocket.window.menus import Menus, Wishes
from kerfdocket.window.services import Services

if TYPE_CHECKING:
    from kerfdocket.planning.model import Estimate
    from kerfdocket.window.archive.looking import JobOfSheet
    from kerfdocket.window.archive.side import ArchiveSide
    from kerfdocket.window.archive_desk import ArchiveDesk
    from kerfdocket.window.autosave import Autosave
    from kerfdocket.window.beside import Beside
    from kerfdocket.window.files import Files
    from kerfdocket.window.follow_up import FollowUp
    from kerfdocket.window.handing_out import HandingOut
    from kerfdocket.window.host import Host
    from kerfdocket.window.messages import Messages
    from kerfdocket.window.office import Office
    from kerfdocket.window.panes import Panes

__all__ = ["MainWindow"]

_DEBOUNCE_MS = 200
_AUTOSAVE_MS = 3000
_GETTING_READY = marked("Getting ready …")


class MainWindow(QMainWindow):
    """The one window of the program.

    Attributes:
        menus: what can be chosen.

    Signals:
        first_painted: something is on the screen for the first time.
        ready: all is loaded; the form is followed up from now on.
    """

    first_painted = Signal()
    ready = Signal()

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
        self._debounce_ms = debounce_ms
        self._autosave_ms = autosave_ms
        self._document = Document(new_raw(current_language()))
        self._bugs_told: set[str] = set()
        self._is_painted = self._is_shut_down = False
        self._panes: Panes | None = None
        self._archive: ArchiveSide | None = None
        self._autosave: Autosave | None = None
        self._desk: ArchiveDesk | None = None
        self._office: Office | None = None
        self._building: Iterator[None] = iter(())
        self._step = QTimer(self)
        self._step.setInterval(0)
        self._step.timeout.connect(self._on_step)
        self.menus = self._make_menus()
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

    # What it holds, and its parts: each is loaded when it is first needed

    @property
    def document(self) -> Document:
        """What the form holds."""
        return self._document

    @property
    def panes(self) -> "Panes":
        """Form, results, findings and sheet, once they are built."""
        assert self._panes is not None
        return self._panes

    @cached_property
    def follow_up(self) -> "FollowUp":
        """Checks, plans and draws what the form says."""
        from kerfdocket.window.follow_up import FollowUp

        follow_up = FollowUp(self._services, lambda: self._document, self._debounce_ms, self)
        follow_up.loaded.connect(self._on_loaded)
        follow_up.ready.connect(self._on_ready)
        follow_up.state_shown.connect(self._allow)
        follow_up.plan_shown.connect(self.beside.show_plan)
        follow_up.said.connect(self.statusBar().showMessage)
        follow_up.failed.connect(self._report)
        return follow_up

    @cached_property
    def beside(self) -> "Beside":
        """What stays open beside the form."""
        from kerfdocket.window.beside import Beside

        return Beside(self, lambda: self.follow_up.plan)

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
            from kerfdocket.window.office import Office

            self._office = Office(self._host)
        return self._office

    @cached_property
    def files(self) -> "Files":
        """Begins, opens and saves jobs."""
        from kerfdocket.window.files import Files

        return Files(self._host, lambda: self.office.save_draft())

    @cached_property
    def handing_out(self) -> "HandingOut":
        """Prints and exports the sheet."""
        from kerfdocket.window.handing_out import HandingOut

        return HandingOut(self._host, self.follow_up, lambda: self.panes.sheet.pdf, self.issue)

    @cached_property
    def _host(self) -> "Host":
        from kerfdocket.window.host import Host

        return Host(
            parent=self,
            bar=self.statusBar(),
            services=self._services,
            messages=self._messages,
            desk=self.desk,
            crew=self.follow_up.sheet_crew,
            document=lambda: self._document,
            show_document=self._set_document,
            follow=self._on_stated,
            kept=self._on_kept,
            may_leave=self._may_leave,
            report=self._report,
            doings_changed=self.follow_up.show_state,
        )

    @property
    def _messages(self) -> "Messages":
        if self._own_messages is None:
            from kerfdocket.window.messages import Messages

            self._own_messages = Messages(self)
        return self._own_messages

    # What can be chosen

    def _make_menus(self) -> Menus:
        # Parts are looked for when something is chosen, not here: this comes before the paint.
        return Menus(
            self,
            Wishes(
                new=lambda: self.files.new(),
                open=lambda: self.files.open(),
                save=lambda: self.files.save(),
                save_as=lambda: self.files.save_as(),
                quit=self.close,
                print_sheet=lambda: self.handing_out.print(),
                export_sheet=lambda: self.handing_out.export(),
                choose_shop=self.choose_shop_folder,
                no_shop=lambda: self._set_shop_folder(None),
                open_archive=self.show_archive,
                issue=self.issue,
                print_issued=lambda: self.handing_out.print_issued(),
                save_draft=lambda: self.office.save_draft(),
                open_draft=lambda: self.office.drafts.show_list(),
                ask_name=lambda: self.office.ask_name(),
                go_to_panel=lambda index: self.panes.form.reveal_panel(index),
                next_finding=self.go_to_next_finding,
                sheet=lambda: self.panes.sheet,
                show_values=lambda: self.beside.show_values(),
                show_work=lambda: self.beside.show_work(),
                use_units=self._use_units,
                use_language=self._on_language_chosen,
            ),
        )

    def _allow(self) -> None:
        """Let be chosen what can be done now."""
        follow_up = self.follow_up
        is_busy = self._office is not None and self._office.is_busy
        is_stopped = follow_up.plan is None or follow_up.plan.is_stopped
        self.menus.allow(
            sheet=follow_up.is_current,
            issue=follow_up.is_current and not is_stopped and not is_busy,
            print_issued=follow_up.may_print_issued,
            save_draft=not is_busy,
        )

    # Getting ready, a piece at a time

    def _get_ready(self) -> None:
        if self._is_shut_down:
            return
        self.first_painted.emit()
        self.follow_up.begin()

    def _on_loaded(self) -> None:
        self._building = self._build()
        self._step.start()

    def _on_ready(self) -> None:
        self.statusBar().clearMessage()
        self._watch_scanner()
        self.ready.emit()

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
        self.follow_up.show_in(panes)
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
        self.menus.fill()
        self._mark_units()
        self.setAcceptDrops(True)
        self.follow_up.warm_up()
        if not self._offer_drafts(drafts) and self._argv_file is not None:
            self.files.open_path(self._argv_file)

    def _offer_drafts(self, drafts: Any) -> bool:
        is_restored = False
        for draft in drafts.left_behind():
            if is_restored:
                drafts.settle(draft, is_done=False)
                continue
            name = draft.path.name if draft.path else _("a new job")
            answer = self._messages.ask_restore(name, draft.when)
            if answer == "restore":
                document = Document(draft.raw, draft.path, draft.content, draft.shared)
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

    def _on_language_chosen(self, language: Language) -> None:
        # Later, when the menu has closed: it is said anew, too.
        QTimer.singleShot(0, self, partial(self.use_language, language))

    def _say_anew(self) -> None:
        """Say everything in the language that is spoken now."""
        from kerfdocket.window.qt_texts import say_qt_texts

        application = QApplication.instance()
        assert application is not None
        say_qt_texts(application, current_language())
        self.menus.say_anew()
        self._reviewed.setText(review_note())
        self._reviewed.setVisible(bool(review_note()))
        if self._document.is_new:
            kept = {key: self._document.raw[key] for key in self._document.raw if key != "language"}
            self._document = Document({**kept, **new_raw(current_language())})
        last = self.follow_up.take_plan()
        self._remake_panes()
        self.statusBar().clearMessage()
        self._changed()
        if last is not None:
            self.follow_up.show_last(last.job)

    def _remake_panes(self) -> None:
        """Put new panes, and windows beside them, in the place of those that are there."""
        before = self.panes
        open_anew = self.beside.let_go()
        for dialog in self.findChildren(QDialog):
            dialog.close()
            dialog.deleteLater()
        for _step in self._build_panes():
            pass
        self.panes.take_over(before)
        for show in open_anew:
            show()
        if self._archive is not None:
            self._archive.say_anew()
            self._show_warned()

    # The document

    def _set_document(self, document: Document) -> None:
        self._document = document
        self.follow_up.forget()
        self.panes.form.load(document)
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
        self._allow()

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
        self._update_title()
        self._mark_units()
        if self._autosave is not None:
            self._autosave.touch()
        self.follow_up.follow()

    def _mark_units(self) -> None:
        from kerfdocket.window.units import system_of

        self.menus.mark_units(system_of(self._document).name)

    def _update_title(self) -> None:
        name = self._document.name.replace("[*]", "[*][*]")  # Qt's mark of what is unsaved
        self.setWindowTitle(f"{name}[*] – Kerfdocket")
        self.setWindowModified(self._document.is_changed)
        if self._office is not None:
            self._office.follow()

    def _on_basis_wanted(self, estimate: "Estimate") -> None:
        from kerfdocket.window.results import BasisDialog

        BasisDialog(estimate, self).open()

    def go_to_next_finding(self) -> None:
        """Go to the field of the next row of the list, from the top again after the last."""
        findings = self.panes.findings
        count = findings.model.rowCount()
        if count:
            current = findings.view.currentIndex()
            findings.go_to((current.row() + 1) % count if current.isValid() else 0)

    # Whose sheet it is, and issuing it

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
        self.follow_up.draw_anew()

    def issue(self) -> None:
        """Ask what is needed, and issue the sheet of what the form says."""
        job = self.follow_up.job
        if self.menus.issue.isEnabled() and job is not None:
            self.office.issuing.begin(job)

    # Leaving the document

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
            return self.files.save()
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

    def _report(self, doing: str, error: BaseException) -> None:
        """Turn an error into words."""
        if isinstance(error, KerfdocketError):
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
        if self._archive is not None:
            self._archive.close()
        self.follow_up.close()
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
