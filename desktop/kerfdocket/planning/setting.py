"""Stage 4: pressures at the torch and the flows that follow from them."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.physics.air import standard_air_pressure_abs_pa
from kerfdocket.physics.gas import STANDARD_ATMOSPHERE_PA, Gas
from kerfdocket.physics.hose import CannotPass, hose_outlet_gauge_pa
from kerfdocket.physics.orifice import bore_flow_kg_s
from kerfdocket.planning.keys import Span, estimate, from_stated, span_of, withheld
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult, least
from kerfdocket.planning.nozzle import NozzleResult
from kerfdocket.planning.plate import PlateResult
from kerfdocket.quantity import value_text
from kerfdocket.reference import Range, Reference
from kerfdocket.reference.nozzles import Nozzle

__all__ = ["SettingResult", "plan_setting"]

# Derived: friction alone leaves a straight bore of 5 to 37 diameters a coefficient of 0.95 to
# 0.78 (Fanno line, roughness 0.001 of the bore assumed); 0.85 is the middle of it.
_DISCHARGE = Span(0.78, 0.85, 0.95)
# Weather moves the air pressure by some 3 % either way; beyond 5 % something is wrong.
# Common practice, no source.
_WEATHER = 0.05
_THIN_AIR = 0.02  # less is lost among other doubts: common practice, no source
_CHART = "nozzle maker's or shop's chart"


@dataclass(frozen=True, kw_only=True)
class SettingResult(StageResult):
    """Attributes:
    oxygen: oxygen.
    fuel: the job's fuel gas.
    is_injector_table: True if the oxygen pressure holds at the regulator, not at the torch.
    """

    oxygen: Gas
    fuel: Gas
    is_injector_table: bool


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
        )
        reason = f"no nozzle: {nozzle.text}"
        estimates = tuple(withheld(key, reason) for key in keys)
        return SettingResult(
            name="setting", estimates=estimates, oxygen=oxygen, fuel=fuel, is_injector_table=False
        )
    findings: list[Finding] = []
    pressure = _cutting_pressure(job, row, oxygen, plate.chart_thickness_m, findings)
    at_regulator = (
        row is not None
        and row.pressure_at == "regulator"
        and job.chart.cutting_oxygen_pressure is None
    )
    fuel_pressure = _fuel_pressure(job, reference, findings)
    _check_air(job, pressure, findings)
    _check_acetylene(job, reference, fuel_pressure, findings)
    fuel_flow = _fuel_flow(job, reference, row, fuel, plate.chart_thickness_m)
    ratio_range = reference.flame(job.fuel.gas).workshop
    ratio = estimate(
        "setting.flame_ratio",
        Span.of(ratio_range),
        Basis(
            "Usual workshop setting of a neutral heating flame; the rest of the oxygen comes from "
            "the air.",
            ratio_range.source,
            ratio_range.trust,
        ),
    )
    estimates = (
        pressure,
        _heating_pressure(job, pressure),
        fuel_pressure,
        ratio,
        *_cutting_flow(job, row, bore_m, oxygen, pressure),
        _heating_flow(job, oxygen, fuel, fuel_flow, ratio),
        fuel_flow,
    )
    return SettingResult(
        name="setting",
        estimates=estimates,
        findings=tuple(findings),
        oxygen=oxygen,
        fuel=fuel,
        is_injector_table=at_regulator,
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
                    f"The pressure is of your chart, the bore of {row.key} of the generic set: the "
                    "flow may not belong to your nozzle.",
                    "Enter the bore, or the cutting oxygen flow, of your chart.",
                    "this program",
                )
            )
        return from_stated(key, job.chart.cutting_oxygen_pressure.si, _CHART)
    if row is None:
        return withheld(
            key, "a nozzle of your own chart: enter the cutting oxygen pressure of that chart, too"
        )
    low, value, high = row.cutting_oxygen_gauge_pa(thickness_m)
    if row.pressure_at == "torch":
        basis = Basis(
            f"Row {row.key}, linear in thickness from {value_text(low / 1e5, 'bar')} at "
            f"{row.thickness_from_m * 1e3:g} mm to {value_text(high / 1e5, 'bar')} at "
            f"{row.thickness_to_m * 1e3:g} mm.",
            row.source,
            row.trust,
        )
        return estimate(key, Span(low, value, high), basis)
    # An injector's table names the pressure at the regulator and the flow; the hose takes the rest.
    assert row.oxygen_flow_m3_s is not None, "an injector row states its flow"
    hose = job.oxygen.hose
    ends = []
    for flow_m3_s in row.oxygen_flow_m3_s:
        try:
            ends.append(
                hose_outlet_gauge_pa(
                    oxygen,
                    value,
                    job.site.air_abs_pa,
                    oxygen.mass_kg(flow_m3_s),
                    hose.bore.si,
                    hose.length.si,
                    job.site.temperature.si,
                )
            )
        except (CannotPass, ValueError) as error:
            return withheld(key, f"the hose cannot pass the injector's oxygen: {error}")
    span = Span(min(ends), sum(ends) / 2.0, max(ends))
    basis = Basis(
        f"An injector is not computed as a bore: the table sets {value_text(value / 1e5, 'bar')} "
        "at the regulator; the loss of the hose at the table's flow is taken off.",
        row.source,
        least(row.trust, "derived"),
    )
    return estimate(key, span, basis)


def _heating_pressure(job: Job, cutting: Estimate) -> Estimate:
    key = "setting.heating_oxygen_pressure"
    if job.chart.heating_oxygen_pressure is not None:
        return from_stated(key, job.chart.heating_oxygen_pressure.si, _CHART)
    if job.torch.oxygen_hoses == 2:
        return withheld(
            key,
            "no published pressure is known for a separate heating oxygen hose; take it from the "
            "nozzle maker's chart",
        )
    span = span_of(cutting)
    if span is None:
        return withheld(key, cutting.basis.text)
    basis = Basis(
        "The same oxygen hose feeds both; the heating oxygen valve at the torch throttles it.",
        cutting.basis.source,
        cutting.basis.trust,
    )
    return estimate(key, span, basis)


def _fuel_pressure(job: Job, reference: Reference, findings: list[Finding]) -> Estimate:
    key = "setting.fuel_pressure"
    if job.chart.fuel_pressure is not None:
        return from_stated(key, job.chart.fuel_pressure.si, _CHART)
    found = reference.fuel_pressure(job.fuel.gas, job.torch.mixing)
    if found is None:
        return withheld(key, f"no source for the pressure of {job.fuel.gas} in this torch")
    result = estimate(
        key,
        Span.of(found),
        Basis(f"Pressure of {job.fuel.gas} for all thicknesses.", found.source, found.trust),
    )
    if result.is_unverified:
        findings.append(
            Finding(
                "caution",
                "chart.fuel_pressure",
                f"No published pressure for {job.fuel.gas} is at hand; the value is only a guide "
                f"from {value_text(found.low / 1e5, 'bar')} to "
                f"{value_text(found.high / 1e5, 'bar')}.",
                "Take it from the nozzle maker's chart and enter it there.",
                found.source,
            )
        )
    return result


def _check_air(job: Job, pressure: Estimate, findings: list[Finding]) -> None:
    """Say what thin air does to a pressure that was printed for sea level."""
    air_abs_pa = job.site.air_abs_pa
    altitude = job.site.altitude
    if altitude is not None and "pressure" in job.site.model_fields_set:
        by_altitude_pa = standard_air_pressure_abs_pa(altitude.si)
        if abs(air_abs_pa / by_altitude_pa - 1.0) > _WEATHER:
            findings.append(
                Finding(
                    "caution",
                    "site.pressure",
                    f"An air pressure of {job.site.pressure} does not go with an altitude of "
                    f"{altitude}, where about {by_altitude_pa / 100:.0f} hPa are usual.",
                    "Give the barometer's own reading, not one reduced to sea level.",
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
            f"In this thin air ({air_abs_pa / 100:.0f} hPa) the same gauge pressure passes "
            f"{loss:.0%} less oxygen than at sea level, where charts are made.",
            f"About {value_text(missing_pa / 1e5, 'bar')} more on the gauge would make it up, if "
            "the nozzle's chart and the regulator allow it.",
            "derived: choked flow goes with absolute pressure",
        )
    )


def _check_acetylene(
    job: Job, reference: Reference, pressure: Estimate, findings: list[Finding]
) -> None:
    if job.fuel.gas == "acetylene" and pressure.value_si is not None:
        finding = acetylene_finding(reference, pressure.value_si, "chart.fuel_pressure")
        if finding is not None:
            findings.append(finding)


def acetylene_finding(reference: Reference, gauge_pa: float, where: str) -> Finding | None:
    """Judge an acetylene pressure against its limits.

    Args:
        reference: the tables.
        gauge_pa: working pressure. [Pa gauge]
        where: field or stage that it belongs to.

    Returns:
        A stop above 1.5 bar gauge, a caution above 15 psi gauge, else nothing.
    """
    europe = reference.acetylene_limit_gauge_pa("europe")
    usa = reference.acetylene_limit_gauge_pa("usa")
    shown = value_text(gauge_pa / 1e5, "bar")
    if gauge_pa > europe.value:
        return Finding(
            "stop",
            where,
            f"Acetylene at {shown} gauge is above its limit of "
            f"{value_text(europe.value / 1e5, 'bar')}: it can blow apart by itself, without air.",
            "Never run it above the limit; use a wider or shorter hose, a larger nozzle's chart "
            "value, or another fuel gas.",
            f"{europe.source}; {usa.source}",
        )
    if gauge_pa > usa.value:
        return Finding(
            "caution",
            where,
            f"Acetylene at {shown} gauge is above 15 psi gauge, the limit in the USA.",
            "Check which limit holds here; stay below it.",
            usa.source,
        )
    return None


def _cutting_flow(
    job: Job, row: Nozzle | None, bore_m: float, oxygen: Gas, pressure: Estimate
) -> tuple[Estimate, Estimate]:
    coefficient_key, key = "setting.discharge_coefficient", "setting.cutting_oxygen_flow"
    if job.chart.cutting_oxygen_flow is not None:
        flow_kg_s = oxygen.mass_kg(job.chart.cutting_oxygen_flow.si)
        reason = "the flow is that of the chart, not computed"
        return withheld(coefficient_key, reason), from_stated(key, flow_kg_s, _CHART, oxygen)
    if row is not None and row.oxygen_flow_m3_s is not None:
        low, high = (oxygen.mass_kg(flow) for flow in row.oxygen_flow_m3_s)
        basis = Basis(
            f"As the table of {row.key} states it; an injector is not computed as a bore.",
            row.source,
            row.trust,
        )
        reason = "an injector torch: its flow is the table's, not computed"
        flow = estimate(key, Span(low, (low + high) / 2.0, high), basis, oxygen)
        return withheld(coefficient_key, reason), flow
    coefficient = estimate(
        coefficient_key,
        _DISCHARGE,
        Basis(
            "What friction leaves a drilled bore of 5 to 37 diameters.",
            "derived: Fanno line (Shapiro), roughness assumed",
            "derived",
        ),
    )
    span = span_of(pressure)
    if span is None:
        return coefficient, withheld(key, pressure.basis.text)
    flows = (
        bore_flow_kg_s(
            oxygen, bore_m, gauge_pa, job.site.air_abs_pa, job.site.temperature.si, share
        )
        for gauge_pa, share in zip(span, _DISCHARGE, strict=True)
    )
    basis = Basis(
        "Choked flow of a real gas through the bore, at the air pressure and temperature of the "
        "site.",
        "Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow; checked against "
        "CoolProp",
        least("derived", pressure.basis.trust),
        "ṁ = Cd · A · p₀ · √(γ / (R · T)) · (2/(γ+1))^((γ+1)/(2(γ−1))) / √Z",
        (
            ("bore", value_text(bore_m * 1e3, "mm")),
            ("gauge pressure", value_text(span.value / 1e5, "bar")),
            ("air pressure", f"{job.site.air_abs_pa / 100:.0f} hPa absolute"),
            ("temperature", str(job.site.temperature)),
            ("Cd", f"{_DISCHARGE.value:g}"),
        ),
    )
    return coefficient, estimate(key, Span(*flows), basis, oxygen)


def _fuel_flow(
    job: Job, reference: Reference, row: Nozzle | None, fuel: Gas, thickness_m: float
) -> Estimate:
    key = "setting.fuel_flow"
    if job.chart.fuel_flow is not None:
        return from_stated(key, fuel.mass_kg(job.chart.fuel_flow.si), _CHART, fuel)
    if row is not None and row.fuel_flow_m3_s is not None:
        low, high = (fuel.mass_kg(flow) for flow in row.fuel_flow_m3_s)
        basis = Basis(f"As the table of {row.key} states it.", row.source, row.trust)
        return estimate(key, Span(low, (low + high) / 2.0, high), basis, fuel)
    found: Range | None = reference.fuel_flow(job.fuel.gas, thickness_m)
    if found is None:
        reason = reference.why_none("fuel_flow", thickness_m) or "no source"
        return withheld(key, reason)
    basis = Basis(
        f"Heating flame for this thickness; {found.note}.",
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
        return from_stated(key, flow_kg_s, _CHART, oxygen)
    flow, share = span_of(fuel_flow), span_of(ratio)
    if flow is None or share is None:
        return withheld(key, fuel_flow.basis.text)
    # The ratio is one of volumes, the flows are masses.
    densities = oxygen.density_reference_kg_m3 / fuel.density_reference_kg_m3
    basis = Basis(
        "Fuel flow times the oxygen ratio of the flame.",
        ratio.basis.source,
        least(fuel_flow.basis.trust, ratio.basis.trust),
        "q_oxygen = ratio · q_fuel",
        (
            ("ratio", f"{share.value:g}"),
            ("q_fuel", value_text(fuel_flow.value or 0.0, fuel_flow.unit)),
        ),
    )
    return estimate(key, flow.times(share).scaled(densities), basis, oxygen)
