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
    Sign,
    Spell,
    StageResult,
    Step,
    SupplyLine,
)
from kerfdocket.planning.pipeline import make_plan
from kerfdocket.planning.record import plan_json

__all__ = [
    "Assumed",
    "Basis",
    "Caution",
    "ChangeOver",
    "Estimate",
    "Finding",
    "Plan",
    "Protection",
    "Sign",
    "Spell",
    "StageResult",
    "Step",
    "SupplyLine",
    "make_plan",
    "plan_json",
]
