"""What several tests of sheets need."""

import logging
from collections.abc import Iterator

import pytest


@pytest.fixture
def no_renderer_warning(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Any warning of the renderer fails the test that caused it."""
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        yield
    warned = [one.getMessage() for one in caplog.get_records("call") if one.name == "weasyprint"]
    assert warned == []
