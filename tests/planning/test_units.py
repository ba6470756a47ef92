"""The switch between metric and US customary units: same plan, other words, nothing left behind."""

import re

import pytest

from jobs import SAMPLES, make_job
from kerfdocket.job import load_job
from kerfdocket.planning import Plan, make_plan
from kerfdocket.quantity import UNIT_SYSTEMS
from kerfdocket.reference import load_reference

REFERENCE = load_reference()
JOBS = sorted(SAMPLES.glob("*.toml"))
# What a US sheet may still say in metric: a stated value in brackets behind its own, the name of
# a column of ISO 9013, constants of equations, and texts of the tables that give both.
METRIC = re.compile(r"\d\s?(?:mm|cm|m|bar|hPa|MPa|kPa|kg|L|m³|m³/h|L/h|mm/min|°C|kW)(?![\w³/²])")
AMERICAN = re.compile(r"\d\s?(?:in|ft|psi|lb|ft³|ft³/h|in/min|°F|BTU/h)(?![\w³/²])")


def in_units(path, units) -> Plan:
    return make_plan(load_job(path).model_copy(update={"units": units}), REFERENCE)


def own_words(plan: Plan):
    """Everything that the plan itself writes, with where it stands."""
    for estimate in plan.estimates.values():
        yield estimate.key, f"{estimate.value_text} {estimate.range_text} {estimate.unit_text}"
        if not estimate.basis.trust.startswith(("published", "from memory", "common practice")):
            yield estimate.key, estimate.basis.text
        for _, text in estimate.basis.inputs:
            yield estimate.key, text
    for finding in plan.findings:
        yield finding.where, f"{finding.text} {finding.remedy}"
    for step in plan.steps:
        yield step.group, f"{step.text} {step.why}"
    for line in plan.supplies:
        yield "supplies", f"{line.text} {line.content.value_text}"
    for change_over in plan.change_overs:
        for spell in change_over.spells:
            yield "change-over", f"{spell.text} {spell.left_text}"
    for one in plan.assumed:
        yield one.where, one.value
    yield "nozzle", plan.nozzle_text


def without_brackets(text: str) -> str:
    return re.sub(r"\([^()]*\)", "", text)


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_us_plan_says_nothing_in_metric(path):
    for where, text in own_words(in_units(path, "US customary")):
        found = METRIC.search(without_brackets(text))
        assert found is None, f"{where}: {text}"


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_metric_plan_says_nothing_american(path):
    for where, text in own_words(in_units(path, "metric")):
        found = AMERICAN.search(without_brackets(text))
        assert found is None, f"{where}: {text}"


def test_the_search_finds_what_it_looks_for():
    path = SAMPLES / "winter-yard-30mm.toml"
    metric = [text for _, text in own_words(in_units(path, "metric"))]
    american = [text for _, text in own_words(in_units(path, "US customary"))]
    assert sum(bool(METRIC.search(without_brackets(text))) for text in metric) > 50
    assert sum(bool(AMERICAN.search(without_brackets(text))) for text in american) > 50


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_the_switch_changes_words_alone(path):
    metric, american = in_units(path, "metric"), in_units(path, "US customary")
    assert metric.estimates.keys() == american.estimates.keys()
    for key, one in metric.estimates.items():
        other = american.estimates[key]
        ends = ("value_si", "low_si", "high_si", "label", "is_unverified")
        for name in ends:
            assert getattr(one, name) == getattr(other, name), key
    assert [f.where for f in metric.findings] == [f.where for f in american.findings]
    assert [f.severity for f in metric.findings] == [f.severity for f in american.findings]
    again = in_units(path, "metric")
    assert again == metric


def test_values_by_hand():
    result = make_plan(
        make_job(units="US customary", plate__thickness="0.5 in", site__temperature="68 °F"),
        REFERENCE,
    )
    e = result.estimates
    assert e["plate.thickness"].value_text == "0.500 in"
    # 2 m x 1 m x 12.7 mm x 7850 kg/m3 = 199.39 kg = 439.6 lb, by hand.
    assert e["plate.mass"].value_text == "440 lb"
    assert e["line.oxygen_regulator_pressure"].unit_text == "psi"
    # 1 m3 at 15 °C and 1 bar is 35.594 ft3 at 70 °F and 14.696 psi (oxygen, CoolProp 8.0.0).
    flow = e["setting.cutting_oxygen_flow"]
    metric = flow.value_si / flow.gas_density_kg_m3 * 3600.0
    assert flow.value == pytest.approx(metric * 35.594, rel=2e-4)


def test_the_acetylene_limit_of_the_region_holds():
    # 29 CFR 1910.253(a)(2): 15 psi gauge; Europe 1.5 bar (from memory).
    at = {"chart__fuel_pressure": "1.2 bar"}
    assert not make_plan(make_job(**at), REFERENCE).is_stopped
    stopped = make_plan(make_job(site__region="USA", **at), REFERENCE)
    assert stopped.is_stopped
    assert any("1.0 bar" in f.text for f in stopped.findings if f.severity == "stop")


def test_hose_colours_are_those_of_the_region():
    def hoses(**changes):
        plan = make_plan(make_job(**changes), REFERENCE)
        return next(step.text for step in plan.steps if step.text.startswith("Hoses:"))

    assert "oxygen blue, O" in hoses()
    assert "oxygen green, O" in hoses(site__region="USA")


def test_every_unit_has_its_counterpart():
    for system in UNIT_SYSTEMS.values():
        for there in system.foreign.values():
            assert there not in system.foreign


# Gas at a state: a volume or a flow. What a vessel holds is written in L or in³, space in no plan.
GAS = re.compile(r"\d\s?(?:m³|m³/h|L/h|ft³|ft³/h)(?![\w/²])")


def texts_with_gas(plan: Plan):
    """What stands alone where it is read, apart from the table of values."""
    for estimate in plan.estimates.values():
        yield estimate.key, estimate.basis.text
        yield from ((estimate.key, text) for _name, text in estimate.basis.inputs)
    for finding in plan.findings:
        yield finding.where, finding.text
        yield finding.where, finding.remedy
    for step in plan.steps:
        yield step.group, step.text


# Samples in which nothing is lacking say little of gas: each line of these says something.
LACKING = (
    {
        "oxygen__cylinders": [{"gauge": "8 bar"}],
        "fuel__cylinders": [{"weight_now": "60.3 kg", "weight_empty": "60 kg"}],
        "oxygen__regulator__flow_limit": "1 m3/h",
        "oxygen__arrestor__flow_limit": "1 Nm3/h",
        "fuel__regulator__flow_limit": "0.01 m3/h",
        "plate__thickness": "100 mm",
        "parts": [{"name": "a", "cut_length": "20 m"}],
    },
    {
        "oxygen__supply": "main",
        "oxygen__outlet": {"pressure": "9 bar", "flow_limit": "1 m3/h"},
        "oxygen__hose__bore": "3.2 mm",
        "oxygen__hose__length": "60 m",
        "plate__thickness": "200 mm",
    },
)


@pytest.mark.parametrize("units", UNIT_SYSTEMS)
def test_what_is_said_of_gas_says_at_what_state(units):
    state = UNIT_SYSTEMS[units].gas_reference
    plans = [in_units(path, units) for path in JOBS]
    plans += [make_plan(make_job(units=units, **changes), REFERENCE) for changes in LACKING]
    said = [one for plan in plans for one in texts_with_gas(plan) if GAS.search(one[1])]
    assert [one for one in said if state not in one[1]] == []
    wheres = {where for where, _text in said}
    assert {
        "oxygen.cylinders",
        "fuel.cylinders",
        "oxygen.regulator.flow_limit",
        "oxygen.arrestor.flow_limit",
        "fuel.regulator.flow_limit",
        "oxygen.outlet.flow_limit",
        "Leak test",
    } <= wheres


def test_a_value_alone_says_at_what_state_its_gas_is():
    plan = in_units(SAMPLES / "winter-yard-30mm.toml", "metric")
    assert plan.estimates["use.oxygen"].stated_text.endswith("m³ at 15 °C, 1 bar absolute")
    assert plan.estimates["plate.mass"].stated_text == plan.estimates["plate.mass"].value_text
    american = in_units(SAMPLES / "winter-yard-30mm.toml", "US customary")
    assert american.estimates["use.oxygen"].stated_text.endswith("ft³ at 70 °F, 14.7 psi absolute")


def test_a_limit_and_what_is_above_it_never_read_the_same():
    # 15 psi are 1.034 bar: neither is above the other as "1.0 bar".
    at = {"chart__fuel_pressure": "1.04 bar"}
    plan = make_plan(make_job(**at), REFERENCE)
    said = next(f.text for f in plan.findings if "the limit in the USA" in f.text)
    assert said == "Acetylene at 1.04 bar gauge is above 1.03 bar, the limit in the USA."
    close = {"oxygen__regulator__outlet_limit": "4 bar", "chart__cutting_oxygen_pressure": "4 bar"}
    plan = make_plan(make_job(oxygen__hose__length="2 m", **close), REFERENCE)
    said = next(f.text for f in plan.findings if "regulator gives" in f.text)
    numbers = [float(number) for number in re.findall(r"([\d.]+) bar", said)]
    assert numbers[0] < numbers[1]
