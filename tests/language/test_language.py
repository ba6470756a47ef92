"""Speaking a language, for the process or for a while, and writing numbers and dates in it."""

import string
from datetime import date
from threading import Thread

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kerfdocket.language import (
    ENGLISH,
    LANGUAGES,
    PSEUDO,
    _,
    counted,
    current_language,
    date_text,
    decimal_text,
    environment_language,
    language_named,
    listed,
    sense,
    set_language,
    speaking,
)
from kerfdocket.quantity import LENGTH, METRIC, parse_measure, value_text

GERMAN = language_named("de")


def test_block_speaks_its_language_and_gives_it_back() -> None:
    with speaking(GERMAN):
        assert current_language() is GERMAN
        with speaking(PSEUDO):
            assert current_language() is PSEUDO
        assert current_language() is GERMAN
    assert current_language() is ENGLISH


def test_language_is_given_back_after_an_error() -> None:
    with pytest.raises(ValueError, match="inside"), speaking(GERMAN):
        raise ValueError("inside")
    assert current_language() is ENGLISH


def test_thread_speaks_what_the_process_does_and_not_what_a_block_does() -> None:
    heard: list[str] = []
    set_language(GERMAN)
    try:
        with speaking(PSEUDO):
            thread = Thread(target=lambda: heard.append(current_language().code))
            thread.start()
            thread.join()
    finally:
        set_language(ENGLISH)
    assert heard == ["de"]


@pytest.mark.parametrize(
    ("surroundings", "code"),
    [
        ({"LANG": "de_DE.UTF-8"}, "de"),
        ({"LANG": "C"}, "en"),
        ({"LANG": "fr_FR.UTF-8"}, "en"),
        ({}, "en"),
        ({"LANG": "en_GB.UTF-8", "LC_ALL": "de_AT.UTF-8"}, "de"),
        ({"LANG": "de_DE.UTF-8", "LANGUAGE": "en:de"}, "en"),
    ],
)
def test_surroundings_choose_as_gettext_does(
    monkeypatch: pytest.MonkeyPatch, surroundings: dict[str, str], code: str
) -> None:
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.delenv(name, raising=False)
    for name, value in surroundings.items():
        monkeypatch.setenv(name, value)
    assert environment_language().code == code


def test_numbers_and_dates_are_written_as_the_language_does() -> None:
    with speaking(GERMAN):
        assert decimal_text(2.5, 1) == "2,5"
        assert value_text(0.147, "bar") == "0,15 bar"
        assert date_text(date(2026, 11, 25)) == "25.11.2026"
        assert METRIC.stated(parse_measure("12.1 mm", LENGTH)) == "12,1 mm"
        assert METRIC.stated(parse_measure("0.5 in", LENGTH)) == "12,7 mm (0,5 in)"
    assert decimal_text(2.5, 1) == "2.5"
    assert date_text(date(2026, 11, 25)) == "2026-11-25"


def test_what_a_file_keeps_is_the_same_in_every_language() -> None:
    with speaking(GERMAN):
        assert str(parse_measure("12.10 mm", LENGTH)) == "12.10 mm"


@given(st.text(alphabet=string.ascii_letters + " {}", max_size=40), st.integers(0, 9))
def test_a_text_without_values_is_not_filled_in(text: str, count: int) -> None:
    assert _(text) == text
    assert sense("any", text) == text
    assert counted("{count} gap", "{count} gaps", count).startswith(str(count))


def test_pseudo_language_keeps_the_places_and_is_longer() -> None:
    with speaking(PSEUDO):
        said = _("Open the {valve} slowly.", valve="VALVE")
    assert "VALVE" in said
    assert said.startswith("⟦")
    assert len(said) > 1.25 * len("Open the VALVE slowly.")


def test_list_in_a_sentence() -> None:
    assert listed([]) == ""
    assert listed(["a", "b", "c"]) == "a, b and c"


def test_only_the_source_language_counts_as_reviewed() -> None:
    assert [one.code for one in LANGUAGES if one.is_reviewed] == ["en"]
