"""How results and sheet stand to what the form says, and in what words that is shown."""

from dataclasses import dataclass

from kerfdocket.language import _
from kerfdocket.window.document import Issued

__all__ = ["Standing", "Words", "words_of"]


@dataclass(frozen=True)
class Standing:
    """What there is by now, of what the form says or of an earlier state.

    Attributes:
        trouble: why nothing follows from the form, in words; empty if there is no such reason.
        is_job: the form has no mistakes.
        has_sheet: a sheet is shown, of this state or of an earlier one.
        is_planned: the plan is that of what the form says.
        is_stopped: that plan has a stop.
        is_drawn: the sheet is that of what the form says.
        issued: the last sheet that was issued of the document.
        is_as_issued, is_unlike_issued, must_not_be_cut_by: how the document stands to it; see
            `Document`.
    """

    trouble: str = ""
    is_job: bool = False
    has_sheet: bool = False
    is_planned: bool = False
    is_stopped: bool = False
    is_drawn: bool = False
    issued: Issued | None = None
    is_as_issued: bool = False
    is_unlike_issued: bool = False
    must_not_be_cut_by: bool = False


@dataclass(frozen=True)
class Words:
    """What is shown of it.

    Attributes:
        sheet: above the sheet.
        results: beside the results; None leaves what stands there.
        is_warning: nobody must take the sheet for what the form says.
    """

    sheet: str
    results: str | None = ""
    is_warning: bool = False


def words_of(standing: Standing) -> Words:
    """Return in what words it is shown."""
    if standing.trouble:
        return Words(standing.trouble, standing.trouble, is_warning=True)
    if not standing.is_job:
        return _words_without_job(standing.has_sheet)
    if not standing.is_planned:
        return Words(_("Working it out …"), None)
    if standing.is_stopped:
        return _words_of_draft(standing.is_drawn)
    if not standing.is_drawn:
        return Words(_("Drawing the sheet …"))
    return _words_of_sheet(standing)


def _words_without_job(has_sheet: bool) -> Words:
    if not has_sheet:
        return Words(_("The sheet appears here as soon as nothing is needed or to mend."))
    return Words(
        _("The sheet shows the last valid state, not what the form says now."),
        _("Of the last valid state, not what the form says now"),
        is_warning=True,
    )


def _words_of_draft(is_drawn: bool) -> Words:
    sheet = _("DRAFT, NOT FOR CUTTING. The sheet says so, too; it is being drawn.")
    if is_drawn:
        sheet = _("DRAFT, NOT FOR CUTTING. The sheet says so, too; it matches the form.")
    return Words(
        sheet, _("DRAFT, NOT FOR CUTTING: the findings say what stops it"), is_warning=True
    )


def _words_of_sheet(standing: Standing) -> Words:
    issued = standing.issued
    if issued is not None and issued.is_void and standing.must_not_be_cut_by:
        sheet = _(
            "{name} is {state}: do not cut by this sheet. Issue it anew, or give the "
            "job another number.",
            name=issued.name,
            state=_(issued.state),
        )
        return Words(sheet, is_warning=True)
    if issued is not None and standing.is_as_issued:
        return Words(_("This is {name} as it was issued.", name=issued.name))
    if issued is not None and standing.is_unlike_issued:
        sheet = _(
            "The sheet matches the form, but {name} was issued otherwise: issue it "
            "anew before anyone cuts by it.",
            name=issued.name,
        )
        return Words(sheet, is_warning=True)
    return Words(_("The sheet matches the form."))
