"""Fuel gas on hand: cylinders and bundles by weight, what they give at once, a tank, a main."""

import math
from dataclasses import dataclass
from typing import Literal

from kerfdocket.job import FuelCylinder, Job
from kerfdocket.language import _, counted, decimal_text, listed, marked, titled
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.propane import (
    boiling_temperature_k,
    runtime_s,
    steady_vaporisation_kg_s,
    vapour_pressure_abs_pa,
    wetted_area_m2,
)
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import (
    NONE,
    Span,
    estimate,
    first_reason,
    span_of,
    withheld,
)
from kerfdocket.planning.line import REGULATOR_DROP_PA, LineResult
from kerfdocket.planning.model import (
    Basis,
    ChangeCause,
    ChangeOver,
    Estimate,
    Finding,
    least,
)
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.sources import DERIVED, PLANNER, THIS_PROGRAM
from kerfdocket.planning.supply.changeover import opening_order, plan_change_over
from kerfdocket.planning.supply.common import (
    ACETYLENE_STAYS_IN,
    WEIGHING_DOUBT_KG,
    GasSupply,
    Unit,
    all_on_hand,
    changes_estimate,
    no_changes,
    no_cylinders,
    not_limited,
    one_by_one,
    outlet_content,
    too_little,
    whole,
)
from kerfdocket.planning.use import UseResult
from kerfdocket.quantity import GAS_FLOW, MASS
from kerfdocket.reference import Reference
from kerfdocket.reference.supply import PropaneCylinder
from kerfdocket.reference.table import join_sources

__all__ = ["plan_fuel"]

# Heat from still air into a propane cylinder: 5 to 10 W/m2K assumed, 8 taken (derived from a
# vertical plate's free convection and radiation; frost and crowding lower it).
_HEAT_TRANSFER_W_M2_K = Span(5.0, 8.0, 10.0)
_AVAILABLE, _DRAW, _LASTS = "supply.fuel_available", "supply.fuel_draw", "supply.fuel_lasts"
_SIDE_BY_SIDE, _NUMBER = "supply.fuel_side_by_side", "supply.fuel_cylinders"
_CHANGES = "supply.fuel_changes"
_KEYS = (_AVAILABLE, _DRAW, _LASTS, _SIDE_BY_SIDE, _NUMBER, _CHANGES)
_COLDEST_PROPANE_K = 243.15  # the fits of its properties end here
_BUILD_ASSUMED = marked("build of the cylinder and heat transfer assumed")
_STEPPED = join_sources(
    marked(
        "derived: heat balance in steps of 30 s, checked against an adaptive solution with CoolProp"
    ),
    _BUILD_ASSUMED,
)
_STEADY = join_sources(
    marked("derived: heat balance"),
    marked("vapour pressure fitted to CoolProp 8.0.0"),
    _BUILD_ASSUMED,
)


@dataclass(frozen=True)
class _Case:
    """What the parts of this stage share.

    Attributes:
        contents: of one cylinder or bundle of each row of the job. [kg]
        needed_pa: pressure that a cylinder must hold for the regulator, None if not known.
            [Pa gauge]
    """

    job: Job
    reference: Reference
    fuel: Gas
    name: str
    contents: tuple[Span, ...]
    needed_pa: float | None
    findings: list[Finding]

    @property
    def on_hand(self) -> int:
        """Cylinders and bundles."""
        return sum(one.count for one in self.job.fuel.cylinders)

    def units(self) -> list[Unit]:
        """Every cylinder and bundle by itself, as stated."""
        rows = zip(self.job.fuel.cylinders, self.contents, strict=True)
        return one_by_one(
            (one.count, _text(self.job, one), one.coupled, content) for one, content in rows
        )


def plan_fuel(
    job: Job,
    reference: Reference,
    setting: SettingResult,
    line: LineResult,
    cut: CutResult,
    use: UseResult,
) -> GasSupply:
    """Compare the fuel gas on hand with what the job takes, in all and at once.

    Args:
        job: the job.
        reference: the tables.
        setting: the setting stage.
        line: the line stage.
        cut: the cut stage.
        use: the use stage.

    Returns:
        Content, greatest draw, endurance, numbers side by side and in all, change-overs.
    """
    fuel, name = setting.fuel, titled(_(job.fuel.gas))
    if job.fuel.comes_from_main:
        return _from_outlet(job, fuel, use)
    if not job.fuel.cylinders:
        finding = Finding(
            "caution",
            "fuel.cylinders",
            _(
                "No {gas} cylinder is stated; nothing says whether it lasts.",
                gas=_(job.fuel.gas),
            ),
            _("Weigh the cylinders on hand and enter weight now and weight empty."),
            THIS_PROGRAM,
        )
        estimates = tuple(withheld(one, _("no fuel cylinder is stated")) for one in _KEYS)
        return GasSupply(estimates, (), (finding,))
    findings: list[Finding] = []
    set_pa = line["line.fuel_regulator_pressure"].value_si
    case = _Case(
        job,
        reference,
        fuel,
        name,
        tuple(_weighed(job, one, at, name, findings) for at, one in enumerate(job.fuel.cylinders)),
        None if set_pa is None else set_pa + REGULATOR_DROP_PA,
        findings,
    )
    basis = Basis(
        _(
            "Weight now less weight empty; {mass} of doubt in each weighing.",
            mass=job.unit_system.mass(WEIGHING_DOUBT_KG),
        ),
        marked("the planner's scale"),
        "stated",
    )
    rows = [
        (one.count, _text(job, one), content)
        for one, content in zip(job.fuel.cylinders, case.contents, strict=True)
    ]
    total, lines = all_on_hand(_AVAILABLE, job.fuel.gas, rows, basis, fuel)
    draw = _draw(case)
    beside, is_too_cold = _side_by_side(case, setting["setting.fuel_flow"], draw)
    number = _number(case, use, beside, is_too_cold)
    if use.fuel_kg is not None and total.value < use.fuel_kg.value:
        findings.append(
            too_little("fuel.cylinders", name, total, use.fuel_kg, fuel, job.unit_system)
        )
    lasts = _lasts(case, setting["setting.fuel_flow"], total, cut)
    change_over = _change_over(case, cut, use, setting["setting.fuel_flow"])
    changes = changes_estimate(_CHANGES, change_over, use["use.fuel"].basis.trust)
    if not isinstance(change_over, str) and change_over.missing_kg > 0.0:
        _say_what_stays_in(case, total, use, change_over)
    return GasSupply(
        (
            estimate(_AVAILABLE, total, basis, fuel),
            draw,
            lasts,
            beside,
            number,
            changes,
        ),
        lines,
        tuple(findings),
        None if isinstance(change_over, str) else change_over,
    )


def _say_what_stays_in(case: _Case, total: Span, use: UseResult, change_over: ChangeOver) -> None:
    """Say that there is enough by weight, but that not all of it can be drawn."""
    assert use.fuel_kg is not None, "a change-over is only planned for a known amount"
    if total.value < use.fuel_kg.value:
        return  # that they hold too little is said already
    units = case.job.unit_system
    lacks = units.gas_volume(case.fuel.volume_m3(change_over.missing_kg))
    reasons = list(dict.fromkeys(s.reason for s in change_over.spells if s.is_changed))
    case.findings.append(
        Finding(
            "caution",
            "fuel.cylinders",
            _(
                "{gas}: by weight there is enough, but {volume} cannot be drawn in this job "
                "({reason}).",
                gas=case.name,
                volume=units.at_state(lacks),
                reason=listed(reasons) or _("nothing can be drawn"),
            ),
            _("Have more cylinders side by side, draw less, or cut with pauses."),
            DERIVED,
        )
    )


def _text(job: Job, cylinder: FuelCylinder) -> str:
    units = job.unit_system
    now, empty = units.stated(cylinder.weight_now), units.stated(cylinder.weight_empty)
    if cylinder.coupled > 1:
        return _(
            "bundle of {number}, {now} now, {empty} empty",
            number=cylinder.coupled,
            now=now,
            empty=empty,
        )
    return _("{now} now, {empty} empty", now=now, empty=empty)


def _weighed(
    job: Job, cylinder: FuelCylinder, number: int, name: str, findings: list[Finding]
) -> Span:
    """Gas in one cylinder or bundle [kg]; a weight that cannot be is a stop."""
    units = job.unit_system
    content = cylinder.weight_now.si - cylinder.weight_empty.si
    full = cylinder.full_content
    where = f"fuel.cylinders.{number}.weight_now"
    if content < -WEIGHING_DOUBT_KG:
        now, empty = units.apart(MASS, cylinder.weight_now, cylinder.weight_empty)
        findings.append(
            Finding(
                "stop",
                where,
                _(
                    "{gas}: {now} now is less than {empty} empty.",
                    gas=name,
                    now=now,
                    empty=empty,
                ),
                _("Weigh again; compare with the tare stamped on the cylinder."),
                THIS_PROGRAM,
            )
        )
    elif full is not None and content > full.si * 1.02 + WEIGHING_DOUBT_KG:
        content_text, full_text = units.apart(MASS, content, full)
        findings.append(
            Finding(
                "stop",
                where,
                _(
                    "{gas}: {content} of gas by weight, but full it holds {full}.",
                    gas=name,
                    content=content_text,
                    full=full_text,
                ),
                _("Weigh again; an overfilled cylinder goes back to the supplier unused."),
                join_sources(
                    THIS_PROGRAM,
                    _(
                        "2 % and {mass} allowed for weighing",
                        mass=units.mass(WEIGHING_DOUBT_KG),
                    ),
                ),
            )
        )
    content = max(content, 0.0)
    return Span(max(content - WEIGHING_DOUBT_KG, 0.0), content, content + WEIGHING_DOUBT_KG)


class _CannotSayError(Exception):
    """Why nothing can be said of a cylinder, for a person."""


def _propane(case: _Case, row: int) -> tuple[PropaneCylinder, float]:
    """Build of one cylinder of a row, and the pressure that it must hold [Pa gauge].

    Raises:
        _CannotSayError: one of the two is not known.
    """
    cylinder = case.job.fuel.cylinders[row]
    full = cylinder.full_content
    build = case.reference.propane_cylinder(full.si / cylinder.coupled) if full else None
    if build is None:
        raise _CannotSayError(
            _("state what the cylinder holds when full; the build of 11 and 33 kg ones is known")
        )
    if case.needed_pa is None:
        raise _CannotSayError(_("the set pressure is withheld"))
    if case.job.site.temperature.si < _COLDEST_PROPANE_K - 1e-6:
        coldest = case.job.unit_system.temperature(_COLDEST_PROPANE_K)
        raise _CannotSayError(
            _("below {temperature} nothing is known here of propane", temperature=coldest)
        )
    # Colder than the formulas go it would hold a lower pressure still: the safe side.
    lowest_pa = vapour_pressure_abs_pa(_COLDEST_PROPANE_K) * (1.0 + 1e-9)
    return build, max(case.needed_pa, lowest_pa - case.job.site.air_abs_pa)


def _limit_kg_s(case: _Case, row: int) -> Span:
    """Greatest draw from one cylinder or bundle of a row, as full as it is now [kg/s].

    Raises:
        _CannotSayError: nothing can be said.
    """
    job, content = case.job, case.contents[row]
    cylinder = job.fuel.cylinders[row]
    if job.fuel.gas == "acetylene":
        full = cylinder.full_content
        holds_kg = min(content.value, full.si) if full else content.value
        return _acetylene_share(case).scaled(holds_kg)
    if job.fuel.gas != "propane":
        raise _CannotSayError(_("nothing is known of {gas} in cylinders", gas=_(job.fuel.gas)))
    if content.value <= 0.0:
        return NONE
    build, needed_pa = _propane(case, row)
    air_k = job.site.temperature.si
    liquid_k = boiling_temperature_k(needed_pa + job.site.air_abs_pa)
    if air_k <= liquid_k:
        return NONE
    area_m2 = wetted_area_m2(build.diameter_m, content.value / cylinder.coupled, liquid_k)
    return Span(
        *(
            steady_vaporisation_kg_s(heat, area_m2, air_k, liquid_k)
            for heat in _HEAT_TRANSFER_W_M2_K
        )
    ).scaled(cylinder.coupled)


def _acetylene_share(case: _Case) -> Span:
    """Share of its content that may be drawn from an acetylene cylinder [1/s]."""
    stated = case.job.fuel.draw_share
    if stated is not None:
        return Span.exact(stated.si / 3600.0)
    steady = case.reference.acetylene_withdrawal_per_s("continuous").value
    if case.job.torch.kind != "hand":
        return Span.exact(steady)
    short = case.reference.acetylene_withdrawal_per_s("intermittent").value
    return Span(steady, short, short)


def _draw(case: _Case) -> Estimate:
    """Greatest steady draw from one cylinder or bundle like the first."""
    job, units = case.job, case.job.unit_system
    try:
        span = _limit_kg_s(case, 0)
    except _CannotSayError as reason:
        return withheld(_DRAW, str(reason))
    content = (_("content now"), units.mass(case.contents[0].value))
    if job.fuel.gas == "acetylene":
        equation = "ṁ = share · m / 1 h"
        if job.fuel.draw_share is not None:
            stated = units.stated(job.fuel.draw_share)
            usual = case.reference.acetylene_withdrawal_per_s("intermittent")
            if job.fuel.draw_share.si > usual.value * 3600.0 * 1.001:
                case.findings.append(
                    Finding(
                        "caution",
                        "fuel.draw_share",
                        _(
                            "{share} of the content in an hour is more than the usual rule allows "
                            "even in short spells ({rule}).",
                            share=stated,
                            rule=usual.note,
                        ),
                        _(
                            "Keep to the rule unless the supplier of the cylinder says otherwise "
                            "in writing."
                        ),
                        usual.source,
                    )
                )
            text = _(
                "A share of what it holds now: {share} in an hour, as stated; it falls as the "
                "cylinder empties.",
                share=stated,
            )
            basis = Basis(text, PLANNER, "stated", equation, (content,))
        else:
            manner: Literal["intermittent", "continuous"] = (
                "intermittent" if job.torch.kind == "hand" else "continuous"
            )
            rule = case.reference.acetylene_withdrawal_per_s(manner)
            text = _(
                "A share of what it holds now: {rule}, {manner} use; it falls as the cylinder "
                "empties, so draw less or with pauses towards the end.",
                rule=rule.note,
                manner=_("intermittent") if manner == "intermittent" else _("continuous"),
            )
            basis = Basis(text, rule.source, rule.trust, equation, (content,))
        return estimate(_DRAW, span, basis, case.fuel)
    if span.value <= 0 and case.contents[0].value > 0.0:
        case.findings.append(
            Finding(
                "stop",
                "site.temperature",
                _(
                    "At {temperature} propane does not hold the pressure that the regulator needs.",
                    temperature=units.stated(job.site.temperature),
                ),
                _(
                    "Bring the cylinders to a warmer, aired place above ground; never heat them "
                    "with a flame."
                ),
                marked("fit to CoolProp 8.0.0"),
            )
        )
    inputs = [(_("air"), units.stated(job.site.temperature)), content]
    if case.contents[0].value > 0.0:
        _build, needed_pa = _propane(case, 0)
        liquid_k = boiling_temperature_k(needed_pa + job.site.air_abs_pa)
        inputs.append((_("boils at the needed pressure at"), units.temperature(liquid_k)))
    basis = Basis(
        _(
            "Heat that the air gives to the wetted wall, as steady draw; for a cylinder as full as "
            "now, so it falls as it empties."
        ),
        _STEADY,
        "common practice, no source",
        "ṁ = U · A · (T_air − T_liquid) / h_fg",
        tuple(inputs),
    )
    return estimate(_DRAW, span, basis, case.fuel)


def _side_by_side(case: _Case, flow_estimate: Estimate, draw: Estimate) -> tuple[Estimate, bool]:
    """How many must be open together so that none is drawn too hard, the emptiest first.

    Returns:
        The number, and whether even the fullest is too cold to give gas.
    """
    flow = span_of(flow_estimate)
    if flow is None or draw.is_withheld:
        return withheld(_SIDE_BY_SIDE, first_reason(flow_estimate, draw)), False
    try:
        limits = [_limit_kg_s(case, unit.row) for unit in opening_order(case.units())]
    except _CannotSayError as reason:
        return withheld(_SIDE_BY_SIDE, str(reason)), False
    fullest = limits[-1]
    if fullest.low <= 0:
        too_cold = _("the cylinder gives no gas at the needed pressure in this cold")
        return withheld(_SIDE_BY_SIDE, too_cold), True
    counts = []
    for end, drawn in enumerate(flow):
        ends = [limit[2 - end] for limit in limits]  # the least flow meets the greatest limit
        counts.append(_enough(ends, drawn))
    number, units = Span(*(float(count) for count in counts)), case.job.unit_system
    if number.value > case.on_hand:
        drawn_text, gives = units.apart(
            GAS_FLOW, *(case.fuel.volume_m3(one) for one in (flow.value, fullest.value))
        )
        case.findings.append(
            Finding(
                "caution",
                "fuel.cylinders",
                counted(
                    "{gas}: the flame draws {drawn}, the fullest cylinder or bundle gives {given}: "
                    "{needed} must run side by side, {count} is stated.",
                    "{gas}: the flame draws {drawn}, the fullest cylinder or bundle gives {given}: "
                    "{needed} must run side by side, {count} are stated.",
                    case.on_hand,
                    gas=case.name,
                    drawn=drawn_text,
                    given=units.at_state(gives),
                    needed=decimal_text(number.value),
                ),
                _("Couple more cylinders with a manifold made for the gas, or cut with pauses."),
                draw.basis.source,
            )
        )
    basis = Basis(
        _(
            "As many as together give what the flame draws, each at its own limit, the emptiest "
            "opened first; beyond those on hand, more like the fullest."
        ),
        draw.basis.source,
        least("derived", flow_estimate.basis.trust, draw.basis.trust),
        "Σ q_one ≥ q",
        (
            ("q", units.at_state(units.gas_flow(case.fuel.volume_m3(flow.value)))),
            (
                _("q_one, the fullest"),
                units.at_state(units.gas_flow(case.fuel.volume_m3(fullest.value))),
            ),
        ),
    )
    return estimate(_SIDE_BY_SIDE, number, basis), False


def _enough(limits: list[float], drawn: float) -> int:
    """How many of them, from the first on, give what is drawn; more like the last where need be."""
    given = 0.0
    for count, limit in enumerate(limits, start=1):
        given += limit
        if given >= drawn * (1.0 - 1e-9):
            return count
    return len(limits) + math.ceil((drawn - given) / limits[-1] - 1e-9)


def _number(case: _Case, use: UseResult, beside: Estimate, is_too_cold: bool) -> Estimate:
    """How many the job needs, by content and by draw."""
    if use.fuel_kg is None:
        return withheld(_NUMBER, _("what it takes is withheld"))
    fullest = max(case.contents, key=lambda content: content.value)
    if fullest.low <= 0:
        return withheld(_NUMBER, _("the cylinders are empty, or nearly"))
    by_content = whole(use.fuel_kg.over(fullest))
    by_draw = span_of(beside)
    if by_draw is None:
        if is_too_cold:
            return withheld(_NUMBER, beside.basis.text)
        basis = Basis(
            _("By content alone; the draw is not judged: {reason}", reason=beside.basis.text),
            DERIVED,
            least("derived", use["use.fuel"].basis.trust),
        )
        return estimate(_NUMBER, by_content, basis)
    number = Span(*(max(pair) for pair in zip(by_content, by_draw, strict=True)))
    basis = Basis(
        _(
            "The greater of {by_content} like the fullest by content and {by_draw} side by side by "
            "draw.",
            by_content=decimal_text(by_content.value),
            by_draw=decimal_text(by_draw.value),
        ),
        beside.basis.source,
        least("derived", use["use.fuel"].basis.trust, beside.basis.trust),
    )
    return estimate(_NUMBER, number, basis)


def _lasts(case: _Case, flow_estimate: Estimate, total: Span, cut: CutResult) -> Estimate:
    """How long all cylinders on hand, side by side, feed the flame without a pause."""
    flow, flow_trust = span_of(flow_estimate), flow_estimate.basis.trust
    if flow is None:
        return withheld(_LASTS, first_reason(flow_estimate))
    if total.value <= 0:
        return withheld(_LASTS, _("the cylinders are empty, or nearly"))
    job, units = case.job, case.job.unit_system
    if job.fuel.gas != "propane":
        basis = Basis(
            _("Content over flow; the draw limit of the cylinders is judged apart."),
            DERIVED,
            least("derived", flow_trust),
            "t = m / ṁ",
        )
        return estimate(_LASTS, total.over(flow), basis)
    rows = [row for row, content in enumerate(case.contents) if content.value > 0.0]
    try:
        times = []
        for heat, drawn in zip(_HEAT_TRANSFER_W_M2_K, reversed(flow), strict=True):
            # Each gives in proportion to what it holds; the first to get cold ends it.
            found = [
                _holds_s(case, row, heat, drawn * case.contents[row].value / total.value)
                for row in rows
            ]
            times.append(min(found))
    except _CannotSayError as reason:
        return withheld(_LASTS, str(reason))
    (low, _left), (value, left_kg), (high, _left) = times
    _build, needed_pa = _propane(case, rows[0])
    side_by_side = sum(one.count * one.coupled for one in job.fuel.cylinders)
    basis = Basis(
        _(
            "Step by step: the liquid cools as it boils, until the first of {number} side by side "
            "no longer holds {pressure}; {mass} are left in it then.",
            number=side_by_side,
            pressure=units.gauge(needed_pa),
            mass=units.mass(left_kg),
        ),
        _STEPPED,
        "common practice, no source",
        "C · dT/dt = U · A · (T_air − T) − ṁ · h_fg",
        (
            (_("air"), units.stated(job.site.temperature)),
            (_("content now, all"), units.mass(total.value)),
            (_("draw, all"), _("{mass} in an hour", mass=units.mass(flow.value * 3600))),
        ),
    )
    flame = cut["cut.flame_time"]
    if flame.value_si is not None and value < flame.value_si:
        case.findings.append(
            Finding(
                "caution",
                "fuel.cylinders",
                _(
                    "Propane: after about {minutes} min of flame the cylinder is too cold to hold "
                    "the pressure; {mass} are left in it then.",
                    minutes=decimal_text(value / 60),
                    mass=units.mass(left_kg),
                ),
                _(
                    "Run more cylinders side by side, use larger ones, or change over in time and "
                    "let the cold one warm up by itself."
                ),
                basis.source,
            )
        )
    return estimate(_LASTS, Span(low, value, high), basis)


def _holds_s(
    case: _Case, row: int, heat_transfer_w_m2_k: float, draw_kg_s: float
) -> tuple[float, float]:
    """Time for which one propane cylinder or bundle holds its pressure [s], what is left [kg].

    Raises:
        _CannotSayError: nothing can be said.
    """
    build, needed_pa = _propane(case, row)
    cylinder, site = case.job.fuel.cylinders[row], case.job.site
    start = cylinder.temperature.si if cylinder.temperature else site.temperature.si
    if start < _COLDEST_PROPANE_K:
        return 0.0, case.contents[row].value
    try:
        time_s, left_kg = runtime_s(
            case.contents[row].value / cylinder.coupled,
            build.diameter_m,
            build.steel_mass_kg,
            heat_transfer_w_m2_k,
            site.temperature.si,
            draw_kg_s / cylinder.coupled,
            needed_pa,
            site.air_abs_pa,
            start,
        )
    except ValueError as error:
        raise _CannotSayError(
            _("draw or pressure is outside what the formulas are good for")
        ) from error
    return time_s, left_kg * cylinder.coupled


def _change_over(
    case: _Case, cut: CutResult, use: UseResult, flow_estimate: Estimate
) -> ChangeOver | str:
    """The order of the cylinders, or why there is none."""
    clock_s, flow = span_of(cut["cut.clock_time"]), flow_estimate.value_si
    if clock_s is None or use.fuel_kg is None or use.fuel_kg.low <= 0.0 or flow is None:
        return _("what it takes is withheld")

    def limit(unit: Unit) -> float:
        return _limit_kg_s(case, unit.row).value

    def can_give(unit: Unit, mean_kg_s: float) -> tuple[float, ChangeCause]:
        holds_kg = unit.holds_kg.value
        if case.job.fuel.gas == "acetylene":
            full = case.job.fuel.cylinders[unit.row].full_content
            stays_kg = ACETYLENE_STAYS_IN * (full.si if full else holds_kg)
            return max(holds_kg - stays_kg, 0.0), "nearly empty"
        if holds_kg <= 0.0:
            return 0.0, "empty"
        _time_s, left_kg = _holds_s(case, unit.row, _HEAT_TRANSFER_W_M2_K.value, mean_kg_s)
        if left_kg > 0.01 * holds_kg:
            return holds_kg - left_kg, "too cold"
        return holds_kg, "empty"

    def left_text(unit: Unit, taken_kg: float) -> str:
        now = case.job.fuel.cylinders[unit.row].weight_now.si
        return case.job.unit_system.mass(now - taken_kg)

    try:
        return plan_change_over(
            case.fuel,
            case.job.fuel.gas,
            case.units(),
            use.fuel_kg,
            clock_s,
            cut.set_up_s,
            can_give,
            left_text,
            limit,
            flow,
        )
    except _CannotSayError as reason:
        return str(reason)


def _from_outlet(job: Job, fuel: Gas, use: UseResult) -> GasSupply:
    """A main gives without end; a tank holds what is stated."""
    reason = not_limited(job.fuel)
    available, lines, findings = outlet_content(
        _AVAILABLE, "fuel.outlet", job.fuel.gas, job.fuel, fuel, use.fuel_kg, job.unit_system
    )
    return GasSupply(
        (
            available,
            withheld(_DRAW, reason),
            withheld(_LASTS, reason),
            withheld(_SIDE_BY_SIDE, reason),
            no_cylinders(_NUMBER, job.fuel),
            no_changes(_CHANGES, job.fuel),
        ),
        lines,
        findings,
    )
