"""The front of the traveller: what to fit, to set and to cut."""

from dataclasses import dataclass

from kerfdocket.job import Arrestor, Fuel, Hose, Job, Oxygen
from kerfdocket.language import (
    _,
    counted,
    date_text,
    decimal_text,
    in_language,
    marked,
    sense,
    titled,
)
from kerfdocket.planning.model import ChangeOver, Plan, Spell
from kerfdocket.planning.words import mixing_text, torch_text
from kerfdocket.quantity import Measure, UnitSystem
from kerfdocket.sheet.figure import Figure, change_over_figure, names_text
from kerfdocket.sheet.layout import SHORTER_MM, Room, line_count
from kerfdocket.sheet.stationery import OwnRows, own_mm
from kerfdocket.sheet.text import plain, said, tied
from kerfdocket.sheet.values import Note, Notice, Row, Value, Writer, notice_of

__all__ = [
    "ChangeBlock",
    "ChangeRow",
    "CutRow",
    "Front",
    "GasRow",
    "SetBlock",
    "SignMark",
    "front_of",
]

_SURFACES = {
    "primer": marked("primer – fumes"),
    "paint": marked("paint – fumes"),
    "zinc": marked("zinc – fumes"),
    "oil": marked("oil – clean it off first"),
}
_STARTS = {"edge": marked("from the edge"), "pierce": marked("pierce")}
_MOST_CHANGE_ROWS = 6
_CHANGED_FOR = {"too cold": marked("{minutes}, too cold")}
# Counted on printed sheets: letters in a line, and what the front's texts and rows take beyond what
# is always there.
_FRONT_LETTERS = 112
_FRONT_LINE_MM = 4.1
_FRAME_MM = 5.0
_ROW_MM = 7.2
_FRONT_VARYING_MM = 34.0
_CHANGES_MM = 26.0
_SIGNS_MM = 9.6
_MANY_SIGNS = 15  # more of them are set smaller, to stay in one row
_SHORT = 24


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


def front_of(plan: Plan, write: Writer, room: Room, own: OwnRows) -> Front:
    """Return what the front prints, in the current language.

    Args:
        plan: the plan.
        write: of its values; the notes of the front are taken from it.
        room: how hard it is pressed onto one page.
        own: the shop's own fields.

    Raises:
        KeyError: the plan lacks a value that the front prints.
    """
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
            plain(part.name),
            _(_STARTS[part.start]),
            str(part.count),
            _stated(part.cut_length, write.units),
            str(part.starts),
        )
        for part in job.parts
    )
    stops = tuple(notice_of(one) for one in plan.findings if one.severity == "stop")
    warnings = tuple(notice_of(one) for one in plan.findings if one.severity == "caution")
    total_length = write("cut.length", _("Cut length"))
    total_starts = write("cut.starts", _("Starts"))
    texts = [f"{one.text} {one.remedy}" for one in (*stops, *warnings)]
    texts += [plain(job.about.note), " ".join(one.text for one in setting_notes + gas_notes)]
    varying = _FRONT_LINE_MM * sum(line_count(text, _FRONT_LETTERS) for text in texts)
    varying += _FRAME_MM * (bool(stops) + bool(warnings) + bool(job.about.note))
    varying += _ROW_MM * len(cuts)
    changes = _changing(plan)
    varying += _CHANGES_MM * bool(changes) + own_mm(own)
    signs = _signs(plan) if room in ("as it comes", "packed") else ()
    varying += _SIGNS_MM * bool(signs)
    return Front(
        is_tight=room != "as it comes" or varying > _FRONT_VARYING_MM - SHORTER_MM[job.paper],
        is_packed=room != "as it comes",
        facts=_facts(job),
        note=plain(job.about.note),
        stops=stops,
        warnings=warnings,
        protections=_protections(plan),
        signs=signs,
        are_signs_many=len(signs) > _MANY_SIGNS,
        grade=plain(job.plate.grade),
        thickness=_stated(job.plate.thickness, write.units),
        plate=plate,
        is_measured=bool(job.plate.readings),
        bore=bore,
        nozzle_name=plain(plan.nozzle_name),
        nozzle_text=said(titled(plan.nozzle_text)),
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


def _facts(job: Job) -> tuple[Row, ...]:
    about = job.about
    # An empty one stays: it is a line to write on.
    return (
        Row(sense("whom it is cut for", "For"), plain(about.customer)),
        Row(_("Drawing"), plain(about.drawing)),
        Row(_("Prepared by"), plain(about.prepared_by)),
        Row(_("Date"), date_text(about.date) if about.date else ""),
    )


def _plate_rows(job: Job, write: Writer) -> tuple[Row, ...]:
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
    size = (_stated(side, write.units) for side in (plate.length, plate.width))
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
    bore, length = _stated(hose.bore, units), _stated(hose.length, units)
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
        Row(_("Torch"), f"{torch_text(torch.kind)}, {mixing_text(torch.mixing)}"),
        Row(_("Oxygen hose"), _hose(oxygen.hose, units)),
    ]
    if has_two:
        rows.append(Row(_("Heating oxygen"), _hose(oxygen.heating.hose, units)))
    rows.append(Row(_("Fuel hose"), _hose(fuel.hose, units)))
    fitted = "; ".join(f"{name}: {_arrestor(one)}" for name, one in arrestors)
    return (*rows, Row(_("Flashback arrestors"), fitted))


def _blocks(job: Job, write: Writer) -> tuple[SetBlock, ...]:
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


def _starts(job: Job, write: Writer) -> tuple[Row, ...]:
    starts = {part.start for part in job.parts} or {"edge", "pierce"}
    rows = []
    if "edge" in starts:
        rows.append(write.row("cut.start_time", _("at the edge")))
    if "pierce" in starts:
        rows.append(write.row("cut.pierce_time", _("to pierce")))
    return tuple(rows)


def _gases(plan: Plan, write: Writer) -> tuple[GasRow, ...]:
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
            text = f"{name}{said(line.text)}"
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


def _from(supply: Oxygen | Fuel, write: Writer, key: str, label: str) -> Value:
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
        said(spell.text),
        _("first") if spell.begins_s == 0.0 else f"{_minutes(spell.begins_s)}\u00a0min",
        changed,
        said(spell.left_text),
    )


def _change_block(plan: ChangeOver, write: Writer) -> ChangeBlock:
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
        more.append(_("Then {lacks} are lacking: no cylinder on hand is left.", lacks=said(lacks)))
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


def _times(job: Job, write: Writer) -> tuple[Row, ...]:
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


def _cut_line(cut: CutRow) -> str:
    line = f"{cut.part}: {cut.pieces} × {cut.cut_length}, {cut.start}"
    return line if cut.starts == "1" else f"{line}, " + _("{starts} starts each", starts=cut.starts)


def _protections(plan: Plan) -> tuple[str, ...]:
    """Return what to wear; short additions, such as the filter's shade by each rule, with it."""
    items: dict[str, list[str]] = {}
    for one in plan.protections:
        texts = items.setdefault(plain(one.item), [])
        if one.text and len(one.text) <= _SHORT:
            texts.append(plain(one.text))
    return tuple(f"{item} {', '.join(texts)}".strip() for item, texts in items.items())


def _signs(plan: Plan) -> tuple[SignMark, ...]:
    return tuple(
        SignMark(
            plain(one.number),
            f"{plain(one.meaning)} (ISO 7010-{plain(one.number)})",
            plain(one.condition),
        )
        for one in plan.signs
    )


def _stated(measure: Measure, units: UnitSystem) -> str:
    return tied(units.stated(measure))
