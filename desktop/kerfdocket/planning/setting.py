"""Stage 4: pressures at the torch and the flows that follow from them."""

import math
from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, decimal_text, in_language, marked, sense
from kerfdocket.physics.air import standard_air_pressure_abs_pa
from kerfdocket.physics.flame import air_oxygen_share, primary_heat_j_mol
from kerfdocket.physics.gas import STANDARD_ATMOSPHERE_PA, Gas
from kerfdocket.physics.hose import friction_factor
from kerfdocket.physics.orifice import (
    bore_flow_kg_s,
    critical_pressure_ratio,
    friction_discharge_coefficient,
)
from kerfdocket.planning.keys import (
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
from kerfdocket.planning.sources import FRICTION_FACTOR, THIS_PROGRAM
from kerfdocket.planning.upstream import left_at_torch_pa
from kerfdocket.quantity import GAUGE_PRESSURE
from kerfdocket.reference import Range, Reference
from kerfdocket.reference.nozzles import Nozzle
from kerfdocket.reference.table import join_sources

__all__ = ["SettingResult", "plan_setting"]

# Derived: friction alone leaves a straight bore of 5 to 37 diameters a coefficient of 0.95 to
# 0.78 (Fanno line, roughness 0.001 of the bore assumed); 0.85 is the middle of it.
_DISCHARGE = Span(0.78, 0.85, 0.95)
# Where the length of the bore is known, its roughness is the doubt (over the bore; assumed), and an
# entrance that is not rounded takes up to 5 % more (assumed: common practice, no source).
_ROUGHNESS = Span(0.005, 0.001, 0.0)
_ENTRANCE = Span(0.95, 0.98, 1.0)
# Weather moves the air pressure by some 3 % either way; beyond 5 % something is wrong.
# Common practice, no source.
_WEATHER = 0.05
_THIN_AIR = 0.02  # less is lost among other doubts: common practice, no source
_CHART = marked("nozzle maker's or shop's chart")


@dataclass(frozen=True, kw_only=True)
class SettingResult(StageResult):
    """Attributes:
    oxygen: oxygen.
    fuel: the job's fuel gas.
    regulator_pa: what an injector's table sets at the regulator; None where the pressure of the
        nozzle holds at the torch. [Pa gauge]
    holds_all_oxygen: True if the cutting oxygen flow counts the flame's oxygen, too.
    """

    oxygen: Gas
    fuel: Gas
    regulator_pa: float | None = None
    holds_all_oxygen: bool = False


def plan_setting(
    job: Job, reference: Reference, plate: PlateResult, nozzle: NozzleResult
) -> SettingResult:
    """Set the pressures at the torch; work out the flows.

    Args:
        job: the job.
        reference: the tables.
        plate: the plate stage.
        nozzle: the nozzle stage.

    Returns:
        Pressures [Pa gauge] and flows [kg/s], each with its range.
    """
    oxygen = reference.gas("oxygen").properties
    fuel = reference.gas(job.fuel.gas).properties
    row, bore_m = nozzle.row, nozzle.bore_m
    if bore_m is None:
        keys = (
            "setting.cutting_oxygen_pressure",
            "setting.heating_oxygen_pressure",
            "setting.fuel_pressure",
            "setting.flame_ratio",
            "setting.discharge_coefficient",
            "setting.cutting_oxygen_flow",
            "setting.heating_oxygen_flow",
            "setting.fuel_flow",
            "setting.flame_air_share",
            "setting.flame_primary_share",
            "setting.flame_temperature",
            "setting.flame_power",
        )
        reason = _("no nozzle: {reason}", reason=nozzle.text)
        estimates = tuple(withheld(key, reason) for key in keys)
        return SettingResult(name="setting", estimates=estimates, oxygen=oxygen, fuel=fuel)
    findings: list[Finding] = []
    pressure = _cutting_pressure(job, row, oxygen, plate.chart_thickness_m, findings)
    regulator_pa = None
    by_table = row if job.chart.cutting_oxygen_pressure is None else None
    if by_table is not None and by_table.pressure_at == "regulator":
        _low, regulator_pa, _high = by_table.cutting_oxygen_gauge_pa(plate.chart_thickness_m)
    fuel_pressure = _fuel_pressure(job, reference, findings)
    _check_air(job, pressure, findings)
    _check_acetylene(job, reference, fuel_pressure, findings)
    fuel_flow = _fuel_flow(job, reference, row, fuel, plate.chart_thickness_m)
    ratio = _ratio(job, reference, findings)
    estimates = (
        pressure,
        _heating_pressure(job, pressure),
        fuel_pressure,
        ratio,
        *_cutting_flow(job, row, bore_m, oxygen, pressure),
        _heating_flow(job, oxygen, fuel, fuel_flow, ratio),
        fuel_flow,
        *_flame(job, reference, fuel, ratio, fuel_flow),
    )
    return SettingResult(
        name="setting",
        estimates=estimates,
        findings=tuple(findings),
        oxygen=oxygen,
        fuel=fuel,
        regulator_pa=regulator_pa,
        holds_all_oxygen=(
            row is not None
            and row.oxygen_flow_m3_s is not None
            and job.chart.cutting_oxygen_flow is None
        ),
    )


def _cutting_pressure(
    job: Job, row: Nozzle | None, oxygen: Gas, thickness_m: float, findings: list[Finding]
) -> Estimate:
    key = "setting.cutting_oxygen_pressure"
    if job.chart.cutting_oxygen_pressure is not None:
        if row is not None and job.chart.cutting_oxygen_flow is None:
            findings.append(
                Finding(
                    "caution",
                    "chart.bore",
                    _(
                        "The pressure is of your chart, the bore of {nozzle} of the generic set: "
                        "the flow may not belong to your nozzle.",
                        nozzle=row.key,
                    ),
                    _("Enter the bore, or the cutting oxygen flow, of your chart."),
                    THIS_PROGRAM,
                )
            )
        return from_stated(key, job.chart.cutting_oxygen_pressure.si, _(_CHART))
    if row is None:
        return withheld(
            key,
            _("a nozzle of your own chart: enter the cutting oxygen pressure of that chart, too"),
        )
    units = job.unit_system
    low, value, high = row.cutting_oxygen_gauge_pa(thickness_m)
    if row.pressure_at == "torch":
        basis = Basis(
            _(
                "Row {nozzle}, linear in thickness from {low} at {thinnest} to {high} at "
                "{thickest}.",
                nozzle=row.key,
                low=units.gauge(low),
                thinnest=units.size(row.thickness_from_m),
                high=units.gauge(high),
                thickest=units.size(row.thickness_to_m),
            ),
            row.source,
            row.trust,
        )
        return estimate(key, Span(low, value, high), basis)
    # An injector's table names the pressure at the regulator and the flow; the hose takes the rest.
    assert row.oxygen_flow_m3_s is not None, "an injector row states its flow"
    ends = []
    for flow_m3_s in row.oxygen_flow_m3_s:
        try:
            flow_kg_s = oxygen.mass_kg(flow_m3_s)
            ends.append(
                left_at_torch_pa(
                    job, oxygen, job.oxygen.hose, job.oxygen.arrestor, value, flow_kg_s
                )
            )
        except ValueError:
            return withheld(key, _("the hose cannot pass the injector's oxygen"))
    span = Span(min(ends), sum(ends) / 2.0, max(ends))
    basis = Basis(
        _(
            "An injector is not computed as a bore: the table sets {pressure} at the regulator; "
            "the loss of arrestor and hose at the table's flow is taken off.",
            pressure=units.gauge(value),
        ),
        row.source,
        least(row.trust, "derived"),
    )
    return estimate(key, span, basis)


def _heating_pressure(job: Job, cutting: Estimate) -> Estimate:
    key = "setting.heating_oxygen_pressure"
    if job.torch.oxygen_hoses == 2:
        if job.chart.heating_oxygen_pressure is not None:
            return from_stated(key, job.chart.heating_oxygen_pressure.si, _(_CHART))
        return withheld(
            key,
            _(
                "no published pressure is known for a separate heating oxygen hose; take it from "
                "the nozzle maker's chart"
            ),
        )
    span = span_of(cutting)
    if span is None:
        return withheld(key, cutting.basis.text)
    basis = Basis(
        _("The same oxygen hose feeds both; the heating oxygen valve at the torch throttles it."),
        cutting.basis.source,
        cutting.basis.trust,
    )
    return estimate(key, span, basis)


def _fuel_pressure(job: Job, reference: Reference, findings: list[Finding]) -> Estimate:
    key = "setting.fuel_pressure"
    if job.chart.fuel_pressure is not None:
        return from_stated(key, job.chart.fuel_pressure.si, _(_CHART))
    found, fuel = reference.fuel_pressure(job.fuel.gas, job.torch.mixing), _(job.fuel.gas)
    if found is None:
        return withheld(key, _("no source for the pressure of {gas} in this torch", gas=fuel))
    text = _("Pressure of {gas} for all thicknesses.", gas=fuel)
    result = estimate(key, Span.of(found), Basis(text, found.source, found.trust))
    if result.is_unverified:
        findings.append(
            Finding(
                "caution",
                "chart.fuel_pressure",
                _(
                    "No published pressure for {gas} is at hand; the value is only a guide from "
                    "{low} to {high}.",
                    gas=fuel,
                    low=job.unit_system.gauge(found.low),
                    high=job.unit_system.gauge(found.high),
                ),
                _("Take it from the nozzle maker's chart and enter it there."),
                found.source,
            )
        )
    return result


def _check_air(job: Job, pressure: Estimate, findings: list[Finding]) -> None:
    """Say what thin air does to a pressure that was printed for sea level."""
    air_abs_pa, units = job.site.air_abs_pa, job.unit_system
    altitude = job.site.altitude
    if altitude is not None and "pressure" in job.site.model_fields_set:
        by_altitude_pa = standard_air_pressure_abs_pa(altitude.si)
        if abs(air_abs_pa / by_altitude_pa - 1.0) > _WEATHER:
            findings.append(
                Finding(
                    "caution",
                    "site.pressure",
                    _(
                        "An air pressure of {pressure} does not go with an altitude of {altitude}, "
                        "where about {usual} are usual.",
                        pressure=units.stated(job.site.pressure),
                        altitude=units.stated(altitude),
                        usual=units.air(by_altitude_pa),
                    ),
                    _("Give the barometer's own reading, not one reduced to sea level."),
                    "ISO 2533:1975",
                )
            )
    missing_pa = STANDARD_ATMOSPHERE_PA - air_abs_pa
    if pressure.value_si is None or missing_pa / (pressure.value_si + air_abs_pa) < _THIN_AIR:
        return
    loss = missing_pa / (pressure.value_si + STANDARD_ATMOSPHERE_PA)
    findings.append(
        Finding(
            "note",
            "site.altitude" if altitude is not None else "site.pressure",
            _(
                "In this thin air ({pressure}) the same gauge pressure passes {percent}% less "
                "oxygen than at sea level, where charts are made.",
                pressure=units.air(air_abs_pa),
                percent=decimal_text(loss * 100.0),
            ),
            _(
                "About {pressure} more on the gauge would make it up, if the nozzle's chart and "
                "the regulator allow it.",
                pressure=units.gauge(missing_pa),
            ),
            marked("derived: choked flow goes with absolute pressure"),
        )
    )


def _check_acetylene(
    job: Job, reference: Reference, pressure: Estimate, findings: list[Finding]
) -> None:
    if job.fuel.gas == "acetylene" and pressure.value_si is not None:
        finding = acetylene_finding(job, reference, pressure.value_si, "chart.fuel_pressure")
        if finding is not None:
            findings.append(finding)


def acetylene_finding(
    job: Job, reference: Reference, gauge_pa: float, where: str
) -> Finding | None:
    """Judge an acetylene pressure against its limits.

    Args:
        job: the job, for its region and units.
        reference: the tables.
        gauge_pa: working pressure. [Pa gauge]
        where: field or stage that it belongs to.

    Returns:
        A stop above 1.5 bar gauge, or above 15 psi gauge in the USA; elsewhere a caution there.
    """
    europe = reference.acetylene_limit_gauge_pa("europe")
    usa = reference.acetylene_limit_gauge_pa("usa")
    units = job.unit_system
    limit = usa if job.region == "USA" else europe
    if gauge_pa > limit.value:
        shown, limit_text = units.apart(GAUGE_PRESSURE, gauge_pa, limit.value)
        return Finding(
            "stop",
            where,
            _(
                "Acetylene at {pressure} gauge is above its limit of {limit}: it can blow apart by "
                "itself, without air.",
                pressure=shown,
                limit=limit_text,
            ),
            _(
                "Never run it above the limit; use a wider or shorter hose, a larger nozzle's "
                "chart value, or another fuel gas."
            ),
            f"{europe.source}; {usa.source}",
        )
    if gauge_pa > usa.value:
        shown, limit_text = units.apart(GAUGE_PRESSURE, gauge_pa, usa.value)
        return Finding(
            "caution",
            where,
            _(
                "Acetylene at {pressure} gauge is above {limit}, the limit in the USA.",
                pressure=shown,
                limit=limit_text,
            ),
            _("Check which limit holds here; stay below it."),
            usa.source,
        )
    return None


def _cutting_flow(
    job: Job, row: Nozzle | None, bore_m: float, oxygen: Gas, pressure: Estimate
) -> tuple[Estimate, Estimate]:
    units = job.unit_system
    coefficient_key, key = "setting.discharge_coefficient", "setting.cutting_oxygen_flow"
    if job.chart.cutting_oxygen_flow is not None:
        flow_kg_s = oxygen.mass_kg(job.chart.cutting_oxygen_flow.si)
        reason = _("the flow is that of the chart, not computed")
        return withheld(coefficient_key, reason), from_stated(key, flow_kg_s, _(_CHART), oxygen)
    if row is not None and row.oxygen_flow_m3_s is not None:
        low, high = (oxygen.mass_kg(flow) for flow in row.oxygen_flow_m3_s)
        basis = Basis(
            _(
                "As the table of {nozzle} states it; an injector is not computed as a bore.",
                nozzle=row.key,
            ),
            row.source,
            row.trust,
        )
        reason = _("an injector torch: its flow is the table's, not computed")
        flow = estimate(key, Span(low, (low + high) / 2.0, high), basis, oxygen)
        return withheld(coefficient_key, reason), flow
    span = span_of(pressure)
    is_choked = span is not None and _is_choked(job, oxygen, span.low)
    coefficient = _discharge(job, bore_m, oxygen, span if is_choked else None)
    shares = span_of(coefficient)
    if span is None or shares is None:
        return coefficient, withheld(key, first_reason(pressure, coefficient))
    flows = (
        bore_flow_kg_s(
            oxygen, bore_m, gauge_pa, job.site.air_abs_pa, job.site.temperature.si, share
        )
        for gauge_pa, share in zip(span, shares, strict=True)
    )
    if is_choked:
        text = _(
            "Choked flow of a real gas through the bore, at the air pressure and temperature of "
            "the site."
        )
    else:
        text = _(
            "Subsonic flow of a real gas through the bore, at the air pressure and temperature of "
            "the site."
        )
    basis = Basis(
        text,
        join_sources(
            "Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow",
            marked("checked against CoolProp"),
        ),
        least("derived", pressure.basis.trust),
        "ṁ = Cd · A · p₀ · √(γ / (R · T)) · (2/(γ+1))^((γ+1)/(2(γ−1))) / √Z"
        if is_choked
        else "ṁ = Cd · A · p₀ · √(2γ/((γ−1) · R · T) · (r^(2/γ) − r^((γ+1)/γ))) / √Z",
        (
            (_("bore"), units.size(bore_m)),
            (_("gauge pressure"), units.gauge(span.value)),
            (_("air pressure"), _("{pressure} absolute", pressure=units.air(job.site.air_abs_pa))),
            (_("temperature"), units.stated(job.site.temperature)),
            ("Cd", decimal_text(shares.value, 2)),
        ),
    )
    return coefficient, estimate(key, Span(*flows), basis, oxygen)


def _fuel_flow(
    job: Job, reference: Reference, row: Nozzle | None, fuel: Gas, thickness_m: float
) -> Estimate:
    key = "setting.fuel_flow"
    if job.chart.fuel_flow is not None:
        return from_stated(key, fuel.mass_kg(job.chart.fuel_flow.si), _(_CHART), fuel)
    if row is not None and row.fuel_flow_m3_s is not None:
        low, high = (fuel.mass_kg(flow) for flow in row.fuel_flow_m3_s)
        text = _("As the table of {nozzle} states it.", nozzle=row.key)
        basis = Basis(text, row.source, row.trust)
        return estimate(key, Span(low, (low + high) / 2.0, high), basis, fuel)
    found: Range | None = reference.fuel_flow(job.fuel.gas, thickness_m)
    if found is None:
        reason = reference.why_none("fuel_flow", thickness_m) or _("no source")
        return withheld(key, reason)
    basis = Basis(
        _("Heating flame for this thickness; {note}.", note=found.note),
        found.source,
        found.trust,
    )
    return estimate(key, Span.of(found), basis, fuel)


def _heating_flow(
    job: Job, oxygen: Gas, fuel: Gas, fuel_flow: Estimate, ratio: Estimate
) -> Estimate:
    key = "setting.heating_oxygen_flow"
    if job.chart.heating_oxygen_flow is not None:
        flow_kg_s = oxygen.mass_kg(job.chart.heating_oxygen_flow.si)
        return from_stated(key, flow_kg_s, _(_CHART), oxygen)
    flow, share = span_of(fuel_flow), span_of(ratio)
    if flow is None or share is None:
        return withheld(key, fuel_flow.basis.text)
    units = job.unit_system
    # The ratio is one of volumes, the flows are masses.
    densities = oxygen.density_reference_kg_m3 / fuel.density_reference_kg_m3
    basis = Basis(
        _("Fuel flow times the oxygen ratio of the flame."),
        ratio.basis.source,
        least(fuel_flow.basis.trust, ratio.basis.trust),
        "q_oxygen = ratio · q_fuel",
        (
            (sense("in an equation", "ratio"), in_language(f"{share.value:g}")),
            ("q_fuel", units.at_state(units.gas_flow(fuel.volume_m3(flow.value)))),
        ),
    )
    return estimate(key, flow.times(share).scaled(densities), basis, oxygen)


def _ratio(job: Job, reference: Reference, findings: list[Finding]) -> Estimate:
    """Oxygen to fuel by volume, for the flame that is asked for."""
    kind = reference.flame(job.fuel.gas).kinds[job.torch.flame]
    flame, look = _(job.torch.flame), _(kind.look)
    if job.torch.flame != "neutral":
        findings.append(
            Finding(
                "caution",
                "torch.flame",
                _(
                    "A flame set {flame}: {look} {effect}",
                    flame=flame,
                    look=look,
                    effect=_(kind.effect),
                ),
                _("Cutting is heated with the neutral flame unless a procedure asks for another."),
                kind.ratio.source,
            )
        )
    basis = Basis(
        _(
            "Setting of a {flame} heating flame. {look} The rest of the oxygen comes from the air.",
            flame=flame,
            look=look,
        ),
        kind.ratio.source,
        kind.ratio.trust,
    )
    return estimate("setting.flame_ratio", Span.of(kind.ratio), basis)


def _is_choked(job: Job, oxygen: Gas, gauge_pa: float) -> bool:
    air_abs_pa = job.site.air_abs_pa
    critical = critical_pressure_ratio(oxygen.heat_capacity_ratio)
    return air_abs_pa / (gauge_pa + air_abs_pa) <= critical


def _discharge(job: Job, bore_m: float, oxygen: Gas, pressure: Span | None) -> Estimate:
    """What friction leaves of the ideal flow, by the bore's length where it is stated."""
    key = "setting.discharge_coefficient"
    length = job.chart.bore_length
    if length is None or pressure is None:
        basis = Basis(
            _(
                "What friction leaves a drilled bore of 5 to 37 diameters; state the length of the "
                "bore to narrow it down."
            ),
            marked("derived: Fanno line (Shapiro), roughness assumed"),
            "derived",
        )
        return estimate(key, _DISCHARGE, basis)
    ideal_kg_s = bore_flow_kg_s(
        oxygen, bore_m, pressure.value, job.site.air_abs_pa, job.site.temperature.si
    )
    reynolds = 4.0 * ideal_kg_s / (math.pi * bore_m * oxygen.viscosity_pa_s)
    shares = []
    try:
        for roughness, entrance in zip(_ROUGHNESS, _ENTRANCE, strict=True):
            number = friction_factor(reynolds, roughness) * length.si / bore_m
            friction = friction_discharge_coefficient(number, oxygen.heat_capacity_ratio)
            shares.append(friction * entrance)
    except ValueError:
        reason = _("the bore is too long or too short for the formula of its friction")
        return withheld(key, reason)
    basis = Basis(
        _(
            "What friction leaves a straight bore of the stated length, and an entrance that is "
            "not quite rounded (0 to 5 % less, assumed)."
        ),
        join_sources(
            marked("derived: Fanno line (Shapiro)"), FRICTION_FACTOR, marked("roughness assumed")
        ),
        "derived",
        "f·L/d = (1−M²)/(γM²) + (γ+1)/(2γ) · ln((γ+1)M²/(2+(γ−1)M²))",
        (
            ("L", job.unit_system.stated(length)),
            ("d", job.unit_system.size(bore_m)),
            ("Re", in_language(f"{reynolds:.3g}")),
        ),
    )
    return estimate(key, Span(*shares), basis)


def _flame(
    job: Job, reference: Reference, fuel: Gas, ratio: Estimate, fuel_flow: Estimate
) -> tuple[Estimate, ...]:
    """Where the flame's oxygen and heat come from: torch or surrounding air."""
    air_key, primary_key = "setting.flame_air_share", "setting.flame_primary_share"
    heat_key, power_key = "setting.flame_temperature", "setting.flame_power"
    span, complete = _in_moles(reference, fuel, ratio), reference.flame(job.fuel.gas).stoichiometric
    least_oxygen = reference.flame(job.fuel.gas).neutral.value
    if span is None:
        air = withheld(air_key, ratio.basis.text)
        primary = withheld(primary_key, ratio.basis.text)
        hottest = withheld(heat_key, ratio.basis.text)
    else:
        basis = Basis(
            _(
                "Complete burning takes {number} moles of oxygen for each of fuel; what the torch "
                "does not bring comes from the air round the flame.",
                number=in_language(f"{complete.value:g}"),
            ),
            complete.source,
            least("derived", ratio.basis.trust),
            "1 − r / r_st",
            (
                (_("r, in moles"), decimal_text(span.value, 2)),
                ("r_st", in_language(f"{complete.value:g}")),
            ),
        )
        air = estimate(
            air_key, Span(*(air_oxygen_share(one, complete.value) for one in span[::-1])), basis
        )
        primary = _primary(primary_key, fuel, span, least_oxygen, complete.value, ratio.basis.trust)
        hottest = _hottest(heat_key, job, reference, span, ratio.basis.trust)
    flow = span_of(fuel_flow)
    if flow is None:
        return air, primary, hottest, withheld(power_key, first_reason(fuel_flow))
    basis = Basis(
        _(
            "Fuel flow times its net heating value: all that the flame gives, the outer envelope "
            "included."
        ),
        reference.gas(job.fuel.gas).properties_source,
        least("derived", fuel_flow.basis.trust),
        "P = ṁ · LHV",
        (("LHV", f"{decimal_text(fuel.lower_heating_value_j_kg / 1e6, 1)} MJ/kg"),),
    )
    power = estimate(power_key, flow.scaled(fuel.lower_heating_value_j_kg), basis)
    return air, primary, hottest, power


def _in_moles(reference: Reference, fuel: Gas, ratio: Estimate) -> Span | None:
    """A ratio of real volumes as one of moles, which the chemistry counts in."""
    span, oxygen = span_of(ratio), reference.gas("oxygen").properties
    if span is None:
        return None
    moles = (oxygen.density_reference_kg_m3 / oxygen.molar_mass_kg_mol) / (
        fuel.density_reference_kg_m3 / fuel.molar_mass_kg_mol
    )
    return span.scaled(moles)


def _hottest(key: str, job: Job, reference: Reference, ratio: Span, trust: Trust) -> Estimate:
    """Adiabatic temperature of the flame."""
    found = [reference.flame_temperature(job.fuel.gas, one) for one in ratio]
    figures = [one for one in found if one is not None]
    if len(figures) < len(found):
        reason = _("the table ends where the flame leaves soot, or has oxygen to spare")
        return withheld(key, reason)
    values = sorted(one.value for one in figures)
    best = figures[1]
    basis = Basis(
        _("From a table by the ratio: {note}.", note=best.note),
        best.source,
        least("derived", trust),
        inputs=((_("r, in moles"), decimal_text(ratio.value, 2)),),
    )
    # The hottest flame lies between the ends: the best value need not be the middle one.
    return estimate(key, Span(values[0], best.value, values[-1]), basis)


def _primary(
    key: str, fuel: Gas, ratio: Span, least_oxygen: float, complete: float, trust: Trust
) -> Estimate:
    if ratio.low < least_oxygen:
        return withheld(
            key, _("with so little oxygen the fuel leaves soot, which the formula ends at")
        )
    heat_j_mol = fuel.lower_heating_value_j_kg * fuel.molar_mass_kg_mol
    shares = (
        primary_heat_j_mol(fuel.carbon, fuel.hydrogen, heat_j_mol, min(one, complete)) / heat_j_mol
        for one in ratio
    )
    basis = Basis(
        _(
            "Share of the heat that the inner, hot flame gives with the torch's own oxygen; the "
            "rest is in the wide outer flame, which heats the plate little."
        ),
        join_sources(
            marked("derived from the balance of the elements"), marked("within 2.1 % of cantera")
        ),
        least("derived", trust),
        "1 − 2 (r_st − r) · q / LHV",
        (
            (_("r, in moles"), decimal_text(ratio.value, 2)),
            ("r_st", in_language(f"{complete:g}")),
        ),
    )
    return estimate(key, Span(*shares), basis)
