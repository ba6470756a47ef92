"""Stage 5: from torch back to cylinder: hose, arrestor, regulator."""

from dataclasses import dataclass

from kerfdocket.job import Arrestor, Hose, Job, Regulator
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.hose import CannotPass, hose_inlet_gauge_pa
from kerfdocket.planning.keys import Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult, Trust, least
from kerfdocket.planning.setting import SettingResult, acetylene_finding
from kerfdocket.quantity import value_text
from kerfdocket.reference import Reference

__all__ = ["LineResult", "plan_line"]

# Above this share of the set pressure a hose is called too small (common practice, no source).
_LARGE_LOSS = 0.2
# A flow that is not verified makes the set pressure so, too, if it moves it by more than this share
# (common practice, no source: what a shop gauge can show).
_SEEN_ON_A_GAUGE = 0.1
_HOSE_SOURCE = "Crane TP-410, isothermal flow with friction; friction factor after Haaland 1983"


@dataclass(frozen=True)
class LineResult(StageResult):
    """Set pressures at the regulators, and what cannot carry the flow."""


@dataclass(frozen=True)
class _Side:
    """One gas's way from cylinder to torch."""

    name: str
    word: str
    gas: Gas
    pressure: Estimate
    flow: Span | None
    flow_reason: str
    flow_trust: Trust
    hose: Hose
    arrestor: Arrestor
    regulator: Regulator


def plan_line(job: Job, reference: Reference, setting: SettingResult) -> LineResult:
    """Go upstream from the torch and check every piece on the way.

    Args:
        job: the job.
        reference: the tables.
        setting: the setting stage.

    Returns:
        Losses and set pressures under flow [Pa gauge].
    """
    cutting = setting["setting.cutting_oxygen_flow"]
    heating = setting["setting.heating_oxygen_flow"]
    flow = span_of(cutting)
    reason = first_reason(cutting)
    flow_trust = cutting.basis.trust
    if job.torch.oxygen_hoses == 1 and not setting.is_injector_table:
        # One hose carries both; an injector's table already counts all oxygen.
        extra = span_of(heating)
        reason = first_reason(cutting, heating)
        flow_trust = least(flow_trust, heating.basis.trust)
        flow = flow.plus(extra) if flow and extra else None
    fuel_flow = setting["setting.fuel_flow"]
    sides = (
        _Side(
            "oxygen",
            "Oxygen",
            setting.oxygen,
            setting["setting.cutting_oxygen_pressure"],
            flow,
            reason,
            flow_trust,
            job.oxygen.hose,
            job.oxygen.arrestor,
            job.oxygen.regulator,
        ),
        _Side(
            "fuel",
            job.fuel.gas.capitalize(),
            setting.fuel,
            setting["setting.fuel_pressure"],
            span_of(fuel_flow),
            first_reason(fuel_flow),
            fuel_flow.basis.trust,
            job.fuel.hose,
            job.fuel.arrestor,
            job.fuel.regulator,
        ),
    )
    estimates: list[Estimate] = []
    findings: list[Finding] = []
    for side in sides:
        loss, set_pressure = _upstream(job, reference, side, findings)
        estimates += [loss, set_pressure]
        _check_pieces(side, set_pressure, findings)
        _check_gas(job, reference, side, findings)
        _check_hose(job, reference, side, set_pressure, findings)
        if job.fuel.gas == "acetylene" and side.name == "fuel" and set_pressure.value_si:
            finding = acetylene_finding(reference, set_pressure.value_si, "fuel.regulator")
            if finding is not None:
                findings.append(finding)
    if job.torch.oxygen_hoses == 2:
        findings.append(
            Finding(
                "note",
                "torch.oxygen_hoses",
                "The separate heating oxygen hose is not computed in this version.",
                "Set its regulator by the chart of the nozzle's maker.",
                "this program",
            )
        )
    return LineResult("line", tuple(estimates), tuple(findings))


def _inlet_pa(job: Job, side: _Side, gauge_pa: float, flow_kg_s: float, bore_m: float) -> float:
    return hose_inlet_gauge_pa(
        side.gas,
        gauge_pa,
        job.site.air_abs_pa,
        flow_kg_s,
        bore_m,
        side.hose.length.si,
        job.site.temperature.si,
    )


def _upstream(
    job: Job, reference: Reference, side: _Side, findings: list[Finding]
) -> tuple[Estimate, Estimate]:
    loss_key, key = f"line.{side.name}_loss", f"line.{side.name}_regulator_pressure"
    torch = span_of(side.pressure)
    if torch is None or side.flow is None:
        reason = side.pressure.basis.text if torch is None else side.flow_reason
        return withheld(loss_key, reason), withheld(key, reason)
    arrestor_pa = side.arrestor.pressure_loss.si if side.arrestor.pressure_loss else 0.0
    try:
        inlets = [
            _inlet_pa(job, side, gauge_pa, flow, side.hose.bore.si) + arrestor_pa
            for gauge_pa, flow in zip(torch, side.flow, strict=True)
        ]
    except (CannotPass, ValueError) as error:
        findings.append(
            Finding(
                "stop",
                f"{side.name}.hose",
                f"{side.word} hose of {side.hose.bore} × {side.hose.length} cannot carry "
                f"{value_text(side.gas.volume_m3(side.flow.value) * 3600, 'm3/h')}.",
                _wider(job, reference, side, torch.value),
                _HOSE_SOURCE,
            )
        )
        reason = f"the hose cannot carry the flow: {error}"
        return withheld(loss_key, reason), withheld(key, reason)
    regulator = Span(*inlets)
    losses = sorted(inlet - gauge_pa for inlet, gauge_pa in zip(inlets, torch, strict=True))
    # The middle loss need not lie in the middle: a lower pressure with its flow can lose more.
    loss = Span(losses[0], regulator.value - torch.value, losses[-1])
    if loss.value > _LARGE_LOSS * regulator.value:
        findings.append(
            Finding(
                "caution",
                f"{side.name}.hose",
                f"{side.word} loses {value_text(loss.value / 1e5, 'bar')} of "
                f"{value_text(regulator.value / 1e5, 'bar')} on the way to the torch.",
                _wider(job, reference, side, torch.value),
                _HOSE_SOURCE,
            )
        )
    trust = least("derived", side.pressure.basis.trust)
    if loss.high - loss.low > _SEEN_ON_A_GAUGE * regulator.value:
        trust = least(trust, side.flow_trust)
    basis = Basis(
        f"Loss of {side.hose.bore} × {side.hose.length} of hose at this flow, and of the "
        f"flashback arrestor as stated ({side.arrestor.pressure_loss or 'not stated, taken as 0'})"
        "; fittings are not counted.",
        _HOSE_SOURCE,
        trust,
        "p₁² − p₂² = G² · Z · R · T · (f · L/D + 2 ln(p₁/p₂))",
        (
            ("pressure at the torch", value_text(torch.value / 1e5, "bar")),
            ("flow", value_text(side.gas.volume_m3(side.flow.value) * 3600, "m3/h")),
            ("bore", str(side.hose.bore)),
            ("length", str(side.hose.length)),
            ("temperature", str(job.site.temperature)),
        ),
    )
    return estimate(loss_key, loss, basis), estimate(key, regulator, basis)


def _wider(job: Job, reference: Reference, side: _Side, torch_pa: float) -> str:
    assert side.flow is not None, "only asked where the flow is known"
    for bore_m in reference.hose_bores_m():
        if bore_m <= side.hose.bore.si:
            continue
        try:
            inlet_pa = _inlet_pa(job, side, torch_pa, side.flow.value, bore_m)
        except (CannotPass, ValueError):
            continue
        if inlet_pa - torch_pa <= _LARGE_LOSS / 2 * inlet_pa:
            return (
                f"A hose of {bore_m * 1e3:g} mm bore loses "
                f"{value_text((inlet_pa - torch_pa) / 1e5, 'bar')}; a shorter one helps, too."
            )
    return "Use a much shorter hose, or bring the cylinders nearer."


def _check_pieces(side: _Side, set_pressure: Estimate, findings: list[Finding]) -> None:
    """Name every piece that cannot carry pressure or flow, and what was not stated."""
    rule = "limits of the piece, as stated by the planner"
    flow_m3_h = side.gas.volume_m3(side.flow.value) * 3600 if side.flow else None
    regulator, arrestor = side.regulator, side.arrestor
    limit = regulator.outlet_limit
    if limit and set_pressure.value_si is not None and set_pressure.value_si > limit.si:
        findings.append(
            Finding(
                "stop",
                f"{side.name}.regulator.outlet_limit",
                f"{side.word} regulator gives {limit} at the most; "
                f"{value_text(set_pressure.value or 0.0, 'bar')} are needed.",
                "Use a regulator for a higher outlet pressure, or a wider or shorter hose.",
                rule,
            )
        )
    for piece, flow_limit, field in (
        ("regulator", regulator.flow_limit, "regulator"),
        ("flashback arrestor", arrestor.flow_limit, "arrestor"),
    ):
        if flow_limit and flow_m3_h is not None and flow_m3_h > flow_limit.si * 3600:
            findings.append(
                Finding(
                    "stop",
                    f"{side.name}.{field}.flow_limit",
                    f"{side.word} {piece} passes {flow_limit} at the most; "
                    f"{value_text(flow_m3_h, 'm3/h')} are needed.",
                    f"Use a {piece} for at least {value_text(flow_m3_h, 'm3/h')}.",
                    rule,
                )
            )
    if not arrestor.fitted:
        findings.append(
            Finding(
                "stop",
                f"{side.name}.arrestor.fitted",
                f"{side.word}: no flashback arrestor is fitted.",
                "Fit one to ISO 5175-1 at the regulator, made for this gas.",
                "common practice, no source",
            )
        )
    missing = [
        text
        for text, value in (
            ("the regulator's highest outlet pressure", regulator.outlet_limit),
            ("the regulator's greatest flow", regulator.flow_limit),
            ("the arrestor's pressure loss", arrestor.pressure_loss),
        )
        if value is None
    ]
    if missing:
        findings.append(
            Finding(
                "note",
                f"{side.name}.regulator" if len(missing) > 1 else f"{side.name}.arrestor",
                f"{side.word}: not stated, so not checked: {', '.join(missing)}.",
                "Read them off the equipment or its instructions and enter them.",
                "this program",
            )
        )


def _check_gas(job: Job, reference: Reference, side: _Side, findings: list[Finding]) -> None:
    """Stop where a piece is marked for another gas."""
    gas = "oxygen" if side.name == "oxygen" else job.fuel.gas
    letter = reference.gas(gas).letter
    # F stands for all fuel gases, never for oxygen.
    good = {letter} if side.name == "oxygen" else {letter, "F"}
    for piece, field, letters in (
        ("regulator", "regulator", side.regulator.gas_letters),
        ("flashback arrestor", "arrestor", side.arrestor.gas_letters),
        ("hose", "hose", side.hose.gas_letters),
    ):
        if letters and not good & set(letters):
            findings.append(
                Finding(
                    "stop",
                    f"{side.name}.{field}.gas_letters",
                    f"{side.word}: the {piece} is marked {letters}, not {' or '.join(sorted(good))}"
                    f": it is made for another gas.",
                    f"Use a {piece} made for {gas}; never one of another gas.",
                    "ISO 10225 (letters from memory)",
                )
            )


def _check_hose(
    job: Job,
    reference: Reference,
    side: _Side,
    set_pressure: Estimate,
    findings: list[Finding],
) -> None:
    """Stop where no hose of the standard may carry the pressure."""
    if set_pressure.value_si is None or (side.name == "fuel" and job.fuel.gas == "acetylene"):
        return  # acetylene has its own, lower limit
    limit = reference.hose_limit_gauge_pa("normal")
    if set_pressure.value_si > limit.value:
        findings.append(
            Finding(
                "stop",
                f"{side.name}.hose",
                f"{side.word} at {set_pressure.value_text} is above what a hose for normal duty "
                f"carries, {value_text(limit.value / 1e5, 'bar')}.",
                "Use a shorter or wider hose.",
                limit.source,
            )
        )
