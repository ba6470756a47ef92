"""What can hurt someone, and when it applies."""

from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator

from kerfdocket.reference.table import Row, Tables

__all__ = ["HAZARD_WORDS", "HazardRow", "When", "read_hazards"]

# The facts that a row may wait for; planning works them out from the job.
HAZARD_WORDS: dict[str, str] = {
    "always": "every job",
    "acetylene": "the fuel gas is acetylene",
    "propane": "the fuel gas is propane",
    "natural gas": "the fuel gas is natural gas",
    "fuel heavier than air": "an escape of the fuel gas sinks",
    "fuel lighter than air": "an escape of the fuel gas rises",
    "coated: primer": "the plate carries primer",
    "coated: paint": "the plate carries paint",
    "coated: zinc": "the plate is galvanised",
    "coated: oil": "the plate is oily",
    "workshop": "the place is a workshop",
    "outdoors": "the place is outdoors",
    "confined": "the place is a confined space",
    "closed container": "a tank, drum, pipe or other hollow is cut",
    "heavy part": "plate or part is too heavy to lift by hand",
    "preheat": "the plate is heated before cutting",
    "pierce": "at least one cut starts with a pierce",
    "long job": "the flame burns for a long time",
    "hand": "the torch is led by hand",
    "tractor": "a tractor leads the torch",
    "machine": "a profiling machine leads the torch",
}


def _split(value: object) -> object:
    if isinstance(value, str):
        return tuple(word.strip() for word in value.split(";"))
    return value


def _known(words: tuple[str, ...]) -> tuple[str, ...]:
    unknown = [word for word in words if word not in HAZARD_WORDS]
    if unknown or not words:
        raise ValueError(f"{unknown} must be among {sorted(HAZARD_WORDS)}")
    return words


When = Annotated[tuple[str, ...], BeforeValidator(_split), AfterValidator(_known)]


class HazardRow(Row):
    """One thing that can hurt.

    Attributes:
        hazard: name.
        when: words of `HAZARD_WORDS`; any of them is enough.
        severity: `caution` or `note`.
        title: a few words.
        text: what can hurt.
        action: what to do.
        covered: what already says it on a sheet, `steps` or `equipment`; empty if nothing does.
    """

    hazard: str
    when: When
    severity: Literal["caution", "note"]
    title: str
    text: str
    action: str
    covered: Literal["", "steps", "equipment"] = ""

    @property
    def key(self) -> str:
        """The hazard's name."""
        return self.hazard

    def applies(self, facts: frozenset[str]) -> bool:
        """Return whether any of the row's words is among the facts."""
        return not facts.isdisjoint(self.when)


def read_hazards(tables: Tables) -> tuple[HazardRow, ...]:
    """Read the hazards."""
    return tables.rows("hazards/hazards", HazardRow)
