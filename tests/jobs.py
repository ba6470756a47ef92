"""Jobs for tests: the smallest one, changed field by field."""

import copy
from pathlib import Path
from typing import Any

from kerfdocket.job import Job, read_job

__all__ = ["SAMPLES", "make_job", "make_raw"]

SAMPLES = Path(__file__).parents[1] / "samples"

_SMALLEST: dict[str, Any] = {
    "kerfdocket-job": 1,
    "about": {"number": "T-1", "title": "test"},
    "plate": {"grade": "S235JR", "thickness": "12 mm"},
    "fuel": {"gas": "acetylene"},
}


def make_raw(**changes: Any) -> dict[str, Any]:
    """Return the smallest job with fields changed: `plate__thickness="20 mm"`."""
    raw = copy.deepcopy(_SMALLEST)
    for path, value in changes.items():
        *groups, key = path.split("__")
        target = raw
        for group in groups:
            target = target.setdefault(group, {})
        target[key] = value
    return raw


def make_job(**changes: Any) -> Job:
    """Read the job of `make_raw`."""
    return read_job(make_raw(**changes))
