"""Plans and sheets of the samples, made once for all tests that look at them."""

import logging
from functools import cache

from jobs import SAMPLES
from kerfdocket.job import load_job
from kerfdocket.planning import Plan, make_plan
from kerfdocket.reference import Reference, load_reference
from kerfdocket.sheet import sheet_pdf

__all__ = ["reference", "sample_plan", "sample_sheet"]


@cache
def reference() -> Reference:
    """The tables, read once."""
    return load_reference()


@cache
def sample_plan(sample: str) -> Plan:
    """The plan of a sample by its name, in English."""
    return make_plan(load_job(SAMPLES / f"{sample}.toml"), reference())


@cache
def sample_sheet(sample: str, is_fillable: bool = False) -> bytes:
    """The PDF of a sample's plan; a warning of the renderer fails whoever asked for it first."""
    renderer, refusing = logging.getLogger("weasyprint"), _Refusing(logging.WARNING)
    renderer.addHandler(refusing)
    try:
        return sheet_pdf(sample_plan(sample), is_fillable)
    finally:
        renderer.removeHandler(refusing)


class _Refusing(logging.Handler):
    """Lets no record pass."""

    def emit(self, record: logging.LogRecord) -> None:
        raise AssertionError(record.getMessage())
