"""Grades: what they are, what they may contain, whether oxygen cuts them."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Literal

from pydantic import Field, field_validator, model_validator

from kerfdocket.language import _, marked
from kerfdocket.physics.steel import Composition
from kerfdocket.reference.table import (
    Row,
    TableError,
    Tables,
    Trust,
    general_text,
    join_sources,
    to_mm,
    weakest,
)

__all__ = ["CuttabilityLimit", "Family", "Grade", "HardnessLimit", "Steels", "read_steels"]

Family = Literal[
    "unalloyed",
    "fine grain",
    "quenched and tempered",
    "heat-treatable",
    "wear-resistant",
    "stainless",
    "cast iron",
    "non-ferrous",
]

# Keys, said where they are shown.
_ELEMENTS = (
    marked("carbon"),
    marked("silicon"),
    marked("manganese"),
    marked("phosphorus"),
    marked("sulphur"),
    marked("chromium"),
    marked("nickel"),
    marked("molybdenum"),
    marked("vanadium"),
    marked("niobium"),
    marked("titanium"),
    marked("copper"),
    marked("boron"),
    marked("nitrogen"),
)


class _GradeRow(Row):
    grade: str
    standard: str
    family: Family
    cuttable: bool
    aliases: tuple[str, ...] = ()
    reason: str = ""

    @field_validator("aliases", mode="before")
    @classmethod
    def _split(cls, value: object) -> object:
        return tuple(value.split(";")) if isinstance(value, str) else value

    @model_validator(mode="after")
    def _reason_belongs(self) -> "_GradeRow":
        if self.cuttable == bool(self.reason):
            raise ValueError("a grade that cannot be cut needs a reason, and only such a grade")
        return self


class _CompositionRow(Row):
    grade: str
    thickness_to_mm: float | None = Field(default=None, gt=0)
    thickness_to_in: float | None = Field(default=None, gt=0)
    carbon_percent: float | None = Field(default=None, ge=0, le=5)
    silicon_percent: float | None = Field(default=None, ge=0, le=5)
    manganese_percent: float | None = Field(default=None, ge=0, le=15)
    phosphorus_percent: float | None = Field(default=None, ge=0, le=0.2)
    sulphur_percent: float | None = Field(default=None, ge=0, le=0.2)
    chromium_percent: float | None = Field(default=None, ge=0, le=30)
    nickel_percent: float | None = Field(default=None, ge=0, le=30)
    molybdenum_percent: float | None = Field(default=None, ge=0, le=5)
    vanadium_percent: float | None = Field(default=None, ge=0, le=2)
    niobium_percent: float | None = Field(default=None, ge=0, le=2)
    titanium_percent: float | None = Field(default=None, ge=0, le=2)
    copper_percent: float | None = Field(default=None, ge=0, le=5)
    boron_percent: float | None = Field(default=None, ge=0, le=0.1)
    nitrogen_percent: float | None = Field(default=None, ge=0, le=0.1)

    @property
    def limit_mm(self) -> float:
        """Thickest plate of the row, infinite where there is no limit."""
        if self.thickness_to_in is not None:
            return round(self.thickness_to_in * 25.4, 6)  # as to_mm rounds
        return float("inf") if self.thickness_to_mm is None else self.thickness_to_mm


class _CarbonEquivalentRow(Row):
    grade: str
    thickness_to_mm: float | None = Field(default=None, gt=0)
    cev_percent: float = Field(gt=0, lt=2)

    @property
    def limit_mm(self) -> float:
        """Thickest plate of the row, infinite where there is no limit."""
        return float("inf") if self.thickness_to_mm is None else self.thickness_to_mm


class CuttabilityLimit(Row):
    """What an element does to cutting above or below a content."""

    element: str
    kind: Literal[
        "no effect up to",
        "no difficulty up to",
        "acceptable up to",
        "preheat above",
        "hard above",
        "very hard above",
        "impossible above",
    ]
    limit_percent: float = Field(gt=0)
    meaning: str


class HardnessLimit(Row):
    """Highest hardness of a free edge where hardness is specified."""

    product_standard: str
    grades: str
    hardness_max_hv10: float = Field(gt=0)


@dataclass(frozen=True, slots=True)
class Grade:
    """One grade at one thickness.

    Attributes:
        name: designation.
        standard: where it is standardised.
        family: kind of material.
        cuttable: whether the flame and oxygen can cut it.
        reason: why not; empty where it can.
        maximum_percent: highest content by element; an element without a limit is missing.
        composition_source: of the contents; empty where there are none.
        composition_trust: of the contents; None where there are none.
        cev_max_percent: highest CEV (IIW) at this thickness; None where none was found.
        cev_source: of the CEV; empty where there is none.
        cev_trust: of the CEV; None where there is none.
        note: what a reader should know.
        source: all citations.
        trust: the weakest of composition and CEV; where there are neither, of the family.
    """

    name: str
    standard: str
    family: Family
    cuttable: bool
    reason: str
    maximum_percent: Mapping[str, float]
    composition_source: str
    composition_trust: Trust | None
    cev_max_percent: float | None
    cev_source: str
    cev_trust: Trust | None
    note: str
    source: str
    trust: Trust

    @property
    def composition(self) -> Composition | None:
        """The upper limits as the formulas take them, nothing counted for what has no limit.

        None where no composition was found.
        """
        if not self.maximum_percent:
            return None
        known = {part.name for part in fields(Composition)}
        limits = self.maximum_percent
        return Composition(**{name: limits[name] for name in limits if name in known})


def _plain(text: str) -> str:
    return re.sub(r"[\s_\-]+", "", text).casefold()


@dataclass(frozen=True, slots=True)
class Steels:
    """All grades, and the limits by element and product."""

    grades: tuple[_GradeRow, ...]
    compositions: tuple[_CompositionRow, ...]
    carbon_equivalents: tuple[_CarbonEquivalentRow, ...]
    limits: tuple[CuttabilityLimit, ...]
    hardness_limits: tuple[HardnessLimit, ...]
    _by_name: Mapping[str, _GradeRow] = field(default_factory=dict, repr=False)

    def grade(self, text: str, thickness_m: float) -> Grade | None:
        """Return the grade of a designation at a thickness [m]; None where it is not known."""
        thickness = to_mm(thickness_m)
        row = self._by_name.get(_plain(text))
        if row is None:
            return None
        contents = [part for part in self.compositions if part.grade == row.grade]
        content = next((part for part in contents if thickness <= part.limit_mm), None)
        equivalents = [part for part in self.carbon_equivalents if part.grade == row.grade]
        cev = next((part for part in equivalents if thickness <= part.limit_mm), None)
        notes = []
        if contents and content is None:
            notes.append(
                _(
                    "the composition table of {grade} ends below {thickness} mm",
                    grade=row.grade,
                    thickness=general_text(thickness),
                )
            )
        if equivalents and cev is None:
            notes.append(
                _(
                    "the CEV table of {grade} ends below {thickness} mm",
                    grade=row.grade,
                    thickness=general_text(thickness),
                )
            )
        if content is not None:
            notes.append(_("contents are upper limits; the mill certificate comes first"))
        parts: list[Row] = [part for part in (content, cev) if part is not None]
        parts = parts or [row]
        return Grade(
            name=row.grade,
            standard=row.standard,
            family=row.family,
            cuttable=row.cuttable,
            reason=row.reason,
            maximum_percent=_maximum(content),
            composition_source=content.source if content else "",
            composition_trust=content.trust if content else None,
            cev_max_percent=cev.cev_percent if cev else None,
            cev_source=cev.source if cev else "",
            cev_trust=cev.trust if cev else None,
            note="; ".join(notes),
            source=join_sources(*(part.source for part in parts)),
            trust=weakest(*(part.trust for part in parts)),
        )

    def grade_names(self) -> tuple[str, ...]:
        """Return the designations, cuttable ones first, in the order of the table."""
        ordered = sorted(self.grades, key=lambda row: not row.cuttable)
        return tuple(row.grade for row in ordered)


def _maximum(row: _CompositionRow | None) -> dict[str, float]:
    if row is None:
        return {}
    contents = {element: getattr(row, f"{element}_percent") for element in _ELEMENTS}
    return {element: value for element, value in contents.items() if value is not None}


def read_steels(tables: Tables) -> Steels:
    """Read the steel tables."""
    grades = tables.rows("steels/grades", _GradeRow)
    compositions = tables.rows("steels/compositions", _CompositionRow)
    equivalents = tables.rows("steels/carbon_equivalents", _CarbonEquivalentRow)
    by_name: dict[str, _GradeRow] = {}
    for row in grades:
        for name in (row.grade, *row.aliases):
            if by_name.setdefault(_plain(name), row) is not row:
                raise TableError(f"steels/grades: the name {name!r} stands for two grades")
    known = {row.grade for row in grades}
    for name in {part.grade for part in compositions} | {part.grade for part in equivalents}:
        if name not in known:
            raise TableError(f"steels: {name!r} is not in steels/grades")
        for limits in (
            [part.limit_mm for part in compositions if part.grade == name],
            [part.limit_mm for part in equivalents if part.grade == name],
        ):
            if limits != sorted(set(limits)):
                raise TableError(f"steels: the thicknesses of {name} must rise, got {limits}")
    return Steels(
        grades=grades,
        compositions=compositions,
        carbon_equivalents=equivalents,
        limits=tables.rows("steels/limits", CuttabilityLimit),
        hardness_limits=tables.rows("steels/hardness_limits", HardnessLimit),
        _by_name=by_name,
    )
