"""What a cutter wrote on a sheet, or an office typed off it, read into values."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from kerfdocket.errors import InputError
from kerfdocket.job import Job
from kerfdocket.language import _
from kerfdocket.planning.actuals.fields import (
    ACTUAL_FIELDS,
    ActualField,
    place_kinds,
    place_unit,
)
from kerfdocket.planning.actuals.moments import Moment, quoted, read_moment, with_days
from kerfdocket.quantity import (
    GAS_VOLUME,
    GAUGE_PRESSURE,
    Kind,
    Measure,
    UnitSystem,
    parse_measure,
)

__all__ = ["ActualValue", "Actuals", "Change", "read_actuals"]

_NOTHING = {"", "-", "–", "—", "/"}  # what is written where there is nothing to write
_NO_CHANGE = {
    *("0", "no", "none", "no change", "not changed"),
    *("nein", "kein", "keine", "kein wechsel", "nicht gewechselt"),
}
# Without a letter, or a sign that stands for one, there is no unit.
_HAS_UNIT = re.compile(r"[^\W\d_]|[°%\"'″′]")
_OF_A_RANGE = re.compile(r"\s*(?:–|—|\.\.\.?|…|\bto\b|\bbis\b|[-‐‑])\s*")
# From the old cylinder to the next: an arrow, else one of the signs that people write for it, where
# it parts the text in one way only.
_ARROW = re.compile(r"\s*(?:[-–—=]*>|[→⇒➔])\s*")
_TAKES_OVER = re.compile(r"\s*(?:[/|–—‐‑-]|\b(?:to|bis|auf)\b)\s*", re.IGNORECASE)
_OLD = re.compile(r"\b(?:old|alt)\b\s*[:=]?\s*", re.IGNORECASE)
_NEXT = re.compile(r"\s*[,;]?\s*\b(?:next|new|neu)\b\s*[:=]?\s*", re.IGNORECASE)
# A comma within a number has no space after it.
_NEXT_CHANGE = re.compile(r"\s*(?:[;\n]|,\s|\b(?:and|und)\b|&)\s*", re.IGNORECASE)
_NUMBERED = re.compile(r"\A\s*(\d{1,3})\s*[:)]\s+")
# What stands before a deviation to either side.
_TO_EITHER_SIDE = re.compile(r"\s*(?:±|\+\s*/?\s*[-−–])\s*(?=[\d.,])")
# People write 98 Bar and 65 KG. Not read is what is of another size by its capital.
_LAST_WORD = re.compile(r"(?P<number>.*\d\s*)(?P<word>[A-Za-z]+)", re.DOTALL)
_CAPITALS_COUNT = {"mpa"}
_LONGEST_TEXT = 200
_MOST_CHANGES = 200
# A meter whose unit says at what state it counts: normal or standard volume.
_NAMES_STATE = re.compile(r"nm[3³]|scf", re.IGNORECASE)


@dataclass(frozen=True)
class Change:
    """One cylinder, or one group side by side, that takes over from another.

    Attributes:
        left: what gauge or scale showed of the old.
        then: what it showed of the next.
    """

    left: Measure
    then: Measure


@dataclass(frozen=True)
class ActualValue:
    """One value as it was written, and as it was read.

    Attributes:
        text: as written, to the letter.
        measures: a quantity, or the two ends of a range, the lower first.
        moment: a time.
        count: a whole number; for changes how many there were.
        changes: each of them; empty where only their number is known.
        problem: why it could not be read and what would be accepted; empty where it could.
    """

    text: str
    measures: tuple[Measure, ...] = ()
    moment: Moment | None = None
    count: int | None = None
    changes: tuple[Change, ...] = ()
    problem: str = ""

    @property
    def is_stated(self) -> bool:
        """False for an empty place, and for a dash in it."""
        return self.text.strip() not in _NOTHING

    @property
    def is_range(self) -> bool:
        """True where two ends are written."""
        return len(self.measures) > 1

    @property
    def kind(self) -> Kind | None:
        """What was measured, None where no quantity was read."""
        return self.measures[0].kind if self.measures else None

    @property
    def value_si(self) -> float | None:
        """A single quantity in `kind.si_unit`, None where none, or a range, was read."""
        return self.measures[0].si if len(self.measures) == 1 else None

    @property
    def low_si(self) -> float | None:
        """The lower end, or the single quantity, in `kind.si_unit`."""
        return self.measures[0].si if self.measures else None

    @property
    def high_si(self) -> float | None:
        """The upper end, or the single quantity, in `kind.si_unit`."""
        return self.measures[-1].si if self.measures else None

    @property
    def names_state(self) -> bool:
        """True for a gas volume whose unit says at what state it is meant: Nm3, scf."""
        return bool(_NAMES_STATE.search(self.text))

    @property
    def is_space(self) -> bool:
        """True for what a meter shows as a volume of space, at no state that is known."""
        return not self.names_state and any(one.kind is GAS_VOLUME for one in self.measures)

    @property
    def plain(self) -> str:
        """What was read, so that it is read as the same again; as written where it was not."""
        if self.measures:
            return " – ".join(str(one) for one in self.measures)
        if self.moment is not None:
            return self.moment.plain
        if self.changes:
            return "; ".join(f"{one.left} > {one.then}" for one in self.changes)
        return self.text if self.count is None else str(self.count)

    def shown(self, units: UnitSystem) -> str:
        """What was read, for a person; as written where it could not be read."""
        if self.measures:
            if self.is_space:
                # Converted, it would be taken for gas at a state.
                return " – ".join(one.printed for one in self.measures)
            return " – ".join(units.stated(one) for one in self.measures)
        return self.text.strip() if self.moment is None else self.moment.text


@dataclass(frozen=True)
class Actuals:
    """All that is known of how a job was done.

    Attributes:
        values: by the names of `ACTUAL_FIELDS`, all of them; empty where nothing is written.
        others: all other texts by their name, the shop's own fields among them, as they came.
    """

    values: Mapping[str, ActualValue] = field(hash=False)
    others: Mapping[str, str] = field(hash=False)

    def __getitem__(self, name: str) -> ActualValue:
        """Return a value by its name; KeyError if no actual value has it."""
        return self.values[name]

    @property
    def problems(self) -> dict[str, str]:
        """What could not be read: name and reason, in the order of the fields."""
        return {name: one.problem for name, one in self.values.items() if one.problem}


def read_actuals(job: Job, texts: Mapping[str, str], day: date | None = None) -> Actuals:
    """Read what was written in the places of a sheet.

    Nothing is guessed: a bare number takes the unit that stands beside its place, and is not read
    where none does. What cannot be read keeps its text and says what would be accepted.

    Args:
        job: the job as it was issued; it says what its sheet asks for, and in which units.
        texts: name and text; names that are not known are kept as they are.
        day: that the work was done on, where that is known; else it is looked for in the texts,
            then in the job.

    Returns:
        Every value of `ACTUAL_FIELDS`.
    """
    near = day or job.about.date
    values = {
        name: _read(job, name, one, texts.get(name, ""), near)
        for name, one in ACTUAL_FIELDS.items()
    }
    begun, ended = values["begun"].moment, values["ended"].moment
    if begun is not None and ended is not None:
        signed = values["cutter_time"].moment
        signed_on = signed.day if signed is not None else None
        begun, ended = with_days(begun, ended, day or signed_on or job.about.date)
        values["begun"] = replace(values["begun"], moment=begun)
        values["ended"] = replace(values["ended"], moment=ended)
    others = {name: text for name, text in texts.items() if name not in ACTUAL_FIELDS}
    return Actuals(values, others)


def _read(job: Job, name: str, one: ActualField, text: str, near: date | None) -> ActualValue:
    value = ActualValue(text)
    if not value.is_stated or one.form == "text":
        return value
    try:
        if len(text) > _LONGEST_TEXT:
            raise InputError(
                _(
                    "this is longer than {count} letters; write only the value here",
                    count=_LONGEST_TEXT,
                )
            )
        if one.form == "time":
            return replace(value, moment=_moment(job, name, text, near))
        if one.form == "count":
            return replace(value, count=_count(text))
        place = _Place(job, place_kinds(job, name), place_unit(job, name), one.may_be_negative)
        if one.form == "changes":
            count, changes = _changes(place, text)
            return replace(value, count=count, changes=changes)
        return replace(value, measures=place.read(text, allows_range=one.form == "range"))
    except InputError as error:
        return replace(value, problem=str(error))


def _moment(job: Job, name: str, text: str, near: date | None) -> Moment:
    order: Literal["day first", "month first"] = (
        "month first" if job.region == "USA" else "day first"
    )
    moment = read_moment(text, near, order)
    if moment.second is None and name in {"begun", "ended"}:
        raise InputError(
            _(
                "{given} has no time of day; write hours and minutes, too, such as 7:30",
                given=quoted(text),
            )
        )
    return moment


def _count(text: str) -> int:
    written = text.strip()
    if re.fullmatch(r"[0-9]{1,3}", written) and int(written) <= _MOST_CHANGES:
        return int(written)
    raise InputError(
        _(
            "{given} is not a number of cylinders; write a whole number up to {most}",
            given=quoted(text),
            most=_MOST_CHANGES,
        )
    )


@dataclass(frozen=True)
class _Place:
    """What a place on the sheet, or in the office's form, takes.

    Attributes:
        kinds: what may be written in it, what it asks for first.
        unit: that a bare number takes; empty where none stands beside it.
    """

    job: Job
    kinds: tuple[Kind, ...]
    unit: str
    may_be_negative: bool = False

    def read(self, text: str, *, allows_range: bool = False) -> tuple[Measure, ...]:
        """Read a quantity, or where that is allowed a range of it.

        Raises:
            InputError: the text is neither.
        """
        if self.may_be_negative and (sign := _TO_EITHER_SIDE.match(text)):
            most = self._one(text[sign.end() :])
            return (replace(most, number=-most.number), most)
        try:
            return (self._one(text),)
        except InputError:
            ranges = list(self._ranges(text)) if allows_range else []
            # Hyphens part the ends of a range and the parts of a mixed number.
            if len(ranges) != 1:
                raise
            return ranges[0]

    def _ranges(self, text: str) -> list[tuple[Measure, ...]]:
        found = []
        for sign in _OF_A_RANGE.finditer(text.strip()):
            low, high = sign.string[: sign.start()], sign.string[sign.end() :]
            if low and not _HAS_UNIT.search(low) and (unit := _HAS_UNIT.search(high)):
                low = f"{low} {high[unit.start() :]}"
            try:
                ends = self._one(low), self._one(high)
            except InputError:
                continue
            if ends[0].kind is ends[1].kind:
                found.append(tuple(sorted(ends, key=lambda end: end.si)))
        return found

    def _one(self, text: str) -> Measure:
        system = self.job.unit_system
        written = text.strip()
        if not _HAS_UNIT.search(written):
            if self.unit:
                written = f"{written} {self.unit}"
            elif re.search(r"\d", written):
                raise InputError(self._no_unit(text))
        written = self._small(written)
        problem: InputError | None = None
        for kind in self.kinds:
            try:
                measure = parse_measure(written, kind, system)
            except InputError as error:
                problem = problem or error
                continue
            if measure.number < 0 and not self.may_be_negative:
                raise InputError(
                    _(
                        "{given} is below zero; accepted is {kind} of zero or more",
                        given=quoted(text),
                        kind=_(kind.name),
                    )
                )
            return measure
        raise InputError(self._refusal(written, str(problem)))

    def _small(self, written: str) -> str:
        """Return the same with its unit in the letters that it has, where only these differ."""
        found = _LAST_WORD.fullmatch(written)
        if found is None or found["word"].lower() in _CAPITALS_COUNT:
            return written
        units = {unit for kind in self.kinds for unit in kind.units}
        same = [unit for unit in units if unit.lower() == found["word"].lower()]
        return f"{found['number']}{same[0]}" if len(same) == 1 else written

    def _example(self, kind: Kind) -> str:
        return f"12 {self.job.unit_system.unit(kind.first_unit, kind)}"

    def _no_unit(self, text: str) -> str:
        return _(
            "{given} has no unit, and none stands beside this place on the sheet; write it with "
            "its unit, such as '{example}' (units: {units})",
            given=quoted(text),
            example=self._example(self.kinds[0]),
            units=", ".join(dict.fromkeys(unit for kind in self.kinds for unit in kind.units)),
        )

    def _refusal(self, written: str, problem: str) -> str:
        if GAUGE_PRESSURE not in self.kinds and self._is_gauge(written):
            return _(
                "{given} is a pressure: it does not show how much of a dissolved or liquefied gas "
                "is left; write the weight, such as '{example}'",
                given=quoted(written),
                example=self._example(self.kinds[0]),
            )
        if len(self.kinds) == 1:
            return problem
        other = self.kinds[1]
        return _(
            "{problem}; {kind} is accepted, too, such as '{example}' (units: {units})",
            problem=problem,
            kind=_(other.name),
            example=self._example(other),
            units=other.accepted,
        )

    @staticmethod
    def _is_gauge(written: str) -> bool:
        try:
            parse_measure(written, GAUGE_PRESSURE)
        except InputError:
            return False
        return True


def _changes(place: _Place, text: str) -> tuple[int, tuple[Change, ...]]:
    """Read how many cylinders were changed, and each change where it is told.

    Raises:
        InputError: the text is neither a number nor changes.
    """
    written = text.strip()
    if written.lower() in _NO_CHANGE:
        return 0, ()
    if re.fullmatch(r"[0-9]{1,3}", written):
        return _count(written), ()
    pairs = [
        _pair(place, text, _NUMBERED.sub(_without(number), one, count=1))
        for number, one in enumerate(_one_by_one(written), start=1)
    ]
    ends = [end for pair in pairs for end in pair]
    foreign = [one.unit for end, one in ends if _HAS_UNIT.search(end) and one.unit != place.unit]
    if foreign and not all(_HAS_UNIT.search(end) for end, _measure in ends):
        raise InputError(
            _(
                "{given} has {other} beside a number without a unit, and {unit} stands on the "
                "sheet; write each with its unit",
                given=quoted(text),
                other=foreign[0],
                unit=place.unit,
            )
        )
    return len(pairs), tuple(Change(left, then) for (_left, left), (_then, then) in pairs)


# A change as it was written and as it was read: the old, the next.
_End = tuple[str, Measure]


def _one_by_one(written: str) -> list[str]:
    """Return each change by itself, with an arrow where words say which number is which."""
    with_arrows = _OLD.sub("", _NEXT.sub(" > ", written))
    return _NEXT_CHANGE.split(with_arrows.strip("; \n"))


def _without(number: int) -> Callable[[re.Match[str]], str]:
    """Return what takes the number of a change away, where it is that of its place in the row."""
    return lambda found: "" if int(found[1]) == number else found[0]


def _pair(place: _Place, text: str, one: str) -> tuple[_End, _End]:
    """Read one change.

    Raises:
        InputError: it is none, or could be read in more than one way.
    """
    signs = list(_ARROW.finditer(one)) or list(_TAKES_OVER.finditer(one))
    found: list[tuple[_End, _End]] = []
    problem: InputError | None = None
    for sign in signs:
        left, then = one[: sign.start()].strip(), one[sign.end() :].strip()
        if not left or not then:
            continue
        if not _HAS_UNIT.search(left) and (found_unit := _HAS_UNIT.search(then)):
            left = f"{left} {then[found_unit.start() :]}"
        try:
            ((old,), (new,)) = place.read(left), place.read(then)
        except InputError as error:
            problem = problem or error
        else:
            found.append(((left, old), (then, new)))
    if len(found) == 1:
        return found[0]
    if len(signs) == 1 and problem is not None:
        raise problem
    unit = place.unit or place.kinds[0].first_unit
    raise InputError(
        _(
            "{given} is not a change of cylinders; write 0 for none, else for each change "
            "what the old and what the next one showed, such as '{example}'",
            given=quoted(text),
            example=f"8 {unit} > 150 {unit}; 10 {unit} > 150 {unit}",
        )
    )
