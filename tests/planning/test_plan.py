"""The plan as a whole: it never fails for a job that can be read, and it hangs together."""

from typing import get_args

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobs import SAMPLES, make_raw
from kerfdocket.job import JobError, load_job, read_job
from kerfdocket.language import PSEUDO, speaking
from kerfdocket.planning import Plan, make_plan
from kerfdocket.planning.keys import KEYS, Span
from kerfdocket.planning.model import (
    SHOWN_KEYS,
    Basis,
    Estimate,
    Severity,
    Trust,
    least,
    said_source,
)
from kerfdocket.quantity import LENGTH
from kerfdocket.reference import load_reference

REFERENCE = load_reference()
REQUIRED = {
    "plate.thickness": "mm",
    "plate.mass": "kg",
    "nozzle.bore": "mm",
    "setting.cutting_oxygen_pressure": "bar",
    "setting.heating_oxygen_pressure": "bar",
    "setting.fuel_pressure": "bar",
    "setting.cutting_oxygen_flow": "m3/h",
    "setting.heating_oxygen_flow": "m3/h",
    "setting.fuel_flow": "m3/h",
    "line.oxygen_regulator_pressure": "bar",
    "line.fuel_regulator_pressure": "bar",
    "cut.speed": "mm/min",
    "cut.kerf": "mm",
    "cut.length": "m",
    "cut.flame_time": "min",
    "cut.clock_time": "min",
    "use.oxygen": "m3",
    "use.fuel": "m3",
    "supply.oxygen_available": "m3",
    "supply.fuel_available": "m3",
    "supply.oxygen_cylinders": "",
    "supply.fuel_cylinders": "",
    "quality.perpendicularity_limit": "mm",
    "quality.roughness_limit": "µm",
}


def number(low, high, unit, places=2):
    return st.decimals(low, high, places=places).map(lambda value: f"{value} {unit}")


def maybe(key, strategy):
    return st.one_of(st.just({}), strategy.map(lambda value: {key: value}))


def group(*parts):
    def merged(values):
        together = {}
        for value in values:
            together.update(value)
        return together

    return st.tuples(*parts).map(merged)


pressure = number("0.01", "20", "bar")
flow = number("0.1", "300", "m3/h")
line = (
    maybe(
        "hose",
        st.fixed_dictionaries(
            {"bore": number("2", "50", "mm"), "length": number("0.1", "200", "m")},
            optional={"joints": st.integers(0, 40)},
        ),
    ),
    maybe(
        "regulator",
        st.fixed_dictionaries(
            {}, optional={"outlet_limit": pressure, "rated_class": st.sampled_from("012345")}
        ),
    ),
    maybe(
        "arrestor",
        st.fixed_dictionaries(
            {"pressure_loss": pressure},
            optional={
                "loss_flow": flow,
                "loss_inlet": number("20.01", "40", "bar"),
                "loss_gas": st.sampled_from(["its gas", "air"]),
                "functions": st.sampled_from(["FA NV TV", "nv", "FA, NV"]),
            },
        ),
    ),
)
standing_test = maybe(
    "standing_test",
    st.fixed_dictionaries(
        {"begin_gauge": number("0.1", "40", "bar"), "end_gauge": number("0", "40", "bar")},
        optional={"end_temperature": number("-40", "60", "°C"), "time": number("1", "99", "min")},
    ),
)
outlet = maybe(
    "outlet",
    st.fixed_dictionaries(
        {}, optional={"pressure": pressure, "flow_limit": flow, "content": number("1", "99", "m3")}
    ),
)
supply = maybe("supply", st.sampled_from(["cylinders", "main", "tank"]))
raw_jobs = st.fixed_dictionaries(
    {
        "kerfdocket-job": st.just(1),
        "units": st.sampled_from(["metric", "US customary"]),
        "about": st.just({"number": "F-1", "title": "fuzz"}),
        "plate": group(
            st.sampled_from(
                ["S235JR", "S355J2", "C45", "S690QL", "A36", "NM400", "1.4301", "?"]
            ).map(lambda grade: {"grade": grade}),
            number("0.1", "1000", "mm").map(lambda text: {"thickness": text}),
            maybe("readings", st.lists(number("0.1", "1000", "mm"), max_size=3)),
            maybe(
                "certificate",
                st.fixed_dictionaries(
                    {}, optional={name: st.floats(0, 9) for name in ("carbon", "chromium", "boron")}
                ),
            ),
            maybe("preheat", number("-40", "600", "°C")),
        ),
        "torch": group(
            maybe("kind", st.sampled_from(["hand", "tractor", "machine"])),
            maybe("mixing", st.sampled_from(["nozzle", "torch", "injector"])),
            maybe("oxygen_hoses", st.sampled_from([1, 2])),
            maybe("flame", st.sampled_from(["reducing", "neutral", "oxidising"])),
            maybe("idle_share", number("0", "100", "%")),
        ),
        "oxygen": group(
            maybe("purity", number("80", "100", "%")),
            maybe("reserve", number("0", "100", "bar")),
            maybe(
                "cylinders",
                st.lists(
                    st.fixed_dictionaries(
                        {"gauge": number("0", "300", "bar")},
                        optional={
                            "temperature": number("-20", "50", "°C"),
                            "capacity": number("0.1", "1000", "L"),
                            "count": st.integers(1, 20),
                            "coupled": st.integers(1, 16),
                        },
                    ),
                    max_size=2,
                ),
            ),
            *line,
            standing_test,
            supply,
            outlet,
            maybe("heating", group(*line)),
        ),
        "fuel": group(
            st.sampled_from(["acetylene", "propane", "natural gas"]).map(lambda g: {"gas": g}),
            supply,
            outlet,
            maybe("draw_share", number("0.1", "100", "%")),
            maybe(
                "cylinders",
                st.lists(
                    st.fixed_dictionaries(
                        {
                            "weight_now": number("1", "200", "kg"),
                            "weight_empty": number("1", "100", "kg"),
                        },
                        optional={
                            "full_content": st.sampled_from(["8 kg", "11 kg", "33 kg"]),
                            "count": st.integers(1, 20),
                            "coupled": st.integers(1, 16),
                        },
                    ),
                    max_size=2,
                ),
            ),
            *line,
            standing_test,
        ),
        "chart": group(
            maybe("cutting_oxygen_pressure", pressure),
            maybe("fuel_pressure", number("0.01", "10", "bar")),
            maybe("fuel_flow", number("0.01", "100", "m3/h")),
            maybe("bore", number("0.3", "10", "mm")),
            maybe("bore_length", number("0.1", "200", "mm")),
            maybe("heating_oxygen_pressure", pressure),
            maybe("cutting_oxygen_flow", number("0.01", "300", "m3/h")),
            maybe("speed", number("0.1", "3000", "mm/min")),
            maybe("kerf", number("0.1", "20", "mm")),
            maybe("start_time", number("0", "30", "min")),
        ),
        "site": group(
            maybe("temperature", number("-40", "50", "°C")),
            maybe("pressure", number("450", "1100", "hPa")),
            maybe("altitude", number("-500", "6000", "m")),
            maybe("region", st.sampled_from(["Europe", "USA"])),
        ),
        "prices": st.just({"oxygen_m3": 5.0, "fuel_kg": 10.0, "hour": 60.0}),
    }
)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(raw_jobs)
def test_every_job_that_can_be_read_gets_a_plan(raw):
    plan = make_plan(read_job(raw), REFERENCE)
    assert set(plan.estimates) == set(KEYS)
    for estimate in plan.estimates.values():
        if estimate.is_withheld:
            assert len(estimate.basis.text) > 10
        else:
            assert estimate.low <= estimate.value <= estimate.high
            assert estimate.basis.source
    for finding in plan.findings:
        assert finding.text
        assert finding.remedy
        assert finding.source
    acetylene = plan.estimates["line.fuel_regulator_pressure"]
    if raw["fuel"]["gas"] == "acetylene" and (acetylene.value_si or 0) > 1.5e5:
        assert plan.is_stopped
    if plan.estimates["nozzle.bore"].is_withheld:
        assert plan.is_stopped
        assert not plan.steps
    _gas_is_conserved(plan)


def _gas_is_conserved(plan: Plan) -> None:
    """The uses add up, and what the cylinders give is what the job takes."""
    e = plan.estimates
    taken = {}
    for gas in ("oxygen", "fuel"):
        total = e[f"use.{gas}"]
        if total.is_withheld:
            continue
        parts = [one for key, one in e.items() if key.startswith(f"use.{gas}_")]
        parts = [one for one in parts if not one.is_withheld and one.key != "use.fuel_mass"]
        for end in ("low_si", "value_si", "high_si"):
            summed = sum(getattr(one, end) for one in parts)
            assert summed == pytest.approx(getattr(total, end), rel=1e-9)
        taken[gas] = total.value_si
    for change_over in plan.change_overs:
        needed = taken["oxygen" if change_over.gas == "oxygen" else "fuel"]
        given = sum(spell.gives_kg for spell in change_over.spells)
        assert given + change_over.missing_kg == pytest.approx(needed, rel=1e-6, abs=1e-9)
        at_s = 0.0
        for spell in change_over.spells:
            low, value, high = spell.ends_s
            assert low <= value <= high
            assert spell.begins_s == at_s
            assert spell.gives_kg <= spell.holds_kg * (1 + 1e-9)
            at_s = value
        if change_over.missing_kg <= 0:
            assert at_s == pytest.approx(change_over.ends_s)


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_samples_hold_all_required_values_in_their_units(path):
    plan = make_plan(load_job(path), REFERENCE)
    for key, unit in REQUIRED.items():
        assert plan.estimates[key].unit == plan.job.unit_system.unit(unit)
    refused = path.stem.startswith("refused")
    assert plan.is_stopped == refused
    missing = {key for key in REQUIRED if plan.estimates[key].is_withheld}
    if not refused:
        assert missing <= {"supply.fuel_available"}
    assert plan.estimates["cost.total"].unit in {"EUR", "USD", ""}


@pytest.mark.parametrize("length", [1, 5, 10, 20, 40, 80])
def test_a_longer_hose_never_needs_a_lower_set_pressure(length):
    def pressure_at(metres):
        raw = make_raw(plate__thickness="40 mm", oxygen__hose={"length": f"{metres} m"})
        plan = make_plan(read_job(raw), REFERENCE)
        return plan.estimates["line.oxygen_regulator_pressure"].value

    assert pressure_at(length) < pressure_at(length * 1.5)


@settings(max_examples=60, deadline=None)
@given(st.floats(3.0, 300.0), st.sampled_from(["acetylene", "propane", "natural gas"]))
def test_setting_is_sound_over_the_whole_range(thickness, gas):
    raw = make_raw(
        plate__thickness=f"{thickness:.2f} mm",
        fuel__gas=gas,
        oxygen__hose={"bore": "12.5 mm"},
        fuel__hose={"bore": "12.5 mm"},
    )
    plan = make_plan(read_job(raw), REFERENCE)
    e = plan.estimates
    assert 0.9 < e["setting.cutting_oxygen_pressure"].value < 6.0
    assert 0.4 < e["setting.cutting_oxygen_flow"].value < 32.0
    assert 50 < e["cut.speed"].value < 900


def test_the_same_job_gives_the_same_plan():
    job = read_job(make_raw())
    assert make_plan(job, REFERENCE) == make_plan(job, REFERENCE)


def test_every_key_that_is_shown_can_be_said():
    plan = make_plan(read_job(make_raw()), REFERENCE)
    stages = {stage.name for stage in plan.stages}
    assert {*get_args(Trust), *get_args(Severity), *stages} == SHOWN_KEYS


def test_each_part_of_a_source_is_said_by_itself():
    joined = "the planner's prices; common practice, no source"
    assert said_source(joined) == joined
    with speaking(PSEUDO):
        prices, practice = said_source(joined).split("; ")
    assert prices.startswith("⟦thé plàññér")
    assert practice.startswith("⟦çõmmõñ pràçtîçé")


def test_trust_stays_a_key_while_the_plan_speaks_another_language():
    with speaking(PSEUDO):
        plan = make_plan(read_job(make_raw()), REFERENCE)
    trusts = {one.basis.trust for one in plan.estimates.values()}
    assert trusts <= set(get_args(Trust))
    assert least(*trusts) == "common practice, no source"
    assert plan.estimates["cut.speed"].label.startswith("⟦")
    assert all(step.text.startswith("⟦") for step in plan.steps)
    plain = make_plan(read_job(make_raw()), REFERENCE)
    for key in ("cut.speed", "cut.starts", "plate.mass", "plate.thickness", "steel.preheat"):
        assert plan.estimates[key].basis.source == plain.estimates[key].basis.source


def test_an_estimate_out_of_order_is_refused():
    basis = Basis("text", "source", "derived")
    with pytest.raises(ValueError, match="does not hold"):
        Estimate("a.b", "A", LENGTH, "mm", 1.0, 2.0, 3.0, basis)
    with pytest.raises(ValueError, match="has no range"):
        Estimate("a.b", "A", LENGTH, "mm", None, 2.0, None, basis)
    with pytest.raises(ValueError, match="not needed has no value"):
        Estimate("a.b", "A", LENGTH, "mm", 1.0, 1.0, 1.0, basis, is_none_needed=True)


positive = st.floats(1e-6, 1e6)


@given(st.lists(positive, min_size=3, max_size=3), st.lists(positive, min_size=3, max_size=3))
def test_spans_stay_in_order(first, second):
    a, b = Span(*sorted(first)), Span(*sorted(second))
    for span in (a.times(b), a.over(b), a.plus(b), a.scaled(2.0)):
        assert span.low <= span.value <= span.high


def test_a_job_without_gas_is_refused():
    raw = make_raw()
    del raw["fuel"]
    with pytest.raises(JobError, match="fuel"):
        read_job(raw)
