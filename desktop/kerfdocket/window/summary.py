"""Problems of the form and findings of the plan as rows of one list."""

from kerfdocket.job import Problem
from kerfdocket.language import _
from kerfdocket.planning.model import Plan, said_source
from kerfdocket.window.document import Document
from kerfdocket.window.findings import FindingRow
from kerfdocket.window.layout import STAGE_PLACES, headings
from kerfdocket.window.specs import place_of, spec_at

__all__ = ["finding_rows", "is_missing", "is_unknown_key", "problem_rows"]


def is_missing(problem: Problem, document: Document) -> bool:
    """Return True if the problem is only that a needed field is still empty."""
    try:
        is_needed = spec_at(problem.where).is_needed
    except KeyError:
        return False
    return is_needed and document.value(problem.where) is None


def is_unknown_key(problem: Problem, document: Document) -> bool:
    """Return True if the problem is a key of the file that no job has."""
    if document.value(problem.where) is None:
        return False
    try:
        spec_at(problem.where)
    except KeyError:
        return problem.where != "kerfdocket-job"
    return False


def problem_rows(problems: tuple[Problem, ...], document: Document) -> tuple[FindingRow, ...]:
    """Return a row for each problem: mistakes first, then what is still needed."""
    named = headings()
    rows = [
        FindingRow(
            severity="needed" if is_missing(problem, document) else "mend",
            where=problem.where,
            place=place_of(problem.where, named) or _("The job as a whole"),
            text=problem.text,
            is_unknown_key=is_unknown_key(problem, document),
        )
        for problem in problems
    ]
    return tuple(sorted(rows, key=lambda row: row.severity == "needed"))


def finding_rows(plan: Plan) -> tuple[FindingRow, ...]:
    """Return a row for each finding of a plan, stops first."""
    named = headings()
    return tuple(
        FindingRow(
            severity=finding.severity,
            where=finding.where,
            place=place_of(STAGE_PLACES.get(finding.where, finding.where), named),
            text=finding.text,
            remedy=finding.remedy,
            source=said_source(finding.source),
        )
        for finding in plan.findings
    )
