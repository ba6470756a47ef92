"""What a field is, read off the job's own models, so that no label is written twice."""

import datetime
import re
import types
import typing
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from pydantic import BaseModel

from kerfdocket.job import Job, field_at
from kerfdocket.job.problems import model_in
from kerfdocket.language import LANGUAGES, _, in_language
from kerfdocket.quantity import (
    GAS_VOLUME,
    METRIC,
    Kind,
    UnitSystem,
    Within,
    printed_unit,
)
from kerfdocket.window.units import in_units
from kerfdocket.window.words import inside

__all__ = [
    "FieldSpec",
    "Look",
    "is_same_choice",
    "place_of",
    "row_number",
    "shown_text_of",
    "spec_at",
    "spoken_title",
    "text_of",
    "value_of",
    "value_typed",
]

Look = Literal["line", "paragraph", "choice", "list"]
Reading = Literal["text", "whole number", "number", "date"]

_WHOLE = re.compile(r"\s*[+-]?\d{1,18}\s*")
_NUMBER = re.compile(r"\s*[+-]?\d{1,15}(\.\d{1,15})?\s*")
# 1,234 may be a thousand and more; 0,234 is not.
_DECIMAL_COMMA = re.compile(r"\s*[+-]?(\d{1,15},(\d{1,2}|\d{4,15})|0,\d{3})\s*")
# A comma between digits may be a decimal comma; anywhere else it parts two readings.
_LIST_BREAK = re.compile(r";|\n|(?<!\d),|,(?=\s)")
_PARAGRAPH_LENGTH = 500


@dataclass(frozen=True)
class FieldSpec:
    """One field of the form, described in the language that was spoken when it was asked for.

    Attributes:
        where: its path in the job.
        title, help: as the model has them.
        look: kind of widget.
        reading: what a typed text is turned into.
        choices: the accepted values of a choice, as a job file has them.
        default_text: what is assumed if nothing is stated; empty if nothing is.
        is_needed: True if the job cannot do without.
        kind: what quantity it is, or None.
        system: the units that it is shown in.
        unit: the unit of them that it is usual in, as printed, or empty.
        accepted: what may be written, in words.
    """

    where: str
    title: str
    help: str
    look: Look
    reading: Reading
    choices: tuple[Any, ...]
    default_text: str
    is_needed: bool
    kind: Kind | None
    system: UnitSystem
    unit: str
    accepted: str


def _parts_of(annotation: Any) -> Iterator[Any]:
    """Yield every type and marker inside `Annotated[X, ...]`, `X | None`, `tuple[X, ...]`."""
    yield annotation
    if typing.get_origin(annotation) is not None or isinstance(annotation, types.UnionType):
        for inner in typing.get_args(annotation):
            yield from _parts_of(inner)


def _model_in(annotation: Any) -> type[BaseModel]:
    model = model_in(annotation)
    if model is None:
        raise KeyError(f"{annotation} is not a group")
    return model


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, list):
        return ", ".join(_text(item) for item in value)
    return "" if value is None or value == () else str(value)


_OWN_NAMES = {language.code: language.name for language in LANGUAGES}


def _choice_text(value: Any, where: str, choices: tuple[Any, ...]) -> str:
    """A word to choose from as it is said; whatever is no such word as it is stated."""
    if isinstance(value, str) and value in choices:
        return _OWN_NAMES.get(value, value) if where == "language" else _(value)
    return _text(value)


def row_number(where: str, group: str) -> int | None:
    """Return the row, counted from 1, that a path names inside a list, if it names one.

    >>> row_number("parts.1.name", "parts"), row_number("parts", "parts")
    (2, None)
    """
    rest = where.removeprefix(f"{group}.").split(".")[0]
    return int(rest) + 1 if where.startswith(f"{group}.") and rest.isdigit() else None


def _usual_unit(within: Within, system: UnitSystem) -> str:
    return printed_unit(system.unit(within.usual_unit, within.kind))


def spec_at(where: str, system: UnitSystem = METRIC) -> FieldSpec:
    """Describe the field at a path such as `oxygen.cylinders.0.gauge`.

    Args:
        where: the path.
        system: the units that default, limits and example are given in.

    Raises:
        KeyError: the job has no such field.
    """
    names = [step for step in where.split(".") if not step.isdigit()]
    model: type[BaseModel] = Job
    for name in names[:-1]:
        model = _model_in(model.model_fields[name].annotation)
    info = model.model_fields[names[-1]]
    parts = [*info.metadata, *_parts_of(info.annotation)]
    within = next((part for part in parts if isinstance(part, Within)), None)
    choices = next(
        (typing.get_args(part) for part in parts if typing.get_origin(part) is Literal), ()
    )
    longest = max((getattr(part, "max_length", 0) or 0 for part in parts), default=0)
    look: Look = "line"
    reading: Reading = "text"
    if bool in parts:
        look, choices = "choice", (True, False)
    elif choices:
        look = "choice"
    elif within and any(typing.get_origin(part) is tuple for part in parts):
        look = "list"
    elif longest > _PARAGRAPH_LENGTH:
        look = "paragraph"
    elif int in parts:
        reading = "whole number"
    elif float in parts:
        reading = "number"
    elif datetime.date in parts:
        reading = "date"
    title, help_text = field_at(where)
    accepted = ""
    if within:
        accepted = _accepted(within, system)
    default = None if info.is_required() else info.get_default(call_default_factory=True)
    default_text = "" if names[:2] == ["plate", "certificate"] else _text(default)
    if within and default_text:
        default_text = in_language(in_units(default_text, within.kind, system))
    elif default_text:
        default_text = _choice_text(default, where, tuple(choices))
    return FieldSpec(
        where=where,
        title=_(title),
        help=_(help_text) if help_text else "",
        look=look,
        reading=reading,
        choices=tuple(choices),
        default_text=default_text,
        is_needed=info.is_required(),
        kind=within.kind if within else None,
        system=system,
        unit=_usual_unit(within, system) if within else "",
        accepted=accepted,
    )


def _accepted(within: Within, system: UnitSystem) -> str:
    kind, units = within.kind, within.kind.accepted
    if kind.note:
        volume = printed_unit(system.unit("m3", GAS_VOLUME))
        reference = _("{unit} at {state}", unit=volume, state=system.gas_reference)
        units = f"{units}; {reference}"
    if limits := within.range_text(system):
        return _("{kind} {limits} ({units})", kind=_(kind.name), limits=limits, units=units)
    return f"{_(kind.name)} ({units})"


def is_same_choice(value: Any, choice: Any) -> bool:
    """Return whether a value of the file is a choice: 2 and "2" are one, true and "true" two.

    >>> is_same_choice("2", 2), is_same_choice("true", True), is_same_choice(1, True)
    (True, False, False)
    """
    if isinstance(value, bool) or isinstance(choice, bool) or value is None or choice is None:
        return value is choice
    return isinstance(value, int | str) and str(value) == str(choice)


@cache
def _titles() -> Counter[str]:
    def titles(model: type[BaseModel]) -> Iterator[str]:
        for name, info in model.model_fields.items():
            inner = model_in(info.annotation)
            yield from titles(inner) if inner else [info.title or name]

    return Counter(titles(Job))


def spoken_title(where: str, groups: Mapping[str, str]) -> str:
    """Return what to call a field where its group is not seen, such as "Fuel hose length".

    Args:
        where: path of the field.
        groups: group path to what stands before a title that other fields have, too; marked for
            the catalog.

    >>> spoken_title("fuel.hose.length", {"fuel": "Fuel"})
    'Fuel hose length'
    >>> spoken_title("fuel.cylinders.1.weight_now", {"fuel": "Fuel"})
    'Fuel, row 2: Weight now'
    """
    title = field_at(where)[0]
    group = max((g for g in groups if where.startswith(f"{g}.")), key=len, default="")
    row = next((int(step) + 1 for step in where.split(".") if step.isdigit()), None)
    if row is not None and group:
        return _("{group}, row {row}: {title}", group=_(groups[group]), row=row, title=_(title))
    if row is not None:
        return _("row {row}: {title}", row=row, title=_(title))
    if _titles()[title] == 1 or not group or title.startswith(groups[group]):
        return _(title)
    line = _(groups[group])
    if groups[group].endswith(":"):
        return f"{line} {inside(_(title))}"
    return _("{line} {title}", line=line, title=inside(_(title)))


def text_of(value: Any, spec: FieldSpec) -> str:
    """Return what a value of the file says, whatever that is."""
    if spec.look == "list" and isinstance(value, list):
        return "; ".join(_text(item) for item in value)
    return _choice_text(value, spec.where, spec.choices)


def shown_text_of(value: Any, spec: FieldSpec) -> str:
    """Return what a field shows for a value of the file: quantities in the field's units."""
    if spec.look == "list" and isinstance(value, list):
        return "; ".join(_shown(item, spec) for item in value)
    return _shown(value, spec)


def _shown(value: Any, spec: FieldSpec) -> str:
    if spec.kind is None or not isinstance(value, str):
        return _choice_text(value, spec.where, spec.choices)
    return in_units(value, spec.kind, spec.system)


def value_of(text: str, spec: FieldSpec) -> Any:
    """Return what a typed text states; what cannot be read stays text, and is judged later.

    Returns:
        None for an empty field.
    """
    if not text.strip():
        return None
    if spec.look == "list":
        return [item.strip() for item in _LIST_BREAK.split(text) if item.strip()]
    if spec.reading == "whole number" and _WHOLE.fullmatch(text):
        return int(text)
    if spec.reading == "number":
        if _WHOLE.fullmatch(text):
            return int(text)
        if _NUMBER.fullmatch(text):
            return float(text)
        if _DECIMAL_COMMA.fullmatch(text):
            return float(text.replace(",", "."))
    if spec.reading == "date":
        try:
            return datetime.date.fromisoformat(text.strip()) if "-" in text else text
        except ValueError:
            return text
    return text


def value_typed(text: str, spec: FieldSpec, before: Any) -> Any:
    """Return what a typed text states, keeping as stated what is as it was shown.

    Args:
        text: what stands in the editor.
        spec: the field.
        before: what was stated when the editor was filled.

    Returns:
        As `value_of`; `before` where the text is what it was shown as. Of a list, the items before
        and behind what was changed by hand stay as they were stated.
    """
    if text == shown_text_of(before, spec):
        return before
    value = value_of(text, spec)
    if spec.look != "list" or not isinstance(value, list) or not isinstance(before, list):
        return value
    shown = [_shown(item, spec) for item in before]
    most = min(len(shown), len(value))
    head = next((n for n in range(most) if shown[n] != value[n]), most)
    most -= head
    tail = next((n for n in range(most) if shown[-1 - n] != value[-1 - n]), most)
    return [*before[:head], *value[head : len(value) - tail], *before[len(before) - tail :]]


def place_of(where: str, headings: dict[str, str]) -> str:
    """Say in words where a path is, such as "Parts, row 2: Cut length".

    Args:
        where: path of a field or a group, or a stage's name.
        headings: group path to heading as it is said; the longest that fits is used.
    """
    groups = [group for group in headings if where == group or where.startswith(f"{group}.")]
    group = max(groups, key=len, default="")
    place = headings.get(group, "")
    if group and (row := row_number(where, group)):
        place = _("{place}, row {row}", place=place, row=row)
    try:
        title = _(field_at(where)[0]) if where != group else ""
    except (KeyError, IndexError):
        title = where.removeprefix(f"{group}.") if where != group else ""
    return ": ".join(text for text in (place, title) if text)
