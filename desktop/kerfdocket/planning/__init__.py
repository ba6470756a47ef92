"""Planning: from job and reference to a plan."""

from kerfdocket.planning.model import (
    Assumed,
    Basis,
    Caution,
    Estimate,
    Finding,
    Plan,
    Protection,
    StageResult,
    Step,
    SupplyLine,
)
from kerfdocket.planning.pipeline import make_plan

__all__ = [
    "Assumed",
    "Basis",
    "Caution",
    "Estimate",
    "Finding",
    "Plan",
    "Protection",
    "StageResult",
    "Step",
    "SupplyLine",
    "make_plan",
]
