"""What is wrong with a job, field by field, in words that say what would be accepted."""

import difflib
import math
import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from kerfdocket.errors import InputError
from kerfdocket.job.models import FORMAT_VERSION, Job

__all__ = ["JobError", "Problem", "field_at", "model_in", "read_job"]


@dataclass(frozen=True)
class Problem:
    """One thing that keeps a job from being read.

    Attributes:
        where: path of the field, such as `plate.readings.2`; empty for the job as a whole.
        text: what is wrong and what would be accepted.
        line: line of the file, counted from 1, where known.
    """

    where: str
    text: str
    line: int | None = None

    def __str__(self) -> str:
        place = f"line {self.line}: " if self.line else ""
        return f"{place}{self.where}: {self.text}" if self.where else f"{place}{self.text}"


class JobError(InputError):
    """A job cannot be read; `problems` says why, a field each.

    Attributes:
        problems: at least one.
        origin: the file, as the person named it, or empty.
    """

    def __init__(self, problems: tuple[Problem, ...], origin: str = "") -> None:
        self.problems = problems
        self.origin = origin
        head = f"{origin}: " if origin else ""
        super().__init__("\n".join(f"{head}{problem}" for problem in problems))


def model_in(annotation: Any) -> type[BaseModel] | None:
    """Return the model inside `X | None`, `tuple[X, ...]`, `Annotated[X, ...]`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if typing.get_origin(annotation) is None and not isinstance(annotation, types.UnionType):
        return None
    for inner in typing.get_args(annotation):
        if model := model_in(inner):
            return model
    return None


def _models_along(path: tuple[int | str, ...]) -> list[type[BaseModel]]:
    """The models that the steps of `path` are keys of; stops where the path leaves them."""
    models: list[type[BaseModel]] = [Job]
    for step in path:
        if isinstance(step, int):
            continue
        info = models[-1].model_fields.get(step)
        model = model_in(info.annotation) if info else None
        if model is None:
            break
        models.append(model)
    return models


def field_at(where: str) -> tuple[str, str]:
    """Return title and description of the field at a path such as `oxygen.hose.bore`.

    Raises:
        KeyError: there is no such field.
    """
    path = tuple(int(step) if step.isdigit() else step for step in where.split("."))
    names = [step for step in path if isinstance(step, str)]
    owner = _models_along(path[:-1] if isinstance(path[-1], str) else path[:-2])[-1]
    info = owner.model_fields[names[-1]]
    return info.title or names[-1], info.description or ""


def _text(error: Any, path: tuple[int | str, ...]) -> str:
    kind, context = error["type"], error.get("ctx", {})
    if kind == "missing":
        name = str(path[-1])
        info = _models_along(path[:-1])[-1].model_fields.get(name)
        meaning = f" ({info.title}: {info.description})" if info and info.description else ""
        return f"must be given{meaning}"
    if kind == "extra_forbidden":
        model = _models_along(path[:-1])[-1]
        known = [info.alias or name for name, info in model.model_fields.items()]
        near = difflib.get_close_matches(str(path[-1]), known, n=2, cutoff=_NEAR)
        hint = f"; did you mean {' or '.join(repr(one) for one in near)}?" if near else ""
        return f"this key is not known{hint} (known here: {', '.join(known)})"
    if kind == "literal_error":
        return f"{_shown(error['input'])} is not a choice here; accepted: {context['expected']}"
    if kind in {"model_type", "model_attributes_type", "dict_type"}:
        return "must be a group of keys, not a single value"
    if kind in {"tuple_type", "list_type"}:
        return "must be a list, in square brackets"
    text = str(error["msg"]).removeprefix("Value error, ")
    if kind in {"measure", "measure_range", "value_error"}:
        return text
    given = error["input"]
    wanted = _WANTED.get(kind, "").format(**context) or f"{text[:1].lower()}{text[1:]}"
    if kind == "string_pattern_mismatch":
        wanted = _described(path)
    elif isinstance(given, float) and math.isnan(given) and kind != "int_type":
        wanted = _WANTED["finite_number"]
    elif isinstance(given, str) and (given.isdecimal() or given in {"true", "false"}):
        wanted = f"{wanted}, without quotes" if kind in {"int_type", "bool_type"} else wanted
    return f"{_shown(given)} cannot be used: {wanted}"


# How alike two keys must be for one to be meant by the other; "start_gauge" is "begin_gauge".
_NEAR = 0.54
_DATE = "write a date as 2026-11-25"
# pydantic's kinds of error, in the words of someone who writes a job file.
_WANTED = {
    "bool_parsing": "must be true or false",
    "bool_type": "must be true or false",
    "date_from_datetime_inexact": _DATE,
    "date_from_datetime_parsing": _DATE,
    "date_parsing": _DATE,
    "date_type": _DATE,
    "finite_number": "must be a number",
    "float_parsing": "must be a number, such as 12.5",
    "float_type": "must be a number, such as 12.5",
    "greater_than_equal": "must be at least {ge:g}",
    "int_from_float": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_type": "must be a whole number",
    "less_than_equal": "must be at most {le:.10g}",
    "string_too_long": "at most {max_length} letters are accepted",
    "string_too_short": "must not be empty",
    "string_type": "must be text, in quotes",
    "string_unicode": "must be whole letters; this holds half of one",
    "too_long": "at most {max_length} are accepted",
}


def _described(path: tuple[int | str, ...]) -> str:
    try:
        title, description = field_at(".".join(str(step) for step in path))
    except (KeyError, IndexError):
        return "it is not written as wanted here"
    return f"{title}: {description}"


def _shown(value: object) -> str:
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def read_job(raw: Mapping[str, Any]) -> Job:
    """Turn keys and values, as a file or a form holds them, into a job.

    Args:
        raw: nested keys; quantities as text with their unit.

    Raises:
        JobError: something is missing, unknown or impossible; all of it is listed at once.
    """
    version = raw.get("kerfdocket-job")
    if version is None:
        raise JobError(
            (Problem("", f"not a job file: it must say 'kerfdocket-job = {FORMAT_VERSION}'"),)
        )
    if isinstance(version, int) and not isinstance(version, bool) and version > FORMAT_VERSION:
        text = (
            f"written in format {version} by a newer program; this one knows up to {FORMAT_VERSION}"
        )
        raise JobError((Problem("kerfdocket-job", text),))
    try:
        # Messages name examples and limits in the units that the job is written in.
        return Job.model_validate(dict(raw), context={"units": raw.get("units")})
    except ValidationError as failure:
        problems = tuple(
            Problem(".".join(str(step) for step in error["loc"]), _text(error, error["loc"]))
            for error in failure.errors(include_url=False)
        )
        raise JobError(problems) from failure
