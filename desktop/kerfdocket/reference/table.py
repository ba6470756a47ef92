"""Reads tables: rows in CSV, what describes them in TOML beside it, both checked on loading."""

import csv
import hashlib
import io
import math
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _, in_language, marked
from kerfdocket.physics.gas import REFERENCE_PRESSURE_ABS_PA, STANDARD_ATMOSPHERE_PA
from kerfdocket.resources import data_dir

__all__ = [
    "ATMOSPHERE_BAR",
    "TRUST_ORDER",
    "Description",
    "Figure",
    "Range",
    "Row",
    "Source",
    "Sources",
    "Table",
    "TableError",
    "Tables",
    "Trust",
    "general_text",
    "join_sources",
    "said_source",
    "tables_digest",
    "to_mm",
    "weakest",
]

Trust = Literal[
    "published",
    "published, second-hand",
    "derived",
    "from memory",
    "common practice, no source",
]

# From the strongest to the weakest: a result that rests on several takes the weakest.
TRUST_ORDER: tuple[Trust, ...] = (
    "published",
    "published, second-hand",
    "derived",
    "from memory",
    "common practice, no source",
)

# Turns a volume printed at 15 °C and 1.013 bar into one at 15 °C and 1 bar. Taking the gas as
# ideal over this 1.3 % step errs by less than 0.03 % even for propane.
ATMOSPHERE_BAR = STANDARD_ATMOSPHERE_PA / REFERENCE_PRESSURE_ABS_PA

# Titles in sources.toml that name no publication: keys, marked for `said_source` to say.
_NO_PUBLICATION = (
    marked("derived"),
    marked("common practice, no source"),
    marked("recalled, no document opened"),
)

RowType = TypeVar("RowType", bound="Row")


class TableError(EnvironmentProblem):
    """A shipped table is damaged; the message names the file, the line and what is wrong."""


def weakest(*trusts: Trust) -> Trust:
    """Return the weakest of several trusts."""
    return max(trusts, key=TRUST_ORDER.index)


def join_sources(*sources: str) -> str:
    """Return several citations as one text, each named once."""
    return "; ".join(dict.fromkeys(source for source in sources if source))


def said_source(source: str) -> str:
    """Return a source in the current language; what no catalog has, as a title, stays as it is.

    Sources are keys: what stands in one for a publication, or beside it, is said where it is shown.

    Args:
        source: one or several, joined as `join_sources` does it; each is a message of its own.

    >>> said_source("ISO 9013:2017, Thermal cutting; derived")
    'ISO 9013:2017, Thermal cutting; derived'
    """
    return "; ".join(_(part) for part in source.split("; "))


def tables_digest() -> str:
    """Return a digest of all shipped tables: what a kept plan was made with."""
    folder = data_dir("tables")
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*.*"), key=lambda one: one.relative_to(folder).as_posix()):
        whole.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    return whole.hexdigest()


def general_text(number: float) -> str:
    """Write a number of a table with the digits that it needs.

    >>> general_text(2.50), general_text(3.0)
    ('2.5', '3')
    """
    return in_language(f"{number:g}")


def to_mm(length_m: float) -> float:
    """Return a length in millimetres, free of the rounding of 0.006 m * 1000.

    Raises:
        ValueError: the length is not finite or not above 0.
    """
    if not (math.isfinite(length_m) and length_m > 0):
        raise ValueError(f"length_m={length_m} must be finite and above 0")
    return round(length_m * 1e3, 6)


@dataclass(frozen=True, slots=True)
class Figure:
    """One number with where it comes from.

    Attributes:
        value: in the SI unit that the method returning it names.
        source: the citation, readable.
        trust: how far the number may be trusted.
        note: what a reader should know; may be empty.
    """

    value: float
    source: str
    trust: Trust
    note: str = ""


@dataclass(frozen=True, slots=True)
class Range:
    """A number between two ends, with where it comes from.

    Attributes:
        low: least, in the SI unit that the method returning it names.
        value: what to start from.
        high: most.
        source: the citation, readable.
        trust: how far the numbers may be trusted.
        note: what a reader should know; may be empty.

    Raises:
        ValueError: the three are not finite or not in rising order.
    """

    low: float
    value: float
    high: float
    source: str
    trust: Trust
    note: str = ""

    def __post_init__(self) -> None:
        finite = all(math.isfinite(number) for number in (self.low, self.value, self.high))
        if not (finite and self.low <= self.value <= self.high):
            raise ValueError(
                f"low={self.low}, value={self.value}, high={self.high} must be finite and rising"
            )

    def scaled(self, factor: float) -> "Range":
        """Return the range with all three multiplied by a factor, which must be above 0."""
        if not (math.isfinite(factor) and factor > 0):
            raise ValueError(f"factor={factor} must be finite and above 0")
        return Range(
            self.low * factor,
            self.value * factor,
            self.high * factor,
            self.source,
            self.trust,
            self.note,
        )


class Row(BaseModel):
    """What every row of every table carries.

    Attributes:
        source: the citation, readable; in the file this column holds keys of sources.toml.
        source_keys: those keys.
        trust: how far the row may be trusted.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    source: str = Field(min_length=3)
    source_keys: tuple[str, ...] = Field(min_length=1)
    trust: Trust


class Source(BaseModel):
    """One publication, or one honest absence of any."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: str = Field(min_length=3)
    publisher: str = ""
    edition: str = ""
    where: str = ""
    note: str = ""

    @property
    def citation(self) -> str:
        """The source in one line."""
        parts = (self.publisher, self.title, self.edition, self.where)
        return ", ".join(part for part in parts if part)


class Column(BaseModel):
    """What one column holds.

    Attributes:
        unit: that its numbers are in; empty for words.
        text: what it means.
        translate: True for words that sheets and screens show; the catalogs carry them.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    unit: str
    text: str
    translate: bool = False


class Description(BaseModel):
    """What a table's TOML file says of it.

    Attributes:
        title: what the table is.
        range: where it holds.
        interpolation: what may be done between rows.
        notes: decisions and warnings.
        key: columns that together name a row.
        axis: column that must rise strictly, within each value of `axis_within`.
        columns: each column but source and trust.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    title: str = Field(min_length=3)
    range: str
    interpolation: str
    notes: tuple[str, ...]
    key: tuple[str, ...] = Field(min_length=1)
    axis: str | None = None
    axis_within: tuple[str, ...] = ()
    columns: dict[str, Column]


@dataclass(frozen=True, slots=True)
class Table:
    """A description and, as loaded, how many rows it had."""

    name: str
    description: Description
    row_count: int


@dataclass(frozen=True, slots=True)
class Sources:
    """The publications by key."""

    by_key: dict[str, Source]

    def citation(self, keys: Iterable[str]) -> str:
        """Return the citations of several keys as one text."""
        return join_sources(*(self.by_key[key].citation for key in keys))


class Tables:
    """Reads tables below one folder and remembers which it read.

    Attributes:
        root: the folder.
        sources: the publications that rows may name.
        read: what was read, in that order.
    """

    def __init__(self, root: Path) -> None:
        self.root = root
        self.sources = _read_sources(root / "sources.toml")
        self.read: list[Table] = []

    def rows(self, name: str, model: type[RowType]) -> tuple[RowType, ...]:
        """Read one table.

        Args:
            name: folder and stem, such as `gases/gases`.
            model: the row's type.

        Raises:
            TableError: the file is missing or says something that cannot be right.
        """
        path = self.root / f"{name}.csv"
        described = self.root / f"{name}.toml"
        description = _read_description(described)
        records = _records(path)
        _check_columns(path, records[0][1], description, model)
        rows = tuple(_row(path, line, record, model, self.sources) for line, record in records)
        _check_keys(path, rows, description)
        _check_axis(path, rows, description)
        _check_pairs(path, rows, description)
        self.read.append(Table(name, description, len(rows)))
        return rows


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise TableError(f"{path}: cannot be read ({error}); install kerfdocket again") from error


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(_text(path))
    except tomllib.TOMLDecodeError as error:
        raise TableError(f"{path}: {error}") from error


def _read_sources(path: Path) -> Sources:
    entries = _toml(path)
    try:
        return Sources({key: Source.model_validate(entry) for key, entry in entries.items()})
    except ValidationError as error:
        raise TableError(f"{path}: {_first(error)}") from error


def _read_description(path: Path) -> Description:
    try:
        return Description.model_validate(_toml(path))
    except ValidationError as error:
        raise TableError(f"{path}: {_first(error)}") from error


def _records(path: Path) -> list[tuple[int, dict[str, str]]]:
    reader = csv.reader(io.StringIO(_text(path)), strict=True)
    try:
        lines = [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise TableError(f"{path}, line {reader.line_num}: {error}") from error
    if len(lines) < 2:
        raise TableError(f"{path}: must have a head and at least one row")
    head = lines[0][1]
    if len(set(head)) != len(head):
        raise TableError(f"{path}: a column name appears twice in {head}")
    for line, cells in lines[1:]:
        if len(cells) != len(head):
            raise TableError(f"{path}, line {line}: {len(cells)} cells under {len(head)} columns")
    return [(line, dict(zip(head, cells, strict=True))) for line, cells in lines[1:]]


def _check_columns(
    path: Path, record: dict[str, str], description: Description, model: type[Row]
) -> None:
    in_file = set(record)
    known = set(model.model_fields) - {"source_keys"}
    if in_file - known:
        raise TableError(
            f"{path}: unknown column {sorted(in_file - known)}; known: {sorted(known)}"
        )
    described = set(description.columns) | {"source", "trust"}
    if in_file != described:
        raise TableError(
            f"{path}: columns and their description differ in {sorted(in_file ^ described)}"
        )
    named = {*description.key, *description.axis_within}
    named |= {description.axis} if description.axis else set()
    if named - in_file:
        raise TableError(f"{path}: key or axis names no column: {sorted(named - in_file)}")


def _row(
    path: Path, line: int, record: dict[str, str], model: type[RowType], sources: Sources
) -> RowType:
    keys = tuple(part.strip() for part in record["source"].split(";"))
    for key in keys:
        if key not in sources.by_key:
            raise TableError(f"{path}, line {line}: source {key!r} is not in sources.toml")
    cells: dict[str, Any] = {name: cell for name, cell in record.items() if cell != ""}
    cells["source"] = sources.citation(keys)
    cells["source_keys"] = keys
    try:
        return model.model_validate(cells)
    except ValidationError as error:
        raise TableError(f"{path}, line {line}: {_first(error)}") from error


def _first(error: ValidationError) -> str:
    first = error.errors(include_url=False)[0]
    place = ".".join(str(part) for part in first["loc"])
    return f"{place}: {first['msg']} (got {first['input']!r})"


def _values(row: Row, names: Sequence[str]) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in names)


def _check_keys(path: Path, rows: Sequence[Row], description: Description) -> None:
    seen: set[tuple[Any, ...]] = set()
    for row in rows:
        key = _values(row, description.key)
        if key in seen:
            raise TableError(f"{path}: {dict(zip(description.key, key, strict=True))} twice")
        seen.add(key)


def _check_axis(path: Path, rows: Sequence[Row], description: Description) -> None:
    if description.axis is None:
        return
    last: dict[tuple[Any, ...], float] = {}
    for row in rows:
        group = _values(row, description.axis_within)
        value = getattr(row, description.axis)
        if group in last and value <= last[group]:
            raise TableError(
                f"{path}: {description.axis} must rise strictly, {value} follows {last[group]}"
            )
        last[group] = value


def _check_pairs(path: Path, rows: Sequence[Row], description: Description) -> None:
    """Hold every low, value and high, and every from and to, in rising order."""
    for name in description.columns:
        for first, others in (("_low", ("_value", "_high")), ("_from_", ("_to_", "_below_"))):
            if first not in name:
                continue
            chain = [name, *(name.replace(first, other) for other in others)]
            chain = [column for column in chain if column in description.columns]
            for row in rows:
                numbers = [number for number in _values(row, chain) if number is not None]
                if numbers != sorted(numbers):
                    raise TableError(f"{path}: {', '.join(chain)} must rise, got {numbers}")
