"""Stage 6: speed, kerf, starts and time."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, decimal_text, marked, titled
from kerfdocket.physics.kerf import oxygen_utilisation
from kerfdocket.planning.keys import (
    NONE,
    Span,
    estimate,
    first_reason,
    from_stated,
    span_of,
    withheld,
)
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult, Trust, least
from kerfdocket.planning.nozzle import NozzleResult
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.preheat import preheat_fuel_kg
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.sources import DERIVED, NO_SOURCE, PLANNER, THIS_PROGRAM
from kerfdocket.planning.steel import SteelResult
from kerfdocket.reference import Reference
from kerfdocket.reference.table import general_text, join_sources

__all__ = ["CutResult", "plan_cut"]

_CHART = marked("nozzle maker's or shop's chart")
# Time that is neither flame nor travel; common practice, no source.
_SET_UP_S = Span(300.0, 600.0, 1200.0)  # assemble, leak-test, light, shut down
_BETWEEN_CUTS_S = Span(30.0, 60.0, 180.0)  # move to the next start
# Derived: about 0.73 of the kerf's iron must burn to FeO for the cut to stay hot, so a jet that
# holds less oxygen than that cannot have made this kerf at this speed.
_MUST_BURN = 0.73


@dataclass(frozen=True)
class CutResult(StageResult):
    """Attributes:
    length_m: cut length of all pieces. [m]
    edge_starts: number of starts at an edge.
    pierces: number of pierces.
    cutting_time_s: time on the way, None if withheld. [s]
    between_cuts_s: time between cuts, moving to the next start. [s]
    set_up_s: time before the first cut, and after the last. [s]
    """

    length_m: float = 0.0
    edge_starts: int = 0
    pierces: int = 0
    cutting_time_s: Span | None = None
    between_cuts_s: Span = NONE
    set_up_s: Span = NONE


def plan_cut(
    job: Job,
    reference: Reference,
    plate: PlateResult,
    steel: SteelResult,
    nozzle: NozzleResult,
    setting: SettingResult,
) -> CutResult:
    """Work out how fast, how wide and how long.

    Args:
        job: the job.
        reference: the tables.
        plate: the plate stage.
        steel: the steel stage.
        nozzle: the nozzle stage.
        setting: the setting stage.

    Returns:
        Speed, kerf, cut length, starts, time on the flame and on the clock.
    """
    findings: list[Finding] = []
    length_m, edge_starts, pierces = _count(job, findings)
    speed = _speed(job, reference, plate, nozzle, findings)
    kerf = _kerf(job, reference, plate, nozzle, findings)
    start, pierce = _starts(job, reference, plate, nozzle)
    utilisation = _utilisation(plate, speed, kerf, setting, findings)
    length = estimate(
        "cut.length",
        Span.exact(length_m),
        Basis(_("Cut length of one piece times pieces, over all parts."), PLANNER, "stated"),
    )
    starts = estimate(
        "cut.starts",
        Span.exact(float(edge_starts + pierces)),
        Basis(
            _("{edge} from an edge, {pierced} pierced.", edge=edge_starts, pierced=pierces),
            PLANNER,
            "stated",
        ),
    )
    cutting = Span.exact(length_m).over(rate) if (rate := span_of(speed)) else None
    preheat = _preheat_time(job, plate, steel, length_m, setting)
    flame = _flame_time(cutting, edge_starts, pierces, speed, start, pierce, preheat)
    clock = _clock_time(job, reference, flame, edge_starts + pierces)
    return CutResult(
        "cut",
        (speed, kerf, length, starts, start, pierce, utilisation, preheat, flame, clock),
        tuple(findings),
        length_m,
        edge_starts,
        pierces,
        cutting,
        _BETWEEN_CUTS_S.scaled(edge_starts + pierces),
        _SET_UP_S,
    )


def _count(job: Job, findings: list[Finding]) -> tuple[float, int, int]:
    if not job.parts:
        findings.append(
            Finding(
                "note",
                "parts",
                _("No part is listed; everything is worked out for one metre of cut from an edge."),
                _("List the parts with their cut lengths."),
                THIS_PROGRAM,
            )
        )
        return 1.0, 1, 0
    length_m = sum(part.cut_length.si * part.count for part in job.parts)
    edge = sum(part.starts * part.count for part in job.parts if part.start == "edge")
    pierces = sum(part.starts * part.count for part in job.parts if part.start == "pierce")
    return length_m, edge, pierces


def _speed(
    job: Job,
    reference: Reference,
    plate: PlateResult,
    nozzle: NozzleResult,
    findings: list[Finding],
) -> Estimate:
    key = "cut.speed"
    if nozzle.bore_m is None:
        return withheld(key, _("no nozzle: {reason}", reason=nozzle.text))
    purity = job.oxygen.purity.si * 100.0
    useless = reference.purity_rule("not practical")
    wanted = reference.purity_rule("wanted")
    if purity <= useless.value_percent:
        findings.append(
            Finding(
                "stop",
                "oxygen.purity",
                _(
                    "Oxygen of {purity}: at or below {limit} % cutting is not practical; below "
                    "95 % it stops.",
                    purity=job.oxygen.purity.printed,
                    limit=general_text(useless.value_percent),
                ),
                _(
                    "Use oxygen of at least {purity} %.",
                    purity=general_text(wanted.value_percent),
                ),
                useless.source,
            )
        )
        return withheld(key, _("the oxygen is not pure enough to cut with"))
    if job.chart.speed is not None:
        return from_stated(key, job.chart.speed.si, _(_CHART))
    found = reference.speed(plate.chart_thickness_m, job.torch.kind)
    if found is None:
        why_none = reference.why_none("speed", plate.chart_thickness_m)
        return withheld(key, why_none or _("no source"))
    span, source, text = Span.of(found), found.source, f"{found.note}."
    trust: Trust = found.trust
    short = wanted.value_percent - purity
    if short > 1e-9:
        rule = reference.purity_rule("speed for each percent less")
        factor = Span(
            1.0 + rule.value_low_percent / 100.0 * short,
            1.0 + rule.value_percent / 100.0 * short,
            1.0 + rule.value_high_percent / 100.0 * short,
        )
        span, trust = span.times(factor), least(trust, rule.trust)
        source = f"{source}; {rule.source}"
        slowed = _(
            "Slowed to {share}% for oxygen of {purity}.",
            share=_percent(factor.value),
            purity=job.oxygen.purity.printed,
        )
        text = f"{text} {slowed}"
        findings.append(
            Finding(
                "caution",
                "oxygen.purity",
                _(
                    "Oxygen of {purity} is less pure than {wanted} %: the cut is about {share}% "
                    "slower.",
                    purity=job.oxygen.purity.printed,
                    wanted=general_text(wanted.value_percent),
                    share=_percent(1.0 - factor.value),
                ),
                _("Use oxygen of {purity} % or purer.", purity=general_text(wanted.value_percent)),
                rule.source,
            )
        )
    return estimate(key, span, Basis(titled(text), source, trust))


def _kerf(
    job: Job,
    reference: Reference,
    plate: PlateResult,
    nozzle: NozzleResult,
    findings: list[Finding],
) -> Estimate:
    key = "cut.kerf"
    if nozzle.bore_m is None:
        return withheld(key, _("no nozzle: {reason}", reason=nozzle.text))
    if job.chart.kerf is not None:
        return from_stated(key, job.chart.kerf.si, _(_CHART))
    found = reference.kerf(plate.chart_thickness_m, nozzle.bore_m)
    if found is None:
        why_none = reference.why_none("kerf", plate.chart_thickness_m)
        return withheld(key, why_none or _("no source"))
    findings.append(
        Finding(
            "note",
            "chart.kerf",
            _("The kerf of {width} is unverified.", width=job.unit_system.size(found.value)),
            _("Measure the kerf of a trial cut before you offset contours by half of it."),
            found.source,
        )
    )
    return estimate(key, Span.of(found), Basis(f"{found.note}.", found.source, found.trust))


def _starts(
    job: Job, reference: Reference, plate: PlateResult, nozzle: NozzleResult
) -> tuple[Estimate, Estimate]:
    start_key, pierce_key = "cut.start_time", "cut.pierce_time"
    if nozzle.bore_m is None:
        reason = _("no nozzle: {reason}", reason=nozzle.text)
        return withheld(start_key, reason), withheld(pierce_key, reason)
    found = reference.start_time(plate.chart_thickness_m)
    if job.chart.start_time is not None:
        start = from_stated(start_key, job.chart.start_time.si, _(_CHART))
    elif found is None:
        reason = reference.why_none("start_time", plate.chart_thickness_m) or _("no source")
        start = withheld(start_key, _("{reason}; state it under 'chart'", reason=reason))
    else:
        text = " ".join((_("Until the upper edge glows."), found.note)).strip()
        start = estimate(start_key, Span.of(found), Basis(text, found.source, found.trust))
    if job.chart.pierce_time is not None:
        return start, from_stated(pierce_key, job.chart.pierce_time.si, _(_CHART))
    span = span_of(start)
    if span is None:
        return start, withheld(pierce_key, start.basis.text)
    factor = reference.pierce_factor
    basis = Basis(
        _(
            "{low} to {high} times an edge start, {value} taken.",
            low=general_text(factor.low),
            high=general_text(factor.high),
            value=general_text(factor.value),
        ),
        factor.source,
        least(factor.trust, start.basis.trust),
    )
    return start, estimate(pierce_key, span.times(Span.of(factor)), basis)


def _utilisation(
    plate: PlateResult,
    speed: Estimate,
    kerf: Estimate,
    setting: SettingResult,
    findings: list[Finding],
) -> Estimate:
    key = "cut.oxygen_utilisation"
    flow = setting["setting.cutting_oxygen_flow"]
    parts = (span_of(speed), span_of(kerf), span_of(flow))
    if any(part is None for part in parts):
        return withheld(key, first_reason(speed, kerf, flow))
    rate, width, oxygen = (part for part in parts if part is not None)
    shares = [
        oxygen_utilisation(plate.thickness_m, w, v, q)
        for w, v, q in (
            (width.low, rate.low, oxygen.high),
            (width.value, rate.value, oxygen.value),
            (width.high, rate.high, oxygen.low),
        )
    ]
    trust = least(speed.basis.trust, kerf.basis.trust, flow.basis.trust)
    source = marked("derived: oxygen to burn the whole kerf to FeO over the oxygen that flows")
    share = shares[1]
    impossible = share * _MUST_BURN > 1.0
    text = remedy = ""
    if impossible:
        text = _(
            "The kerf would need {share}% of the oxygen that flows: speed, kerf, pressure or bore "
            "do not belong together.",
            share=_percent(share * _MUST_BURN),
        )
        remedy = _("Check the values of the chart for a slip.")
    elif share > 0.7:
        text = _(
            "The kerf would need {share}% of the oxygen that flows, which is unusually much.",
            share=_percent(share),
        )
        remedy = _("Check speed and pressure; try the cut on scrap.")
    elif share < 0.1:
        text = _(
            "The kerf needs only {share}% of the oxygen that flows: wasteful, or a slip.",
            share=_percent(share),
        )
        remedy = _("Check nozzle, pressure and speed.")
    if text:
        certain = impossible and trust not in {"from memory", "common practice, no source"}
        findings.append(Finding("stop" if certain else "caution", "cut", text, remedy, source))
    basis = Basis(_("A check of the values against each other."), source, trust)
    return estimate(key, Span(*shares), basis)


def _preheat_time(
    job: Job, plate: PlateResult, steel: SteelResult, length_m: float, setting: SettingResult
) -> Estimate:
    key, flow = "cut.preheat_time", setting["setting.fuel_flow"]
    amount, rate = preheat_fuel_kg(job, plate, steel, length_m, setting.fuel), span_of(flow)
    if isinstance(amount, str):
        return withheld(key, _(amount))
    if rate is None:
        return withheld(key, first_reason(flow))
    basis = Basis(
        _(
            "Gas to preheat over the flow of the torch's own flame; a heating torch or burner is "
            "quicker, in proportion to its gas."
        ),
        join_sources(DERIVED, marked("share of the heat that reaches the plate assumed")),
        "common practice, no source",
        "t = m_preheat / q_fuel",
    )
    return estimate(key, amount.over(rate), basis)


def _flame_time(
    cutting: Span | None,
    edge_starts: int,
    pierces: int,
    speed: Estimate,
    start: Estimate,
    pierce: Estimate,
    preheat: Estimate,
) -> Estimate:
    key = "cut.flame_time"
    needed = [speed]
    needed += [start] if edge_starts else []
    needed += [pierce] if pierces else []
    if cutting is None or any(one.is_withheld for one in needed):
        return withheld(key, first_reason(*needed))
    total = cutting
    for count, one in ((edge_starts, start), (pierces, pierce)):
        span = span_of(one)
        if count and span:
            total = total.plus(span.scaled(count))
    text = _(
        "Cut length over speed, and the heating at each start; what it burns between cuts is "
        "counted with the gas."
    )
    equation = "t = L/v + n_edge · t_edge + n_pierce · t_pierce"
    heating = span_of(preheat)
    if heating is not None:
        total = total.plus(heating)
        text = _(
            "Cut length over speed, and the heating at each start, and of the plate before; what "
            "it burns between cuts is counted with the gas."
        )
        equation = f"{equation} + t_preheat"
        needed.append(preheat)
    basis = Basis(
        text,
        DERIVED,
        least("derived", *(one.basis.trust for one in needed)),
        equation,
    )
    return estimate(key, total, basis)


def _clock_time(job: Job, reference: Reference, flame: Estimate, starts: int) -> Estimate:
    key = "cut.clock_time"
    span = span_of(flame)
    if span is None:
        return withheld(key, flame.basis.text)
    total = span.plus(_SET_UP_S).plus(_BETWEEN_CUTS_S.scaled(starts))
    text = _(
        "Time on the flame, 10 min (5 to 20) to set up and shut down, 1 min (0.5 to 3) for each "
        "start."
    )
    source = NO_SOURCE
    if job.fuel.gas == "propane":
        factor = reference.propane_time_factor
        total = total.times(Span.of(factor))
        times = _("Times {factor} for propane.", factor=general_text(factor.value))
        text = f"{text} {times}"
        source = join_sources(source, factor.source)
    return estimate(key, total, Basis(text, source, "common practice, no source"))


def _percent(share: float) -> str:
    """Write a share in whole percent."""
    return decimal_text(100.0 * share)
