"""What both pages print alike: values with the marks of their notes, rows, notices."""

from dataclasses import dataclass
from typing import Literal

from kerfdocket.language import _
from kerfdocket.planning.model import Estimate, Finding, Plan
from kerfdocket.sheet.text import plain, said

__all__ = ["Manner", "Note", "Notice", "Row", "Value", "Writer", "notice_of"]

# How a value is printed: as an instruction, as an unverified guide, or not at all.
Manner = Literal["firm", "guide", "withheld"]


@dataclass(frozen=True)
class Value:
    """One estimate as it is printed.

    Attributes:
        label: what it is.
        manner: `firm` is printed as an instruction, `guide` small and as unverified, `withheld` as
            a dash.
        number: best value, without unit; a dash where it is withheld.
        unit: as printed, may be empty.
        spread: the range without its unit, empty if there is none.
        line: number, unit and range in one line of text, marked as unverified where it is.
        basis: how firm it stands, in words.
        mark: of its note, empty if it has none.
        is_stated: True if it is the planner's own.
    """

    label: str
    manner: Manner
    number: str
    unit: str
    spread: str
    line: str
    basis: str
    mark: str
    is_stated: bool = False


@dataclass(frozen=True)
class Note:
    """Why a value is withheld, under the mark that stands at its dash."""

    mark: str
    text: str


@dataclass(frozen=True)
class Row:
    """A label and its text."""

    label: str
    text: str
    mark: str = ""


@dataclass(frozen=True)
class Notice:
    """A heading, what it says and what to do."""

    title: str
    text: str
    remedy: str
    severity: str


def notice_of(finding: Finding) -> Notice:
    """Return a finding as it is printed."""
    return Notice("", said(finding.text), said(finding.remedy), finding.severity)


class _Notes:
    """Gives the marks of withheld values: one numbering, and one mark for one reason."""

    def __init__(self) -> None:
        self._marks: dict[str, str] = {}
        self._labels: dict[str, list[str]] = {}

    def mark(self, label: str, reason: str) -> str:
        if reason not in self._marks:
            self._marks[reason] = str(len(self._marks) + 1)
            self._labels[reason] = []
        if reason in self._labels:
            self._labels[reason].append(label)
        return self._marks[reason]

    def take(self) -> tuple[Note, ...]:
        """Return the notes since the last call, for the block that ends here."""
        taken = self._labels
        self._labels = {}
        return tuple(
            Note(self._marks[reason], f"{labels[0]}: {reason}" if len(labels) == 1 else reason)
            for reason, labels in taken.items()
        )


class Writer:
    """Turns the plan's estimates into printed values.

    Attributes:
        units: in which the job is written.
        notes: of the values withheld so far.
    """

    def __init__(self, plan: Plan) -> None:
        self._estimates = plan.estimates
        self.units = plan.job.unit_system
        self.notes = _Notes()

    def show(self, estimate: Estimate, label: str = "") -> Value:
        """Return an estimate as it is printed, under its own label or another."""
        name = plain(label or estimate.label)
        if estimate.value is None:
            mark = self.notes.mark(name, said(estimate.basis.text))
            return Value(name, "withheld", "—", "", "", "—", _("withheld"), mark)
        number, unit = estimate.number_text(estimate.value), estimate.unit_text
        both = estimate.range_text
        if estimate.is_unverified:
            span = f"{both or number}\u00a0{unit}".strip()
            return Value(
                name,
                "guide",
                number,
                unit,
                both,
                _("guide {span}, unverified", span=span),
                _("unverified"),
                "",
            )
        line = f"{number}\u00a0{unit}".strip() + (f" ({both})" if both else "")
        trust = estimate.basis.trust
        basis = _("as stated by the planner") if trust == "stated" else _(trust)
        return Value(name, "firm", number, unit, both, line, basis, "", is_stated=trust == "stated")

    def __call__(self, key: str, label: str = "") -> Value:
        """Return the estimate of a key as it is printed, under its own label or another."""
        return self.show(self._estimates[key], label)

    def row(self, key: str, label: str = "") -> Row:
        """Return an estimate as one line of text."""
        value = self(key, label)
        text = _("{value}, as stated", value=value.line) if value.is_stated else value.line
        return Row(value.label, text, value.mark)

    def is_none_needed(self, key: str) -> bool:
        """True if there is no value because the job calls for none."""
        return self._estimates[key].is_none_needed

    def is_given(self, key: str) -> bool:
        """True if the plan has a value of that key."""
        return key in self._estimates and not self._estimates[key].is_withheld
