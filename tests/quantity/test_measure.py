"""Quantities as written; conversion factors checked against their definitions."""

import pickle
import string
from decimal import Decimal
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from kerfdocket.errors import InputError
from kerfdocket.quantity import (
    ABSOLUTE_PRESSURE,
    GAS_FLOW,
    GAUGE_PRESSURE,
    KINDS,
    LENGTH,
    MASS,
    SPEED,
    TEMPERATURE,
    Measure,
    Within,
    kinds,
    number_text,
    parse_measure,
)

ALL_KINDS = [value for value in vars(kinds).values() if isinstance(value, kinds.Kind)]

# Exact definitions: BIPM, SI Brochure (9th ed.) and NIST SP 811 (2008), appendix B.
DEFINITIONS = [
    ("1 in", LENGTH, 0.0254),
    ("1 ft", LENGTH, 0.3048),
    ("1 lb", MASS, 0.45359237),
    ("1 psi", GAUGE_PRESSURE, 0.45359237 * 9.80665 / 0.0254**2),
    ("1 kgf/cm2", GAUGE_PRESSURE, 98066.5),
    ("1 bar", GAUGE_PRESSURE, 1e5),
    ("1013.25 hPa", ABSOLUTE_PRESSURE, 101325.0),
    # The conventional millimetre of mercury: 13 595.1 kg/m3 under 9.80665 m/s2 (NIST SP 811).
    ("1 mmHg", ABSOLUTE_PRESSURE, 13.5951 * 9.80665),
    ("1 inHg", ABSOLUTE_PRESSURE, 13.5951 * 9.80665 * 25.4),
    # 70 °F and 14.696 psi (1 atm) against 15 °C and 1 bar: ideal gas law.
    ("1 ft3/h", GAS_FLOW, 0.3048**3 / 3600.0 * 1.01325 * 288.15 / (529.67 / 1.8)),
    ("0 °C", TEMPERATURE, 273.15),
    ("212 °F", TEMPERATURE, 373.15),
    ("-40 °F", TEMPERATURE, 233.15),
]


@pytest.mark.parametrize(("text", "kind", "si"), DEFINITIONS, ids=[row[0] for row in DEFINITIONS])
def test_units_are_what_they_are_defined_to_be(text, kind, si):
    assert parse_measure(text, kind).si == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "shown"),
    [
        ("12mm", LENGTH, "12 mm"),
        ("  12,50 mm ", LENGTH, "12.50 mm"),
        ("+3 m", LENGTH, "3 m"),
        ("−5 °C", TEMPERATURE, "-5 °C"),
        ("20 degC", TEMPERATURE, "20 °C"),
        ("5 bar(g)", GAUGE_PRESSURE, "5 bar"),
        ("75 psig", GAUGE_PRESSURE, "75 psi"),
        ("14.7 psia", ABSOLUTE_PRESSURE, "14.7 psi"),
        ("6 m³/h", GAS_FLOW, "6 m3/h"),
        ("0,125 in", LENGTH, "0.125 in"),
        ("1/2 in", LENGTH, "0.5 in"),
        ('3/4"', LENGTH, "0.75 in"),
        ("1-1/2 in", LENGTH, "1.5 in"),
        ("1 1/2 in", LENGTH, "1.5 in"),
        ("-1-1/2 in", LENGTH, "-1.5 in"),
        ("2½ in", LENGTH, "2.5 in"),
        ("1/64 inch", LENGTH, "0.015625 in"),
        ("7 3/8 ft", LENGTH, "7.375 ft"),
        ("10 ft 6 in", LENGTH, "126 in"),
        ("10' 6\"", LENGTH, "126 in"),
        ("10'-6 1/2\"", LENGTH, "126.5 in"),
        ("10′ 6,25″", LENGTH, "126.25 in"),
        ("0 ft 3/4 in", LENGTH, "0.75 in"),
        ("10'", LENGTH, "10 ft"),
        ("18 ipm", SPEED, "18 in/min"),
        ("29.92 inHg", ABSOLUTE_PRESSURE, "29.92 inHg"),
        ("760 mmHg", ABSOLUTE_PRESSURE, "760 mmHg"),
        ("0.0000001 in", LENGTH, "0.0000001 in"),
    ],
)
def test_reads_what_people_write(text, kind, shown):
    assert str(parse_measure(text, kind)) == shown


@pytest.mark.parametrize(
    ("text", "kind", "why"),
    [
        ("12", LENGTH, "unit is missing"),
        ("12 kg", LENGTH, "not known here"),
        ("12 furlngs", LENGTH, "not known here"),
        ("3 MPA", GAUGE_PRESSURE, "did you mean 'MPa'"),
        ("3 bara", GAUGE_PRESSURE, "absolute"),
        ("1 bar(g)", ABSOLUTE_PRESSURE, "gauge"),
        ("1,234 mm", LENGTH, "1.234 or 1234"),
        ("1e5 mm", LENGTH, "not known here"),
        ("1/3 in", LENGTH, "has 2, 4, 8, 16, 32 or 64 below its line"),
        ("1/0 in", LENGTH, "has 2, 4, 8, 16, 32 or 64 below its line"),
        ("11/2 in", LENGTH, "11/2 is not less than one"),
        ("1 4/4 in", LENGTH, "4/4 is not less than one"),
        ("1/2 mm", LENGTH, "inches and feet only"),
        ("1/2 psi", GAUGE_PRESSURE, "inches and feet only"),
        ("1/2", LENGTH, "unit is missing"),
        ("10 ft 6", LENGTH, "unit is missing"),
        ("10 ft 6 mm", LENGTH, "inches only"),
        ("10 ft 12 in", LENGTH, "less than 12 inches"),
        ("10 mm 6 in", LENGTH, "not known here"),
        ("9**9**9 mm", LENGTH, "not known here"),
        ("", LENGTH, "give a number"),
        ("mm", LENGTH, "give a number"),
        ("nan mm", LENGTH, "give a number"),
        ("inf mm", LENGTH, "give a number"),
        ("1" * 500 + " mm", LENGTH, "give a number"),
    ],
)
def test_refuses_with_a_reason_and_an_example(text, kind, why):
    with pytest.raises(InputError) as caught:
        parse_measure(text, kind)
    message = str(caught.value)
    assert why in message
    assert f"12 {kind.first_unit}" in message
    assert len(message) < 400


@given(
    whole=st.integers(0, 10_000),
    below=st.sampled_from([2, 4, 8, 16, 32, 64]),
    data=st.data(),
    between=st.sampled_from([" ", "-", "  "]),
    sign=st.sampled_from(["", "+", "-", "−"]),
    unit=st.sampled_from(["in", '"', "ft", "'"]),
)
def test_a_fraction_says_what_its_decimal_says(whole, below, data, between, sign, unit):
    above = data.draw(st.integers(0, below - 1))
    decimal = Decimal(whole) + Decimal(above) / Decimal(below)
    for beside in [f"{whole}{between}", *([""] if not whole else [])]:
        read = parse_measure(f"{sign}{beside}{above}/{below} {unit}", LENGTH)
        assert read == parse_measure(f"{sign}{decimal:f} {unit}", LENGTH)
        assert parse_measure(str(read), LENGTH) == read


@given(
    feet=st.integers(0, 10_000),
    inches=st.decimals(0, 11, places=3),
    marks=st.sampled_from([(" ft ", " in"), ("' ", '"'), ("'-", '"'), ("′", "″")]),
)
def test_feet_and_inches_are_one_length_in_inches(feet, inches, marks):
    read = parse_measure(f"{feet}{marks[0]}{inches}{marks[1]}", LENGTH)
    assert read == parse_measure(f"{feet * 12 + inches} in", LENGTH)


@given(
    st.one_of(st.text(max_size=60), st.text("0123456789/-½'\" .,ftinm", max_size=14)),
    st.sampled_from(KINDS),
)
def test_any_text_is_read_or_refused(text, kind):
    try:
        measure = parse_measure(text, kind)
    except InputError:
        return
    assert parse_measure(str(measure), kind) == measure


@given(
    st.decimals(-(10**6), 10**6, places=3, allow_nan=False),
    st.sampled_from([(kind, unit) for kind in KINDS for unit in kind.units]),
)
def test_si_round_trips_in_every_unit(number, pair):
    kind, unit = pair
    measure = Measure(Decimal(number), unit, kind)
    back = kind.from_si(measure.si, unit)
    assert back == pytest.approx(float(number), rel=1e-9, abs=1e-7)


def test_a_kind_is_itself_again_after_another_process():
    # Found with real sheets: a plan's amounts of money were no longer money there.
    names = [kind.name for kind in ALL_KINDS]
    assert len(set(names)) == len(names) > len(KINDS)
    for kind in ALL_KINDS:
        assert pickle.loads(pickle.dumps(kind)) is kind


def test_every_accepted_unit_is_readable():
    for kind in KINDS:
        for unit in kind.units:
            assert parse_measure(f"1 {unit}", kind).unit == unit


class _Site(BaseModel):
    temperature: Annotated[Measure, Within(TEMPERATURE, at_least="-40 °C", at_most="50 °C")]


@pytest.mark.parametrize("value", ["122 °F", "-40 °F", "323.15 K", "50 °C"])
def test_a_limit_is_accepted_in_other_units(value):
    assert str(_Site(temperature=value).temperature) == value


@pytest.mark.parametrize("value", ["122.001 °F", "-40.001 °F", "50.0001 °C"])
def test_a_limit_is_a_limit_in_other_units(value):
    with pytest.raises(ValidationError, match="out of range"):
        _Site(temperature=value)


class _Plate(BaseModel):
    thickness: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="1 m")]


@pytest.mark.parametrize("value", ["0 mm", "-1 mm", "1001 mm"])
def test_limits_name_what_is_accepted(value):
    with pytest.raises(ValidationError, match="above 0 mm, at most 1 m"):
        _Plate(thickness=value)


def test_a_bare_number_is_refused():
    with pytest.raises(ValidationError, match="with its unit"):
        _Plate(thickness=12)


def test_a_measure_of_another_kind_is_refused():
    with pytest.raises(ValidationError):
        _Plate(thickness=parse_measure("1 kg", MASS))


def test_json_keeps_number_and_unit_as_written():
    assert _Plate(thickness="12.50 mm").model_dump_json() == '{"thickness":"12.50 mm"}'


@given(st.floats(-1e9, 1e9), st.sampled_from(["bar", "mm", "mm/min", "kg", "%", "m3/h", "°C"]))
def test_shown_numbers_hold_no_more_than_digits(value, unit):
    text = number_text(value, unit)
    assert set(text) <= set(string.digits + ".−")
    assert text not in {"−0", "−0.0", "−0.00"}


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_nothing_shows_a_number_that_is_none(value):
    with pytest.raises(ValueError, match="finite"):
        number_text(value, "bar")
