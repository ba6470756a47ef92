"""Metric and US customary: what is written where, against definitions and published states."""

from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from kerfdocket.quantity import (
    CAPACITY,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    KINDS,
    LENGTH,
    METRIC,
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
