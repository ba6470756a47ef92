"""Stage 5: from torch back to cylinder: hose, arrestor, regulator, main or tank."""

from collections.abc import Callable
from dataclasses import dataclass

from kerfdocket.job import Arrestor, Hose, Job, Outlet, Regulator
from kerfdocket.language import _, counted, marked, sense, titled
from kerfdocket.physics.gas import Gas
from kerfdocket.planning.keys import NONE, Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.model import (
    Basis,
    Estimate,
    Finding,
    Severity,
    StageResult,
    Trust,
    least,
)
from kerfdocket.planning.setting import SettingResult, acetylene_finding
from kerfdocket.planning.sources import FRICTION_FACTOR, NO_SOURCE, THIS_PROGRAM
from kerfdocket.planning.unused import unused_findings
from kerfdocket.planning.upstream import (
    ASSUMED_LOSS,
    TAIL_BORE_RATIO,
    ArrestorUnreadable,
    regulator_gauge_pa,
)
from kerfdocket.quantity import GAS_FLOW, GAUGE_PRESSURE, LENGTH, TEMPERATURE, UnitSystem
from kerfdocket.reference import Reference
from kerfdocket.reference.table import join_sources

__all__ = ["REGULATOR_DROP_PA", "LineResult", "PieceLimit", "plan_line", "regulator_limits"]

# Above this share of the set pressure a hose is called too small (common practice, no source).
_LARGE_LOSS = 0.2
# A flow that is not verified makes the set pressure so, too, if it moves it by more than this share
# (common practice, no source: what a shop gauge can show).
_SEEN_ON_A_GAUGE = 0.1
# What a regulator needs above its outlet: assumed, common practice, no source.
REGULATOR_DROP_PA = 50_000.0
_HOSE_SOURCE = join_sources(marked("Crane TP-410, isothermal flow with friction"), FRICTION_FACTOR)
_HOSE_AND_TAILS_SOURCE = join_sources(_HOSE_SOURCE, marked("tails: Borda-Carnot"))
_STATED_LIMIT = marked("limits of the piece, as stated by the planner")
_STATED_OUTLET = join_sources(_STATED_LIMIT, marked("drop of the regulator assumed"))
_CLASSES = "012345"


@dataclass(frozen=True)
class LineResult(StageResult):
    """Set pressures at the regulators, and what cannot carry the flow."""


@dataclass(frozen=True)
class PieceLimit:
    """What a piece may carry [Pa gauge] or [m3/s], and how firm that is."""

    value: float
    source: str
    field: str
    is_stated: bool


@dataclass(frozen=True)
class _Side:
    """One gas's way from cylinder to torch.

    Attributes:
        key: in the names of its estimates.
        where: path of its group in the job.
        word: as a finding begins with it.
        gas_name: as the tables know the gas.
        firm_flow: what of the flow is verified, and so may stop a job. [kg/s]
        set_pa: pressure at the regulator where a table names that one. [Pa gauge]
        outlet_flow, outlet_firm: the same of all that is drawn from a main or tank, where that is
            more than passes this hose. [kg/s]
    """

    key: str
    where: str
    word: str
    gas_name: str
    gas: Gas
    pressure: Estimate
    flow: Span | None
    flow_reason: str
    flow_trust: Trust
    hose: Hose
    arrestor: Arrestor
    regulator: Regulator
    outlet: Outlet | None
    units: UnitSystem
    firm_flow: Span | None = None
    set_pa: float | None = None
    outlet_flow: Span | None = None
    outlet_firm: Span | None = None

    @property
    def flow_m3_s(self) -> float | None:
        """Flow at 15 °C and 1 bar absolute."""
        return self.gas.volume_m3(self.flow.value) if self.flow else None


def plan_line(job: Job, reference: Reference, setting: SettingResult) -> LineResult:
    """Go upstream from the torch and check every piece on the way.

    Args:
        job: the job.
        reference: the tables.
        setting: the setting stage.

    Returns:
        Losses and set pressures under flow [Pa gauge].
    """
    estimates: list[Estimate] = []
    findings: list[Finding] = []
    for side in _sides(job, setting):
        loss, set_pressure = _upstream(job, reference, side, findings)
        estimates += [loss, set_pressure]
        _check_regulator(reference, side, set_pressure, findings)
        _check_arrestor(reference, side, findings)
        _check_outlet(side, set_pressure, findings)
        _say_what_is_missing(side, findings)
        _check_letters(reference, side, findings)
        _check_duty(job, reference, side, set_pressure, findings)
        if side.gas_name == "acetylene":
            _check_acetylene(job, reference, side, set_pressure, findings)
    if job.torch.oxygen_hoses == 1:
        reason = _("the cutting oxygen's hose feeds the heating flame, too")
        keys = ("line.heating_oxygen_loss", "line.heating_oxygen_regulator_pressure")
        estimates[2:2] = [withheld(key, reason) for key in keys]
    return LineResult("line", tuple(estimates), (*findings, *unused_findings(job)))


def _sides(job: Job, setting: SettingResult) -> tuple[_Side, ...]:
    cutting = setting["setting.cutting_oxygen_flow"]
    heating = setting["setting.heating_oxygen_flow"]
    fuel_flow = setting["setting.fuel_flow"]
    flow, reason, trust = span_of(cutting), first_reason(cutting), cutting.basis.trust
    both = span_of(heating)
    from_outlet = flow.plus(both) if flow and both and not setting.holds_all_oxygen else flow
    # One hose carries both; an injector's table already counts all oxygen.
    is_shared = job.torch.oxygen_hoses == 1 and not setting.holds_all_oxygen
    if is_shared:
        extra = span_of(heating)
        reason = first_reason(cutting, heating)
        trust = least(trust, heating.basis.trust)
        flow = flow.plus(extra) if flow and extra else None
    oxygen, fuel = job.oxygen, job.fuel
    sides = [
        _Side(
            "oxygen",
            "oxygen",
            _("Oxygen"),
            "oxygen",
            setting.oxygen,
            setting["setting.cutting_oxygen_pressure"],
            flow,
            reason,
            trust,
            oxygen.hose,
            oxygen.arrestor,
            oxygen.regulator,
            oxygen.outlet if oxygen.comes_from_main else None,
            job.unit_system,
            _firm(cutting, heating) if is_shared else _firm(cutting),
            setting.regulator_pa,
            from_outlet,
            _firm(cutting) if setting.holds_all_oxygen else _firm(cutting, heating),
        )
    ]
    if job.torch.oxygen_hoses == 2:
        sides.append(
            _Side(
                "heating_oxygen",
                "oxygen.heating",
                _("Heating oxygen"),
                "oxygen",
                setting.oxygen,
                setting["setting.heating_oxygen_pressure"],
                span_of(heating),
                first_reason(heating),
                heating.basis.trust,
                oxygen.heating.hose,
                oxygen.heating.arrestor,
                oxygen.heating.regulator,
                None,  # the outlet is judged once, with the cutting oxygen
                job.unit_system,
                _firm(heating),
            )
        )
    sides.append(
        _Side(
            "fuel",
            "fuel",
            titled(_(fuel.gas)),
            fuel.gas,
            setting.fuel,
            setting["setting.fuel_pressure"],
            span_of(fuel_flow),
            first_reason(fuel_flow),
            fuel_flow.basis.trust,
            fuel.hose,
            fuel.arrestor,
            fuel.regulator,
            fuel.outlet if fuel.comes_from_main else None,
            job.unit_system,
            _firm(fuel_flow),
        )
    )
    return tuple(sides)


def _firm(*flows: Estimate) -> Span:
    """What of several flows is verified [kg/s]."""
    total = NONE
    for flow in flows:
        span = None if flow.is_unverified else span_of(flow)
        total = total.plus(span) if span else total
    return total


def _passes(side: _Side, firm_flow: Span | None, limit_m3_s: float) -> Severity:
    """How bad it is that the flow passes a limit: what is not verified stops nothing."""
    firm = firm_flow is not None and side.gas.volume_m3(firm_flow.value) > limit_m3_s
    return "stop" if firm else "caution"


def _hose_text(side: _Side) -> str:
    return f"{side.units.stated(side.hose.bore)} × {side.units.stated(side.hose.length)}"


def _upstream(
    job: Job, reference: Reference, side: _Side, findings: list[Finding]
) -> tuple[Estimate, Estimate]:
    loss_key, key = f"line.{side.key}_loss", f"line.{side.key}_regulator_pressure"
    torch, units = span_of(side.pressure), side.units
    if torch is None or side.flow is None:
        reason = side.pressure.basis.text if torch is None else side.flow_reason
        return withheld(loss_key, reason), withheld(key, reason)
    try:
        inlets = [
            regulator_gauge_pa(
                job, side.gas, side.hose, side.arrestor, gauge_pa, flow, ratio, share
            )
            for gauge_pa, flow, ratio, share in zip(
                torch, side.flow, TAIL_BORE_RATIO, ASSUMED_LOSS, strict=True
            )
        ]
    except ArrestorUnreadable:
        reason = _("the arrestor's figures do not go with this flow and pressure")
        findings.append(
            Finding(
                "stop",
                f"{side.where}.arrestor.pressure_loss",
                _(
                    "{gas}: {reason}: {arrestor}, needed are {flow}.",
                    gas=side.word,
                    reason=reason,
                    arrestor=_arrestor_text(side),
                    flow=units.at_state(units.gas_flow(side.gas.volume_m3(side.flow.value))),
                ),
                _("Read the diagram again near this flow, or use an arrestor for more flow."),
                THIS_PROGRAM,
            )
        )
        return withheld(loss_key, reason), withheld(key, reason)
    except ValueError:
        findings.append(
            Finding(
                "stop",
                f"{side.where}.hose",
                _(
                    "{gas} hose of {hose} cannot carry {flow}.",
                    gas=side.word,
                    hose=_hose_text(side),
                    flow=units.at_state(units.gas_flow(side.gas.volume_m3(side.flow.value))),
                ),
                _what_would_do(job, reference, side, torch.value, side.flow.value),
                _HOSE_SOURCE,
            )
        )
        reason = _("the hose cannot carry the flow at a pressure that the formulas are good for")
        return withheld(loss_key, reason), withheld(key, reason)
    if side.set_pa is not None:
        # The table names the pressure at the regulator: nothing is worked back to it.
        inlets = [side.set_pa] * 3
    regulator = Span(*inlets)
    losses = sorted(inlet - gauge_pa for inlet, gauge_pa in zip(inlets, torch, strict=True))
    # The middle loss need not lie in the middle: a lower pressure with its flow can lose more.
    loss = Span(losses[0], regulator.value - torch.value, losses[-1])
    if loss.value > _LARGE_LOSS * regulator.value:
        findings.append(
            Finding(
                "caution",
                f"{side.where}.hose",
                _(
                    "{gas} loses {loss} of {pressure} on the way to the torch.",
                    gas=side.word,
                    loss=units.gauge(loss.value),
                    pressure=units.gauge(regulator.value),
                ),
                _what_would_do(job, reference, side, torch.value, side.flow.value),
                _HOSE_SOURCE,
            )
        )
    trust = least("derived", side.pressure.basis.trust)
    if loss.high - loss.low > _SEEN_ON_A_GAUGE * regulator.value:
        trust = least(trust, side.flow_trust)
    basis = Basis(
        counted(
            "Loss of {hose} of hose with {count} hose tail at this flow (tails 0.7 to 0.9 of the "
            "hose's bore: assumed), and of the flashback arrestor: {arrestor}.",
            "Loss of {hose} of hose with {count} hose tails at this flow (tails 0.7 to 0.9 of the "
            "hose's bore: assumed), and of the flashback arrestor: {arrestor}.",
            side.hose.joints,
            hose=_hose_text(side),
            arrestor=_arrestor_text(side),
        ),
        _HOSE_AND_TAILS_SOURCE,
        trust,
        "p₁² − p₂² = G² · Z · R · T · (f · L/D + ΣK + 2 ln(p₁/p₂))",
        (
            (_("pressure at the torch"), units.gauge(torch.value)),
            (_("flow"), units.at_state(units.gas_flow(side.gas.volume_m3(side.flow.value)))),
            (sense("of a hose", "bore"), units.stated(side.hose.bore)),
            (_("length"), units.stated(side.hose.length)),
            (_("hose tails"), str(side.hose.joints)),
            (_("temperature"), units.stated(job.site.temperature)),
        ),
    )
    return estimate(loss_key, loss, basis), estimate(key, regulator, basis)


def _arrestor_text(side: _Side) -> str:
    arrestor, units = side.arrestor, side.units
    if not arrestor.fitted:
        return _("none fitted")
    if arrestor.pressure_loss is None:
        return _("not stated, 5 % of the pressure (0 to 10 %) assumed")
    if arrestor.loss_flow is None:
        return _("{loss} as stated", loss=units.stated(arrestor.pressure_loss))
    return _(
        "{loss} at {flow} of {gas}, carried over to this flow and pressure as a quadratic "
        "resistance",
        loss=units.stated(arrestor.pressure_loss),
        flow=units.at_state(units.apart(GAS_FLOW, arrestor.loss_flow)[0]),
        gas=_("air") if arrestor.loss_gas == "air" else _(side.gas_name),
    )


def _what_would_do(
    job: Job, reference: Reference, side: _Side, torch_pa: float, flow_kg_s: float
) -> str:
    """Name the smallest hose that could carry the job, and how short this one would have to be."""

    def loss_share(bore_m: float, length_m: float) -> float:
        try:
            inlet_pa = regulator_gauge_pa(
                job,
                side.gas,
                side.hose,
                side.arrestor,
                torch_pa,
                flow_kg_s,
                bore_m=bore_m,
                length_m=length_m,
            )
        except ValueError:
            return 1.0
        return (inlet_pa - torch_pa) / inlet_pa

    units, hose = side.units, side.hose
    texts = []
    for bore_m in reference.hose_bores_m():
        if bore_m <= hose.bore.si:
            continue
        share = loss_share(bore_m, hose.length.si)
        if share <= _LARGE_LOSS:
            lost = units.gauge(torch_pa * share / (1.0 - share))
            texts.append(
                _(
                    "With a hose of {bore} bore it would be {loss}.",
                    bore=units.size(bore_m),
                    loss=lost,
                )
            )
            break
    length_m = _longest(lambda one: loss_share(hose.bore.si, one) <= _LARGE_LOSS, hose.length.si)
    if length_m >= 1.0:
        unit = units.unit("m")
        longest = f"{int(LENGTH.from_si(length_m, unit))} {unit}"
        texts.append(_("This bore would do up to {length}.", length=longest))
    if texts:
        return " ".join(texts)
    if loss_share(max(reference.hose_bores_m()), 1.0) > _LARGE_LOSS:
        return _("The arrestor alone takes too much: use one for more flow.")
    return _("Bring the supply nearer; no hose of the standard bores would do.")


def _longest(will_do: Callable[[float], bool], length_m: float) -> float:
    """The longest hose that will do, rounded down to a metre; 0 if not even one metre will."""
    low, high = 0, int(length_m)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if will_do(float(middle)) else (low, middle - 1)
    return float(low)


def regulator_limits(
    reference: Reference, gas_name: str, regulator: Regulator
) -> tuple[PieceLimit | None, PieceLimit | None]:
    """Return greatest outlet pressure and flow of a regulator: as stated, else by its class."""
    outlet = flow = None
    if regulator.rated_class is not None:
        row = reference.regulator_class(gas_name, regulator.rated_class)
        if row is not None:
            # What no source was opened for stops nothing by itself.
            source = _("{source}, class {number}", source=row.source, number=regulator.rated_class)
            outlet = PieceLimit(row.outlet_gauge_pa, source, "rated_class", False)
            flow = PieceLimit(row.flow_m3_s, source, "rated_class", False)
    if regulator.outlet_limit is not None:
        outlet = PieceLimit(regulator.outlet_limit.si, _STATED_LIMIT, "outlet_limit", True)
    if regulator.flow_limit is not None:
        flow = PieceLimit(regulator.flow_limit.si, _STATED_LIMIT, "flow_limit", True)
    return outlet, flow


def _class_that_would_do(
    reference: Reference, side: _Side, needed_pa: float, needed_m3_s: float | None
) -> str:
    for one in _CLASSES:
        row = reference.regulator_class(side.gas_name, one)
        if (
            row is not None
            and row.outlet_gauge_pa >= needed_pa
            and row.flow_m3_s >= (needed_m3_s or 0.0)
        ):
            return _(
                "the smallest class of ISO 2503 that could is {number} (limits from memory)",
                number=one,
            )
    return _("no class of ISO 2503 that is known here could")


def _check_regulator(
    reference: Reference, side: _Side, set_pressure: Estimate, findings: list[Finding]
) -> None:
    outlet, flow = regulator_limits(reference, side.gas_name, side.regulator)
    needed_pa, needed_m3_s, units = set_pressure.value_si, side.flow_m3_s, side.units
    rated = side.regulator.rated_class
    if rated is not None and reference.regulator_class(side.gas_name, rated) is None:
        findings.append(
            Finding(
                "note",
                f"{side.where}.regulator.rated_class",
                _(
                    "{line}: class {number} is not known here for {gas}.",
                    line=side.word,
                    number=rated,
                    gas=_(side.gas_name),
                ),
                _("State outlet pressure and flow as they stand on the regulator."),
                THIS_PROGRAM,
            )
        )
    at_torch = side.pressure.value_si
    firm = not set_pressure.is_unverified or bool(
        outlet and at_torch and not side.pressure.is_unverified and at_torch > outlet.value
    )
    if outlet and needed_pa is not None and needed_pa > outlet.value:
        needed_text, limit_text = units.apart(GAUGE_PRESSURE, needed_pa, outlet.value)
        would_do = _class_that_would_do(reference, side, needed_pa, needed_m3_s)
        findings.append(
            Finding(
                "stop" if firm and outlet.is_stated else "caution",
                f"{side.where}.regulator.{outlet.field}",
                _(
                    "{gas} regulator gives {limit} at the most{by_class}; {needed} are needed.",
                    gas=side.word,
                    limit=limit_text,
                    by_class=_by_class(outlet),
                    needed=needed_text,
                ),
                _(
                    "Use a regulator for a higher outlet pressure ({would_do}), or a wider or "
                    "shorter hose.",
                    would_do=would_do,
                ),
                outlet.source,
            )
        )
    if flow and needed_m3_s is not None and needed_m3_s > flow.value:
        needed_text, limit_text = units.apart(GAS_FLOW, needed_m3_s, flow.value)
        would_do = _class_that_would_do(reference, side, needed_pa or 0.0, needed_m3_s)
        findings.append(
            Finding(
                _passes(side, side.firm_flow, flow.value) if flow.is_stated else "caution",
                f"{side.where}.regulator.{flow.field}",
                _(
                    "{gas} regulator passes {limit} at the most{by_class}; {needed} are needed.",
                    gas=side.word,
                    limit=limit_text,
                    by_class=_by_class(flow),
                    needed=units.at_state(needed_text),
                ),
                _(
                    "Use a regulator for at least {flow} ({would_do}).",
                    flow=units.at_state(needed_text),
                    would_do=would_do,
                ),
                flow.source,
            )
        )


def _by_class(limit: PieceLimit) -> str:
    return "" if limit.is_stated else _(" by its class (from memory)")


def _check_acetylene(
    job: Job, reference: Reference, side: _Side, set_pressure: Estimate, findings: list[Finding]
) -> None:
    """Judge every pressure that acetylene has on its way, from the main to the torch."""
    where = "fuel.regulator"
    at_torch = side.pressure.value_si
    told = at_torch is not None and acetylene_finding(job, reference, at_torch, where)
    places = [(where, set_pressure.value_si)]
    if side.outlet is not None and side.outlet.pressure is not None:
        places.append(("fuel.outlet.pressure", side.outlet.pressure.si))
    test = job.fuel.standing_test.begin_gauge
    if test is not None:
        places.append(("fuel.standing_test.begin_gauge", test.si))
    for place, gauge_pa in places:
        finding = acetylene_finding(job, reference, gauge_pa, place) if gauge_pa else None
        # What was said of the torch is not said again of the regulator.
        if finding and not (place == where and told and told.severity == finding.severity):
            findings.append(finding)
    if job.fuel.supply == "tank":
        findings.append(
            Finding(
                "stop",
                "fuel.supply",
                _(
                    "Acetylene is not kept in a tank: it comes dissolved in cylinders, or from a "
                    "main."
                ),
                _("Choose cylinders or a main, or another fuel gas."),
                NO_SOURCE,
            )
        )


@dataclass(frozen=True)
class _Lack:
    """What it means that a device at the regulator is without a function."""

    severity: Severity
    danger: str
    remedy: str


# By the letters of ISO 5175-1.
_LACKS = {
    "FA": _Lack(
        "stop",
        marked("Without it nothing stops a flame that runs back."),
        marked("Fit a flashback arrestor with at least FA and NV."),
    ),
    "NV": _Lack(
        "caution",
        marked("Without it the gases can run into each other's hose."),
        marked("Fit one that has it, or a non-return valve beside it."),
    ),
    "TV": _Lack(
        "note",
        marked("Without it gas goes on feeding a fire inside the device."),
        marked("After a flashback shut the supply at once; feel whether the device is hot."),
    ),
}


def _check_arrestor(reference: Reference, side: _Side, findings: list[Finding]) -> None:
    arrestor, where, units = side.arrestor, f"{side.where}.arrestor", side.units
    limit, needed_m3_s = arrestor.flow_limit, side.flow_m3_s
    if limit and needed_m3_s is not None and needed_m3_s > limit.si:
        needed_text, limit_text = units.apart(GAS_FLOW, needed_m3_s, limit)
        findings.append(
            Finding(
                _passes(side, side.firm_flow, limit.si),
                f"{where}.flow_limit",
                _(
                    "{gas} flashback arrestor passes {limit} at the most; {needed} are needed.",
                    gas=side.word,
                    limit=limit_text,
                    needed=units.at_state(needed_text),
                ),
                _(
                    "Use a flashback arrestor for at least {flow}.",
                    flow=units.at_state(needed_text),
                ),
                _STATED_LIMIT,
            )
        )
    if not arrestor.fitted:
        findings.append(
            Finding(
                "stop",
                f"{where}.fitted",
                _("{gas}: no flashback arrestor is fitted.", gas=side.word),
                _("Fit one to ISO 5175-1 at the regulator, made for this gas."),
                NO_SOURCE,
            )
        )
    stated = arrestor.functions.split()
    if not stated:
        return
    for letters, lack in _LACKS.items():
        if letters in stated:
            continue
        function = reference.arrestor_function(letters)
        findings.append(
            Finding(
                lack.severity,
                f"{where}.functions",
                _(
                    "{gas}: the device at the regulator has no {function} ({letters}). {danger}",
                    gas=side.word,
                    function=_(function.name),
                    letters=letters,
                    danger=_(lack.danger),
                ),
                _(lack.remedy),
                function.source,
            )
        )


def _check_outlet(side: _Side, set_pressure: Estimate, findings: list[Finding]) -> None:
    """Compare with what a main or tank gives."""
    outlet, units = side.outlet, side.units
    if outlet is None:
        return
    needed_pa = set_pressure.value_si
    drawn = side.outlet_flow or side.flow
    needed_m3_s = side.gas.volume_m3(drawn.value) if drawn else None
    if (
        outlet.pressure
        and needed_pa is not None
        and needed_pa + REGULATOR_DROP_PA > outlet.pressure.si
    ):
        # The drop of the regulator is assumed: it warns, the stated pressure alone stops.
        lacks = needed_pa > outlet.pressure.si and not set_pressure.is_unverified
        needed_text, given_text = units.apart(GAUGE_PRESSURE, needed_pa, outlet.pressure)
        findings.append(
            Finding(
                "stop" if lacks else "caution",
                f"{side.where}.outlet.pressure",
                _(
                    "{gas}: the main or tank gives {pressure}; {needed} are to be set, and a "
                    "regulator needs about {drop} above it.",
                    gas=side.word,
                    pressure=given_text,
                    needed=needed_text,
                    drop=units.gauge(REGULATOR_DROP_PA),
                ),
                _(
                    "Look up what the regulator needs; else use another outlet, a smaller nozzle, "
                    "or cylinders."
                ),
                _STATED_OUTLET,
            )
        )
    if outlet.flow_limit and needed_m3_s is not None and needed_m3_s > outlet.flow_limit.si:
        needed_text, limit_text = units.apart(GAS_FLOW, needed_m3_s, outlet.flow_limit)
        findings.append(
            Finding(
                _passes(side, side.outlet_firm or side.firm_flow, outlet.flow_limit.si),
                f"{side.where}.outlet.flow_limit",
                _(
                    "{gas}: the main or tank gives {limit} at the most; {needed} are needed.",
                    gas=side.word,
                    limit=limit_text,
                    needed=units.at_state(needed_text),
                ),
                _("Use another outlet, a smaller nozzle, or cylinders."),
                _STATED_LIMIT,
            )
        )
    if outlet.pressure is None or outlet.flow_limit is None:
        findings.append(
            Finding(
                "note",
                f"{side.where}.outlet",
                _(
                    "{gas} comes from a main or tank: what it can give is not all stated, so not "
                    "checked.",
                    gas=side.word,
                ),
                _("Ask who runs it for its pressure and greatest flow at this outlet."),
                THIS_PROGRAM,
            )
        )


def _say_what_is_missing(side: _Side, findings: list[Finding]) -> None:
    regulator, arrestor = side.regulator, side.arrestor
    by_class = regulator.rated_class is not None
    missing = [
        (text, field)
        for text, field, value in (
            (
                _("the regulator's highest outlet pressure"),
                "regulator",
                regulator.outlet_limit or by_class,
            ),
            (_("the regulator's greatest flow"), "regulator", regulator.flow_limit or by_class),
            (_("the arrestor's pressure loss"), "arrestor", arrestor.pressure_loss),
        )
        if value is None or value is False
    ]
    if missing:
        findings.append(
            Finding(
                "note",
                f"{side.where}.{missing[0][1]}",
                _(
                    "{gas}: not stated, so not checked: {values}.",
                    gas=side.word,
                    values=", ".join(text for text, _field in missing),
                ),
                _("Read them off the equipment or its instructions and enter them."),
                THIS_PROGRAM,
            )
        )


# Field of a piece -> what is said where it is marked for another gas, and what to do then.
_OTHER_GAS = {
    "regulator": (
        marked("{gas}: the regulator is marked {letters}, not {good}: it is made for another gas."),
        marked("Use a regulator made for {gas}; never one of another gas."),
    ),
    "arrestor": (
        marked(
            "{gas}: the flashback arrestor is marked {letters}, not {good}: it is made for another "
            "gas."
        ),
        marked("Use a flashback arrestor made for {gas}; never one of another gas."),
    ),
    "hose": (
        marked("{gas}: the hose is marked {letters}, not {good}: it is made for another gas."),
        marked("Use a hose made for {gas}; never one of another gas."),
    ),
}


def _check_letters(reference: Reference, side: _Side, findings: list[Finding]) -> None:
    """Stop where a piece is marked for another gas."""
    letter = reference.gas(side.gas_name).letter
    # F stands for all fuel gases, never for oxygen.
    good = {letter} if side.gas_name == "oxygen" else {letter, "F"}
    wanted = letter
    if len(good) > 1:
        first, second = sorted(good)
        wanted = _("{first} or {second}", first=first, second=second)
    for field, letters in (
        ("regulator", side.regulator.gas_letters),
        ("arrestor", side.arrestor.gas_letters),
        ("hose", side.hose.gas_letters),
    ):
        if letters and not good & set(letters):
            findings.append(
                Finding(
                    "stop",
                    f"{side.where}.{field}.gas_letters",
                    _(_OTHER_GAS[field][0], gas=side.word, letters=letters, good=wanted),
                    _(_OTHER_GAS[field][1], gas=_(side.gas_name)),
                    marked("ISO 10225 (letters from memory)"),
                )
            )


def _check_duty(
    job: Job,
    reference: Reference,
    side: _Side,
    set_pressure: Estimate,
    findings: list[Finding],
) -> None:
    """Stop where no hose of the standard may carry the pressure; say where it is too cold."""
    units, duty = side.units, reference.hose_duty("normal")
    air_k = job.site.temperature.si
    low_k, high_k = duty.temperature_low_c + 273.15, duty.temperature_high_c + 273.15
    if not low_k - 1e-6 <= air_k <= high_k + 1e-6:
        here, low, high = units.apart(TEMPERATURE, job.site.temperature, low_k, high_k)
        findings.append(
            Finding(
                "caution",
                f"{side.where}.hose",
                _(
                    "{gas}: hoses of the standard are for {low} to {high}; here it is "
                    "{temperature}.",
                    gas=side.word,
                    low=low,
                    high=high,
                    temperature=here,
                ),
                _("Use hoses that their maker allows here; do not bend ones that are stiff."),
                duty.source,
            )
        )
    if set_pressure.value_si is None or side.gas_name == "acetylene":
        return  # acetylene has its own, lower limit
    limit = reference.hose_limit_gauge_pa("normal")
    if set_pressure.value_si > limit.value:
        shown, limit_text = units.apart(GAUGE_PRESSURE, set_pressure.value_si, limit.value)
        findings.append(
            Finding(
                "stop",
                f"{side.where}.hose",
                _(
                    "{gas} at {pressure} is above what a hose for normal duty carries, {limit}.",
                    gas=side.word,
                    pressure=shown,
                    limit=limit_text,
                ),
                _("Use a shorter or wider hose."),
                limit.source,
            )
        )
