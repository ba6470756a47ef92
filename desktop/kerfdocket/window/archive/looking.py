"""Questions that the archive's window asks, each answered in the thread of the desk."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kerfdocket.errors import InputError, KerfdocketError
from kerfdocket.language import _

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from kerfdocket.archive import Archive, Event, PageOfTraveller, Traveller
    from kerfdocket.archive.find import FoundTraveller
    from kerfdocket.archive.paged import PagedRows
    from kerfdocket.job import Job
    from kerfdocket.planning.actuals import Comparison, Planned
    from kerfdocket.reference import Reference
    from kerfdocket.window.archive.filter_bar import Sought

__all__ = ["JobOfSheet", "Looker", "Record", "numbers_like", "picture_of", "search"]


@dataclass(frozen=True)
class Record:
    """All that the window shows of one traveller.

    Attributes:
        traveller: the revision that was asked for.
        revisions: of its number, the first one first.
        events: of its number, in their order.
        pages: of its number that came back.
        texts: what was written on the sheet, by the names of its places.
        job: as it was issued; None if it cannot be read.
        planned: what its sheet promised and asked for; None if that cannot be read.
        comparison: planned and actual side by side; None if there is none.
        trouble: why not.
    """

    traveller: "Traveller"
    revisions: "tuple[Traveller, ...]"
    events: "tuple[Event, ...]"
    pages: "tuple[PageOfTraveller, ...]"
    texts: Mapping[str, str]
    job: "Job | None"
    planned: "Planned | None"
    comparison: "Comparison | None"
    trouble: str = ""


@dataclass(frozen=True)
class JobOfSheet:
    """The job of a traveller, to be put into the form.

    Attributes:
        traveller: as it is now.
        text: its job file.
        pdf: its sheet, as it was issued.
    """

    traveller: "Traveller"
    text: str
    pdf: bytes


class Looker:
    """Looks things up; keeps the tables, which take a moment to load. For one thread alone."""

    def __init__(self) -> None:
        self._reference: Reference | None = None

    def look_up(self, archive: "Archive", number: str, revision: str) -> Record:
        """Return all that is known of one revision; an empty one means the last.

        Raises:
            InputError: it was never issued.
            ArchiveProblem: the archive cannot be read.
        """
        from kerfdocket.archive import actuals_of, pages_of

        revisions = archive.revisions(number)
        wanted = [one for one in revisions if not revision or one.revision == revision]
        if not wanted:
            raise InputError(
                _("{number} {revision} was never issued", number=number, revision=revision)
            )
        traveller = wanted[-1]
        texts = actuals_of(archive, number, traveller.revision)
        job, planned, comparison, trouble = self._compare(archive, traveller, texts)
        return Record(
            traveller=traveller,
            revisions=revisions,
            events=archive.events(number),
            pages=pages_of(archive, number),
            texts=texts,
            job=job,
            planned=planned,
            comparison=comparison,
            trouble=trouble,
        )

    def _compare(
        self, archive: "Archive", traveller: "Traveller", texts: Mapping[str, str]
    ) -> "tuple[Job | None, Planned | None, Comparison | None, str]":
        from kerfdocket.job import load_job_text
        from kerfdocket.planning.actuals import compare, planned_values, read_actuals
        from kerfdocket.reference import load_reference

        job: Job | None = None
        planned: Planned | None = None
        try:
            origin = f"{traveller.number} {traveller.revision}"
            job = load_job_text(archive.content(traveller.job).decode(), origin)
            planned = planned_values(archive.content(traveller.plan).decode(), job)
            if self._reference is None:
                self._reference = load_reference()
            found = compare(planned, read_actuals(job, texts), self._reference)
        except (KerfdocketError, UnicodeDecodeError) as error:
            # The rest of what is known is shown all the same.
            return job, planned, None, str(error)
        return job, planned, found, ""


def picture_of(archive: "Archive", file: str, page: int) -> "QImage":
    """Return a page that came back as a picture.

    Raises:
        InputError: it cannot be shown.
        ArchiveProblem: it is not there.
    """
    from kerfdocket.window.archive.picture import page_picture

    return page_picture(archive.content(file), page)


def search(archive: "Archive", sought: "Sought", page_rows: int) -> "PagedRows":
    """Return what was found; its first page is there already.

    Raises:
        NotPossible: there are too many words to look for.
        ArchiveProblem: the archive cannot be read.
    """
    from kerfdocket.archive.find import Wanted
    from kerfdocket.archive.paged import PagedRows

    wanted = Wanted(
        text=sought.text,
        **sought.words,
        thickness_from_m=sought.thinnest_m,
        thickness_to_m=sought.thickest_m,
        date_from=sought.first_day,
        date_to=sought.last_day,
        states=(sought.state,) if sought.state else (),  # type: ignore[arg-type]
    )
    found = PagedRows(archive, wanted, page_rows)
    if len(found):
        found.fetch(0)
    return found


def numbers_like(archive: "Archive", begin: str, most: int = 20) -> "tuple[FoundTraveller, ...]":
    """Return travellers whose number has words that begin so, the newest first.

    Raises:
        NotPossible: there are too many words to look for.
        ArchiveProblem: the archive cannot be read.
    """
    from kerfdocket.archive.find import Wanted, find, rows

    return rows(archive, find(archive, Wanted(number=begin), most))
