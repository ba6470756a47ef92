"""Job files: TOML in and out, comments kept."""

import json
import re
import tomllib
from collections.abc import Mapping, MutableMapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema
from tomlkit.items import AoT

from kerfdocket.errors import EnvironmentProblem, InputError
from kerfdocket.job.carried import job_text_in_pdf
from kerfdocket.job.models import Job
from kerfdocket.job.problems import JobError, Problem, half_letters, model_in, read_job
from kerfdocket.language import ENGLISH, _, marked, speaking
from kerfdocket.quantity import Measure
from kerfdocket.storage import reason_of, write_atomically

__all__ = [
    "file_content",
    "in_order",
    "job_schema",
    "job_text",
    "load_job",
    "load_job_text",
    "raw_from_job",
    "raw_from_text",
    "read_raw",
    "read_text",
    "save_raw",
    "toml_text",
]

_BOM = b"\xef\xbb\xbf"
_LARGEST_FILE = 1_000_000  # bytes; a job of 200 parts has some 20 000
_LARGEST_PDF = 20_000_000
_PDF = b"%PDF-"
# What Python's reader of TOML finds wrong, in its own words, so that they can be said in others.
_TOML_REASONS = (
    marked("Cannot declare {what} twice"),
    marked("Cannot mutate immutable namespace {what}"),
    marked("Cannot overwrite a value"),
    marked("Cannot redefine namespace {what}"),
    marked("Duplicate inline table key {what}"),
    marked("Escaped character is not a Unicode scalar value"),
    marked("Expected '=' after a key in a key/value pair"),
    marked("Expected ']' at the end of a table declaration"),
    marked("Expected ']]' at the end of an array declaration"),
    marked("Expected newline or end of document after a statement"),
    marked("Expected {what}"),
    marked("Found invalid character {what}"),
    marked("Illegal character {what}"),
    marked("Invalid date or datetime"),
    marked("Invalid hex value"),
    marked("Invalid initial character for a key part"),
    marked("Invalid statement"),
    marked("Invalid value"),
    marked("Unclosed array"),
    marked("Unclosed inline table"),
    marked("Unescaped '\\' in a string"),
    marked("Unterminated string"),
)


def read_text(path: Path, name: str | None = None) -> str:
    """Return a job file's text; of a sheet's PDF that of the job file which it carries.

    Args:
        path: of the job file or the PDF. [path]
        name: of the job that is meant, where a pack's PDF carries several.

    Raises:
        EnvironmentProblem: the file cannot be read.
        JobError: it is empty, binary, too large, or a PDF without a job file, or with several.
    """
    try:
        size = path.stat().st_size
        content = path.read_bytes() if path.is_file() and size <= _LARGEST_PDF else b""
    except OSError as error:
        raise EnvironmentProblem(
            _("cannot read {path}: {reason}", path=path, reason=reason_of(error))
        ) from error
    if path.is_dir():
        raise EnvironmentProblem(_("{path} is a folder; give a job file", path=path))
    origin = str(path)
    if content.startswith(_PDF):
        try:
            return job_text_in_pdf(content, name).replace("\r\n", "\n")
        except InputError as error:
            raise JobError((Problem("", str(error)),), origin) from error
    if size > _LARGEST_FILE:
        text = _(
            "not a job file: {size} bytes, at most {most} are accepted",
            size=size,
            most=_LARGEST_FILE,
        )
        raise JobError((Problem("", text),), origin)
    if not content.strip():
        text = _("the file is empty; a job file begins with 'kerfdocket-job = 1'")
        raise JobError((Problem("", text),), origin)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        problem = Problem("", _("not a text file (UTF-8); a job file is TOML text"))
        raise JobError((problem,), origin) from error
    if "\0" in text:
        raise JobError((Problem("", _("not a text file; a job file is TOML text")),), origin)
    return text.replace("\r\n", "\n")


def raw_from_text(text: str, origin: str) -> dict[str, Any]:
    """Read the keys and values of a job file's text without judging them.

    Args:
        text: of the file.
        origin: what the file is called in messages.

    Raises:
        JobError: it is not TOML; the line is named.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
        line = int(found[1]) if found else None
        what = _toml_reason(re.sub(r" \(at .*\)$", "", str(error)))
        said = _('{what}; a line reads: key = "text", or [group]', what=what)
        raise JobError((Problem("", said, line),), origin) from error
    except (RecursionError, ValueError) as error:
        # Brackets in brackets without end, or a number of thousands of digits.
        problem = Problem("", _("not a job file: a value in it is beyond all measure"))
        raise JobError((problem,), origin) from error


def _toml_reason(english: str) -> str:
    for number, message in enumerate(_TOML_REASONS):
        pattern = re.escape(message).replace(r"\{what\}", "(?P<what>.+)")
        if found := re.fullmatch(pattern, english, re.DOTALL):
            return _(_TOML_REASONS[number], **found.groupdict())
    return english


def _line_of(text: str, where: str) -> int | None:
    """Find the line that states a field; the nearest group above it if it is not stated."""
    wanted = where.split(".")
    group: list[str] = []
    counts: dict[str, int] = {}
    best: tuple[int, int] | None = None
    for number, line in enumerate(text.split("\n"), start=1):
        path: list[str]
        if header := re.match(r"\s*\[(\[)?\s*([\w.\"'-]+)\s*\]", line):
            name = header[2].replace('"', "").replace("'", "")
            group = name.split(".")
            if header[1]:
                counts[name] = counts.get(name, -1) + 1
                group.append(str(counts[name]))
            path = group
        elif key := re.match(r"\s*([\w.-]+)\s*=", line):
            path = [*group, *key[1].split(".")]
        else:
            continue
        if path == wanted[: len(path)] and (best is None or len(path) > best[0]):
            best = (len(path), number)
    return best[1] if best else None


def read_raw(path: Path) -> dict[str, Any]:
    """Read a file's keys and values without judging them.

    Raises:
        EnvironmentProblem: the file cannot be read.
        JobError: it is empty, binary, or not TOML; the line is named.
    """
    return raw_from_text(read_text(path), str(path))


def load_job(path: Path) -> Job:
    """Read a job file.

    Raises:
        EnvironmentProblem: the file cannot be read.
        JobError: it is not a job; every problem is listed with its line.
    """
    return load_job_text(read_text(path), str(path))


def load_job_text(text: str, origin: str) -> Job:
    """Read the text of a job file.

    Args:
        text: of the file.
        origin: what the file is called in messages.

    Raises:
        JobError: it is not a job; every problem is listed with its line.
    """
    raw = raw_from_text(text, origin)
    try:
        return read_job(raw)
    except JobError as error:
        problems = tuple(replace(p, line=_line_of(text, p.where)) for p in error.problems)
        raise JobError(problems, origin) from error


def raw_from_job(job: Job) -> dict[str, Any]:
    """Return what the job states, and nothing that it leaves to a default."""
    return _stated(job)


def _stated(model: BaseModel) -> dict[str, Any]:
    stated: dict[str, Any] = {}
    for name, info in type(model).model_fields.items():
        value = getattr(model, name)
        if name in model.model_fields_set and value is not None:
            stated[info.alias or name] = _plain(value)
    return stated


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return _stated(value)
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return str(value) if isinstance(value, Measure) else value


def _fill(target: MutableMapping[str, Any], raw: Mapping[str, Any]) -> None:
    """Make `target` say what `raw` says, keeping comments of what stays."""
    for key in [key for key in target if key not in raw]:
        del target[key]
    for key, value in raw.items():
        old = target.get(key)
        if isinstance(value, Mapping):
            if not isinstance(old, MutableMapping):
                target[key] = old = tomlkit.table()
            _fill(old, value)
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            if not isinstance(old, AoT) or len(old) != len(value):
                target[key] = old = tomlkit.aot()
                for _item in value:
                    old.append(tomlkit.table())
            for table, item in zip(old, value, strict=True):
                _fill(table, item)
        elif old != value or key not in target:
            target[key] = value


def toml_text(raw: Mapping[str, Any], onto: str = "") -> str:
    """Write keys and values as TOML.

    Args:
        raw: what to write.
        onto: an earlier text of the same file; its comments and order are kept.
    """
    document = tomlkit.parse(onto)
    _fill(document, raw)
    return tomlkit.dumps(document)


def job_text(job: Job) -> str:
    """Write a job as TOML; reading it gives an equal job."""
    return toml_text(raw_from_job(job))


def in_order(raw: Mapping[str, Any], model: type[BaseModel] | None = Job) -> dict[str, Any]:
    """Return keys and values in the order of the models; single values before groups.

    Args:
        raw: nested keys and values.
        model: what `raw` is meant to be; None where no model knows it.
    """
    fields = model.model_fields if model else {}
    order = [info.alias or name for name, info in fields.items()]
    by_name = {info.alias or name: info.annotation for name, info in fields.items()}

    def rank(key: str) -> tuple[bool, int]:
        value = raw[key]
        is_group = isinstance(value, dict) or (
            isinstance(value, list) and any(isinstance(item, dict) for item in value)
        )
        return is_group, order.index(key) if key in order else len(order)

    ordered: dict[str, Any] = {}
    for key in sorted(raw, key=rank):
        value = raw[key]
        inner = model_in(by_name.get(key))
        if isinstance(value, dict):
            value = in_order(value, inner)
        elif isinstance(value, list):
            value = [in_order(v, inner) if isinstance(v, dict) else v for v in value]
        ordered[key] = value
    return ordered


def file_content(raw: Mapping[str, Any], origin: str, onto: bytes = b"") -> bytes:
    """Return a file of what a form holds, also when it is not yet a job.

    Args:
        raw: what to write.
        origin: what the file is called in messages.
        onto: what the file said when it was opened; its comments, order, line ends are kept.

    Raises:
        JobError: a text holds half of a letter, which no file can.
    """
    if problems := tuple(half_letters(raw)):
        raise JobError(problems, origin)
    mark = _BOM if onto.startswith(_BOM) else b""
    line_end = "\r\n" if b"\r\n" in onto else "\n"
    text = toml_text(raw, onto.removeprefix(_BOM).decode().replace("\r\n", "\n"))
    if not onto or not _says(text, raw):
        # A new file is put in order; and keeping comments must never cost a value.
        text = toml_text(in_order(raw))
    return mark + text.replace("\n", line_end).encode()


def save_raw(raw: Mapping[str, Any], path: Path, onto: bytes = b"") -> bytes:
    """Write what a form holds, also when it is not yet a job.

    Args:
        raw: what to write.
        path: where to.
        onto: what the file said when it was opened; see `file_content`.

    Returns:
        What was written.

    Raises:
        JobError: a text holds half of a letter, which no file can; the old file is untouched.
        EnvironmentProblem: it cannot be written; the old file is untouched.
    """
    content = file_content(raw, str(path), onto)
    write_atomically(path, content)
    return content


def _says(text: str, raw: Mapping[str, Any]) -> bool:
    try:
        return tomllib.loads(text) == raw
    except tomllib.TOMLDecodeError:
        return False


class _SchemaOfFile(GenerateJsonSchema):
    """Writes defaults as a job file would state them."""

    def encode_default(self, dft: Any) -> Any:
        if isinstance(dft, BaseModel):
            return dft.model_dump(mode="json", by_alias=True, exclude_none=True)
        return str(dft) if isinstance(dft, Measure) else super().encode_default(dft)


def job_schema() -> str:
    """Return the JSON Schema (draft 2020-12) of a job file, as text; the same in every language."""
    with speaking(ENGLISH):
        schema = Job.model_json_schema(by_alias=True, schema_generator=_SchemaOfFile)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
