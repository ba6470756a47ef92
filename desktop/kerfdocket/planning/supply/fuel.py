"""Fuel gas on hand: cylinders and bundles by weight, what they give at once, a tank, a main."""

from dataclasses import dataclass

from kerfdocket.job import FuelCylinder, Job
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.propane import (
    boiling_temperature_k,
    runtime_s,
    steady_vaporisation_kg_s,
    wetted_area_m2,
)
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import (
    NONE,
    Span,
    estimate,
    first_reason,
    from_stated,
    span_of,
    withheld,
)
from kerfdocket.planning.line import REGULATOR_DROP_PA, LineResult
from kerfdocket.planning.model import (
    Basis,
    ChangeOver,
    Estimate,
    Finding,
    SupplyLine,
    least,
)
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.supply.changeover import plan_change_over
from kerfdocket.planning.supply.common import Unit, tank_content_kg, too_little, whole
from kerfdocket.planning.use import UseResult
from kerfdocket.reference import Reference
from kerfdocket.reference.supply import PropaneCylinder

__all__ = ["FuelSupply", "plan_fuel"]

# Heat from still air into a propane cylinder: 5 to 10 W/m2K assumed, 8 taken (derived from a
# vertical plate's free convection and radiation; frost and crowding lower it).
_HEAT_TRANSFER_W_M2_K = Span(5.0, 8.0, 10.0)
_WEIGHING_DOUBT_KG = 0.1  # of a platform scale, each time: assumed, common practice, no source
_AVAILABLE, _DRAW, _LASTS = "supply.fuel_available", "supply.fuel_draw", "supply.fuel_lasts"
_SIDE_BY_SIDE, _NUMBER = "supply.fuel_side_by_side", "supply.fuel_cylinders"
_CHANGES = "supply.fuel_changes"
_KEYS = (_AVAILABLE, _DRAW, _LASTS, _SIDE_BY_SIDE, _NUMBER, _CHANGES)
_STEPPED = (
    "derived: heat balance in steps of 30 s, checked against an adaptive solution with CoolProp; "
    "build of the cylinder and heat transfer assumed"
)


@dataclass(frozen=True)
class FuelSupply:
    """Estimates, lines for the sheet, findings and the change-over plan of the fuel gas."""

    estimates: tuple[Estimate, ...]
    lines: tuple[SupplyLine, ...] = ()
    findings: tuple[Finding, ...] = ()
    change_over: ChangeOver | None = None


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


def plan_fuel(
    job: Job,
    reference: Reference,
    setting: SettingResult,
    line: LineResult,
    cut: CutResult,
    use: UseResult,
) -> FuelSupply:
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
    fuel, name = setting.fuel, job.fuel.gas.capitalize()
    if job.fuel.comes_from_main:
        return _from_outlet(job, fuel, name, use)
    if not job.fuel.cylinders:
        finding = Finding(
            "caution",
            "fuel.cylinders",
            f"No {job.fuel.gas} cylinder is stated; nothing says whether it lasts.",
            "Weigh the cylinders on hand and enter weight now and weight empty.",
            "this program",
        )
        estimates = tuple(withheld(one, "no fuel cylinder is stated") for one in _KEYS)
        return FuelSupply(estimates, (), (finding,))
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
        f"Weight now less weight empty; {job.unit_system.mass(_WEIGHING_DOUBT_KG)} of doubt in "
        "each weighing.",
        "the planner's scale",
        "stated",
    )
    total = NONE
    for one, content in zip(job.fuel.cylinders, case.contents, strict=True):
        total = total.plus(content.scaled(one.count))
    lines = tuple(
        SupplyLine(
            job.fuel.gas,
            one.count,
            _text(job, one),
            estimate(_AVAILABLE, content, basis, fuel),
            False,
        )
        for one, content in zip(job.fuel.cylinders, case.contents, strict=True)
    )
    draw = _draw(case)
    beside = _side_by_side(case, setting["setting.fuel_flow"], draw)
    number = _number(case, use, beside)
    if use.fuel_kg is not None and total.value < use.fuel_kg.value:
        findings.append(
            too_little("fuel.cylinders", name, total, use.fuel_kg, fuel, job.unit_system)
        )
    lasts = _lasts(case, setting["setting.fuel_flow"], total, cut)
    change_over = _change_over(case, cut, use, beside)
    return FuelSupply(
        (
            estimate(_AVAILABLE, total, basis, fuel),
            draw,
            lasts,
            beside,
            number,
            _changes(change_over, use),
        ),
        lines,
        tuple(findings),
        change_over,
    )


def _text(job: Job, cylinder: FuelCylinder) -> str:
    units = job.unit_system
    weights = (
        f"{units.stated(cylinder.weight_now)} now, {units.stated(cylinder.weight_empty)} empty"
    )
    return f"bundle of {cylinder.coupled}, {weights}" if cylinder.coupled > 1 else weights


def _weighed(
    job: Job, cylinder: FuelCylinder, number: int, name: str, findings: list[Finding]
) -> Span:
    """Gas in one cylinder or bundle [kg]; a weight that cannot be is a stop."""
    units = job.unit_system
    content = cylinder.weight_now.si - cylinder.weight_empty.si
    full = cylinder.full_content
    where = f"fuel.cylinders.{number}.weight_now"
    if content < 0:
        findings.append(
            Finding(
                "stop",
                where,
                f"{name}: {units.stated(cylinder.weight_now)} now is less than "
                f"{units.stated(cylinder.weight_empty)} empty.",
                "Weigh again; compare with the tare stamped on the cylinder.",
                "this program",
            )
        )
        content = 0.0
    elif full is not None and content > full.si * 1.02 + _WEIGHING_DOUBT_KG:
        findings.append(
            Finding(
                "stop",
                where,
                f"{name}: {units.mass(content)} of gas by weight, but full it holds "
                f"{units.stated(full)}.",
                "Weigh again; an overfilled cylinder goes back to the supplier unused.",
                f"this program; 2 % and {units.mass(_WEIGHING_DOUBT_KG)} allowed for weighing",
            )
        )
    return Span(max(content - _WEIGHING_DOUBT_KG, 0.0), content, content + _WEIGHING_DOUBT_KG)


def _propane(case: _Case, row: int) -> tuple[PropaneCylinder, float] | str:
    """Build of one cylinder of a row and the pressure that it must hold, or why not known."""
    cylinder = case.job.fuel.cylinders[row]
    full = cylinder.full_content
    build = case.reference.propane_cylinder(full.si / cylinder.coupled) if full else None
    if build is None:
        return "state what the cylinder holds when full; the build of 11 and 33 kg ones is known"
    if case.needed_pa is None:
        return "the set pressure is withheld"
    if case.contents[row].value <= 0:
        return "the cylinder is empty"
    return build, case.needed_pa


def _draw(case: _Case) -> Estimate:
    """Greatest steady draw from one cylinder or bundle like the first."""
    if case.job.fuel.gas == "acetylene":
        return _acetylene_draw(case)
    if case.job.fuel.gas != "propane":
        return withheld(_DRAW, f"nothing is known of {case.job.fuel.gas} in cylinders")
    return _propane_draw(case)


def _acetylene_draw(case: _Case) -> Estimate:
    job, cylinder, content = case.job, case.job.fuel.cylinders[0], case.contents[0]
    full = cylinder.full_content
    holds_kg = min(content.value, full.si) if full else content.value
    inputs = (("content now", job.unit_system.mass(holds_kg)),)
    stated = job.fuel.draw_share
    if stated is not None:
        basis = Basis(
            f"A share of what the cylinder holds now: {stated} in an hour, as stated.",
            "the planner",
            "stated",
            "ṁ = share · m / 1 h",
            inputs,
        )
        return estimate(_DRAW, Span.exact(holds_kg * stated.si / 3600.0), basis, case.fuel)
    steady = case.reference.acetylene_withdrawal_per_s("continuous")
    if job.torch.kind == "hand":
        manner, share = "intermittent", case.reference.acetylene_withdrawal_per_s("intermittent")
    else:
        manner, share = "continuous", steady
    basis = Basis(
        f"A share of what the cylinder holds now: {share.note}, {manner} use.",
        share.source,
        share.trust,
        "ṁ = share · m / 1 h",
        inputs,
    )
    span = Span(holds_kg * steady.value, holds_kg * share.value, holds_kg * share.value)
    return estimate(_DRAW, span, basis, case.fuel)


def _propane_draw(case: _Case) -> Estimate:
    job, units = case.job, case.job.unit_system
    known = _propane(case, 0)
    if isinstance(known, str):
        return withheld(_DRAW, known)
    build, needed_pa = known
    coupled = job.fuel.cylinders[0].coupled
    each_kg = case.contents[0].value / coupled
    air_k = job.site.temperature.si
    try:
        liquid_k = boiling_temperature_k(needed_pa + job.site.air_abs_pa)
        area_m2 = wetted_area_m2(build.diameter_m, each_kg, liquid_k)
        span = Span(
            *(
                steady_vaporisation_kg_s(u, area_m2, air_k, liquid_k) if air_k > liquid_k else 0.0
                for u in _HEAT_TRANSFER_W_M2_K
            )
        ).scaled(coupled)
    except ValueError as error:
        return withheld(_DRAW, f"outside what the formulas are good for: {error}")
    if span.value <= 0:
        case.findings.append(
            Finding(
                "stop",
                "site.temperature",
                f"At {units.stated(job.site.temperature)} propane does not hold the pressure that "
                "the regulator needs.",
                "Bring the cylinders to a warmer, aired place above ground; never heat them with a "
                "flame.",
                "fit to CoolProp 8.0.0",
            )
        )
    basis = Basis(
        "Heat that the air gives to the wetted wall, as steady draw; for a cylinder as full as "
        "now, so it falls as it empties.",
        "derived: heat balance; vapour pressure fitted to CoolProp 8.0.0; build of the cylinder "
        "and heat transfer assumed",
        "common practice, no source",
        "ṁ = U · A · (T_air − T_liquid) / h_fg",
        (
            ("air", units.stated(job.site.temperature)),
            ("boils at the needed pressure at", units.temperature(liquid_k)),
            ("content now", units.mass(case.contents[0].value)),
        ),
    )
    return estimate(_DRAW, span, basis, case.fuel)


def _side_by_side(case: _Case, flow_estimate: Estimate, draw: Estimate) -> Estimate:
    """How many must be open together so that none is drawn too hard."""
    flow, limit = span_of(flow_estimate), span_of(draw)
    if flow is None or limit is None:
        return withheld(_SIDE_BY_SIDE, first_reason(flow_estimate, draw))
    if limit.low <= 0:
        return withheld(
            _SIDE_BY_SIDE, "the cylinder gives no gas at the needed pressure in this cold"
        )
    number, units = whole(flow.over(limit)), case.job.unit_system
    if number.value > case.on_hand:
        drawn, gives = (
            units.gas_flow(case.fuel.volume_m3(one)) for one in (flow.value, limit.value)
        )
        case.findings.append(
            Finding(
                "caution",
                "fuel.cylinders",
                f"{case.name}: the flame draws {drawn}, one cylinder gives {gives}: "
                f"{number.value:.0f} must run side by side, {case.on_hand} "
                f"{'is' if case.on_hand == 1 else 'are'} stated.",
                "Couple more cylinders with a manifold made for the gas, or cut with pauses.",
                draw.basis.source,
            )
        )
    basis = Basis(
        "Flow of the flame over what one cylinder or bundle like the first gives at the most, "
        "rounded up.",
        draw.basis.source,
        least("derived", flow_estimate.basis.trust, draw.basis.trust),
        "n = q / q_one",
        (
            ("q", units.gas_flow(case.fuel.volume_m3(flow.value))),
            ("q_one", units.gas_flow(case.fuel.volume_m3(limit.value))),
        ),
    )
    return estimate(_SIDE_BY_SIDE, number, basis)


def _number(case: _Case, use: UseResult, beside: Estimate) -> Estimate:
    """How many the job needs, by content and by draw."""
    if use.fuel_kg is None:
        return withheld(_NUMBER, "what it takes is withheld")
    if case.contents[0].low <= 0:
        return withheld(_NUMBER, "the first cylinder is empty, or nearly")
    by_content = whole(use.fuel_kg.over(case.contents[0]))
    by_draw = span_of(beside)
    if by_draw is None:
        if "cold" in beside.basis.text:
            return withheld(_NUMBER, beside.basis.text)
        basis = Basis(
            f"By content alone; the draw is not judged: {beside.basis.text}",
            "derived",
            least("derived", use["use.fuel"].basis.trust),
        )
        return estimate(_NUMBER, by_content, basis)
    number = Span(*(max(pair) for pair in zip(by_content, by_draw, strict=True)))
    basis = Basis(
        f"The greater of {by_content.value:.0f} by content and {by_draw.value:.0f} side by side by "
        "draw.",
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
        return withheld(_LASTS, "the cylinders are empty, or nearly")
    job, units = case.job, case.job.unit_system
    if job.fuel.gas != "propane":
        basis = Basis(
            "Content over flow; the draw limit of the cylinders is judged apart.",
            "derived",
            least("derived", flow_trust),
            "t = m / ṁ",
        )
        return estimate(_LASTS, total.over(flow), basis)
    known = _propane(case, 0)
    if isinstance(known, str):
        return withheld(_LASTS, known)
    needed_pa = known[1]
    side_by_side = sum(one.count * one.coupled for one in job.fuel.cylinders)
    try:
        times = [
            _holds_s(case, 0, heat, draw / side_by_side)
            for heat, draw in zip(_HEAT_TRANSFER_W_M2_K, reversed(flow), strict=True)
        ]
    except ValueError as error:
        return withheld(_LASTS, f"outside what the formulas are good for: {error}")
    (low, _), (value, left_kg), (high, _) = times
    basis = Basis(
        f"Step by step: the liquid cools as it boils, until it no longer holds "
        f"{units.gauge(needed_pa)} in the cylinder; {units.mass(left_kg)} are left in each then. "
        f"From a start at the temperature of the air, {side_by_side} side by side.",
        _STEPPED,
        "common practice, no source",
        "C · dT/dt = U · A · (T_air − T) − ṁ · h_fg",
        (
            ("air", units.stated(job.site.temperature)),
            ("content now", units.mass(case.contents[0].value)),
            ("draw of each", f"{units.mass(flow.value / side_by_side * 3600)} in an hour"),
        ),
    )
    flame = cut["cut.flame_time"]
    if flame.value_si is not None and value < flame.value_si:
        case.findings.append(
            Finding(
                "caution",
                "fuel.cylinders",
                f"Propane: after about {value / 60:.0f} min of flame the cylinder is too cold to "
                f"hold the pressure; {units.mass(left_kg)} are left in it then.",
                "Run more cylinders side by side, use larger ones, or change over in time and let "
                "the cold one warm up by itself.",
                basis.source,
            )
        )
    return estimate(_LASTS, Span(low, value, high), basis)


def _holds_s(
    case: _Case, row: int, heat_transfer_w_m2_k: float, draw_kg_s: float
) -> tuple[float, float]:
    """Time for which one propane cylinder of a row holds its pressure, and what is left in it.

    Raises:
        ValueError: outside what the formulas are good for.
    """
    known = _propane(case, row)
    if isinstance(known, str):
        raise ValueError(known)  # noqa: TRY004 - it is the value that is not known
    build, needed_pa = known
    return runtime_s(
        case.contents[row].value / case.job.fuel.cylinders[row].coupled,
        build.diameter_m,
        build.steel_mass_kg,
        heat_transfer_w_m2_k,
        case.job.site.temperature.si,
        draw_kg_s,
        needed_pa,
        case.job.site.air_abs_pa,
    )


def _change_over(
    case: _Case, cut: CutResult, use: UseResult, beside: Estimate
) -> ChangeOver | None:
    clock_s = span_of(cut["cut.clock_time"])
    if clock_s is None or use.fuel_kg is None or use.fuel_kg.low <= 0.0:
        return None
    units: list[Unit] = []
    for row, (one, content) in enumerate(zip(case.job.fuel.cylinders, case.contents, strict=True)):
        for _ in range(one.count):
            units.append(Unit(str(len(units) + 1), row, _text(case.job, one), one.coupled, content))

    def can_give(unit: Unit, draw_kg_s: float) -> tuple[float, str]:
        holds_kg = unit.holds_kg.value
        if case.job.fuel.gas == "propane" and holds_kg > 0.0:
            try:
                _, left_kg = _holds_s(
                    case, unit.row, _HEAT_TRANSFER_W_M2_K.value, draw_kg_s / unit.coupled
                )
            except ValueError:
                return holds_kg, "empty"
            if left_kg * unit.coupled > 0.01 * holds_kg:
                return holds_kg - left_kg * unit.coupled, "too cold to hold its pressure"
        return holds_kg, "empty"

    def left_text(unit: Unit, taken_kg: float) -> str:
        return case.job.unit_system.mass(case.job.fuel.cylinders[unit.row].weight_now.si - taken_kg)

    together = min(int(beside.value_si or 1), case.on_hand)
    return plan_change_over(
        case.fuel,
        case.job.fuel.gas,
        units,
        max(together, 1),
        use.fuel_kg,
        clock_s,
        can_give,
        left_text,
    )


def _changes(change_over: ChangeOver | None, use: UseResult) -> Estimate:
    if change_over is None:
        return withheld(_CHANGES, "what it takes is withheld")
    count = sum(spell.is_changed for spell in change_over.spells)
    basis = Basis(
        "Times that other cylinders take over, the fullest last; all that is on hand counted.",
        "derived",
        least("derived", use["use.fuel"].basis.trust),
    )
    return estimate(_CHANGES, Span.exact(float(count)), basis)


def _from_outlet(job: Job, fuel: Gas, name: str, use: UseResult) -> FuelSupply:
    """A main gives without end; a tank holds what is stated."""
    where = "tank" if job.fuel.supply == "tank" else "main"
    reason = f"from a {where}; not limited by a cylinder"
    number = estimate(_NUMBER, NONE, Basis(f"From a {where}.", "the planner", "stated"))
    content_kg = tank_content_kg(job.fuel.outlet, fuel) if where == "tank" else None
    lines: tuple[SupplyLine, ...] = ()
    findings: tuple[Finding, ...] = ()
    if content_kg is None:
        available = withheld(
            _AVAILABLE, reason if where == "main" else "the content of the tank is not stated"
        )
    else:
        available = from_stated(_AVAILABLE, content_kg, "content of the tank", fuel)
        lines = (SupplyLine(job.fuel.gas, 1, "tank", available, False),)
        if use.fuel_kg is not None and content_kg < use.fuel_kg.value:
            have = Span.exact(content_kg)
            findings = (too_little("fuel.outlet", name, have, use.fuel_kg, fuel, job.unit_system),)
    return FuelSupply(
        (
            available,
            withheld(_DRAW, reason),
            withheld(_LASTS, reason),
            withheld(_SIDE_BY_SIDE, reason),
            number,
            withheld(_CHANGES, f"from a {where}: nothing is changed"),
        ),
        lines,
        findings,
    )
