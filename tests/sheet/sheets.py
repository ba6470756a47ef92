"""Plans and sheets of the samples, made once for all tests that look at them."""

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
    """The PDF of a sample's plan."""
    return sheet_pdf(sample_plan(sample), is_fillable)
