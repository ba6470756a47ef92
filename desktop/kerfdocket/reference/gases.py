"""Gases: properties, marks, explosive range and heating flames."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, get_args

from pydantic import Field

from kerfdocket.language import _, marked
from kerfdocket.physics.gas import Gas
from kerfdocket.reference.table import (
    Figure,
    Range,
    Row,
    TableError,
    Tables,
    Trust,
    join_sources,
    weakest,
)

__all__ = [
    "Flame",
    "FlameEquilibriumRow",
    "FlameKind",
    "FlameKindName",
    "GasRow",
    "Gases",
    "HoseColour",
    "Region",
    "read_gases",
]

FlameKindName = Literal["reducing", "neutral", "oxidising"]
Region = Literal["Europe", "USA"]

_WITH_AIR = {
    "cools": marked(
        "adiabatic, at equilibrium with dissociation, gases cold, without air: an upper bound"
    ),
    "heats": marked(
        "adiabatic, at equilibrium with dissociation, gases cold, without air; no upper bound: "
        "with so little oxygen, air makes it hotter"
    ),
}
_COLOUR_RULES: dict[str, str] = {"Europe": "ISO 3821", "USA": "US"}


class _PropertyRow(Row):
    gas: str
    molar_mass_g_mol: float = Field(gt=0)
    heat_capacity_ratio: float = Field(gt=1, lt=2)
    compressibility_slope_per_bar: float = Field(ge=0, lt=0.1)
    density_kg_m3: float = Field(gt=0)
    carbon: int = Field(ge=0)
    hydrogen: int = Field(ge=0)
    lower_heating_value_mj_kg: float = Field(ge=0)


class _ViscosityRow(Row):
    gas: str
    viscosity_pa_s: float = Field(gt=0, lt=1e-3)


class FlammabilityRow(Row):
    """Explosive range in air and density relative to air."""

    gas: str
    relative_density: float = Field(gt=0)
    lower_limit_percent: float = Field(gt=0, le=100)
    upper_limit_percent: float = Field(gt=0, le=100)


class _MarkingRow(Row):
    gas: str
    gas_letter: str = Field(min_length=1, max_length=1)


class _FlameRow(Row):
    fuel: str
    neutral_ratio: float = Field(gt=0)
    stoichiometric_ratio: float = Field(gt=0)


class _FlameKindRow(Row):
    fuel: str
    kind: FlameKindName
    ratio_low: float = Field(gt=0)
    ratio_value: float = Field(gt=0)
    ratio_high: float = Field(gt=0)
    look: str = Field(min_length=1)
    effect: str = Field(min_length=1)


class _FlameTemperatureRow(Row):
    fuel: str
    temperature_c: float = Field(gt=1000, lt=5000)


class FlameEquilibriumRow(Row):
    """Adiabatic equilibrium temperature at one ratio of oxygen to fuel."""

    fuel: str
    ratio: float = Field(gt=0)
    temperature_k: float = Field(gt=500, lt=5000)
    air: Literal["cools", "heats"]


class HoseColourRow(Row):
    """Colour of a gas's hose under one rule."""

    rule: str
    gas: str
    colour: str


class ThreadRow(Row):
    """Hand of a gas's connection."""

    gas: str
    thread_hand: str = Field(pattern="^(left|right)$")
    nut: str


@dataclass(frozen=True, slots=True)
class HoseColour:
    """Colour of a gas's hose in one region.

    Attributes:
        text: the colour.
        source: the citation, readable.
        trust: how far it may be trusted.
    """

    text: str
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class GasRow:
    """One gas with all that the tables know of it.

    Attributes:
        name: as the job file writes it.
        properties: for the formulas.
        letter: gas code letter of ISO 10225.
        hose_colour: by ISO 3821.
        hose_colours: each rule's row.
        thread_hand: `left` or `right`.
        nut: how the nut looks.
        flammability: explosive range; None for oxygen.
        source: citations of all parts.
        trust: the weakest of all parts.
        properties_source: citation of the thermodynamic properties alone.
        properties_trust: of the thermodynamic properties alone, viscosity left aside.
    """

    name: str
    properties: Gas
    letter: str
    hose_colour: str
    hose_colours: tuple[HoseColourRow, ...]
    thread_hand: str
    nut: str
    flammability: FlammabilityRow | None
    source: str
    trust: Trust
    properties_source: str
    properties_trust: Trust

    @property
    def heavier_than_air(self) -> bool | None:
        """Whether an escape sinks; None where no relative density is known."""
        return None if self.flammability is None else self.flammability.relative_density > 1.0

    def colour_in(self, region: Region) -> HoseColour:
        """Return the colour of this gas's hose under the rule of a region."""
        if region not in _COLOUR_RULES:
            raise ValueError(f"region={region!r} must be one of {sorted(_COLOUR_RULES)}")
        row = next(row for row in self.hose_colours if row.rule == _COLOUR_RULES[region])
        return HoseColour(row.colour, row.source, row.trust)


@dataclass(frozen=True, slots=True)
class FlameKind:
    """One way to set a heating flame.

    Attributes:
        name: `reducing`, `neutral` or `oxidising`.
        ratio: oxygen to fuel by volume. [m3/m3]
        look: what the cutter sees.
        effect: what the flame does.
    """

    name: FlameKindName
    ratio: Range
    look: str
    effect: str


@dataclass(frozen=True, slots=True)
class Flame:
    """The heating flame of one fuel; ratios are oxygen to fuel by volume.

    Attributes:
        fuel: the fuel gas.
        workshop: usual setting, that of the neutral kind. [m3/m3]
        kinds: by name, from the least oxygen to the most.
        neutral: by the reaction to CO and H2. [mol/mol]
        stoichiometric: by the reaction to CO2 and H2O. [mol/mol]
        temperature: with oxygen. [K]
        source: of the workshop setting.
        trust: of the workshop setting.
    """

    fuel: str
    workshop: Range
    kinds: Mapping[FlameKindName, FlameKind]
    neutral: Figure
    stoichiometric: Figure
    temperature: Figure
    source: str
    trust: Trust


@dataclass(frozen=True, slots=True)
class Gases:
    """All gases and flames by name."""

    gases: Mapping[str, GasRow]
    flames: Mapping[str, Flame]
    equilibria: Mapping[str, tuple[FlameEquilibriumRow, ...]]

    def flame_temperature(self, fuel: str, ratio: float) -> Figure | None:
        """Return the adiabatic equilibrium temperature [K]; None outside the table."""
        if fuel not in self.equilibria:
            raise ValueError(f"fuel={fuel!r} must be one of {sorted(self.equilibria)}")
        place = round(ratio, 9)  # so that the ends stay in after a conversion
        for left, right in pairwise(self.equilibria[fuel]):
            if left.ratio <= place <= right.ratio:
                share = (place - left.ratio) / (right.ratio - left.ratio)
                kelvin = left.temperature_k + share * (right.temperature_k - left.temperature_k)
                # Where air begins to cool is somewhere between two rows: the richer one speaks.
                row = right if place == right.ratio else left
                return Figure(
                    kelvin,
                    join_sources(left.source, right.source),
                    weakest(left.trust, right.trust),
                    _(_WITH_AIR[row.air]),
                )
        return None


def read_gases(tables: Tables) -> Gases:
    """Read the gas tables."""
    viscosities = {row.gas: row for row in tables.rows("gases/viscosity", _ViscosityRow)}
    ranges = {row.gas: row for row in tables.rows("gases/flammability", FlammabilityRow)}
    letters = {row.gas: row for row in tables.rows("gases/marking", _MarkingRow)}
    threads = {row.gas: row for row in tables.rows("hoses/threads", ThreadRow)}
    colours = tables.rows("hoses/colours", HoseColourRow)
    gases = {}
    for row in tables.rows("gases/gases", _PropertyRow):
        viscosity, letter, thread = viscosities[row.gas], letters[row.gas], threads[row.gas]
        own = tuple(colour for colour in colours if colour.gas == row.gas)
        iso = next(colour for colour in own if colour.rule == "ISO 3821")
        limits = ranges.get(row.gas)
        parts: list[Row] = [row, viscosity, letter, thread, iso]
        parts += [limits] if limits else []
        gases[row.gas] = GasRow(
            name=row.gas,
            properties=Gas(
                name=row.gas,
                molar_mass_kg_mol=row.molar_mass_g_mol / 1e3,
                heat_capacity_ratio=row.heat_capacity_ratio,
                compressibility_slope_per_pa=row.compressibility_slope_per_bar / 1e5,
                density_reference_kg_m3=row.density_kg_m3,
                viscosity_pa_s=viscosity.viscosity_pa_s,
                carbon=row.carbon,
                hydrogen=row.hydrogen,
                lower_heating_value_j_kg=row.lower_heating_value_mj_kg * 1e6,
            ),
            letter=letter.gas_letter,
            hose_colour=iso.colour,
            hose_colours=own,
            thread_hand=thread.thread_hand,
            nut=thread.nut,
            flammability=limits,
            source=join_sources(*(part.source for part in parts)),
            trust=weakest(*(part.trust for part in parts)),
            properties_source=row.source,
            properties_trust=row.trust,
        )
    flames = _flames(tables)
    return Gases(gases, flames, _equilibria(tables, flames))


def _flame_kinds(tables: Tables) -> dict[str, dict[FlameKindName, FlameKind]]:
    kinds: dict[str, dict[FlameKindName, FlameKind]] = {}
    for row in tables.rows("gases/flame_kinds", _FlameKindRow):
        ratio = Range(row.ratio_low, row.ratio_value, row.ratio_high, row.source, row.trust)
        kinds.setdefault(row.fuel, {})[row.kind] = FlameKind(row.kind, ratio, row.look, row.effect)
    for fuel, own in kinds.items():
        ends = [end for kind in own.values() for end in (kind.ratio.low, kind.ratio.high)]
        if tuple(own) != get_args(FlameKindName) or ends != sorted(ends):
            raise TableError(
                f"gases/flame_kinds: {fuel} must have {', '.join(get_args(FlameKindName))} in this "
                "order, with rising ratios that do not overlap"
            )
    return kinds


def _flames(tables: Tables) -> dict[str, Flame]:
    kinds = _flame_kinds(tables)
    hot = {row.fuel: row for row in tables.rows("gases/flame_temperatures", _FlameTemperatureRow)}
    flames = {}
    for row in tables.rows("gases/flames", _FlameRow):
        usual, degrees = kinds[row.fuel]["neutral"].ratio, hot[row.fuel]
        flames[row.fuel] = Flame(
            fuel=row.fuel,
            workshop=usual,
            kinds=kinds[row.fuel],
            neutral=Figure(row.neutral_ratio, row.source, row.trust, "carbon atoms / 2"),
            stoichiometric=Figure(row.stoichiometric_ratio, row.source, row.trust, "C + H/4"),
            temperature=Figure(degrees.temperature_c + 273.15, degrees.source, degrees.trust),
            source=usual.source,
            trust=usual.trust,
        )
    return flames


def _equilibria(
    tables: Tables, flames: Mapping[str, Flame]
) -> dict[str, tuple[FlameEquilibriumRow, ...]]:
    found: dict[str, tuple[FlameEquilibriumRow, ...]] = {}
    for row in tables.rows("gases/flame_equilibrium", FlameEquilibriumRow):
        found[row.fuel] = (*found.get(row.fuel, ()), row)
    for fuel, flame in flames.items():
        rows = found[fuel]
        if rows[0].ratio > flame.workshop.low or rows[-1].ratio < flame.stoichiometric.value:
            raise TableError(
                f"gases/flame_equilibrium: {fuel} must go from the neutral flame, "
                f"{flame.workshop.low:g}, to {flame.stoichiometric.value:g}"
            )
    return found
