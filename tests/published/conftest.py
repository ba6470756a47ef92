"""Prints comparisons with published tables at the end of a test run, agreeing or not."""

import pytest

_REPORT = pytest.StashKey[list[str]]()


@pytest.fixture
def published_report(request):
    """Lines to print at the end of the run."""
    return request.config.stash.setdefault(_REPORT, [])


def pytest_terminal_summary(terminalreporter, config):
    lines = config.stash.get(_REPORT, [])
    if lines:
        terminalreporter.section("against Carvill, Mechanical Engineer's Data Handbook, 5.11.5")
        for line in sorted(lines):
            terminalreporter.line(line)
