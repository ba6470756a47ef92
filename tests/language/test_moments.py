"""Moments as the clock of this computer shows them, and what clock that is."""

import time

import pytest

from kerfdocket.language import moment_text, zones_text

WINTER, SUMMER = "2026-11-25T23:30:00.000001+00:00", "2026-07-01T10:00:00+00:00"


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch):
    def use(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield use
    monkeypatch.undo()
    time.tzset()


def test_a_moment_is_read_off_the_clock_here_and_the_clock_is_named(zone) -> None:
    # As POSIX writes zones, which needs no table of them: an hour east of UTC, 3 1/2 west.
    zone("XXX-1")
    assert moment_text(WINTER) == "2026-11-26 00:30"
    assert zones_text([WINTER, SUMMER]) == "Times on the clock here: UTC+01:00."
    zone("YYY3:30")
    assert moment_text(WINTER) == "2026-11-25 20:00"
    assert zones_text([WINTER]) == "Times on the clock here: UTC−03:30."
    assert zones_text([]) == ""


def test_a_clock_that_is_changed_twice_a_year_says_both(zone) -> None:
    zone("CET-1CEST,M3.5.0,M10.5.0/3")
    assert (moment_text(WINTER), moment_text(SUMMER)) == ("2026-11-26 00:30", "2026-07-01 12:00")
    said = zones_text([SUMMER, WINTER, SUMMER])
    assert said == "Times on the clock here: UTC+01:00 and UTC+02:00."
