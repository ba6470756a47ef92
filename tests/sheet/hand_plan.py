"""A plan made by hand with the real classes: every value is invented for these tests."""

import datetime
from dataclasses import replace
from typing import Any

from kerfdocket.job import Job, read_job
from kerfdocket.planning.model import (
    Assumed,
    Basis,
    Caution,
    ChangeOver,
    Estimate,
    Finding,
    Plan,
    Protection,
    Spell,
    StageResult,
    Step,
    SupplyLine,
    Trust,
)
from kerfdocket.quantity import (
    COUNT,
    GAS_FLOW,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    LENGTH,
    MASS,
    MONEY,
    PERCENT,
    RATIO,
    SPEED,
    TEMPERATURE,
    TIME,
)
from kerfdocket.quantity.kinds import Kind

__all__ = [
    "estimate",
    "hand_job",
    "hand_plan",
    "stop",
    "with_changes",
    "with_estimate",
    "with_findings",
]

# Invented, only to turn masses into volumes here.
_DENSITY = {"oxygen": 1.3, "fuel": 1.1}


def estimate(
    key: str,
    label: str,
    kind: Kind,
    unit: str,
    value: float | None,
    spread: float = 0.0,
    trust: Trust = "published, second-hand",
    gas: str = "",
    reason: str = "worked out for this test",
    source: str = "Invented Handbook, table 3",
) -> Estimate:
    """An estimate written in `unit`, `spread` of it either way."""
    density = _DENSITY[gas] if gas else None
    si = None
    if value is not None:
        si = kind.to_si(value, unit) * (density or 1.0)
    width = 0.0 if value is None else abs(kind.to_si(value * spread, unit) - kind.to_si(0.0, unit))
    width *= density or 1.0
    return Estimate(
        key=key,
        label=label,
        kind=kind,
        unit="EUR" if kind is MONEY else unit,
        value_si=si,
        low_si=None if si is None else si - width,
        high_si=None if si is None else si + width,
        basis=Basis(text=reason, source=source, trust=trust),
        gas_density_kg_m3=density,
    )


def hand_job(**about: Any) -> Job:
    """A job of two parts, cut by hand with acetylene."""
    raw: dict[str, Any] = {
        "kerfdocket-job": 1,
        "about": {
            "number": "TEST-001",
            "title": "Invented plates",
            "customer": "Nobody's bay",
            "drawing": "ZZ-01 rev A",
            "prepared_by": "Test bench",
            "date": datetime.date(2026, 11, 25),
            "note": "Keep the offcuts wider than 200 mm.",
            **about,
        },
        "plate": {
            "grade": "S355J2",
            "thickness": "12 mm",
            "readings": ["12.1 mm", "12.0 mm", "12.2 mm", "12.1 mm"],
            "length": "3000 mm",
            "width": "1500 mm",
        },
        "parts": [
            {"name": "P1 plate", "count": 6, "cut_length": "1600 mm"},
            {"name": "P1 opening", "count": 6, "cut_length": "566 mm", "start": "pierce"},
        ],
        "fuel": {
            "gas": "acetylene",
            "cylinders": [{"weight_now": "66 kg", "weight_empty": "60 kg"}],
        },
        "oxygen": {"cylinders": [{"gauge": "150 bar"}]},
    }
    return read_job(raw)


def _stages() -> tuple[StageResult, ...]:
    e = estimate
    bar = (GAUGE_PRESSURE, "bar")
    flow = (GAS_FLOW, "m3/h")
    volume = (GAS_VOLUME, "m3")
    memory: Trust = "from memory"
    return (
        StageResult(
            "plate",
            (
                e("plate.thickness", "Thickness", LENGTH, "mm", 12.1, trust="stated"),
                e("plate.thickness_lowest", "Thinnest", LENGTH, "mm", 12.0, trust="stated"),
                e("plate.thickness_highest", "Thickest", LENGTH, "mm", 12.2, trust="stated"),
                e("plate.mass", "Mass of the plate", MASS, "kg", 428, 0.01, "derived"),
            ),
        ),
        StageResult(
            "steel",
            (
                e("steel.carbon_equivalent", "Carbon equivalent", PERCENT, "%", 0.45),
                e(
                    "steel.preheat",
                    "Preheat",
                    TEMPERATURE,
                    "°C",
                    None,
                    reason="no preheat rule that was read covers this grade and thickness",
                ),
            ),
            (Finding("note", "plate.certificate", "No certificate: upper limits used.", "", ""),),
        ),
        StageResult("nozzle", (e("nozzle.bore", "Bore", LENGTH, "mm", 1.2),)),
        StageResult(
            "setting",
            (
                e("setting.discharge_coefficient", "Discharge coefficient", RATIO, "", 0.85, 0.1),
                e("setting.cutting_oxygen_pressure", "Cutting oxygen", *bar, 1.7, 0.2),
                e("setting.heating_oxygen_pressure", "Heating oxygen", *bar, 0.35, 0.4, memory),
                e("setting.fuel_pressure", "Fuel", *bar, 0.15, trust="stated"),
                e("setting.flame_ratio", "Oxygen to fuel", RATIO, "", 1.1, 0.05),
                e("setting.cutting_oxygen_flow", "Cutting oxygen", *flow, 1.75, 0.1, gas="oxygen"),
                e("setting.heating_oxygen_flow", "Heating oxygen", *flow, 0.4, 0.3, gas="oxygen"),
                e("setting.fuel_flow", "Fuel", *flow, 0.36, 0.3, memory, gas="fuel"),
            ),
        ),
        StageResult(
            "line",
            (
                e("line.oxygen_loss", "Oxygen, lost on the way", *bar, 0.09, 0.1, "derived"),
                e("line.oxygen_regulator_pressure", "Oxygen regulator", *bar, 1.8, 0.2, "derived"),
                e("line.fuel_loss", "Fuel, lost on the way", *bar, 0.02, 0.1, "derived"),
                e("line.fuel_regulator_pressure", "Fuel regulator", *bar, 0.17, 0.05, "derived"),
            ),
            (
                Finding(
                    "caution",
                    "fuel.arrestor.flow_limit",
                    "The fuel arrestor's greatest flow is not stated.",
                    "Read it in its instructions.",
                    "common practice",
                ),
            ),
        ),
        StageResult(
            "cut",
            (
                e("cut.speed", "Cutting speed", SPEED, "mm/min", 370, 0.2),
                e("cut.kerf", "Kerf", LENGTH, "mm", 1.8, 0.2, memory),
                e("cut.length", "Cut length", LENGTH, "m", 13.0, trust="stated"),
                e("cut.starts", "Starts", COUNT, "", 12, trust="stated"),
                e("cut.start_time", "Edge start", TIME, "s", 10, 0.4),
                e("cut.pierce_time", "Pierce", TIME, "s", 20, 0.4, memory),
                e("cut.flame_time", "Time on the flame", TIME, "min", 38, 0.2, "derived"),
                e("cut.clock_time", "Time on the clock", TIME, "min", 75, 0.3, memory),
            ),
        ),
        StageResult(
            "use",
            (
                e("use.oxygen_cutting", "Oxygen, cutting", *volume, 1.03, 0.2, gas="oxygen"),
                e("use.oxygen_heating", "Oxygen, heating", *volume, 0.25, 0.3, gas="oxygen"),
                e("use.oxygen", "Oxygen", *volume, 1.4, 0.3, memory, gas="oxygen"),
                e("use.fuel", "Acetylene", *volume, 0.26, 0.3, memory, gas="fuel"),
                e("use.fuel_mass", "Acetylene", MASS, "kg", 0.29, 0.3, memory),
            ),
        ),
        StageResult(
            "supply",
            (
                e("supply.oxygen_available", "Oxygen", *volume, 7.1, 0.03, "derived", "oxygen"),
                e("supply.fuel_available", "Acetylene", *volume, 5.2, 0.02, "stated", "fuel"),
                e("supply.oxygen_cylinders", "Oxygen cylinders", COUNT, "", 1, 0, "derived"),
                e("supply.fuel_cylinders", "Acetylene cylinders", COUNT, "", 1, 0, memory),
                e("supply.fuel_draw", "Highest draw", *flow, 0.7, 0.2, memory, "fuel"),
            ),
        ),
        StageResult(
            "quality",
            (
                e("quality.perpendicularity_limit", "Perpendicularity u", LENGTH, "mm", 1.22),
                e("quality.roughness_limit", "Roughness Rz5", LENGTH, "µm", 127),
                e("quality.size_deviation", "Size", LENGTH, "mm", 3.0),
            ),
        ),
        StageResult("hazard"),
        StageResult("steps"),
        StageResult(
            "cost",
            (
                e("cost.oxygen", "Oxygen", MONEY, "", 6.7, 0.3, memory),
                e("cost.fuel", "Acetylene", MONEY, "", 6.1, 0.3, memory),
                e("cost.work", "Work", MONEY, "", 77.5, 0.3, memory),
                e("cost.total", "Total", MONEY, "", 90.3, 0.3, memory),
            ),
        ),
    )


_GROUPS = (
    "Check",
    "Assemble",
    "Open",
    "Set",
    "Test for leaks",
    "Purge and light",
    "Cut",
    "Shut down",
)


def hand_plan(job: Job | None = None) -> Plan:
    """A plan in which stated, published and unverified values and one withheld one stand."""
    return Plan(
        job=job or hand_job(),
        stages=_stages(),
        nozzle_name="A-N-1.2",
        nozzle_text="Nozzle-mixing, acetylene, cutting bore 1.2 mm, for 6 to 19 mm.",
        supplies=(
            SupplyLine(
                "oxygen",
                1,
                "50 L at 150 bar, 15 °C",
                estimate(
                    "on_hand.oxygen", "Content", GAS_VOLUME, "m3", 7.6, 0.02, "derived", "oxygen"
                ),
                False,
            ),
            SupplyLine(
                "acetylene",
                1,
                "6 kg by weight",
                estimate("on_hand.fuel", "Content", GAS_VOLUME, "m3", 5.4, 0.0, "stated", "fuel"),
                False,
            ),
        ),
        cautions=tuple(
            Caution(
                key=f"hazard-{number}",
                severity="caution",
                title=f"Invented hazard {number}",
                text="Something of this sort can hurt a person near the work.",
                what_to_do="Keep away from it and clear the floor around the cut before lighting.",
                source="Invented safety leaflet, p. 4",
                trust="published, second-hand",
            )
            for number in range(1, 9)
        ),
        protections=tuple(
            Protection(item, "", "Invented safety leaflet, p. 5", "published, second-hand")
            for item in (
                "Goggles, shade 5",
                "Leather gloves",
                "Apron",
                "Boots",
                "Hearing protection",
            )
        ),
        steps=tuple(
            Step(
                group,
                f"Do step {number} of this group with 1.8 bar on the gauge and look at the hose.",
                "Because it was invented.",
            )
            for group in _GROUPS
            for number in range(1, 4)
        ),
        assumed=(
            Assumed("torch.oxygen_hoses", "Oxygen hoses", "1"),
            Assumed("oxygen.reserve", "Left in the cylinder", "10 bar"),
            Assumed("site.pressure", "Air pressure", "1013.25 hPa"),
        ),
        program_version="0.0.0-test",
    )


def with_changes(plan: Plan, oxygen: int, fuel: int, beside: int = 1) -> Plan:
    """The plan with so many changes of cylinders, of fuel of so many side by side."""
    changes = {"oxygen": oxygen, "fuel": fuel}
    stage = StageResult(
        "changes",
        tuple(
            estimate(f"supply.{side}_changes", "changed", COUNT, "", float(count))
            for side, count in changes.items()
        ),
        (),
    )
    names = tuple(str(number + 1) for number in range(beside))
    spell = Spell(
        plan.job.fuel.gas, names, "x", 0.0, (60.0, 60.0, 60.0), 1.0, 1.0, "x", True, "empty"
    )
    change_over = ChangeOver(plan.job.fuel.gas, (spell, spell), (), 120.0, 0.0, 1.1)
    return replace(plan, stages=(*plan.stages, stage), change_overs=(change_over,))


def with_estimate(plan: Plan, changed: Estimate) -> Plan:
    """The plan with the estimate of that key exchanged."""
    if changed.key not in plan.estimates:
        raise KeyError(changed.key)
    return replace(
        plan,
        stages=tuple(
            replace(
                stage,
                estimates=tuple(
                    changed if one.key == changed.key else one for one in stage.estimates
                ),
            )
            for stage in plan.stages
        ),
    )


def with_findings(plan: Plan, *findings: Finding) -> Plan:
    """The plan with more findings in its first stage."""
    first, *others = plan.stages
    return replace(plan, stages=(replace(first, findings=(*first.findings, *findings)), *others))


def stop() -> Finding:
    """A finding that stops the plan."""
    return Finding(
        "stop",
        "plate.grade",
        "This invented steel cannot be cut by a flame.",
        "Cut it by another process.",
        "Invented Handbook, chapter 9",
    )
