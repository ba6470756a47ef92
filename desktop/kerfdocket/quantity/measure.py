"""A quantity as a person wrote it: number and unit, kept exactly, with its SI value."""

import difflib
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from kerfdocket.errors import InputError
from kerfdocket.quantity.kinds import ABSOLUTE_PRESSURE, GAUGE_PRESSURE, Kind
from kerfdocket.quantity.systems import METRIC, UNIT_SYSTEMS, UnitSystem

__all__ = ["Measure", "Within", "parse_measure"]

_SHAPE = re.compile(r"([+\-−]?)(\d{1,12}(?:[.,]\d{1,12})?|[.,]\d{1,12})\s*(\D.*)?", re.DOTALL)
_SPELLINGS = {
    "degC": "°C",
    "C": "°C",
    "degF": "°F",
    "F": "°F",
    '"': "in",
    "inch": "in",
    "l": "L",
    "litre": "L",
    "um": "µm",
    "μm": "µm",  # the Greek letter that keyboards give
    "lbs": "lb",
    "hour": "h",
    "minutes": "min",
    "percent": "%",
    "scf": "ft3",
    "scfh": "ft3/h",
    "cfh": "ft3/h",
    "uin": "µin",
    "μin": "µin",
}
_GAUGE_MARKS = re.compile(r"\s*(\(g\)|\bgauge|(?<=bar)g|(?<=psi)g)$")
_ABSOLUTE_MARKS = re.compile(r"\s*(\(a\)|\babs|\babsolute|(?<=bar)a|(?<=psi)a)$")


@dataclass(frozen=True)
class Measure:
    """A number with its unit, exactly as written.

    Attributes:
        number: the number, trailing zeros kept.
        unit: one of `kind.units`.
        kind: what is measured.
    """

    number: Decimal
    unit: str
    kind: Kind

    @cached_property
    def si(self) -> float:
        """The value in `kind.si_unit`."""
        return self.kind.to_si(float(self.number), self.unit)

    def __str__(self) -> str:
        return f"{self.number} {self.unit}".strip()


class _Refused(Exception):
    """Why a text is not what is wanted; empty where that is plain."""


def _number(sign: str, digits: str) -> Decimal:
    if "," in digits:
        whole, _, part = digits.partition(",")
        if len(part) == 3 and whole not in {"", "0"}:
            # 1,234 is 1.234 to some and 1234 to others: a factor of a thousand is not guessed.
            raise _Refused(f"{digits!r} can be read as {whole}.{part} or {whole}{part}")
        digits = digits.replace(",", ".")
    number = Decimal(digits)
    return -number if sign and sign != "+" else number


def _unit(written: str, kind: Kind) -> str:
    unit = written.replace("³", "3").replace("²", "2").replace("^", "").strip()
    if kind is GAUGE_PRESSURE:
        if _ABSOLUTE_MARKS.search(unit):
            raise _Refused("this is an absolute pressure, a gauge reading is wanted")
        unit = _GAUGE_MARKS.sub("", unit)
    elif kind is ABSOLUTE_PRESSURE:
        if _GAUGE_MARKS.search(unit):
            raise _Refused("this is a gauge reading, an absolute pressure is wanted")
        unit = _ABSOLUTE_MARKS.sub("", unit)
    unit = _SPELLINGS.get(unit, unit)
    if unit in kind.units:
        return unit
    if not unit:
        raise _Refused("the unit is missing")
    near = [known for known in kind.units if known.lower() == unit.lower()]
    near = near or difflib.get_close_matches(unit, kind.units, n=1)
    hint = f", did you mean {near[0]!r}?" if near else ""
    shown = unit if len(unit) <= 20 else unit[:17] + "..."
    raise _Refused(f"unit {shown!r} is not known here{hint}")


def _example(kind: Kind, system: UnitSystem) -> str:
    return f"12 {system.unit(kind.first_unit, kind)}"


def parse_measure(text: str, kind: Kind, system: UnitSystem = METRIC) -> Measure:
    """Read a number with its unit.

    A comma is taken as a decimal comma unless it could be a thousands mark. Gauge pressures may
    carry `(g)` or `psig`, absolute ones `(a)` or `psia`; the wrong one is refused.

    Args:
        text: what the person wrote. [text]
        kind: what it must be. [kind]
        system: the units that the message's example uses; any unit of the kind is read. [system]

    Raises:
        InputError: not such a quantity; the message says what would be accepted.

    >>> from kerfdocket.quantity.kinds import LENGTH
    >>> parse_measure("12,50 mm", LENGTH).si
    0.0125
    """
    try:
        match = _SHAPE.fullmatch(text.strip()[:200])
        if match is None:
            raise _Refused
        sign, digits, unit = match.groups()
        return Measure(_number(sign, digits), _unit(unit or "", kind), kind)
    except _Refused as refused:
        shown = text if len(text) <= 40 else text[:37] + "..."
        reason = f": {refused}" if str(refused) else ""
        raise InputError(
            f"{shown!r} is not {kind.name}{reason}; give a number and its unit, such as "
            f"'{_example(kind, system)}' (units: {kind.accepted})"
        ) from None


class Within:
    """Pydantic marker: text (or a Measure) of one kind, between limits.

    Use as `Annotated[Measure, Within(LENGTH, above="0 mm", at_most="30 m")]`.
    """

    def __init__(
        self,
        kind: Kind,
        *,
        above: str | None = None,
        at_least: str | None = None,
        below: str | None = None,
        at_most: str | None = None,
    ) -> None:
        self.kind = kind
        self._limits = {
            "above": above,
            "at least": at_least,
            "below": below,
            "at most": at_most,
        }

    @property
    def usual_unit(self) -> str:
        """The unit of the first limit: an altitude is not written in what a plate is."""
        first = next((limit for limit in self._limits.values() if limit), None)
        return parse_measure(first, self.kind).unit if first else self.kind.first_unit

    def range_text(self, system: UnitSystem = METRIC) -> str:
        """Say the limits in words: "above 0 mm, at most 30 m"."""
        return ", ".join(
            f"{word} {self._limit_text(limit, system)}"
            for word, limit in self._limits.items()
            if limit
        )

    def _limit_text(self, limit: str, system: UnitSystem) -> str:
        measure = parse_measure(limit, self.kind)
        if system.owns(measure):
            return limit.replace("-", "−")
        if not measure.number and not measure.si:  # nothing is nothing in every unit but degrees
            return f"0 {system.unit(measure.unit, self.kind)}"
        return system.converted(measure)

    def _check(self, value: object, info: ValidationInfo) -> Measure:
        system = UNIT_SYSTEMS.get(str((info.context or {}).get("units")), METRIC)
        if isinstance(value, Measure) and value.kind == self.kind:
            measure = value
        elif isinstance(value, str):
            try:
                measure = parse_measure(value, self.kind, system)
            except InputError as error:
                raise PydanticCustomError("measure", "{text}", {"text": str(error)}) from error
        else:
            raise PydanticCustomError(
                "measure",
                "{value} is not {kind}; write it as text with its unit, such as '{example}'",
                {
                    "value": repr(value),
                    "kind": self.kind.name,
                    "example": _example(self.kind, system),
                },
            )
        for word, limit in self._limits.items():
            if limit is None:
                continue
            bound = parse_measure(limit, self.kind).si
            good = {
                "above": measure.si > bound,
                "at least": measure.si >= bound,
                "below": measure.si < bound,
                "at most": measure.si <= bound,
            }[word]
            if not good:
                raise PydanticCustomError(
                    "measure_range",
                    "{value} is out of range; accepted is {kind} {range}",
                    {
                        "value": str(measure),
                        "kind": self.kind.name,
                        "range": self.range_text(system),
                    },
                )
        return measure

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(
            self._check, serialization=core_schema.to_string_ser_schema()
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        limits = f", {text}" if (text := self.range_text()) else ""
        return {
            "type": "string",
            "description": f"{self.kind.name} with its unit ({self.kind.accepted}){limits}",
            "examples": [f"12 {self.kind.first_unit}"],
        }
