"""Plan and work side by side, for a traveller of the archive."""

from collections.abc import Mapping

from kerfdocket.archive import Archive, Traveller, actuals_of
from kerfdocket.archive.keeping import Ratios
from kerfdocket.job import Job, load_job_text
from kerfdocket.planning.actuals import Comparison, compare, planned_values, read_actuals
from kerfdocket.reference import Reference

__all__ = ["compare_texts", "compare_traveller", "job_of_traveller", "ratios_with"]


def job_of_traveller(archive: Archive, traveller: Traveller) -> Job:
    """Return the job that a traveller was issued for.

    Raises:
        ArchiveProblem: it cannot be read.
        JobError: this program cannot read it any more.
    """
    text = archive.content(traveller.job).decode()
    return load_job_text(text, f"{traveller.number} {traveller.revision}")


def compare_traveller(archive: Archive, traveller: Traveller, reference: Reference) -> Comparison:
    """Hold what was written on a sheet against its plan, as it was kept; nothing is planned anew.

    Args:
        archive: that has the traveller.
        traveller: one.
        reference: the tables, for gases and for limits that hurt people.

    Raises:
        ArchiveProblem: it cannot be read.
        JobError: this program cannot read its job any more.
    """
    texts = actuals_of(archive, traveller.number, traveller.revision)
    return compare_texts(
        archive.content(traveller.job).decode(),
        archive.content(traveller.plan).decode(),
        texts,
        reference,
        f"{traveller.number} {traveller.revision}",
    )


def compare_texts(
    job_text: str, plan_text: str, texts: dict[str, str], reference: Reference, name: str = ""
) -> Comparison:
    """Hold what was written on a sheet against its plan, all of it as the archive keeps it.

    Args:
        job_text: the job file.
        plan_text: the plan as JSON.
        texts: what was written, by the names of the places.
        reference: the tables.
        name: of the traveller, for messages.

    Raises:
        JobError: this program cannot read its job any more.
    """
    job = load_job_text(job_text, name)
    return compare(planned_values(plan_text, job), read_actuals(job, texts), reference)


def ratios_with(reference: Reference) -> Ratios:
    """Return what tells the counts of an archive how work and plan agree.

    Args:
        reference: the tables.
    """

    def ratios(
        traveller: Traveller, job_text: str, plan_text: str, texts: Mapping[str, str]
    ) -> Mapping[str, float]:
        name = f"{traveller.number} {traveller.revision}"
        return compare_texts(job_text, plan_text, dict(texts), reference, name).ratios

    return ratios
