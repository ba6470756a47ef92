"""Planned and actual side by side, each row with what it means."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Literal

from kerfdocket.language import _, decimal_text, in_language, marked
from kerfdocket.physics.gas import Gas
from kerfdocket.planning.actuals.doubt import unit_hint
from kerfdocket.planning.actuals.fields import ACTUAL_FIELDS
from kerfdocket.planning.actuals.moments import is_before, time_taken
from kerfdocket.planning.actuals.planned import Planned, PlannedValue
from kerfdocket.planning.actuals.reading import Actuals, ActualValue
from kerfdocket.planning.actuals.used import Used, fuel_used, oxygen_used
from kerfdocket.planning.keys import KEYS, Span
from kerfdocket.planning.line import regulator_limits
from kerfdocket.planning.setting import acetylene_finding
from kerfdocket.quantity import (
    GAS_VOLUME,
    GAUGE_PRESSURE,
    LENGTH,
    MASS,
    SPEED,
    TIME,
    Kind,
    Measure,
    UnitSystem,
    number_text,
    printed_unit,
)
from kerfdocket.reference import Reference

__all__ = ["SENSES", "ComparedRow", "Comparison", "Sense", "compare"]

Sense = Literal["as planned", "differs", "not sensible", "not comparable", "not stated"]
# Said with `_` where they are shown.
SENSES: tuple[str, ...] = (
    marked("as planned"),
    marked("differs"),
    marked("not sensible"),
    marked("not comparable"),
    marked("not stated"),
)
_HAIR = 1e-9
_DAY_S = 86_400
# What the chart of a job takes as a bore.
_SMALLEST_BORE_M, _LARGEST_BORE_M = 0.3e-3, 10.0e-3
# What the chart of a job takes as a cutting speed; 3000 mm/min.
_FASTEST_M_S = 0.05
# No edge cut by a flame is as smooth: common practice, no source; a tenth of the least constant of
# ISO 9013 range 1.
_SMOOTHEST_M = 1.0e-6
# Of which sizes the plan has the limit; each other range of sizes has its own.
_SIZES_M = (0.315, 1.0)
_LIMITS = {
    "quality.perpendicularity_limit": marked("at most {limit}"),
    "quality.roughness_limit": marked("at most {limit}"),
    "quality.size_deviation": marked("± {limit}"),
}


@dataclass(frozen=True)
class ComparedRow:
    """One value, planned and actual.

    Attributes:
        name: of the actual value, or the plan's key for what is worked out of several.
        label: what it is.
        planned: with its range; a dash where the plan gives none.
        actual: as it was read, or written where it could not be read; empty where nothing is.
        sense: a key, said with `_`.
        remark: in sentences; may be empty.
    """

    name: str
    label: str
    planned: str
    actual: str
    sense: Sense
    remark: str = ""


@dataclass(frozen=True)
class Comparison:
    """All rows, in an order that is always the same.

    Attributes:
        rows: one for each value that can be compared.
        ratios: actual over planned by the plan's key, of what is worth counting: `use.oxygen`,
            `use.fuel_mass` or, by a meter, `use.fuel`, and `cut.clock_time`. What is withheld, not
            sensible, or so little that the readings leave open whether it was anything, has none.
            Whether another nozzle was fitted, its row says.
        doubts: by the name of an actual value, why it could not be read, or makes no sense beside
            another; of what has no row of its own, too.
        gas_reference: the state that gas volumes are meant at.
        note: what the volumes and pressures of all rows mean, in sentences; said once beside them.
    """

    rows: tuple[ComparedRow, ...]
    ratios: Mapping[str, float] = field(hash=False)
    doubts: Mapping[str, str] = field(hash=False)
    gas_reference: str
    note: str

    def __getitem__(self, name: str) -> ComparedRow:
        """Return the row of a name; KeyError if there is none."""
        for row in self.rows:
            if row.name == name:
                return row
        raise KeyError(name)


def compare(planned: Planned, actuals: Actuals, reference: Reference) -> Comparison:
    """Put planned and actual values side by side, and say in the current language what they mean.

    As planned is what lies in the plan's own range, its ends as they were printed; a measured
    deviation is held against its limit to the letter. No other tolerance is used.

    Args:
        planned: of the plan, or of the JSON that was kept of it.
        actuals: read with the same job.
        reference: the tables, for gases and for limits that hurt people.
    """
    case = _Case(planned, actuals, reference)
    rows = [
        _row(case, "nozzle_bore", _bore_alarms, _other_nozzle),
        _range_row(case),
        _row(case, "nozzle_pressure", _pressure_alarms, _chart_first),
        _row(case, "chart_cutting_oxygen", _pressure_alarms, _chart_first),
        _row(case, "chart_heating_oxygen", _pressure_alarms, _chart_first),
        _row(case, "chart_fuel", _pressure_alarms, _chart_first),
        _row(case, "set_cutting_oxygen", _pressure_alarms),
        _row(case, "set_heating_oxygen", _pressure_alarms),
        _row(case, "set_fuel", _pressure_alarms),
        _row(case, "set_speed", _speed_alarms),
        _limit_row(case, "measured_perpendicularity"),
        _limit_row(case, "measured_roughness"),
        _limit_row(case, "measured_size"),
        _count_row(case, "oxygen_changes"),
        _count_row(case, "fuel_changes"),
        _count_row(case, "fuel_weighed"),
    ]
    ratios = {}
    for row, ratio in (_oxygen_row(case), _fuel_row(case), _time_row(case)):
        rows.append(row)
        if ratio is not None:
            ratios[row.name] = ratio
    units = planned.job.unit_system
    return Comparison(
        tuple(rows),
        ratios,
        {**actuals.problems, **_signed_early(actuals)},
        units.gas_reference,
        _joined(units.readings_note(), _of_meters(actuals)),
    )


def _of_meters(actuals: Actuals) -> str:
    """Say that a meter's own volume is at no such state; empty where none was read."""
    if not any(one.is_space for one in actuals.values.values()):
        return ""
    return _(
        "What a meter shows is the space that the gas took in it, at its own pressure and "
        "temperature."
    )


def _signed_early(actuals: Actuals) -> dict[str, str]:
    """Say who signed before there was anything to sign; only where days are written."""
    ended, cutter, supervisor = (
        actuals[name].moment for name in ("ended", "cutter_time", "supervisor_time")
    )
    found = {}
    if is_before(cutter, ended):
        found["cutter_time"] = _("Signed before the work ended: look at dates and times.")
    if is_before(supervisor, ended):
        found["supervisor_time"] = _("Signed before the work ended: look at dates and times.")
    elif is_before(supervisor, cutter):
        found["supervisor_time"] = _("Signed before the cutter did: look at dates and times.")
    return found


@dataclass(frozen=True)
class _Case:
    """What the rows share."""

    planned: Planned
    actuals: Actuals
    reference: Reference

    def gas(self, name: str) -> Gas:
        return self.reference.gas(name).properties


Alarms = Callable[[_Case, str, ActualValue], list[str]]
Difference = Callable[[_Case, ActualValue, PlannedValue], str]


def _joined(*sentences: str) -> str:
    return " ".join(dict.fromkeys(one for one in sentences if one))


def _no_value(one: PlannedValue) -> str:
    return _("The plan gives no value: {reason}", reason=one.reason)


def _of_field(name: str) -> tuple[str, str]:
    """Return label and plan's key of an actual value that stands against a single one."""
    one = ACTUAL_FIELDS[name]
    return _(one.title), one.compared_with[0]


def _row(
    case: _Case, name: str, alarms: Alarms, difference: Difference | None = None
) -> ComparedRow:
    """Compare a quantity, or a range, with the plan's range."""
    label, key = _of_field(name)
    one, value = case.planned[key], case.actuals[name]
    actual = value.shown(case.planned.job.unit_system)
    if not value.is_stated:
        return ComparedRow(name, label, one.text, "", "not stated")
    low, high = value.low_si, value.high_si
    if low is None or high is None:
        return ComparedRow(name, label, one.text, actual, "not comparable", value.problem)
    wrong = alarms(case, name, value)
    kept, highest = one.kept_si, value.measures[-1]
    hints = []
    if kept is not None:
        hints = [unit_hint(measure, kept.low, kept.high) for measure in value.measures]
    if wrong or any(hints):
        return ComparedRow(name, label, one.text, actual, "not sensible", _joined(*wrong, *hints))
    beware = _beware(case, name, value)
    if kept is None:
        remark = _joined(beware, _no_value(one))
        return ComparedRow(name, label, one.text, actual, "not comparable", remark)
    low, high = low - _rounded_away(value.measures[0], one), high + _rounded_away(highest, one)
    if low <= kept.high * (1.0 + _HAIR) and high >= kept.low * (1.0 - _HAIR):
        return ComparedRow(name, label, one.text, actual, "as planned", beware)
    remark = difference(case, value, one) if difference else _how_far((low + high) / 2.0, kept)
    return ComparedRow(name, label, one.text, actual, "differs", _joined(beware, remark))


def _rounded_away(measure: Measure, one: PlannedValue) -> float:
    """Return half the last digit of a length that was written in another unit than the plan's. [m]

    Who read 0.047 in off a nozzle of 1.2 mm read it rightly. Of a pressure it would be too much:
    1 bar is no 8 psi.
    """
    if measure.kind is not LENGTH or measure.unit == one.unit:
        return 0.0
    half = Decimal(5).scaleb(int(measure.number.as_tuple().exponent) - 1)
    return abs(measure.kind.to_si(float(measure.number + half), measure.unit) - measure.si)


def _how_far(value_si: float, kept: Span) -> str:
    """Say on which side of the plan's range a value lies, and how much it is of the best one."""
    if kept.value <= 0.0:
        return _("The plan has none.")
    share = decimal_text(value_si / kept.value, 2)
    if value_si > kept.high:
        return _("Above the plan's range: {times} times the planned value.", times=share)
    if value_si < kept.low:
        return _("Below the plan's range: {times} times the planned value.", times=share)
    return ""


def _bore_alarms(case: _Case, _name: str, value: ActualValue) -> list[str]:
    units = case.planned.job.unit_system
    bore_m = value.value_si
    if bore_m is None or _SMALLEST_BORE_M <= bore_m <= _LARGEST_BORE_M:
        return []
    return [
        _(
            "No cutting nozzle has such a bore; accepted is {range}.",
            range=units.sizes(_SMALLEST_BORE_M, _LARGEST_BORE_M),
        )
    ]


def _speed_alarms(case: _Case, _name: str, value: ActualValue) -> list[str]:
    low, high = value.low_si, value.high_si
    if low is None or high is None or 0.0 < low <= high <= _FASTEST_M_S * (1.0 + _HAIR):
        return []
    most = case.planned.job.unit_system.text(SPEED, _FASTEST_M_S, "mm/min")
    return [_("No flame cuts at such a speed; accepted is above 0, up to {most}.", most=most)]


def _other_nozzle(_case: _Case, _value: ActualValue, _one: PlannedValue) -> str:
    return _(
        "Another nozzle than planned: pressures, flows and gas of the plan do not hold for it."
    )


def _chart_first(_case: _Case, value: ActualValue, one: PlannedValue) -> str:
    kept = one.kept_si
    far = _how_far(((value.low_si or 0.0) + (value.high_si or 0.0)) / 2.0, kept) if kept else ""
    return _joined(
        far,
        _(
            "The nozzle maker's word goes before the plan: enter it in the job before this is cut "
            "again."
        ),
    )


_REGULATORS = ("set_cutting_oxygen", "set_heating_oxygen", "set_fuel")


def _pressure_alarms(case: _Case, name: str, value: ActualValue) -> list[str]:
    """Judge a pressure by what can hurt: none at all, acetylene's limit, regulator and hose."""
    job, units = case.planned.job, case.planned.job.unit_system
    highest = value.measures[-1]
    if highest.si <= 0.0:
        return [_("No gas flows at a pressure of zero.")]
    is_fuel = name in {"set_fuel", "chart_fuel"}
    gas_name = job.fuel.gas if is_fuel else "oxygen"
    found = []
    if gas_name == "acetylene":
        finding = acetylene_finding(job, case.reference, highest.si, name)
        if finding is not None and finding.severity == "stop":
            found.append(finding.text)
    else:
        hose = case.reference.hose_limit_gauge_pa("normal")
        if highest.si > hose.value:
            pressure, limit = units.apart(GAUGE_PRESSURE, highest, hose.value)
            found.append(
                _(
                    "{pressure} is above what a hose for normal duty carries, {limit}.",
                    pressure=pressure,
                    limit=limit,
                )
            )
    if name in _REGULATORS:
        regulator = {
            "set_cutting_oxygen": job.oxygen.regulator,
            "set_heating_oxygen": job.oxygen.heating.regulator,
            "set_fuel": job.fuel.regulator,
        }[name]
        outlet, _flow = regulator_limits(case.reference, gas_name, regulator)
        if outlet is not None and highest.si > outlet.value * (1.0 + _HAIR):
            pressure, limit = units.apart(GAUGE_PRESSURE, highest, outlet.value)
            text = (
                _(
                    "{pressure} is above the highest outlet pressure of the regulator, {limit}.",
                    pressure=pressure,
                    limit=limit,
                )
                if outlet.is_stated
                else _(
                    "{pressure} is above the highest outlet pressure of the regulator, {limit} by "
                    "its class (from memory).",
                    pressure=pressure,
                    limit=limit,
                )
            )
            found.append(text)
    return [_("Look into this at once: {what}", what=_joined(*found))] if found else []


def _beware(case: _Case, name: str, value: ActualValue) -> str:
    """Say what is to be looked at though it is no alarm: acetylene between two limits."""
    job = case.planned.job
    if name not in {"set_fuel", "chart_fuel"} or job.fuel.gas != "acetylene":
        return ""
    finding = acetylene_finding(job, case.reference, value.measures[-1].si, name)
    return _joined(finding.text, finding.remedy) if finding is not None else ""


def _range_row(case: _Case) -> ComparedRow:
    """Hold the plate's thickness against the range that stands on the nozzle."""
    name = "nozzle_range"
    label, key = _of_field(name)
    one, value = case.planned[key], case.actuals[name]
    actual = value.shown(case.planned.job.unit_system)
    low, high, kept = value.low_si, value.high_si, one.kept_si
    if not value.is_stated:
        return ComparedRow(name, label, one.text, "", "not stated")
    if low is None or high is None:
        return ComparedRow(name, label, one.text, actual, "not comparable", value.problem)
    if not value.is_range:
        remark = _("One thickness is no range: write the least and the greatest.")
        return ComparedRow(name, label, one.text, actual, "not comparable", remark)
    if kept is None:
        return ComparedRow(name, label, one.text, actual, "not comparable", _no_value(one))
    # A nominal thickness at the end of a range belongs to it, however the readings fell.
    nominal_m = case.planned.job.plate.thickness.si
    if any(low * (1.0 - _HAIR) <= at <= high * (1.0 + _HAIR) for at in (kept.value, nominal_m)):
        return ComparedRow(name, label, one.text, actual, "as planned")
    remark = _("The plate is outside the range that stands on the nozzle.")
    return ComparedRow(name, label, one.text, actual, "differs", remark)


def _limit_row(case: _Case, name: str) -> ComparedRow:
    """Hold a measured deviation against its limit."""
    label, key = _of_field(name)
    one, value = case.planned[key], case.actuals[name]
    units = case.planned.job.unit_system
    actual, limit = value.shown(units), one.span_si
    # Of several the one that is farthest off.
    measured = max(value.measures, key=lambda measure: abs(measure.si), default=None)
    text = one.text if limit is None else _(_LIMITS[key], limit=one.text)
    if not value.is_stated:
        return ComparedRow(name, label, text, "", "not stated")
    if measured is None:
        return ComparedRow(name, label, text, actual, "not comparable", value.problem)
    if wrong := next(filter(None, (_measured_wrong(case, name, it) for it in value.measures)), ""):
        return ComparedRow(name, label, text, actual, "not sensible", wrong)
    if limit is None:
        return ComparedRow(name, label, text, actual, "not comparable", _no_value(one))
    firm = (
        _("The limit is not verified ({trust}): look it up in the standard.", trust=_(one.trust))
        if one.trust in {"from memory", "common practice, no source"}
        else ""
    )
    if name == "measured_size":
        sizes = units.sizes(*_SIZES_M)
        of_sizes = _(
            "The limit is that of sizes of {range}: look up that of any other.", range=sizes
        )
        firm = _joined(of_sizes, firm)
    if abs(measured.si) <= limit.value * (1.0 + _HAIR):
        return ComparedRow(name, label, text, actual, "as planned", firm)
    most, far = (LENGTH.from_si(it, one.unit) for it in (limit.value, abs(measured.si)))
    number = in_language(_kept_below(most, far))
    exceeds = _(
        "Exceeds the limit of {limit}: the cut does not keep what was asked for.",
        limit=f"{number} {printed_unit(one.unit)}",
    )
    return ComparedRow(name, label, text, actual, "differs", _joined(exceeds, firm))


def _kept_below(limit: float, measured: float) -> str:
    """Write a limit so that it does not seem to be kept by what exceeds it.

    Three figures, as 1.04 mm is printed as 1.0 mm; more where they would round it up too far.

    >>> _kept_below(131.78, 131.9)
    '131.8'
    """
    for figures in range(3, 12):
        shown = float(f"{limit:.{figures}g}")
        if shown < measured:
            break
    return f"{shown:.12g}"


def _measured_wrong(case: _Case, name: str, measured: Measure) -> str:
    units = case.planned.job.unit_system
    thickness = case.planned["plate.thickness"].span_si
    if name == "measured_roughness" and measured.si < _SMOOTHEST_M:
        return _(
            "No edge cut by a flame is so smooth; below {least} the unit is wrong or nothing was "
            "measured.",
            least=units.text(LENGTH, _SMOOTHEST_M, "µm"),
        )
    if thickness is not None and abs(measured.si) > thickness.high:
        return _(
            "More than the plate is thick, {thickness}: look whether the unit is right.",
            thickness=units.size(thickness.value),
        )
    return ""


def _count_row(case: _Case, name: str) -> ComparedRow:
    """Hold a number of cylinders, changed or side by side, against the plan's."""
    label, key = _of_field(name)
    one, value = case.planned[key], case.actuals[name]
    if not value.is_stated:
        return ComparedRow(name, label, one.text, "", "not stated")
    shown = value.text.strip()
    kept = one.kept_si
    if value.count is None:
        return ComparedRow(name, label, one.text, shown, "not comparable", value.problem)
    if kept is None:
        return ComparedRow(name, label, one.text, shown, "not comparable", _no_value(one))
    if kept.low <= value.count <= kept.high:
        return ComparedRow(name, label, one.text, shown, "as planned")
    return ComparedRow(name, label, one.text, shown, "differs")


_Ratio = tuple[ComparedRow, float | None]


def _use_row(
    key: str, one: PlannedValue, used: Used, actual_si: Span | None, actual: str, as_written: str
) -> _Ratio:
    """Compare what was used; its range is what the readings leave open."""
    label = _(KEYS[key][0])
    remark = _joined(*used.remarks)
    if used.status == "counted" and actual_si is not None:
        kept = one.kept_si
        if kept is None:
            remark = _joined(remark, _no_value(one))
            return ComparedRow(key, label, one.text, actual, "not comparable", remark), None
        sense, far = _judged(actual_si.value, kept)
        row = ComparedRow(key, label, one.text, actual, sense, _joined(far, remark))
        if actual_si.low <= 0.0 < actual_si.high:
            rough = _("So little that the readings show it only roughly.")
            return replace(row, remark=_joined(far, remark, rough)), None
        return row, actual_si.value / kept.value if kept.value > 0.0 else None
    assert used.status != "counted", "what is counted has a value"
    return ComparedRow(key, label, one.text, as_written, used.status, remark), None


def _judged(value_si: float, kept: Span) -> tuple[Sense, str]:
    if kept.low * (1.0 - _HAIR) <= value_si <= kept.high * (1.0 + _HAIR):
        return "as planned", ""
    return "differs", _how_far(value_si, kept)


def _as_written(case: _Case, side: str) -> str:
    units = case.planned.job.unit_system
    before, after = (case.actuals[f"{side}_{when}"] for when in ("before", "after"))
    if not before.is_stated and not after.is_stated:
        return ""
    return f"{before.shown(units) or '—'} → {after.shown(units) or '—'}"


def _spread(kind: Kind, span: Span, metric_unit: str, units: UnitSystem) -> str:
    """Write a value with its range, as the plan's is written."""
    unit = units.unit(metric_unit, kind)
    low, value, high = (number_text(kind.from_si(one, unit), unit) for one in span)
    shown = f"{value} {printed_unit(unit)}"
    return shown if low == high else f"{shown} ({low}–{high})"


def _oxygen_row(case: _Case) -> _Ratio:
    units, gas = case.planned.job.unit_system, case.gas("oxygen")
    used = oxygen_used(case.planned, case.actuals, gas)
    volumes = _volumes(used, gas)
    text = _spread(GAS_VOLUME, volumes, "m3", units) if volumes else ""
    key = "use.oxygen"
    return _use_row(key, case.planned[key], used, volumes, text, _as_written(case, "oxygen"))


def _volumes(used: Used, gas: Gas) -> Span | None:
    if used.mass_kg is None:
        return None
    return Span(*(gas.volume_m3(one) for one in used.mass_kg))


def _fuel_row(case: _Case) -> _Ratio:
    """Compare by weight, or by volume where a meter was read; both are shown."""
    job, units = case.planned.job, case.planned.job.unit_system
    gas = case.gas(job.fuel.gas)
    used = fuel_used(case.planned, case.actuals, gas)
    volumes, written = _volumes(used, gas), _as_written(case, "fuel")
    is_by_meter = used.manner == "meter" or (used.manner is None and job.fuel.comes_from_main)
    key = "use.fuel" if is_by_meter else "use.fuel_mass"
    one = case.planned[key]
    if volumes is None or used.mass_kg is None:
        return _use_row(key, one, used, None, "", written)
    mass = _spread(MASS, used.mass_kg, "kg", units)
    volume = _spread(GAS_VOLUME, volumes, "m3", units)
    if is_by_meter:
        return _use_row(key, one, used, volumes, f"{volume}; {mass}", written)
    return _use_row(key, one, used, used.mass_kg, f"{mass}; {volume}", written)


def _time_row(case: _Case) -> _Ratio:
    """Compare the time from begun to ended."""
    key = "cut.clock_time"
    label, one = _(KEYS[key][0]), case.planned[key]
    begun, ended = case.actuals["begun"], case.actuals["ended"]
    units = case.planned.job.unit_system
    if not begun.is_stated and not ended.is_stated:
        return ComparedRow(key, label, one.text, "", "not stated"), None
    written = f"{begun.shown(units) or '—'} – {ended.shown(units) or '—'}"

    def row(sense: Sense, remark: str, actual: str = written) -> ComparedRow:
        return ComparedRow(key, label, one.text, actual, sense, remark)

    if begun.problem or ended.problem:
        return row("not comparable", _joined(begun.problem, ended.problem)), None
    if begun.moment is None or ended.moment is None:
        return row("not stated", _("Only one of the two times is there.")), None
    taken = time_taken(begun.moment, ended.moment)
    if taken.seconds < 0:
        return row("not sensible", _("It ended before it began: look at dates and times.")), None
    if taken.seconds == 0:
        return row("not sensible", _("It ended when it began: look at dates and times.")), None
    actual = f"{units.text(TIME, float(taken.seconds), 'min')} ({written})"
    night = ""
    if taken.is_night_assumed:
        night = _("The end is earlier in the day than the begin: read as the day after.")
    if taken.seconds > _DAY_S:
        night = _("More than a day: nights and other work are counted in.")
    kept = one.kept_si
    if kept is None:
        return row("not comparable", _joined(night, _no_value(one)), actual), None
    sense, far = _judged(float(taken.seconds), kept)
    # Longer than half a day, the two the other way round would be the shorter time.
    if taken.is_night_assumed and taken.seconds > max(kept.high, _DAY_S / 2):
        doubt = _("Either it went past midnight, or it ended before it began: enter the dates.")
        return row("not sensible", _joined(far, doubt), actual), None
    ratio = taken.seconds / kept.value if kept.value > 0.0 else None
    return row(sense, _joined(far, night), actual), ratio
