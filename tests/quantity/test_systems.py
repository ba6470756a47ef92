"""Metric and US customary: what is written where, against definitions and published states."""

from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from kerfdocket.language import language_named, speaking
from kerfdocket.quantity import (
    CAPACITY,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    KINDS,
    LENGTH,
    METRIC,
    SPEED,
    TEMPERATURE,
    UNIT_SYSTEMS,
    US_CUSTOMARY,
    Measure,
    Within,
    parse_measure,
)


@pytest.mark.parametrize(
    ("text", "kind", "american"),
    [
        ("25.4 mm", LENGTH, "1.000 in (25.4 mm)"),
        ("30 m", LENGTH, "98.4 ft (30 m)"),
        ("2 bar", GAUGE_PRESSURE, "29 psi (2 bar)"),
        ("-40 °C", TEMPERATURE, "−40 °F (−40 °C)"),
        ("50 L", CAPACITY, "3051 in³ (50 L)"),
        ("0.5 in", LENGTH, "0.5 in"),
    ],
)
def test_a_stated_value_keeps_its_own_words_in_brackets(text, kind, american):
    measure = parse_measure(text, kind)
    assert US_CUSTOMARY.stated(measure) == american


def test_a_metric_sheet_turns_an_american_value_and_keeps_its_words():
    assert METRIC.stated(parse_measure("1 ft", LENGTH)) == "0.305 m (1 ft)"


# Densities of oxygen and propane (CoolProp 8.0.0 HEOS) and acetylene (chemicals, Tsonopoulos):
# at 15 °C and 1 bar over that at 70 °F and 14.696 psi, and at 0 °C and 1.01325 bar. [kg/m3]
@pytest.mark.parametrize(
    ("at_15_1", "at_70f", "at_0"),
    [
        (1.336640, 1.326140, 1.429033),
        (1.873937, 1.857560, 2.010498),
        (1.09458, 1.08564, 1.17170),
    ],
    ids=["oxygen", "propane", "acetylene"],
)
def test_gas_volumes_between_reference_states(at_15_1, at_70f, at_0):
    cubic_feet = at_15_1 / at_70f / 0.3048**3
    assert GAS_VOLUME.from_si(1.0, "ft3") == pytest.approx(cubic_feet, rel=1.1e-3)
    assert GAS_VOLUME.from_si(1.0, "Nm3") == pytest.approx(at_15_1 / at_0, rel=4e-3)


@given(
    st.decimals(-(10**6), 10**6, places=3, allow_nan=False),
    st.sampled_from([(kind, unit) for kind in KINDS for unit in kind.units]),
    st.sampled_from(sorted(UNIT_SYSTEMS)),
)
def test_every_value_can_be_written_and_its_own_words_are_read_back(number, pair, name):
    kind, unit = pair
    measure = Measure(number, unit, kind)
    written = UNIT_SYSTEMS[name].stated(measure)
    own = written[written.index("(") + 1 : -1] if "(" in written else written
    assert parse_measure(own.replace("−", "-"), kind) == measure


class Plate(BaseModel):
    thickness: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="1000 mm")]


@pytest.mark.parametrize("text", ["12", "2000 mm"])
def test_messages_speak_the_units_of_the_job(text):
    with pytest.raises(ValidationError) as metric:
        Plate.model_validate({"thickness": text})
    with pytest.raises(ValidationError) as american:
        Plate.model_validate({"thickness": text}, context={"units": "US customary"})
    assert "mm" in str(metric.value)
    assert "39.37 in" in str(american.value) or "'12 in'" in str(american.value)


@pytest.mark.parametrize(("text", "shown"), [("100 scfh", "100 ft3/h"), ("3 Nm3/h", "3 Nm3/h")])
def test_what_flow_meters_say_is_read(text, shown):
    from kerfdocket.quantity import GAS_FLOW

    assert str(parse_measure(text, GAS_FLOW)) == shown


# A pressure, a length and a gas flow as they occur, and two that lie close together.
NEAR = st.tuples(
    st.sampled_from((GAUGE_PRESSURE, LENGTH, GAS_VOLUME, SPEED)),
    st.floats(1e-4, 1e6),
    st.floats(-1.0, 1.0).map(lambda share: share**7),
)


def without_unit(text: str) -> float:
    return float(text.partition(" ")[0].replace("−", "-"))


def decimals_of(text: str) -> int:
    return len(text.partition(" ")[0].partition(".")[2])


def order(one: float, other: float) -> int:
    return (one > other) - (one < other)


@pytest.mark.parametrize("system", UNIT_SYSTEMS.values(), ids=lambda one: one.name)
@given(near=NEAR)
def test_unequal_values_read_as_what_they_are_and_in_no_more_digits_than_that_takes(system, near):
    kind, one_si, share = near
    both_si = one_si, one_si * (1.0 + share)
    unit = system.unit(kind.first_unit, kind)
    both = [kind.from_si(si, unit) for si in both_si]
    texts = system.apart(kind, *both_si)
    assert order(*map(without_unit, texts)) == order(*both)
    usual = [system.text(kind, si, kind.first_unit) for si in both_si]
    if texts == usual:
        return
    # Neither the usual digits nor a decimal less than was taken would have told them.
    assert order(*map(without_unit, usual)) != order(*both)
    fewer = max(map(decimals_of, texts)) - 1
    if fewer >= max(map(decimals_of, usual)):
        assert order(*(float(f"{value:.{fewer}f}") for value in both)) != order(*both)


@pytest.mark.parametrize(
    ("system", "texts", "written"),
    [
        # What was stated in the unit keeps its digits: only the other gets more.
        (METRIC, ("10.02 bar", "10.04 bar"), ["10.02 bar", "10.04 bar"]),
        (METRIC, ("15 psi", "1 bar"), ["1.03 bar (15 psi)", "1 bar"]),
        (METRIC, ("100.4 kPa", "1 bar"), ["1.004 bar (100.4 kPa)", "1 bar"]),
        (US_CUSTOMARY, ("1.04 bar", "15 psi"), ["15.1 psi (1.04 bar)", "15 psi"]),
    ],
)
def test_what_was_stated_stays_beside_what_it_is_compared_with(system, texts, written):
    stated = [parse_measure(text, GAUGE_PRESSURE) for text in texts]
    assert system.apart(GAUGE_PRESSURE, *stated) == written
    # A limit from a table is only a number.
    limits = system.apart(GAUGE_PRESSURE, stated[0], *(one.si for one in stated[1:]))
    assert without_unit(limits[0]) != without_unit(limits[1])


def test_the_exact_one_does_not_change_sides_by_rounding():
    # 10.04 bar would be printed as 10.0 and read as less than the 10.02 bar that were stated.
    stated = parse_measure("10.02 bar", GAUGE_PRESSURE)
    assert METRIC.apart(GAUGE_PRESSURE, 10.04e5, stated) == ["10.04 bar", "10.02 bar"]


def test_told_apart_in_the_language_that_is_spoken():
    with speaking(language_named("de")):
        assert METRIC.apart(GAUGE_PRESSURE, 1.034e5, 1.0e5) == ["1,03 bar", "1,00 bar"]
