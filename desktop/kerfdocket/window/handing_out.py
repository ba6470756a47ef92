"""What leaves the window: the sheet that is shown, or the one that was issued."""

from collections.abc import Callable

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _
from kerfdocket.storage import write_atomically
from kerfdocket.window.follow_up import FollowUp
from kerfdocket.window.host import Host

__all__ = ["HandingOut"]


class HandingOut:
    """Prints and exports sheets, never two of one name that differ."""

    def __init__(
        self,
        host: Host,
        follow_up: FollowUp,
        pdf: Callable[[], bytes],
        issue: Callable[[], object],
    ) -> None:
        """Serve a window.

        Args:
            host: what the window lends.
            follow_up: knows what may be handed out.
            pdf: the sheet that is shown.
            issue: called where the person would rather issue the sheet.
        """
        self._host = host
        self._follow_up = follow_up
        self._pdf = pdf
        self._issue = issue

    def export(self) -> None:
        """Ask for a file and write the sheet to it."""
        if not self._may_hand_out():
            return
        pdf = self._pdf()
        document = self._host.document()
        path = self._host.messages.ask_export_path(document.folder / f"{document.file_stem}.pdf")
        if path is None:
            return
        try:
            write_atomically(path, pdf)
        except EnvironmentProblem as error:
            self._host.report(_("The sheet cannot be exported."), error)
            return
        self._host.say(_("Exported {path}", path=path))

    def print(self) -> None:
        """Ask for a printer and print the sheet."""
        if self._may_hand_out():
            self._print(self._pdf())

    def print_issued(self) -> None:
        """Print the sheet that was last issued of the document, whatever the form says by now."""
        issued = self._host.document().issued
        if issued is not None and self._follow_up.may_print_issued:
            self._print(issued.pdf)

    def _may_hand_out(self) -> bool:
        """Return whether the sheet may leave the window; two that differ must not bear one name."""
        if not self._follow_up.is_current:
            return False
        plan, document = self._follow_up.plan, self._host.document()
        is_draft = plan is not None and plan.is_stopped  # and says so across its face
        if is_draft or not document.must_not_be_cut_by:
            return True
        assert document.issued is not None
        if self._host.messages.ask_issue_instead(document.issued.name):
            self._issue()
        return False

    def _print(self, pdf: bytes) -> None:
        # Qt's parts for printing load with the first print.
        from kerfdocket.window.printing import ask_printer, page_count, print_pdf

        printer = ask_printer(page_count(pdf), self._host.parent)
        if printer is None:
            return
        try:
            print_pdf(pdf, printer)
        except EnvironmentProblem as error:
            self._host.report(_("The sheet cannot be printed."), error)
            return
        self._host.say(_("The sheet went to the printer."))
