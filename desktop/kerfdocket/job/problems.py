"""What is wrong with a job, field by field, in words that say what would be accepted."""

import difflib
import math
import types
import typing
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from kerfdocket.errors import InputError
from kerfdocket.job.models import FORMAT_VERSION, Job
from kerfdocket.language import _, in_language, marked

__all__ = ["JobError", "Problem", "field_at", "half_letters", "model_in", "read_job"]


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
        place = _("line {number}", number=self.line) if self.line else ""
        return ": ".join(part for part in (place, self.where, self.text) if part)


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

    def __reduce__(self) -> tuple[type, tuple[object, ...]]:
        """Come out of another process as it went in."""
        return type(self), (self.problems, self.origin)


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
    """Return title and description of the field at a path such as `oxygen.hose.bore`, in English.

    Raises:
        KeyError: there is no such field.
    """
    path = tuple(int(step) if step.isdigit() else step for step in where.split("."))
    names = [step for step in path if isinstance(step, str)]
    owner = _models_along(path[:-1] if isinstance(path[-1], str) else path[:-2])[-1]
    info = owner.model_fields[names[-1]]
    return info.title or names[-1], info.description or ""


def _missing(path: tuple[int | str, ...]) -> str:
    info = _models_along(path[:-1])[-1].model_fields.get(str(path[-1]))
    if info is None or not info.title or not info.description:
        return _("must be given")
    title, description = _(info.title), _(info.description)
    return _("must be given ({title}: {description})", title=title, description=description)


def _unknown(path: tuple[int | str, ...]) -> str:
    model = _models_along(path[:-1])[-1]
    keys = [info.alias or name for name, info in model.model_fields.items()]
    near = [repr(one) for one in difflib.get_close_matches(str(path[-1]), keys, 2, _NEAR)]
    known = ", ".join(keys)
    if not near:
        return _("this key is not known (known here: {known})", known=known)
    if len(near) == 1:
        return _(
            "this key is not known; did you mean {key}? (known here: {known})",
            key=near[0],
            known=known,
        )
    return _(
        "this key is not known; did you mean {key} or {other}? (known here: {known})",
        key=near[0],
        other=near[1],
        known=known,
    )


def _choices(expected: str) -> str:
    """Say pydantic's list of choices, 'a', 'b' or 'c', in the current language."""
    first, _joint, last = expected.rpartition(" or ")
    return _("{choices} or {last_choice}", choices=first, last_choice=last) if first else last


def _text(error: Any, path: tuple[int | str, ...]) -> str:
    kind, context = error["type"], error.get("ctx", {})
    if kind == "missing":
        return _missing(path)
    if kind == "extra_forbidden":
        return _unknown(path)
    if kind == "literal_error":
        return _(
            "{given} is not a choice here; accepted: {choices}",
            given=_shown(error["input"]),
            choices=_choices(context["expected"]),
        )
    if kind in {"model_type", "model_attributes_type", "dict_type"}:
        return _("must be a group of keys, not a single value")
    if kind in {"tuple_type", "list_type"}:
        return _("must be a list, in square brackets")
    text = str(error["msg"]).removeprefix("Value error, ")
    if kind in {"measure", "measure_range", "value_error"}:
        return text
    given = error["input"]
    if kind == "string_pattern_mismatch":
        wanted = _described(path)
    elif isinstance(given, float) and math.isnan(given) and kind != "int_type":
        wanted = _(_NUMBER)
    elif kind in _UNQUOTED and _is_quoted(given):
        wanted = _(_UNQUOTED[kind])
    elif kind in _WANTED:
        limit = next((context[key] for key in _LIMITS if key in context), 0)
        wanted = _(_WANTED[kind], limit=in_language(f"{limit:.10g}"))
    else:
        wanted = f"{text[:1].lower()}{text[1:]}"
    return _("{given} cannot be used: {wanted}", given=_shown(given), wanted=wanted)


# How alike two keys must be for one to be meant by the other; "start_gauge" is "begin_gauge".
_NEAR = 0.54
_DATE = marked("write a date as 2026-11-25")
_DECIMAL = marked("must be a number, such as 12.5")
_HALF = marked("must be whole letters; this holds half of one")
_NUMBER = marked("must be a number")
_TRUTH = marked("must be true or false")
_WHOLE = marked("must be a whole number")
# pydantic's kinds of error, in the words of someone who writes a job file.
_WANTED = {
    "bool_parsing": _TRUTH,
    "bool_type": _TRUTH,
    "date_from_datetime_inexact": _DATE,
    "date_from_datetime_parsing": _DATE,
    "date_parsing": _DATE,
    "date_type": _DATE,
    "finite_number": _NUMBER,
    "float_parsing": _DECIMAL,
    "float_type": _DECIMAL,
    "greater_than_equal": marked("must be at least {limit}"),
    "int_from_float": _WHOLE,
    "int_parsing": _WHOLE,
    "int_parsing_size": marked("unable to parse input string as an integer, exceeded maximum size"),
    "int_type": _WHOLE,
    "less_than_equal": marked("must be at most {limit}"),
    "string_too_long": marked("at most {limit} letters are accepted"),
    "string_too_short": marked("must not be empty"),
    "string_type": marked("must be text, in quotes"),
    "string_unicode": _HALF,
    "too_long": marked("at most {limit} are accepted"),
}
_UNQUOTED = {
    "bool_type": marked("must be true or false, without quotes"),
    "int_type": marked("must be a whole number, without quotes"),
}
_LIMITS = ("ge", "le", "max_length")  # where pydantic says which number was passed


def _is_quoted(given: object) -> bool:
    """Tell whether it would be a number or a truth without its quotes."""
    return isinstance(given, str) and (given.isdecimal() or given in {"true", "false"})


def _described(path: tuple[int | str, ...]) -> str:
    try:
        title, description = field_at(".".join(str(step) for step in path))
    except (KeyError, IndexError):
        return _("it is not written as wanted here")
    return f"{_(title)}: {_(description)}" if description else _(title)


def _shown(value: object) -> str:
    text = str(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def half_letters(raw: object, where: str = "") -> Iterator[Problem]:
    """Yield a problem for each text that no file can hold: one with half of a surrogate pair.

    Args:
        raw: keys and values, nested, as a form holds them.
        where: path to them; empty for the job as a whole.
    """
    if isinstance(raw, str):
        if any(unicodedata.category(letter) == "Cs" for letter in raw):
            wanted = _(_HALF)
            said = _("{given} cannot be used: {wanted}", given=_shown(raw), wanted=wanted)
            yield Problem(where, said)
        return
    inner: Iterable[tuple[object, object]] = ()
    if isinstance(raw, Mapping):
        inner = raw.items()
    elif isinstance(raw, list):
        inner = enumerate(raw)
    for step, value in inner:
        yield from half_letters(value, f"{where}.{step}" if where else str(step))


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
            (
                Problem(
                    "",
                    _(
                        "not a job file: it must say 'kerfdocket-job = {version}'",
                        version=FORMAT_VERSION,
                    ),
                ),
            )
        )
    if isinstance(version, int) and not isinstance(version, bool) and version > FORMAT_VERSION:
        text = _(
            "written in format {version} by a newer program; this one knows up to {known}",
            version=version,
            known=FORMAT_VERSION,
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
