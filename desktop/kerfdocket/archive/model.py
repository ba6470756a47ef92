"""What the archive holds, as frozen values."""

from dataclasses import dataclass, field
from typing import Literal

from kerfdocket.language import marked

__all__ = [
    "AFTER",
    "BOTH",
    "STATES",
    "VOID",
    "Draft",
    "Event",
    "IssuedSheet",
    "PageOfTraveller",
    "State",
    "Traveller",
]

State = Literal["issued", "on the floor", "returned", "closed", "superseded", "withdrawn"]
STATES: tuple[State, ...] = (
    "issued",
    "on the floor",
    "returned",
    "closed",
    "superseded",
    "withdrawn",
)
_SAID = (
    marked("issued"),
    marked("on the floor"),
    marked("returned"),
    marked("closed"),
    marked("superseded"),
    marked("withdrawn"),
    marked("reserved"),
    marked("drafted"),
    marked("draft ended"),
    marked("page taken"),
    marked("page matched"),
    marked("page set aside"),
    marked("page put back"),
    marked("recorded"),
    marked("discarded"),
)
# What may follow what. A sheet may come back without anyone having said that it went out, and may
# go out again: more is to be cut, or it was not this one that came back.
AFTER: dict[State, tuple[State, ...]] = {
    "issued": ("on the floor", "returned", "withdrawn", "superseded"),
    "on the floor": ("returned", "withdrawn", "superseded"),
    "returned": ("on the floor", "closed", "withdrawn", "superseded"),
    "closed": (),
    "superseded": (),
    "withdrawn": (),
}

# Nothing may be cut any more by a sheet in one of these.
VOID: tuple[State, ...] = ("superseded", "withdrawn")

# The side of a page on which front and back lie side by side, as on a scan of A3.
BOTH = "2"


@dataclass(frozen=True)
class IssuedSheet:
    """A sheet to be kept, so that it can be printed again bit for bit.

    Attributes:
        job_text: the job file.
        plan_text: the plan as JSON.
        pdf: the sheet.
        facts: what it is found by: `title`, `customer`, `grade` and so on, as texts.
        program: version that made it.
        tables: digest of the tables that it was made with.
        check: value that the codes on its pages say; `planning.page_code.check_value`.
        thickness_m: of the plate. [m]
        text: what else it is found by: names of parts, notes.
    """

    job_text: str
    plan_text: str
    pdf: bytes
    facts: dict[str, str] = field(hash=False)
    program: str = ""
    tables: str = ""
    check: str = ""
    thickness_m: float | None = None
    text: str = ""


@dataclass(frozen=True)
class Traveller:
    """One revision of a traveller.

    Attributes:
        number, revision: what stands on the sheet.
        state: where it is in its life.
        issued_at: when, UTC, ISO 8601.
        facts: what it is found by.
        job, plan, pdf: digests of its contents.
        reason: why it was issued anew; empty for the first.
        code: what the codes on its pages say, without the side: `KD-0141:A:56344795C3`.
        thickness_m: of the plate; None if it is not known. [m]
        cutter: who cut it, once that was recorded.
        program: version that made it.
        tables: digest of the tables that it was made with.
    """

    number: str
    revision: str
    state: State
    issued_at: str
    facts: dict[str, str] = field(hash=False)
    job: str
    plan: str
    pdf: str
    reason: str = ""
    code: str = ""
    thickness_m: float | None = None
    cutter: str = ""
    program: str = ""
    tables: str = ""


@dataclass(frozen=True)
class PageOfTraveller:
    """A page that came back from the floor.

    Attributes:
        file: digest of the file that it is in.
        page: of that file, from 0.
        name: of the file, as it was called.
        taken_at: when, UTC, ISO 8601.
        number, revision: of the traveller; empty while nobody knows which.
        side: `F`, `B`, or `BOTH` where both lie side by side; empty where it is not known.
        how: `code` if its code was read, `hand` if a person matched it; empty in the tray.
        reason: what of it could not be read, why it is in the tray, or why it was set aside.
        is_set_aside: a person said that it belongs to no traveller.
    """

    file: str
    page: int
    name: str
    taken_at: str
    number: str
    revision: str
    side: str
    how: str
    reason: str
    is_set_aside: bool


@dataclass(frozen=True)
class Draft:
    """A job that several people prepare before it is issued.

    Attributes:
        id: never changes.
        version: one more with each saving.
        title: of the job.
        job: digest of the job file.
        who, at: saved it last, when.
        ended: `issued` or `dropped`; empty while it is a draft.
        number: that it was issued as.
        held_by, held_at: has it open, since when; empty if nobody said so.
    """

    id: int
    version: int
    title: str
    job: str
    who: str
    at: str
    ended: str = ""
    number: str = ""
    held_by: str = ""
    held_at: str = ""


@dataclass(frozen=True)
class Event:
    """Something that happened, as the chain of events holds it.

    Attributes:
        place: in the chain, from 1 without gaps.
        at: when, UTC, ISO 8601 with microseconds.
        who: did it.
        what: `reserved`, `issued`, the state that a traveller went into, or what was done to its
            pages, its actual values, or a draft; `replay` knows them all.
        number, revision: of the traveller; the revision is empty where only a number is meant,
            both are where no traveller is. A draft's number is its id.
        details: more, as canonical JSON.
        previous: hash of the event before; zeros for the first.
        hash: over all of the above.
    """

    place: int
    at: str
    who: str
    what: str
    number: str
    revision: str
    details: str
    previous: str
    hash: str
