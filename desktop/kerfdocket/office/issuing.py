"""Issuing: a job becomes a numbered sheet that is drawn, kept and handed out."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from kerfdocket import __version__
from kerfdocket.archive import (
    Archive,
    ArchiveProblem,
    Draft,
    IssuedSheet,
    NotPossible,
    Traveller,
    issue_draft,
    reissue_draft,
)
from kerfdocket.errors import InputError
from kerfdocket.job import Job, job_text, load_job_text
from kerfdocket.language import _, language_named, speaking
from kerfdocket.planning import Plan, make_plan, plan_json
from kerfdocket.planning.page_code import check_value
from kerfdocket.reference import Reference
from kerfdocket.reference.table import tables_digest

if TYPE_CHECKING:
    from kerfdocket.sheet import Shop

__all__ = ["issue_job", "issued_sheet", "reissue_job", "unchanged_text"]

_FIRST = "A"


def issue_job(
    archive: Archive,
    job: Job,
    reference: Reference,
    who: str,
    shop: "Shop | None" = None,
    is_fillable: bool = False,
    draft: Draft | None = None,
) -> tuple[Traveller, bytes]:
    """Keep a job's sheet as revision A of its number.

    Args:
        archive: that keeps it.
        job: to be cut; a number with question marks, `KD-????`, takes the next one of its series.
        reference: the tables.
        who: issues it.
        shop: what the shop adds to the sheet.
        is_fillable: True puts fields on it, to be filled in on a screen.
        draft: that it comes from, as it was read; it ends with this.

    Returns:
        The traveller, and its sheet as PDF.

    Raises:
        NotPossible: the plan has a stop, or the number was issued before.
        ChangedMeanwhile: someone else saved the draft.
        ShopError: the shop's folder cannot be used.
        ArchiveProblem: it could not be written.
    """
    number = job.about.number
    # What cannot be cut takes no number away.
    _refuse_stopped(make_plan(job, reference))
    if "?" in number:
        number = archive.reserve(number, who)
    sheet = _drawn(_numbered(job, number, _FIRST), reference, shop, is_fillable)
    if draft is None:
        return archive.issue(number, sheet, who), sheet.pdf
    return issue_draft(archive, draft, number, sheet, who), sheet.pdf


def reissue_job(
    archive: Archive,
    job: Job,
    reference: Reference,
    who: str,
    reason: str,
    shop: "Shop | None" = None,
    is_fillable: bool = False,
    draft: Draft | None = None,
    revision: str = "",
) -> tuple[Traveller, bytes]:
    """Keep a changed job's sheet as the next revision of its number.

    Args:
        archive: that has the number.
        job: to be cut now.
        reference: the tables.
        who: issues it.
        reason: why it is issued anew.
        shop: what the shop adds to the sheet.
        is_fillable: True puts fields on it, to be filled in on a screen.
        draft: that it comes from, as it was read; it ends with this.
        revision: that it is to become, where a person was told; empty takes the next one.

    Returns:
        The traveller, and its sheet as PDF.

    Raises:
        NotPossible: the plan has a stop, the number was never issued or is closed, there is no
            reason, or someone else issued that revision meanwhile.
        ChangedMeanwhile: someone else saved the draft.
        ShopError: the shop's folder cannot be used.
        ArchiveProblem: it could not be written.
    """
    number = job.about.number
    revision = revision or archive.next_revision(number)
    _refuse_stopped(make_plan(job, reference))
    sheet = _drawn(_numbered(job, number, revision), reference, shop, is_fillable)
    if draft is None:
        return archive.reissue(number, revision, sheet, who, reason), sheet.pdf
    return reissue_draft(archive, draft, number, revision, sheet, who, reason), sheet.pdf


def unchanged_text(archive: Archive, job: Job) -> str:
    """Say that a job is still what the last revision of its number was issued from.

    It may be issued anew all the same, as where the paper was lost; but who forgot to save a
    change, or to enter it, should know.

    Args:
        archive: that may have the number.
        job: to be issued anew.

    Returns:
        A sentence; empty if something was changed, or the job of that revision cannot be read.

    Raises:
        ArchiveProblem: the archive cannot be read.
    """
    number = job.about.number
    revisions = archive.revisions(number)
    if not revisions:
        return ""
    last = revisions[-1]
    try:
        kept = load_job_text(archive.content(last.job).decode(), "")
    except (InputError, ArchiveProblem, UnicodeDecodeError):
        # Given up, of a form that is read no more, or altered: all the more is it issued anew.
        return ""
    if _numbered(kept, number, last.revision) != _numbered(job, number, last.revision):
        return ""
    name = f"{number} {last.revision}"
    if (last.program, last.tables) != (__version__, tables_digest()):
        return _(
            "Nothing in the job has changed since {name}; the program or its tables have, so that "
            "the sheet may say otherwise.",
            name=name,
        )
    return _("Nothing in the job has changed since {name}.", name=name)


def issued_sheet(job: Job, plan: Plan, pdf: bytes) -> IssuedSheet:
    """Return what the archive keeps of a sheet.

    Args:
        job: with its number and revision.
        plan: of that job.
        pdf: the sheet.
    """
    about = job.about
    return IssuedSheet(
        job_text=job_text(job),
        plan_text=plan_json(plan),
        pdf=pdf,
        facts={
            "title": about.title,
            "customer": about.customer,
            "drawing": about.drawing,
            "grade": job.plate.grade,
            "thickness": str(job.plate.thickness),
            "nozzle": plan.nozzle_name,
            "gas": job.fuel.gas,
            "date": about.date.isoformat() if about.date else "",
        },
        program=__version__,
        tables=tables_digest(),
        check=check_value(plan),
        thickness_m=job.plate.thickness.si,
        text="\n".join(_texts(job)),
    )


def _texts(job: Job) -> Iterator[str]:
    """What else someone may remember of a job."""
    yield job.about.prepared_by
    yield job.about.note
    for part in job.parts:
        yield part.name


def _numbered(job: Job, number: str, revision: str) -> Job:
    about = job.about.model_copy(update={"number": number, "revision": revision})
    return job.model_copy(update={"about": about})


def _refuse_stopped(plan: Plan) -> None:
    for finding in plan.findings:
        if finding.severity == "stop":
            raise NotPossible(
                _(
                    "a draft is not issued: {text} {remedy}",
                    text=finding.text,
                    remedy=finding.remedy,
                )
            )


def _drawn(job: Job, reference: Reference, shop: "Shop | None", is_fillable: bool) -> IssuedSheet:
    # The renderer takes a second to load.
    from kerfdocket.sheet import sheet_pdf

    with speaking(language_named(job.language)):
        plan = make_plan(job, reference)
        return issued_sheet(job, plan, sheet_pdf(plan, is_fillable, shop))
