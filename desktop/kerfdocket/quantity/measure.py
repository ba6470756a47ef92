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
from kerfdocket.language import ENGLISH, _, in_language, marked, speaking
from kerfdocket.quantity.kinds import ABSOLUTE_PRESSURE, GAUGE_PRESSURE, LENGTH, Kind
from kerfdocket.quantity.show import printed_unit
from kerfdocket.quantity.systems import METRIC, UNIT_SYSTEMS, UnitSystem

__all__ = ["Measure", "Within", "parse_measure"]

_SHAPE = re.compile(r"([+\-−]?)(\d{1,12}(?:[.,]\d{1,12})?|[.,]\d{1,12})\s*(\D.*)?", re.DOTALL)
_SPELLINGS = {
    "degC": "°C",
    "C": "°C",
    "degF": "°F",
    "F": "°F",
    '"': "in",
    "″": "in",
    "inch": "in",
    "inches": "in",
    "'": "ft",
    "′": "ft",
    "foot": "ft",
    "feet": "ft",
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
    "ipm": "in/min",
    "uin": "µin",
    "μin": "µin",
}
# A rule divides the inch, and a drawing writes it so: 3/4, 1-1/2, 1 1/2.
_FRACTION = (
    r"(?:(?P<whole>\d{1,6})(?:\s+|\s*[-‐‑–]\s*))?(?P<above>\d{1,4})\s*/\s*(?P<below>\d{1,4})"
)
_FRACTION_SHAPE = re.compile(rf"(?P<sign>[+\-−]?)\s*{_FRACTION}\s*(?P<unit>\D.*)?", re.DOTALL)
_FEET_AND_INCHES = re.compile(
    r"(?P<sign>[+\-−]?)\s*(?P<feet>\d{1,6})\s*(?:ft|foot|feet|'|′)\s*[-‐‑–]?\s*"
    rf"(?:{_FRACTION}|(?P<inches>\d{{1,6}}(?:[.,]\d{{1,12}})?))\s*(?P<unit>\D.*)?",
    re.DOTALL,
)
_FRACTION_SIGNS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}
_HALVINGS = (2, 4, 8, 16, 32, 64)  # what a rule is divided into; each a finite decimal
_INCHES_IN_A_FOOT = 12
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

    @property
    def printed(self) -> str:
        """As a sheet prints it: in the digits that were written."""
        number = in_language(f"{self.number:f}".replace("-", "−"))
        return f"{number} {printed_unit(self.unit)}".strip()

    def __str__(self) -> str:
        return f"{self.number:f} {self.unit}".strip()


class _Refused(Exception):
    """Why a text is not what is wanted; empty where that is plain."""


def _number(sign: str, digits: str) -> Decimal:
    if "," in digits:
        whole, _comma, part = digits.partition(",")
        if len(part) == 3 and whole not in {"", "0"}:
            # 1,234 is 1.234 to some and 1234 to others: a factor of a thousand is not guessed.
            raise _Refused(
                _(
                    "{number} can be read as {decimal} or {whole}",
                    number=repr(digits),
                    decimal=f"{whole}.{part}",
                    whole=f"{whole}{part}",
                )
            )
        digits = digits.replace(",", ".")
    number = Decimal(digits)
    return -number if sign and sign != "+" else number


def _unit(written: str, kind: Kind) -> str:
    unit = written.replace("³", "3").replace("²", "2").replace("^", "").strip()
    if kind is GAUGE_PRESSURE:
        if _ABSOLUTE_MARKS.search(unit):
            raise _Refused(_("this is an absolute pressure, a gauge reading is wanted"))
        unit = _GAUGE_MARKS.sub("", unit)
    elif kind is ABSOLUTE_PRESSURE:
        if _GAUGE_MARKS.search(unit):
            raise _Refused(_("this is a gauge reading, an absolute pressure is wanted"))
        unit = _ABSOLUTE_MARKS.sub("", unit)
    unit = _SPELLINGS.get(unit, unit)
    if unit in kind.units:
        return unit
    if not unit:
        raise _Refused(_("the unit is missing"))
    near = [known for known in kind.units if known.lower() == unit.lower()]
    near = near or difflib.get_close_matches(unit, kind.units, n=1)
    shown = repr(unit if len(unit) <= 20 else unit[:17] + "...")
    if near:
        meant = repr(near[0])
        raise _Refused(
            _("unit {unit} is not known here, did you mean {meant}?", unit=shown, meant=meant)
        )
    raise _Refused(_("unit {unit} is not known here", unit=shown))


def _fraction(found: re.Match[str]) -> Decimal:
    whole, above, below = (int(found[name] or 0) for name in ("whole", "above", "below"))
    if below not in _HALVINGS:
        raise _Refused(
            _(
                "a fraction has {parts} or {last_part} below its line; write any other as a "
                "decimal",
                parts=", ".join(str(one) for one in _HALVINGS[:-1]),
                last_part=_HALVINGS[-1],
            )
        )
    if above >= below:
        # 11/2 is 1 1/2 without its space more often than it is 5 1/2.
        raise _Refused(
            _(
                "{fraction} is not less than one; write it as 1-1/2 or as a decimal",
                fraction=f"{above}/{below}",
            )
        )
    return whole + Decimal(above) / below


def _measure(text: str, kind: Kind) -> Measure:
    for sign, digits in _FRACTION_SIGNS.items():
        text = text.replace(sign, f" {digits}")
    text = text.strip()
    if kind is LENGTH and (found := _FEET_AND_INCHES.fullmatch(text)):
        unit = _unit(found["unit"] or "", kind)
        if unit != "in":
            raise _Refused(_("beside feet there are inches only"))
        inches = _number("", found["inches"]) if found["inches"] else _fraction(found)
        if inches >= _INCHES_IN_A_FOOT:
            raise _Refused(
                _("beside feet there are less than {most} inches", most=_INCHES_IN_A_FOOT)
            )
        number = int(found["feet"]) * _INCHES_IN_A_FOOT + inches
    elif found := _FRACTION_SHAPE.fullmatch(text):
        unit = _unit(found["unit"] or "", kind)
        if unit not in {"in", "ft"}:
            raise _Refused(_("a fraction is read of inches and feet only; write a decimal"))
        number = _fraction(found)
    elif found := _SHAPE.fullmatch(text):
        sign, digits, written = found.groups()
        return Measure(_number(sign, digits), _unit(written or "", kind), kind)
    else:
        raise _Refused
    return Measure(-number if found["sign"] in {"-", "−"} else number, unit, kind)


def parse_measure(text: str, kind: Kind, system: UnitSystem = METRIC, example: str = "") -> Measure:
    """Read a number with its unit.

    A comma is taken as a decimal comma unless it could be a thousands mark. Gauge pressures may
    carry `(g)` or `psig`, absolute ones `(a)` or `psia`; the wrong one is refused. Inches and feet
    may have fractions as a rule has them, and feet and inches stand together: `1-1/2 in`, `10' 6"`.

    Args:
        text: what the person wrote. [text]
        kind: what it must be. [kind]
        system: the units that the message's example uses; any unit of the kind is read. [system]
        example: what the message shows how to write; empty: 12 of the kind's first unit. [text]

    Raises:
        InputError: not such a quantity; the message says what would be accepted.

    >>> from kerfdocket.quantity.kinds import LENGTH
    >>> parse_measure("12,50 mm", LENGTH).si
    0.0125
    >>> str(parse_measure("1-1/2 in", LENGTH)), str(parse_measure("10 ft 6 in", LENGTH))
    ('1.5 in', '126 in')
    """
    try:
        return _measure(text.strip()[:200], kind)
    except _Refused as refused:
        shown = repr(text if len(text) <= 40 else text[:37] + "...")
        example = example or f"12 {system.unit(kind.first_unit, kind)}"
        said = {"given": shown, "kind": _(kind.name), "example": example, "units": kind.accepted}
        if not str(refused):
            raise InputError(
                _(
                    "{given} is not {kind}; give a number and its unit, such as '{example}' "
                    "(units: {units})",
                    **said,
                )
            ) from None
        raise InputError(
            _(
                "{given} is not {kind}: {reason}; give a number and its unit, such as '{example}' "
                "(units: {units})",
                reason=refused,
                **said,
            )
        ) from None


# 122 °F is 50 °C, but not to the last digit of a floating-point number.
_ROUNDING = 1e-9  # of the limit's SI value
# Numbers that an example may have: the first that its field accepts.
_EXAMPLES = ("12", "1.2", "90", "120", "1000", "0.12", "0.012")


_LIMIT_TEXTS = {
    "above": marked("above {limit}"),
    "at least": marked("at least {limit}"),
    "below": marked("below {limit}"),
    "at most": marked("at most {limit}"),
}


def _keeps(word: str, si: float, limit_si: float) -> bool:
    over = si - limit_si
    rounding = _ROUNDING * abs(limit_si)
    return {
        "above": over > rounding,
        "at least": over >= -rounding,
        "below": over < -rounding,
        "at most": over <= rounding,
    }[word]


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

    def example(self, system: UnitSystem = METRIC) -> str:
        """Return a value that is accepted here, in what this is usually written in."""
        unit = system.unit(self.usual_unit, self.kind)
        values = (Measure(Decimal(number), unit, self.kind) for number in _EXAMPLES)
        return str(next(value for value in values if not self._passed_limit(value)))

    def range_text(self, system: UnitSystem = METRIC) -> str:
        """Say the limits in words: "above 0 mm, at most 30 m"."""
        return ", ".join(
            _(_LIMIT_TEXTS[word], limit=self._limit_text(word, limit, system))
            for word, limit in self._limits.items()
            if limit
        )

    def _limit_text(self, word: str, limit: str, system: UnitSystem) -> str:
        measure = parse_measure(limit, self.kind)
        if system.owns(measure):
            return measure.printed
        unit = system.unit(measure.unit, self.kind)
        if not measure.number and not measure.si:  # nothing is nothing in every unit but degrees
            return f"0 {printed_unit(unit)}"
        with speaking(ENGLISH):  # a decimal comma before three digits is not read
            converted = system.converted(measure)
        shown = parse_measure(converted, self.kind)
        # What is printed must be accepted when it is typed: rounded outwards, it goes inwards.
        if not _keeps(word, shown.si, measure.si):
            step = Decimal(1).scaleb(int(shown.number.as_tuple().exponent))
            inwards = step if word in {"above", "at least"} else -step
            shown = Measure(shown.number + inwards, shown.unit, shown.kind)
        return shown.printed

    def _check(self, value: object, info: ValidationInfo) -> Measure:
        system = UNIT_SYSTEMS.get(str((info.context or {}).get("units")), METRIC)
        if isinstance(value, Measure) and value.kind == self.kind:
            measure = value
        elif isinstance(value, str):
            try:
                measure = parse_measure(value, self.kind, system, self.example(system))
            except InputError as error:
                raise PydanticCustomError("measure", "{text}", {"text": str(error)}) from error
        else:
            text = _(
                "{value} is not {kind}; write it as text with its unit, such as '{example}'",
                value=repr(value),
                kind=_(self.kind.name),
                example=self.example(system),
            )
            raise PydanticCustomError("measure", "{text}", {"text": text})
        if self._passed_limit(measure):
            text = _(
                "{value} is out of range; accepted is {kind} {range}",
                value=measure.printed,
                kind=_(self.kind.name),
                range=self.range_text(system),
            )
            raise PydanticCustomError("measure_range", "{text}", {"text": text})
        return measure

    def _passed_limit(self, measure: Measure) -> str:
        """Return the limit that a value does not keep, or empty."""
        return next(
            (
                limit
                for word, limit in self._limits.items()
                if limit and not _keeps(word, measure.si, parse_measure(limit, self.kind).si)
            ),
            "",
        )

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
            "examples": [self.example()],
        }
