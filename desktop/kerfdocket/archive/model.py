"""What the archive holds, as frozen values."""

from dataclasses import dataclass, field
from typing import Literal

from kerfdocket.language import marked

__all__ = ["AFTER", "STATES", "Event", "IssuedSheet", "State", "Traveller"]

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
)
# What may follow what. A sheet may come back without anyone having said that it went out.
AFTER: dict[State, tuple[State, ...]] = {
    "issued": ("on the floor", "returned", "withdrawn", "superseded"),
    "on the floor": ("returned", "withdrawn", "superseded"),
    "returned": ("closed", "withdrawn", "superseded"),
    "closed": (),
    "superseded": (),
    "withdrawn": (),
}


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
    """

    job_text: str
    plan_text: str
    pdf: bytes
    facts: dict[str, str] = field(hash=False)
    program: str = ""
    tables: str = ""


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


@dataclass(frozen=True)
class Event:
    """Something that happened, as the chain of events holds it.

    Attributes:
        place: in the chain, from 1 without gaps.
        at: when, UTC, ISO 8601 with microseconds.
        who: did it.
        what: `reserved`, `issued`, or the state that a traveller went into.
        number, revision: of the traveller; the revision is empty where only a number is meant.
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
