"""What a traveller prints, as ready text: the one thing that its template sees.

A pure function from a plan to frozen dataclasses of strings. Nothing is worked out here and
nothing in the template: a value is shown as the plan gives it, or it is not shown.
"""

import math
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Literal

from kerfdocket.job import Arrestor, Fuel, Hose, Job, Oxygen
from kerfdocket.language import (
    _,
    counted,
    date_text,
    decimal_text,
    in_language,
    language_named,
    marked,
    review_note,
    sense,
    speaking,
    titled,
)
from kerfdocket.planning.model import (
    Caution,
    ChangeOver,
    Estimate,
    Finding,
    Plan,
    Spell,
    said_source,
)
from kerfdocket.quantity import Measure, UnitSystem
from kerfdocket.sheet.code import Code, page_code
from kerfdocket.sheet.figure import Figure, change_over_figure, names_text
from kerfdocket.sheet.shop import SHOP_ROOT, Shop

__all__ = [
    "AT_EASE",
    "Back",
    "ChangeBlock",
    "ChangeRow",
    "Check",
    "CutRow",
    "Fine",
    "Front",
    "GasRow",
    "Layout",
    "Note",
    "Notice",
    "OwnPlace",
    "Room",
    "Row",
    "SetBlock",
    "ShopMark",
    "SignMark",
    "SourceLine",
    "StepGroup",
    "Traveller",
    "Value",
    "traveller_context",
]

# How a value is printed: as an instruction, as an unverified guide, or not at all.
Manner = Literal["firm", "guide", "withheld"]
# How hard the front is pressed onto one page.
Room = Literal["as it comes", "packed", "no signs", "no pictures"]
# How much of the small print stands on the back; the file carries all of it.
Fine = Literal["whole", "short", "least", "none"]

_TORCHES = {
    "hand": marked("Hand torch"),
    "tractor": marked("Torch on a tractor"),
    "machine": marked("Machine torch"),
}
_MIXING = {
    "nozzle": marked("gases mix in the nozzle"),
    "torch": marked("gases mix in the torch"),
    "injector": marked("injector torch"),
}
_SURFACES = {
    "primer": marked("primer – fumes"),
    "paint": marked("paint – fumes"),
    "zinc": marked("zinc – fumes"),
    "oil": marked("oil – clean it off first"),
}
_STARTS = {"edge": marked("from the edge"), "pierce": marked("pierce")}
_MOST_CHANGE_ROWS = 6
_CHANGED_FOR = {"too cold": marked("{minutes}, too cold")}
# Cautions that say what to do when it goes wrong: always whole, in a box of their own.
_AT_ONCE = ("flashback", "backfire", "acetylene-hot")
# Counted on printed sheets: letters in a line, the height that text shares with the small print
# (twice as high, as there are two columns), and what a line takes of it.
_STEP_LETTERS = 57
_LETTERS = 60
_WORD_LETTERS = 6.5  # of the English texts that were counted, the space with it
_FINE_LETTERS = 137
_BACK_HEIGHT_MM = 212.0
_SHORTER_MM = {"A4": 0.0, "Letter": 17.6}  # than A4: ISO 216 and ANSI/ASME Y14.1
_UNSIGNED_MM = 16.0  # a draft has no boxes to sign, but a head that says what it is
_TIGHT_MM = 8.0  # what closer setting gains
_LINE_MM = 1.825
_FINE_LINE_MM = 3.6
# The same for the front: what its texts and rows take beyond what is always there.
_FRONT_LETTERS = 112
_FRONT_LINE_MM = 4.1
_FRAME_MM = 5.0
_ROW_MM = 7.2
_FRONT_VARYING_MM = 34.0
_CHANGES_MM = 26.0
_OWN = "own"  # key of a shop's own caution
_OWN_IN_A_ROW = 4
_OWN_ROW_MM = 8.8
_OWN_FRAME_MM = 2.0
_SIGNS_MM = 9.6
_MANY_SIGNS = 15  # more of them are set smaller, to stay in one row
_SHORT = 24
_LONG_HEAD = 48
_DOT = "\u00a0· "  # the dot stays with what it follows
_NUMBER_AND_UNIT = re.compile(
    r"(?<=\d) (?=(?:bar|mm|m|m³|L|kg|s|min|°C|%|µm|psi|ft|in|ft³|lb|°F)(?:\W|$))"
)
_PLACE = re.compile(r"\{pages?\}")
_FOOT = marked(
    "The nozzle maker’s own chart comes first. Local rules, the equipment makers’ instructions and "
    "qualified people come before anything printed here."
)


@dataclass(frozen=True)
class Layout:
    """How a sheet is laid out.

    Attributes:
        spare_lines: lines of the back to leave free beyond what is judged to be needed.
        room: how hard the front is pressed onto one page.
        fine: how much of the small print stands on the back.
        is_fillable: True puts fields where one writes, to be filled in on a screen.
    """

    spare_lines: int = 0
    room: Room = "as it comes"
    fine: Fine = "whole"
    is_fillable: bool = False


AT_EASE = Layout()


@dataclass(frozen=True)
class Value:
    """One estimate as it is printed.

    Attributes:
        label: what it is.
        manner: `firm` is printed as an instruction, `guide` small and as unverified, `withheld` as
            a dash.
        number: best value, without unit; a dash where it is withheld.
        unit: as printed, may be empty.
        spread: the range without its unit, empty if there is none.
        line: number, unit and range in one line of text, marked as unverified where it is.
        basis: how firm it stands, in words.
        mark: of its note, empty if it has none.
        is_stated: True if it is the planner's own.
    """

    label: str
    manner: Manner
    number: str
    unit: str
    spread: str
    line: str
    basis: str
    mark: str
    is_stated: bool = False


@dataclass(frozen=True)
class Note:
    """Why a value is withheld, under the mark that stands at its dash."""

    mark: str
    text: str


@dataclass(frozen=True)
class Row:
    """A label and its text."""

    label: str
    text: str
    mark: str = ""


@dataclass(frozen=True)
class SetBlock:
    """What to set for one gas: at the torch and, where it has one of its own, the regulator."""

    title: str
    regulator: Value | None
    regulator_text: str
    torch: Value
    flow: Value
    field: str


@dataclass(frozen=True)
class GasRow:
    """What one gas takes and what is there."""

    gas: str
    takes: Value
    takes_also: str
    available: Value
    on_hand: str
    cylinders: Value


@dataclass(frozen=True)
class ChangeRow:
    """One spell of a change-over plan."""

    names: str
    text: str
    opened: str
    changed: str
    left: str


@dataclass(frozen=True)
class ChangeBlock:
    """In which order the cylinders of one gas are emptied.

    Attributes:
        more: what the table has no room for, or what is missing.
    """

    gas: str
    gauge_word: str
    rows: tuple[ChangeRow, ...]
    more: str


@dataclass(frozen=True)
class CutRow:
    """Pieces of one shape."""

    part: str
    start: str
    pieces: str
    cut_length: str
    starts: str


@dataclass(frozen=True)
class Notice:
    """A heading, what it says and what to do."""

    title: str
    text: str
    remedy: str
    severity: str


@dataclass(frozen=True)
class StepGroup:
    """Steps under one heading."""

    title: str
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Check:
    """A limit of the finished cut and room for what was measured."""

    label: str
    value: Value
    field: str


@dataclass(frozen=True)
class SourceLine:
    """A source and what comes from it."""

    source: str
    used_for: str


@dataclass(frozen=True)
class ShopMark:
    """Whose sheet it is.

    Attributes:
        name: of the shop.
        lines: that stand behind it.
        logo, style: where the sheet finds them, or empty.
        root: where it finds the other files of the shop's folder.
    """

    name: str
    lines: tuple[str, ...]
    logo: str
    style: str
    root: str


@dataclass(frozen=True)
class OwnPlace:
    """A field of the shop's own, to write in."""

    name: str
    label: str


# Row by row; None fills a row up.
OwnRows = tuple[tuple[OwnPlace | None, ...], ...]


@dataclass(frozen=True)
class SignMark:
    """A safety sign: the file of its drawing is named by its number.

    Attributes:
        text: its meaning and number, for who cannot see it.
        condition: when it holds, printed beside it; empty if it always does.
    """

    number: str
    text: str
    condition: str


@dataclass(frozen=True)
class Front:
    """What to fit, to set and to cut."""

    is_tight: bool
    is_packed: bool
    facts: tuple[Row, ...]
    note: str
    stops: tuple[Notice, ...]
    warnings: tuple[Notice, ...]
    protections: tuple[str, ...]
    signs: tuple[SignMark, ...]
    are_signs_many: bool
    grade: str
    thickness: str
    plate: tuple[Row, ...]
    is_measured: bool
    bore: Value
    nozzle_name: str
    nozzle_text: str
    fit: tuple[Row, ...]
    blocks: tuple[SetBlock, ...]
    rates: tuple[Value, ...]
    starts: tuple[Row, ...]
    setting_notes: tuple[Note, ...]
    gases: tuple[GasRow, ...]
    times: tuple[Row, ...]
    gas_notes: tuple[Note, ...]
    gas_reference: str
    pressure_unit: str
    size_unit: str
    change_overs: tuple[ChangeBlock, ...]
    figure: Figure | None
    cuts: tuple[CutRow, ...]
    cut_lines: tuple[str, ...]
    is_one_cut: bool
    total_length: str
    total_starts: str
    cut_notes: tuple[Note, ...]
    own_fields: OwnRows


@dataclass(frozen=True)
class Back:
    """How to work, what to beware of, what to check and who signs."""

    is_tight: bool
    emergencies: tuple[Notice, ...]
    cautions: tuple[Notice, ...]
    also: str
    steps: tuple[StepGroup, ...]
    checks: tuple[Check, ...]
    check_classes: str
    check_notes: tuple[Note, ...]
    notes: tuple[Notice, ...]
    assumed: str
    sources: tuple[SourceLine, ...]
    oxygen_before: str
    fuel_before: str
    fuel_after: str
    own_fields: OwnRows


@dataclass(frozen=True)
class Traveller:
    """The whole sheet."""

    number: str
    title: str
    language: str
    created: str
    generator: str
    is_draft: bool
    is_long: bool
    foot: str
    page_words: tuple[str, ...]
    paper: str
    is_fillable: bool
    revision: str
    front_code: Code
    back_code: Code
    shop: ShopMark | None
    front: Front
    back: Back


def _plain(text: str) -> str:
    """Return `text` with everything that is no text made visible.

    Control characters would end up in the PDF's own strings, direction marks would turn the
    printed order of what follows.
    """
    shown = []
    for letter in text:
        if letter in "\n\t\r\u2028\u2029":
            shown.append(" " if letter in "\t\r" else "\n")
        elif letter in "\u200c\u200d\u00ad":
            shown.append(letter)  # these belong to how some words are written
        elif unicodedata.category(letter) in {"Cc", "Cf", "Cs", "Co", "Cn"}:
            shown.append("\ufffd")
        else:
            shown.append(letter)
    return "".join(shown)


def _said(text: str) -> str:
    """Return the plan's own text; a number is not parted from its unit at the end of a line."""
    return _NUMBER_AND_UNIT.sub("\u00a0", _plain(text))


def _measure_text(measure: Measure, units: UnitSystem) -> str:
    return units.stated(measure).replace(" ", "\u00a0")


class _Notes:
    """Gives the marks of withheld values: one numbering, and one mark for one reason."""

    def __init__(self) -> None:
        self._marks: dict[str, str] = {}
        self._labels: dict[str, list[str]] = {}

    def mark(self, label: str, reason: str) -> str:
        if reason not in self._marks:
            self._marks[reason] = str(len(self._marks) + 1)
            self._labels[reason] = []
        if reason in self._labels:
            self._labels[reason].append(label)
        return self._marks[reason]

    def take(self) -> tuple[Note, ...]:
        """Return the notes since the last call, for the block that ends here."""
        taken = self._labels
        self._labels = {}
        return tuple(
            Note(self._marks[reason], f"{labels[0]}: {reason}" if len(labels) == 1 else reason)
            for reason, labels in taken.items()
        )


class _Writer:
    """Turns the plan's estimates into printed values."""

    def __init__(self, plan: Plan) -> None:
        self._estimates = plan.estimates
        self.units = plan.job.unit_system
        self.notes = _Notes()

    def show(self, estimate: Estimate, label: str = "") -> Value:
        """Return an estimate as it is printed, under its own label or another."""
        name = _plain(label or estimate.label)
        if estimate.value is None:
            mark = self.notes.mark(name, _said(estimate.basis.text))
            return Value(name, "withheld", "—", "", "", "—", _("withheld"), mark)
        number, unit = estimate.number_text(estimate.value), estimate.unit_text
        both = estimate.range_text
        if estimate.is_unverified:
            span = f"{both or number}\u00a0{unit}".strip()
            return Value(
                name,
                "guide",
                number,
                unit,
                both,
                _("guide {span}, unverified", span=span),
                _("unverified"),
                "",
            )
        line = f"{number}\u00a0{unit}".strip() + (f" ({both})" if both else "")
        trust = estimate.basis.trust
        basis = _("as stated by the planner") if trust == "stated" else _(trust)
        return Value(name, "firm", number, unit, both, line, basis, "", is_stated=trust == "stated")

    def __call__(self, key: str, label: str = "") -> Value:
        return self.show(self._estimates[key], label)

    def row(self, key: str, label: str = "") -> Row:
        """Return an estimate as one line of text."""
        value = self(key, label)
        text = _("{value}, as stated", value=value.line) if value.is_stated else value.line
        return Row(value.label, text, value.mark)

    def is_none_needed(self, key: str) -> bool:
        """True if there is no value because the job calls for none."""
        return self._estimates[key].is_none_needed

    def is_given(self, key: str) -> bool:
        """True if the plan has a value of that key."""
        return key in self._estimates and not self._estimates[key].is_withheld


def _facts(job: Job) -> tuple[Row, ...]:
    about = job.about
    # An empty one stays: it is a line to write on.
    return (
        Row(sense("whom it is cut for", "For"), _plain(about.customer)),
        Row(_("Drawing"), _plain(about.drawing)),
        Row(_("Prepared by"), _plain(about.prepared_by)),
        Row(_("Date"), date_text(about.date) if about.date else ""),
    )


def _finding(finding: Finding) -> Notice:
    return Notice("", _said(finding.text), _said(finding.remedy), finding.severity)


def _plate_rows(job: Job, write: _Writer) -> tuple[Row, ...]:
    plate = job.plate
    rows = []
    if plate.readings:
        lowest = write("plate.thickness_lowest")
        highest = write("plate.thickness_highest")
        mean = write("plate.thickness")
        measured = counted(
            "{mean} ({lowest}–{highest}), {count} reading",
            "{mean} ({lowest}–{highest}), {count} readings",
            len(plate.readings),
            mean=f"{mean.number} {mean.unit}",
            lowest=lowest.number,
            highest=highest.number,
        )
        rows.append(Row(_("Measured mean"), measured, mean.mark))
    size = (_measure_text(side, write.units) for side in (plate.length, plate.width))
    rows.append(Row(_("Size"), " × ".join(size)))
    rows.append(write.row("plate.mass", _("Mass")))
    rows.append(Row(_("Surface"), _(_SURFACES.get(plate.surface, plate.surface))))
    rows.append(write.row("steel.carbon_equivalent", _("Carbon equivalent")))
    preheat = write.row("steel.preheat", _("Preheat"))
    if write.is_none_needed("steel.preheat"):
        preheat = Row(preheat.label, _("none"), preheat.mark)
    rows.append(preheat)
    return tuple(rows)


def _hose(hose: Hose, units: UnitSystem) -> str:
    bore, length = _measure_text(hose.bore, units), _measure_text(hose.length, units)
    return _("{bore} bore, {length} long", bore=bore, length=length)


def _arrestor(arrestor: Arrestor) -> str:
    return _("fitted") if arrestor.fitted else _("NOT FITTED, as stated")


def _fit_rows(job: Job) -> tuple[Row, ...]:
    oxygen, fuel, torch, units = job.oxygen, job.fuel, job.torch, job.unit_system
    has_two = torch.oxygen_hoses == 2
    arrestors = [(_("oxygen"), oxygen.arrestor), (_("fuel"), fuel.arrestor)]
    if has_two:
        arrestors.insert(1, (_("heating oxygen"), oxygen.heating.arrestor))
    rows = [
        Row(_("Torch"), f"{_(_TORCHES[torch.kind])}, {_(_MIXING[torch.mixing])}"),
        Row(_("Oxygen hose"), _hose(oxygen.hose, units)),
    ]
    if has_two:
        rows.append(Row(_("Heating oxygen"), _hose(oxygen.heating.hose, units)))
    rows.append(Row(_("Fuel hose"), _hose(fuel.hose, units)))
    said = "; ".join(f"{name}: {_arrestor(one)}" for name, one in arrestors)
    return (*rows, Row(_("Flashback arrestors"), said))


def _blocks(job: Job, write: _Writer) -> tuple[SetBlock, ...]:
    gas = _(job.fuel.gas)
    has_one = job.torch.oxygen_hoses == 1
    heating = (
        _(
            "Same hose and regulator as the cutting oxygen: adjust the flame with the torch’s "
            "heating valve."
        )
        if has_one
        else ""
    )
    return (
        SetBlock(
            _("Cutting oxygen"),
            write("line.oxygen_regulator_pressure", _("Regulator, cutting oxygen")),
            "",
            write("setting.cutting_oxygen_pressure", _("Torch, cutting oxygen")),
            write("setting.cutting_oxygen_flow", _("Flow, cutting oxygen")),
            "chart_cutting_oxygen",
        ),
        SetBlock(
            _("Heating oxygen"),
            None
            if has_one
            else write("line.heating_oxygen_regulator_pressure", _("Regulator, heating oxygen")),
            heating,
            write("setting.heating_oxygen_pressure", _("Torch, heating oxygen")),
            write("setting.heating_oxygen_flow", _("Flow, heating oxygen")),
            "chart_heating_oxygen",
        ),
        SetBlock(
            titled(gas),
            write("line.fuel_regulator_pressure", _("Regulator, {gas}", gas=gas)),
            "",
            write("setting.fuel_pressure", _("Torch, {gas}", gas=gas)),
            write("setting.fuel_flow", _("Flow, {gas}", gas=gas)),
            "chart_fuel",
        ),
    )


def _starts(job: Job, write: _Writer) -> tuple[Row, ...]:
    starts = {part.start for part in job.parts} or {"edge", "pierce"}
    rows = []
    if "edge" in starts:
        rows.append(write.row("cut.start_time", _("at the edge")))
    if "pierce" in starts:
        rows.append(write.row("cut.pierce_time", _("to pierce")))
    return tuple(rows)


def _gases(plan: Plan, write: _Writer) -> tuple[GasRow, ...]:
    fuel, oxygen = titled(_(plan.job.fuel.gas)), titled(_("oxygen"))

    def on_hand(is_oxygen: bool) -> str:
        lines = [line for line in plan.supplies if (line.gas == "oxygen") == is_oxygen]
        is_one = sum(line.count for line in lines) == 1
        texts, last = [], 0
        for line in lines:
            numbers = tuple(str(last + one) for one in range(1, line.count + 1))
            last += line.count
            # The numbers are those that the change-over names.
            name = "" if is_one else f"{names_text(numbers)}: "
            text = f"{name}{_said(line.text)}"
            texts.append(_("{text} (assumed)", text=text) if line.is_assumed else text)
        return "; ".join(texts)

    mass = f"{write('use.fuel_mass').line}" if write.is_given("use.fuel_mass") else ""
    job = plan.job
    return (
        GasRow(
            oxygen,
            write("use.oxygen", _("{gas}, this job", gas=oxygen)),
            "",
            _from(job.oxygen, write, "supply.oxygen_available", _("{gas} on hand", gas=oxygen)),
            on_hand(True),
            _from(job.oxygen, write, "supply.oxygen_cylinders", _("{gas} cylinders", gas=oxygen)),
        ),
        GasRow(
            fuel,
            write("use.fuel", _("{gas}, this job", gas=fuel)),
            mass,
            _from(job.fuel, write, "supply.fuel_available", _("{gas} on hand", gas=fuel)),
            on_hand(False),
            _from(job.fuel, write, "supply.fuel_cylinders", _("{gas} cylinders", gas=fuel)),
        ),
    )


def _from(supply: Oxygen | Fuel, write: _Writer, key: str, label: str) -> Value:
    """Return a value of the supply; of a main or tank there are no cylinders to count."""
    if not supply.comes_from_main or (key.endswith("available") and write.is_given(key)):
        return write(key, label)
    where = _("from the tank") if supply.supply == "tank" else _("from the main")
    return Value(label, "firm", where, "", "", where, _("stated"), "")


def _minutes(seconds: float) -> str:
    return decimal_text(seconds / 60.0)


def _change_row(spell: Spell) -> ChangeRow:
    low, value, high = (_minutes(one) for one in spell.ends_s)
    changed = _("lasts to the end")
    if spell.is_changed:
        spread = "" if low == high else f" ({low}–{high})"
        changed = f"{value}{spread}"
        if spell.cause in _CHANGED_FOR:
            changed = _(_CHANGED_FOR[spell.cause], minutes=changed)
    return ChangeRow(
        names_text(spell.names),
        _said(spell.text),
        _("first") if spell.begins_s == 0.0 else f"{_minutes(spell.begins_s)}\u00a0min",
        changed,
        _said(spell.left_text),
    )


def _change_block(plan: ChangeOver, write: _Writer) -> ChangeBlock:
    rows = tuple(_change_row(spell) for spell in plan.spells[:_MOST_CHANGE_ROWS])
    more = []
    if len(plan.spells) > len(rows):
        more.append(
            counted(
                "{count} more in the same way.",
                "{count} more in the same way.",
                len(plan.spells) - len(rows),
            )
        )
    if plan.missing_kg > 0.0:
        lacks = write.units.gas_volume(plan.missing_kg / plan.gas_density_kg_m3)
        more.append(_("Then {lacks} are lacking: no cylinder on hand is left.", lacks=_said(lacks)))
    if plan.unused:
        more.append(_("Not needed: {cylinders}.", cylinders=names_text(plan.unused)))
    return ChangeBlock(
        titled(_(plan.gas)),
        _("gauge then") if plan.gas == "oxygen" else _("scale then"),
        rows,
        " ".join(more),
    )


def _changing(plan: Plan) -> tuple[ChangeOver, ...]:
    """Return the plans that say something; that the first cylinder lasts needs no table."""
    return tuple(
        one
        for one in plan.change_overs
        if one.spells
        and (len(one.spells) > 1 or one.missing_kg > 0.0 or one.spells[0].names != ("1",))
    )


def _times(job: Job, write: _Writer) -> tuple[Row, ...]:
    rows = [
        write.row("cut.flame_time", _("On the flame")),
        write.row("cut.clock_time", _("On the clock")),
    ]
    prices = job.prices
    stated = (
        prices.oxygen_m3,
        prices.oxygen_100ft3,
        prices.fuel_kg,
        prices.fuel_lb,
        prices.hour,
    )
    if any(price is not None for price in stated):
        rows.append(write.row("cost.total", _("Cost")))
    return tuple(rows)


def _front(plan: Plan, write: _Writer, room: Room, own: OwnRows) -> Front:
    job = plan.job
    plate = _plate_rows(job, write)
    bore = write("nozzle.bore", _("Cutting bore"))
    blocks = _blocks(job, write)
    rates = (write("cut.speed", _("Cutting speed")), write("cut.kerf", _("Kerf width")))
    starts = _starts(job, write)
    setting_notes = write.notes.take()
    gases = _gases(plan, write)
    times = _times(job, write)
    gas_notes = write.notes.take()
    cuts = tuple(
        CutRow(
            _plain(part.name),
            _(_STARTS[part.start]),
            str(part.count),
            _measure_text(part.cut_length, write.units),
            str(part.starts),
        )
        for part in job.parts
    )
    stops = tuple(_finding(one) for one in plan.findings if one.severity == "stop")
    warnings = tuple(_finding(one) for one in plan.findings if one.severity == "caution")
    total_length = write("cut.length", _("Cut length"))
    total_starts = write("cut.starts", _("Starts"))
    said = [f"{one.text} {one.remedy}" for one in (*stops, *warnings)]
    said += [_plain(job.about.note), " ".join(one.text for one in setting_notes + gas_notes)]
    varying = _FRONT_LINE_MM * sum(_lines(text, _FRONT_LETTERS) for text in said)
    varying += _FRAME_MM * (bool(stops) + bool(warnings) + bool(job.about.note))
    varying += _ROW_MM * len(cuts)
    changes = _changing(plan)
    varying += _CHANGES_MM * bool(changes) + _own_mm(own)
    signs = _signs(plan) if room in ("as it comes", "packed") else ()
    varying += _SIGNS_MM * bool(signs)
    return Front(
        is_tight=room != "as it comes" or varying > _FRONT_VARYING_MM - _SHORTER_MM[job.paper],
        is_packed=room != "as it comes",
        facts=_facts(job),
        note=_plain(job.about.note),
        stops=stops,
        warnings=warnings,
        protections=_protections(plan),
        signs=signs,
        are_signs_many=len(signs) > _MANY_SIGNS,
        grade=_plain(job.plate.grade),
        thickness=_measure_text(job.plate.thickness, write.units),
        plate=plate,
        is_measured=bool(job.plate.readings),
        bore=bore,
        nozzle_name=_plain(plan.nozzle_name),
        nozzle_text=_said(titled(plan.nozzle_text)),
        fit=_fit_rows(job),
        blocks=blocks,
        rates=rates,
        starts=starts,
        setting_notes=setting_notes,
        gases=gases,
        times=times,
        gas_notes=gas_notes,
        gas_reference=in_language(write.units.gas_state),
        pressure_unit=write.units.unit("bar"),
        size_unit=write.units.unit("mm"),
        change_overs=tuple(_change_block(one, write) for one in changes),
        figure=change_over_figure(changes) if changes and room != "no pictures" else None,
        cuts=cuts,
        cut_lines=tuple(_cut_line(one) for one in cuts) if room != "as it comes" else (),
        is_one_cut=len(cuts) == 1,
        total_length=f"{total_length.number} {total_length.unit}".strip() + total_length.mark,
        total_starts=total_starts.number + total_starts.mark,
        cut_notes=write.notes.take(),
        own_fields=own,
    )


def _cut_line(cut: CutRow) -> str:
    line = f"{cut.part}: {cut.pieces} × {cut.cut_length}, {cut.start}"
    return line if cut.starts == "1" else f"{line}, " + _("{starts} starts each", starts=cut.starts)


def _protections(plan: Plan) -> tuple[str, ...]:
    """Return what to wear; short additions, such as the filter's shade by each rule, with it."""
    items: dict[str, list[str]] = {}
    for one in plan.protections:
        texts = items.setdefault(_plain(one.item), [])
        if one.text and len(one.text) <= _SHORT:
            texts.append(_plain(one.text))
    return tuple(f"{item} {', '.join(texts)}".strip() for item, texts in items.items())


def _signs(plan: Plan) -> tuple[SignMark, ...]:
    return tuple(
        SignMark(
            _plain(one.number),
            f"{_plain(one.meaning)} (ISO 7010-{_plain(one.number)})",
            _plain(one.condition),
        )
        for one in plan.signs
    )


def _citations(joined: str) -> list[str]:
    """Return the single citations of a joined source; a piece without a comma is part of one."""
    found: list[str] = []
    begun = ""
    for piece in _plain(joined).split("; "):
        if ", " in piece:
            found.append(begun + piece)
            begun = ""
        elif found and not begun:
            found[-1] += f"; {piece}"
        else:
            begun += f"{piece}; "
    if begun:
        found.append(begun.removesuffix("; "))
    return [one.strip().rstrip(".") for one in found if one.strip()]


def _sources(plan: Plan, printed: tuple[Caution, ...], with_place: bool) -> tuple[SourceLine, ...]:
    """Return the publications behind what is printed as firm.

    Derived, stated and unverified values have none of their own to name here.
    """
    used: dict[str, list[str]] = {}

    def note(joined: str, what: str) -> None:
        for source in _citations(joined):
            names = used.setdefault(source, [])
            if what not in names:
                names.append(what)

    for stage in plan.stages:
        for estimate in stage.estimates:
            if not estimate.is_withheld and estimate.basis.trust.startswith("published"):
                note(estimate.basis.source, _(stage.name))
    for caution in printed:
        if caution.trust.startswith("published"):
            note(caution.source, _("cautions"))
    for protection in plan.protections:
        if protection.trust.startswith("published"):
            note(protection.source, _("protection"))
    if not with_place:
        return tuple(SourceLine(one, "") for one in dict.fromkeys(map(_short, used)))
    lines: list[SourceLine] = []
    last: list[str] = []
    for source in used:
        pieces = source.split(", ")
        shared = 0
        while shared < min(len(last), len(pieces)) - 1 and last[shared] == pieces[shared]:
            shared += 1
        # The place alone, where it is the same work as the one before.
        text = ", ".join(pieces[shared:]) if shared >= 2 else source
        lines.append(SourceLine(said_source(text), ", ".join(used[source])))
        last = pieces
    return tuple(lines)


def _groups(plan: Plan) -> Iterable[StepGroup]:
    for title, steps in groupby(plan.steps, key=lambda step: step.group):
        yield StepGroup(_plain(title), tuple(_said(step.text) for step in steps))


def _lines(text: str, letters: int) -> int:
    """How many lines a text takes; a line ends half a word short, and German has longer words."""
    word = len(text) / (text.count(" ") + 1)
    return math.ceil(len(text) / max(letters - (word - _WORD_LETTERS) / 2.0, 1.0))


@dataclass(frozen=True)
class _Chosen:
    """Which cautions the back prints, and how."""

    at_once: tuple[Caution, ...]
    whole: tuple[Caution, ...]
    by_title: tuple[Caution, ...]
    with_reason: bool
    is_tight: bool = False


def _choose(plan: Plan, fine: tuple[str, ...], spare_lines: int, own_mm: float) -> _Chosen:
    """Return what to do at once, cautions with what to do, and those that have only a title.

    The work in order and what to do at once are always printed whole. The cautions come in the
    plan's order, worst first: as many as the page has room for with what to do, with the reason
    too if all have room, and every other one by its title. Room is judged by the letters there
    are; who lays the page out asks again with lines to spare where that was too hopeful.

    Args:
        plan: the plan.
        fine: the paragraphs of small print that share the page.
        spare_lines: lines to leave free beyond what is judged to be needed.
        own_mm: height of the shop's own fields.
    """
    at_once = tuple(one for one in plan.cautions if one.key in _AT_ONCE)
    # What the steps or the list of equipment say is not said again; a draft has no steps.
    others = tuple(
        one for one in plan.cautions if one.key not in _AT_ONCE and not (one.covered and plan.steps)
    )
    height = _BACK_HEIGHT_MM + (_UNSIGNED_MM if plan.is_stopped else 0.0)
    height -= _SHORTER_MM[plan.job.paper] + own_mm
    height -= _FINE_LINE_MM * sum(_lines(text, _FINE_LETTERS) for text in fine)
    taken = spare_lines + sum(_lines(step.text, _STEP_LETTERS) for step in plan.steps)
    taken += len(list(groupby(plan.steps, key=lambda step: step.group)))
    taken += sum(_lines(f"{one.title}. {one.what_to_do}", _STEP_LETTERS) for one in at_once)

    def titles(rest: tuple[Caution, ...]) -> int:
        return _lines(_DOT.join(one.title for one in rest), _LETTERS)

    room = int(height / _LINE_MM) - taken  # lines, both columns together
    is_tight = room < titles(others)
    if is_tight:
        room = int((height + _TIGHT_MM) / _LINE_MM) - taken
    full = (f"{one.title}. {one.text} {one.what_to_do}" for one in others)
    if room >= sum(_lines(text, _LETTERS) for text in full):
        return _Chosen(at_once, others, (), with_reason=True, is_tight=is_tight)
    whole = 0
    for number, caution in enumerate(others, start=1):
        room -= _lines(f"{caution.title}. {caution.what_to_do}", _LETTERS)
        # What the shop itself wants to have said is always said whole.
        if room < titles(others[number:]) and caution.key != _OWN:
            break
        whole = number
    return _Chosen(at_once, others[:whole], others[whole:], with_reason=False, is_tight=is_tight)


def _caution(caution: Caution, with_reason: bool) -> Notice:
    return Notice(
        _plain(caution.title).rstrip("."),
        _said(caution.text) if with_reason else "",
        _said(caution.what_to_do),
        caution.severity,
    )


def _short(source: str) -> str:
    """Return the work that a citation names, without the place in it."""
    return source.rpartition(": ")[2].split(", ")[0].split(" – ")[0]


@dataclass(frozen=True)
class _Small:
    """The small print under the signatures."""

    notes: tuple[Notice, ...]
    assumed: tuple[str, ...]
    sources: tuple[SourceLine, ...]

    @property
    def paragraphs(self) -> tuple[str, ...]:
        sources = (f"{one.source} ({one.used_for})" for one in self.sources)
        notes = " ".join(f"{one.text} {one.remedy}" for one in self.notes)
        return notes, _DOT.join(self.assumed), "; ".join(sources)


def _small_print(plan: Plan, fine: Fine, printed: tuple[Caution, ...]) -> _Small:
    notes = tuple(_finding(one) for one in plan.findings if one.severity == "note")
    assumed = tuple(dict.fromkeys(_said(f"{one.label} {one.value}") for one in plan.assumed))
    sources = _sources(plan, printed, with_place=fine == "whole")
    if fine != "whole":
        notes = tuple(Notice("", one.text, "", one.severity) for one in notes)
    if fine == "none":
        return _Small((), (), ())
    if fine == "least":
        least = counted(
            "{count} value, listed in the plan that this file carries",
            "{count} values, listed in the plan that this file carries",
            len(plan.assumed),
        )
        assumed = (least,)
    return _Small(notes, assumed, sources)


def _judged(plan: Plan, spare_lines: int, fine: Fine, own_mm: float) -> tuple[_Chosen, _Small]:
    """Return the cautions that there is room for, and the small print beside them."""
    # A caution that is printed whole brings its source into the small print: judged twice.
    first = _choose(plan, _small_print(plan, fine, ()).paragraphs, spare_lines, own_mm)
    small = _small_print(plan, fine, first.at_once + first.whole)
    chosen = _choose(plan, small.paragraphs, spare_lines, own_mm)
    return chosen, _small_print(plan, fine, chosen.at_once + chosen.whole)


def _back(plan: Plan, write: _Writer, spare_lines: int, fine: Fine, own: OwnRows) -> Back:
    job = plan.job
    quality = job.quality
    checks = tuple(
        Check(value.label, value, field)
        for field, value in (
            (
                "measured_perpendicularity",
                write("quality.perpendicularity_limit", _("Perpendicularity u")),
            ),
            ("measured_roughness", write("quality.roughness_limit", _("Roughness Rz5"))),
            ("measured_size", write("quality.size_deviation")),
        )
    )
    chosen, small = _judged(plan, spare_lines, fine, _own_mm(own))
    if chosen.by_title and fine == "whole":
        # What to do comes before where it stands in a book.
        chosen, small = _judged(plan, spare_lines, "short", _own_mm(own))
    return Back(
        is_tight=chosen.is_tight,
        emergencies=tuple(_caution(one, with_reason=False) for one in chosen.at_once),
        cautions=tuple(_caution(one, chosen.with_reason) for one in chosen.whole),
        also=_DOT.join(_plain(one.title).rstrip(".") for one in chosen.by_title),
        steps=tuple(_groups(plan)),
        checks=checks,
        check_classes=_(
            "ISO 9013: u range {u}, Rz5 range {rz5}, size class {size}",
            u=quality.perpendicularity_range,
            rz5=quality.roughness_range,
            size=quality.tolerance_class,
        ),
        check_notes=write.notes.take(),
        notes=small.notes,
        assumed=_DOT.join(small.assumed),
        sources=small.sources,
        oxygen_before=(
            _("Oxygen meter before")
            if job.oxygen.comes_from_main
            else _("Oxygen gauge before, {unit}", unit=write.units.unit("bar"))
        ),
        fuel_before=(
            _("Fuel meter before") if job.fuel.comes_from_main else _("Fuel weight before")
        ),
        fuel_after=_("after"),
        own_fields=own,
    )


def traveller_context(plan: Plan, layout: Layout = AT_EASE, shop: Shop | None = None) -> Traveller:
    """Return all that the traveller of a plan prints, as ready text.

    Args:
        plan: what follows from a job.
        layout: how it is laid out.
        shop: what the shop adds to it.

    Raises:
        KeyError: the plan lacks a value that the sheet prints.
    """
    with speaking(language_named(plan.language)):
        return _traveller(_with_cautions(plan, shop), layout, shop)


def _with_cautions(plan: Plan, shop: Shop | None) -> Plan:
    """Return the plan with the cautions of the shop before its own."""
    if shop is None:
        return plan
    own = tuple(
        Caution(_OWN, "caution", one.title, "", one.what_to_do, shop.name, "stated")
        for one in shop.cautions
        if one.fuel in {None, plan.job.fuel.gas}
    )
    return replace(plan, cautions=(*own, *plan.cautions))


def _own_places(shop: Shop | None, side: str) -> OwnRows:
    """Return the shop's own fields in rows; of several rows, the last is filled up."""
    fields = shop.fields if shop else ()
    places = [OwnPlace(one.name, _plain(one.label)) for one in fields if one.side == side]
    rows = [tuple(places[at : at + _OWN_IN_A_ROW]) for at in range(0, len(places), _OWN_IN_A_ROW)]
    full = len(rows[0]) if rows else 0
    return tuple((*row, *(None,) * (full - len(row))) for row in rows)


def _own_mm(own: OwnRows) -> float:
    """How high the table of own fields is."""
    return len(own) * _OWN_ROW_MM + _OWN_FRAME_MM * bool(own)


def _mark(shop: Shop | None) -> ShopMark | None:
    if shop is None:
        return None
    lines = tuple(map(_plain, shop.lines))
    return ShopMark(_plain(shop.name), lines, shop.logo_url, shop.style_url, SHOP_ROOT)


def _traveller(plan: Plan, layout: Layout, shop: Shop | None) -> Traveller:
    write = _Writer(plan)
    front = _front(plan, write, layout.room, _own_places(shop, "front"))
    back = _back(plan, write, layout.spare_lines, layout.fine, _own_places(shop, "back"))
    about = plan.job.about
    return Traveller(
        number=_plain(about.number),
        title=_plain(about.title),
        language=plan.language,
        created=about.date.isoformat() if about.date else "",
        generator=f"Kerfdocket {_plain(plan.program_version)}".strip(),
        is_draft=plan.is_stopped,
        is_long=len(about.number) + len(about.title) // 2 > _LONG_HEAD,
        foot=f"{_(_FOOT)} {review_note()}".strip(),
        page_words=tuple(_PLACE.split(_("page {page} of {pages}"))),
        paper=plan.job.paper,
        is_fillable=layout.is_fillable,
        revision=_plain(about.revision),
        front_code=page_code(plan, "F"),
        back_code=page_code(plan, "B"),
        shop=_mark(shop),
        front=front,
        back=back,
    )
