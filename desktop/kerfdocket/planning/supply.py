"""Stage 8: what is in the cylinders on hand, and whether it lasts."""

import math
from dataclasses import dataclass

from kerfdocket.job import FuelCylinder, Job, OxygenCylinder
from kerfdocket.physics.cylinder import oxygen_mass_kg
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.propane import (
    boiling_temperature_k,
    runtime_s,
    steady_vaporisation_kg_s,
    wetted_area_m2,
)
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.line import LineResult
from kerfdocket.planning.model import (
    Basis,
    Estimate,
    Finding,
    StageResult,
    SupplyLine,
    Trust,
    least,
)
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.use import UseResult
from kerfdocket.quantity import GAUGE_PRESSURE, parse_measure, value_text
from kerfdocket.reference import Reference
from kerfdocket.reference.supply import PropaneCylinder

__all__ = ["SupplyResult", "plan_supply"]

# Not knowing a cylinder's temperature is the largest error of its content; 5 K assumed.
_TEMPERATURE_DOUBT_K = 5.0
_COLDEST_K, _WARMEST_K = 253.15, 323.15  # the fit of oxygen's compressibility ends here
_NUMBER_SLACK = 1e-9
# Heat from still air into a propane cylinder: 5 to 10 W/m2K assumed, 8 taken (derived from a
# vertical plate's free convection and radiation; frost and crowding lower it).
_HEAT_TRANSFER_W_M2_K = Span(5.0, 8.0, 10.0)
# What a fuel regulator needs above its outlet: assumed, common practice, no source.
_REGULATOR_DROP_PA = 50_000.0


@dataclass(frozen=True)
class SupplyResult(StageResult):
    """Attributes:
    lines: the cylinders on hand, as a sheet lists them.
    """

    lines: tuple[SupplyLine, ...] = ()


def plan_supply(
    job: Job,
    reference: Reference,
    setting: SettingResult,
    line: LineResult,
    cut: CutResult,
    use: UseResult,
) -> SupplyResult:
    """Compare what is there with what it takes.

    Args:
        job: the job.
        reference: the tables.
        setting: the setting stage.
        line: the line stage.
        cut: the cut stage.
        use: the use stage.

    Returns:
        Contents, draw limits, how long they last, and numbers of cylinders.
    """
    findings: list[Finding] = []
    lines: list[SupplyLine] = []
    oxygen = _oxygen(job, setting.oxygen, use, lines, findings)
    if job.fuel.comes_from_main:
        fuel = _main(job, findings)
    else:
        fuel = _fuel(job, reference, setting, line, cut, use, lines, findings)
    return SupplyResult("supply", (*oxygen, *fuel), tuple(findings), tuple(lines))


def _whole(span: Span) -> Span:
    return Span(*(float(math.ceil(number - _NUMBER_SLACK)) for number in span))


def _content(job: Job, cylinder: OxygenCylinder, oxygen: Gas) -> Span:
    """Usable oxygen of one cylinder above the reserve [kg]."""
    measured_k = (cylinder.temperature or job.site.temperature).si
    ambient = job.site.air_abs_pa
    masses = []
    for doubt_k in (_TEMPERATURE_DOUBT_K, 0.0, -_TEMPERATURE_DOUBT_K):
        temperature_k = min(max(measured_k + doubt_k, _COLDEST_K), _WARMEST_K)
        full = oxygen_mass_kg(
            cylinder.capacity.si, cylinder.gauge.si, ambient, temperature_k, oxygen
        )
        left = oxygen_mass_kg(
            cylinder.capacity.si, job.oxygen.reserve.si, ambient, temperature_k, oxygen
        )
        masses.append(max(full - left, 0.0))
    return Span(*masses)


def _oxygen(
    job: Job,
    oxygen: Gas,
    use: UseResult,
    lines: list[SupplyLine],
    findings: list[Finding],
) -> tuple[Estimate, Estimate]:
    key, number_key = "supply.oxygen_available", "supply.oxygen_cylinders"
    stated = job.oxygen.cylinders
    cylinders = stated or (OxygenCylinder(gauge=parse_measure("200 bar", GAUGE_PRESSURE)),)
    temperatures = [(c.temperature or job.site.temperature).si for c in cylinders]
    if not all(_COLDEST_K - 1e-6 <= t <= _WARMEST_K + 1e-6 for t in temperatures):
        reason = "the cylinders are outside −20 to 50 °C, where the formula for oxygen ends"
        findings.append(
            Finding(
                "caution",
                "oxygen.cylinders",
                f"Oxygen not counted: {reason}.",
                "State the temperature of the cylinders.",
                "this program",
            )
        )
        return withheld(key, reason), withheld(number_key, reason)
    total = Span.exact(0.0)
    trust: Trust = "stated" if stated else "common practice, no source"
    basis = Basis(
        "Gauge, water capacity and temperature by the real gas, less what stays in at the reserve "
        f"of {job.oxygen.reserve}; range for 5 K of doubt in the temperature.",
        "fit to CoolProp 8.0.0 (Schmidt and Wagner equation of state), within 0.35 %",
        least("derived", trust),
        "m = V · p / (Z · R · T)",
    )
    for cylinder in cylinders:
        content = _content(job, cylinder, oxygen)
        total = total.plus(content.scaled(cylinder.count))
        lines.append(
            SupplyLine(
                "oxygen",
                cylinder.count,
                f"{cylinder.capacity} at {cylinder.gauge}",
                estimate(key, content, basis, oxygen),
                not stated,
            )
        )
    if not stated:
        findings.append(
            Finding(
                "caution",
                "oxygen.cylinders",
                "No oxygen cylinder is stated; one full cylinder of 50 L at 200 bar is assumed.",
                "Read gauge and temperature of the cylinders on hand and enter them.",
                "common practice, no source",
            )
        )
    available = estimate(key, total, basis, oxygen)
    if use.oxygen_kg is None:
        return available, withheld(number_key, "what it takes is withheld")
    first = _content(job, cylinders[0], oxygen)
    if first.low <= 0.0:
        reason = "the first cylinder holds nothing above the reserve"
        findings.append(
            Finding(
                "caution",
                "oxygen.cylinders",
                f"Oxygen: {reason}.",
                "Fetch full cylinders.",
                "this program",
            )
        )
        return available, withheld(number_key, reason)
    number = estimate(
        number_key,
        _whole(use.oxygen_kg.over(first)),
        Basis(
            "What it takes over what one cylinder like the first one holds, rounded up.",
            "derived",
            least("derived", use["use.oxygen"].basis.trust),
        ),
    )
    if total.value < use.oxygen_kg.value:
        findings.append(_short("oxygen.cylinders", "Oxygen", total, use.oxygen_kg, oxygen))
    return available, number


def _short(where: str, name: str, have: Span, need: Span, gas: Gas) -> Finding:
    return Finding(
        "caution",
        where,
        f"{name} on hand: {value_text(gas.volume_m3(have.value), 'm3')}; the job takes "
        f"{value_text(gas.volume_m3(need.value), 'm3')} (up to "
        f"{value_text(gas.volume_m3(need.high), 'm3')}).",
        "Have more cylinders at hand before lighting; see the number needed.",
        "derived",
    )


def _main(job: Job, findings: list[Finding]) -> tuple[Estimate, ...]:
    findings.append(
        Finding(
            "note",
            "fuel.supply",
            f"{job.fuel.gas.capitalize()} comes from a main: what it can give at what pressure is "
            "not known here.",
            "Ask who runs the main for its pressure and greatest flow at this outlet.",
            "this program",
        )
    )
    reason = "from a main; not limited by a cylinder"
    number = estimate(
        "supply.fuel_cylinders", Span.exact(0.0), Basis("From a main.", "the planner", "stated")
    )
    return (
        withheld("supply.fuel_available", reason),
        withheld("supply.fuel_draw", reason),
        withheld("supply.fuel_lasts", reason),
        number,
    )


def _fuel(
    job: Job,
    reference: Reference,
    setting: SettingResult,
    line: LineResult,
    cut: CutResult,
    use: UseResult,
    lines: list[SupplyLine],
    findings: list[Finding],
) -> tuple[Estimate, ...]:
    fuel = setting.fuel
    key, number_key = "supply.fuel_available", "supply.fuel_cylinders"
    name = job.fuel.gas.capitalize()
    if not job.fuel.cylinders:
        reason = "no fuel cylinder is stated"
        findings.append(
            Finding(
                "caution",
                "fuel.cylinders",
                f"No {job.fuel.gas} cylinder is stated; nothing says whether it lasts.",
                "Weigh the cylinders on hand and enter weight now and weight empty.",
                "this program",
            )
        )
        keys = (key, "supply.fuel_draw", "supply.fuel_lasts", number_key)
        return tuple(withheld(one, reason) for one in keys)
    contents = [_weighed(c, number, name, findings) for number, c in enumerate(job.fuel.cylinders)]
    basis = Basis(
        "Weight now less weight empty; 0.1 kg of doubt in each weighing.",
        "the planner's scale",
        "stated",
    )
    total = Span.exact(0.0)
    for cylinder, content in zip(job.fuel.cylinders, contents, strict=True):
        total = total.plus(content.scaled(cylinder.count))
        lines.append(
            SupplyLine(
                job.fuel.gas,
                cylinder.count,
                f"{cylinder.weight_now} now, {cylinder.weight_empty} empty",
                estimate(key, content, basis, fuel),
                False,
            )
        )
    available = estimate(key, total, basis, fuel)
    draw = _draw(job, reference, line, contents[0], fuel, findings)
    number = _fuel_number(job, setting, use, contents[0], draw, findings)
    if use.fuel_kg is not None and total.value < use.fuel_kg.value:
        findings.append(_short("fuel.cylinders", name, total, use.fuel_kg, fuel))
    lasts = _lasts(job, reference, setting, line, total, contents[0], findings, cut)
    return available, draw, lasts, number


def _weighed(cylinder: FuelCylinder, number: int, name: str, findings: list[Finding]) -> Span:
    """Gas in one cylinder [kg]; a weight that cannot be is a stop."""
    content = cylinder.weight_now.si - cylinder.weight_empty.si
    full = cylinder.full_content
    where = f"fuel.cylinders.{number}.weight_now"
    if content < 0:
        findings.append(
            Finding(
                "stop",
                where,
                f"{name}: {cylinder.weight_now} now is less than {cylinder.weight_empty} empty.",
                "Weigh again; compare with the tare stamped on the cylinder.",
                "this program",
            )
        )
        content = 0.0
    elif full is not None and content > full.si * 1.02 + 0.1:
        findings.append(
            Finding(
                "stop",
                where,
                f"{name}: {value_text(content, 'kg')} of gas by weight, but full it holds {full}.",
                "Weigh again; an overfilled cylinder goes back to the supplier unused.",
                "this program; 2 % and 0.1 kg allowed for weighing",
            )
        )
    return Span(max(content - 0.1, 0.0), content, content + 0.1)


def _propane(
    job: Job, reference: Reference, line: LineResult, content: Span
) -> tuple[PropaneCylinder, float] | str:
    """Build of the first cylinder and the gauge pressure it must hold [Pa], or why not known."""
    full = job.fuel.cylinders[0].full_content
    build = reference.propane_cylinder(full.si) if full else None
    pressure_pa = line["line.fuel_regulator_pressure"].value_si
    if build is None:
        return "state what the cylinder holds when full; the build of 11 and 33 kg ones is known"
    if pressure_pa is None:
        return "the set pressure is withheld"
    if content.value <= 0:
        return "the cylinder is empty"
    return build, pressure_pa + _REGULATOR_DROP_PA


def _draw(
    job: Job,
    reference: Reference,
    line: LineResult,
    content: Span,
    fuel: Gas,
    findings: list[Finding],
) -> Estimate:
    """Greatest steady draw from one cylinder like the first."""
    key = "supply.fuel_draw"
    cylinder = job.fuel.cylinders[0]
    if job.fuel.gas == "acetylene":
        manner = "intermittent" if job.torch.kind == "hand" else "continuous"
        steady = reference.acetylene_withdrawal_per_s("continuous")
        share = (
            reference.acetylene_withdrawal_per_s("intermittent")
            if manner == "intermittent"
            else steady
        )
        holds_kg = (
            min(content.value, cylinder.full_content.si)
            if cylinder.full_content
            else (content.value)
        )
        span = Span(holds_kg * steady.value, holds_kg * share.value, holds_kg * share.value)
        basis = Basis(
            f"A share of what the cylinder holds now: {share.note}, {manner} use.",
            share.source,
            share.trust,
            "",
            (("content now", value_text(holds_kg, "kg")),),
        )
        return estimate(key, span, basis, fuel)
    if job.fuel.gas != "propane":
        return withheld(key, f"nothing is known of {job.fuel.gas} in cylinders")
    case = _propane(job, reference, line, content)
    if isinstance(case, str):
        return withheld(key, case)
    build, needed_pa = case
    air_k = job.site.temperature.si
    try:
        liquid_k = boiling_temperature_k(needed_pa + job.site.air_abs_pa)
        area_m2 = wetted_area_m2(build.diameter_m, content.value, liquid_k)
        span = Span(
            *(
                steady_vaporisation_kg_s(u, area_m2, air_k, liquid_k) if air_k > liquid_k else 0.0
                for u in _HEAT_TRANSFER_W_M2_K
            )
        )
    except ValueError as error:
        return withheld(key, f"outside what the formulas are good for: {error}")
    if span.value <= 0:
        findings.append(
            Finding(
                "stop",
                "site.temperature",
                f"At {job.site.temperature} propane does not hold the pressure that the regulator "
                "needs.",
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
            ("air", str(job.site.temperature)),
            ("boils at the needed pressure at", value_text(liquid_k - 273.15, "°C")),
            ("content now", value_text(content.value, "kg")),
        ),
    )
    return estimate(key, span, basis, fuel)


def _lasts(
    job: Job,
    reference: Reference,
    setting: SettingResult,
    line: LineResult,
    total: Span,
    content: Span,
    findings: list[Finding],
    cut: CutResult,
) -> Estimate:
    """How long all cylinders on hand, side by side, feed the flame without a pause."""
    key = "supply.fuel_lasts"
    flow = span_of(setting["setting.fuel_flow"])
    flow_trust = setting["setting.fuel_flow"].basis.trust
    if flow is None:
        return withheld(key, first_reason(setting["setting.fuel_flow"]))
    if total.value <= 0:
        return withheld(key, "the cylinders are empty, or nearly")
    if job.fuel.gas != "propane":
        basis = Basis(
            "Content over flow; the draw limit of the cylinders is judged apart.",
            "derived",
            least("derived", flow_trust),
            "t = m / ṁ",
        )
        return estimate(key, total.over(flow), basis)
    case = _propane(job, reference, line, content)
    if isinstance(case, str):
        return withheld(key, case)
    build, needed_pa = case
    on_hand = sum(one.count for one in job.fuel.cylinders)
    try:
        times = [
            runtime_s(
                content.value,
                build.diameter_m,
                build.steel_mass_kg,
                heat,
                job.site.temperature.si,
                draw / on_hand,
                needed_pa,
                job.site.air_abs_pa,
            )
            for heat, draw in zip(_HEAT_TRANSFER_W_M2_K, reversed(flow), strict=True)
        ]
    except ValueError as error:
        return withheld(key, f"outside what the formulas are good for: {error}")
    (low, _), (value, left_kg), (high, _) = times
    basis = Basis(
        f"Step by step: the liquid cools as it boils, until it no longer holds "
        f"{value_text(needed_pa / 1e5, 'bar')} in the cylinder; "
        f"{value_text(left_kg, 'kg')} are left in each then. From a start at the temperature of "
        f"the air, {on_hand} side by side.",
        "derived: heat balance in steps of 30 s, checked against an adaptive solution with "
        "CoolProp; build of the cylinder and heat transfer assumed",
        "common practice, no source",
        "C · dT/dt = U · A · (T_air − T) − ṁ · h_fg",
        (
            ("air", str(job.site.temperature)),
            ("content now", value_text(content.value, "kg")),
            ("draw of each", f"{flow.value / on_hand * 3600:.2f} kg/h"),
        ),
    )
    flame = cut["cut.flame_time"]
    if flame.value_si is not None and value < flame.value_si:
        findings.append(
            Finding(
                "caution",
                "fuel.cylinders",
                f"Propane: after about {value / 60:.0f} min of flame the cylinder is too cold to "
                f"hold the pressure; {value_text(left_kg, 'kg')} are left in it then.",
                "Run more cylinders side by side, use larger ones, or change over in time and let "
                "the cold one warm up by itself.",
                basis.source,
            )
        )
    return estimate(key, Span(low, value, high), basis)


def _fuel_number(
    job: Job,
    setting: SettingResult,
    use: UseResult,
    content: Span,
    draw: Estimate,
    findings: list[Finding],
) -> Estimate:
    key = "supply.fuel_cylinders"
    flow_estimate = setting["setting.fuel_flow"]
    flow, limit = span_of(flow_estimate), span_of(draw)
    if use.fuel_kg is None or flow is None:
        return withheld(key, "what it takes is withheld")
    if content.low <= 0:
        return withheld(key, "the first cylinder is empty, or nearly")
    by_content = _whole(use.fuel_kg.over(content))
    if limit is None:
        basis = Basis(
            f"By content alone; the draw is not judged: {draw.basis.text}",
            "derived",
            least("derived", use["use.fuel"].basis.trust),
        )
        return estimate(key, by_content, basis)
    if limit.low <= 0:
        return withheld(key, "the cylinder gives no gas at the needed pressure in this cold")
    by_draw = _whole(flow.over(limit))
    number = Span(*(max(pair) for pair in zip(by_content, by_draw, strict=True)))
    on_hand = sum(cylinder.count for cylinder in job.fuel.cylinders)
    name = job.fuel.gas.capitalize()
    if by_draw.value > on_hand:
        density = flow_estimate.gas_density_kg_m3 or 1.0
        findings.append(
            Finding(
                "caution",
                "fuel.cylinders",
                f"{name}: the flame draws {value_text(flow.value / density * 3600, 'm3/h')}, one "
                f"cylinder gives {value_text(limit.value / density * 3600, 'm3/h')}: "
                f"{by_draw.value:.0f} must run side by side, {on_hand} "
                f"{'is' if on_hand == 1 else 'are'} stated.",
                "Couple more cylinders with a manifold made for the gas, or cut with pauses.",
                draw.basis.source,
            )
        )
    basis = Basis(
        f"The greater of {by_content.value:.0f} by content and {by_draw.value:.0f} side by side by "
        "draw.",
        draw.basis.source,
        least("derived", use["use.fuel"].basis.trust, draw.basis.trust),
    )
    return estimate(key, number, basis)
