"""What a plan promised, of a plan at hand or of the JSON that was kept of it."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from kerfdocket.errors import InputError
from kerfdocket.job import Job
from kerfdocket.language import ENGLISH, _, decimal_text, speaking
from kerfdocket.planning.actuals.fields import ACTUAL_FIELDS, Side
from kerfdocket.planning.keys import KEYS, Span
from kerfdocket.planning.model import Plan
from kerfdocket.quantity import COUNT, Kind, number_text, printed_unit

__all__ = ["Planned", "PlannedValue", "planned_of", "planned_values"]

_NEEDED = tuple(dict.fromkeys(key for one in ACTUAL_FIELDS.values() for key in one.compared_with))


@dataclass(frozen=True)
class PlannedValue:
    """One value of a plan as its JSON holds it.

    Attributes:
        key: one of `KEYS`.
        unit: that the numbers are in.
        value, low, high: in `unit`, gas volumes at its reference state; None where withheld.
        reason: why it is withheld, in the plan's language; else empty.
        trust: how firm it stands; empty where it is withheld.
    """

    key: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    reason: str = ""
    trust: str = ""

    @property
    def kind(self) -> Kind:
        """What is measured."""
        return KEYS[self.key][1]

    @property
    def span_si(self) -> Span | None:
        """The value and its range in `kind.si_unit`, gas volumes in m3 at 15 °C and 1 bar."""
        if self.value is None or self.low is None or self.high is None:
            return None
        return Span(*(self.kind.to_si(one, self.unit) for one in (self.low, self.value, self.high)))

    @property
    def kept_si(self) -> Span | None:
        """The same, its ends as far out as the sheet printed them.

        Who set the 0.44 bar that was printed kept to a plan of 0.4372 bar.
        """
        span = self.span_si
        if span is None or self.low is None or self.high is None:
            return None
        low, high = (
            self.kind.to_si(self._as_printed(one), self.unit) for one in (self.low, self.high)
        )
        return Span(min(low, span.low), span.value, max(high, span.high))

    def _as_printed(self, number: float) -> float:
        with speaking(ENGLISH):
            return float(self._text(number).replace("−", "-"))

    def _text(self, number: float) -> str:
        return decimal_text(number) if self.kind is COUNT else number_text(number, self.unit)

    @property
    def text(self) -> str:
        """The value with its unit and its range, as a sheet writes it; a dash where withheld."""
        if self.value is None or self.low is None or self.high is None:
            return "—"
        value, low, high = (self._text(one) for one in (self.value, self.low, self.high))
        shown = f"{value} {printed_unit(self.unit)}".strip()
        return shown if low == high else f"{shown} ({low}–{high})"


@dataclass(frozen=True)
class Planned:
    """What of a plan the actual values are compared with.

    Attributes:
        job: as it was issued.
        values: by key; a key that the plan did not have is missing.
        program: name and version of the program that planned it.
    """

    job: Job
    values: Mapping[str, PlannedValue] = field(hash=False)
    program: str = ""

    def __getitem__(self, key: str) -> PlannedValue:
        """Return a value by its key; withheld where the plan did not have it."""
        found = self.values.get(key)
        if found is not None:
            return found
        return PlannedValue(key, "", None, None, None, _("it does not have this one"))

    def changes(self, side: Side) -> int:
        """Return how often another cylinder of a gas takes over; 0 where that is not known."""
        span = self[f"supply.{side}_changes"].span_si
        return 0 if span is None else round(span.value)

    def asks_for(self, name: str) -> bool:
        """Return whether the sheet of this plan has a place for an actual value.

        A sheet of an earlier program may lack the one for changed cylinders.

        Raises:
            KeyError: no actual value has that name.
        """
        one = ACTUAL_FIELDS[name]
        if one.on_sheet == "where changed":
            return one.side is not None and self.changes(one.side) > 0
        return one.on_sheet == "always"


def planned_of(plan: Plan) -> Planned:
    """Return what of a plan at hand the actual values are compared with."""
    values = {}
    for key in _NEEDED:
        if (one := plan.estimates.get(key)) is not None:
            reason, trust = (one.basis.text, "") if one.is_withheld else ("", one.basis.trust)
            values[key] = PlannedValue(key, one.unit, one.value, one.low, one.high, reason, trust)
    return Planned(plan.job, values, f"kerfdocket {plan.program_version}")


def planned_values(text: str, job: Job) -> Planned:
    """Return the same of a plan's JSON, with nothing computed anew.

    Args:
        text: as `plan_json` wrote it, by this program or an earlier one.
        job: that the plan was made of.

    Raises:
        InputError: not the JSON of a plan, or of another job's.
    """
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(
            _("the kept plan is not JSON: {reason}; get it from a backup", reason=error)
        ) from error
    records = document.get("estimates") if isinstance(document, dict) else None
    if not isinstance(records, dict):
        raise InputError(_("the kept plan has no values; get it from a backup"))
    if document.get("job") != job.about.number:
        raise InputError(
            _(
                "the kept plan is of job {found}, not of {wanted}",
                found=repr(document.get("job")),
                wanted=repr(job.about.number),
            )
        )
    values = {key: _planned_value(key, records[key]) for key in _NEEDED if key in records}
    return Planned(job, values, str(document.get("program", "")))


def _planned_value(key: str, record: Any) -> PlannedValue:
    """Read one record.

    Raises:
        InputError: a part is missing or cannot be.
    """
    try:
        unit, basis = record["unit"], record["basis"]
        numbers = [record[name] for name in ("value", "low", "high")]
        if numbers == [None, None, None]:
            return PlannedValue(key, unit, None, None, None, str(basis["text"]))
        value, low, high = (float(number) for number in numbers)
        if unit in KEYS[key][1].units and low <= value <= high and math.isfinite(high - low):
            return PlannedValue(key, unit, value, low, high, trust=str(basis["trust"]))
    except (KeyError, TypeError, ValueError):
        pass
    raise InputError(
        _(
            "the kept plan's value {key} is not one: accepted is a number with its unit, low and "
            "high; get it from a backup",
            key=repr(key),
        )
    )
