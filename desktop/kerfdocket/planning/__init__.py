"""Planning: from job and reference to a plan."""

from kerfdocket.planning.model import (
    Assumed,
    Basis,
    Caution,
    ChangeOver,
    Estimate,
    Finding,
    Plan,
    Protection,
    Spell,
    StageResult,
    Step,
    SupplyLine,
)
from kerfdocket.planning.pipeline import make_plan

__all__ = [
    "Assumed",
    "Basis",
    "Caution",
    "ChangeOver",
    "Estimate",
    "Finding",
    "Plan",
    "Protection",
    "Spell",
    "StageResult",
    "Step",
    "SupplyLine",
    "make_plan",
]
