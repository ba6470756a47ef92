"""A plan as JSON: for programs, and inside the sheet that was made of it."""

import json
from typing import Any

from kerfdocket.planning.model import Estimate, Plan

__all__ = ["plan_json"]


def _estimate(estimate: Estimate) -> dict[str, Any]:
    basis: dict[str, Any] = {
        "text": estimate.basis.text,
        "source": estimate.basis.source,
        "trust": None if estimate.is_withheld else estimate.basis.trust,
    }
    if estimate.basis.equation:
        basis["equation"] = estimate.basis.equation
    if estimate.basis.inputs:
        basis["inputs"] = dict(estimate.basis.inputs)
    record: dict[str, Any] = {
        "label": estimate.label,
        "value": estimate.value,
        "unit": estimate.unit,
        "low": estimate.low,
        "high": estimate.high,
        "basis": basis,
    }
    if estimate.is_none_needed:
        record["none_needed"] = True
    return record


def plan_json(plan: Plan) -> str:
    """Return a plan as JSON.

    Gas volumes are at the state that `gas_reference` names, pressures gauge. A withheld value is
    null, its `basis.text` is the reason; `none_needed` is there, and true, where the job calls for
    none.
    """
    document = {
        "program": f"kerfdocket {plan.program_version}",
        "job": plan.job.about.number,
        "is_stopped": plan.is_stopped,
        "nozzle": plan.nozzle_name,
        "units": plan.job.units,
        "gas_reference": plan.job.unit_system.gas_reference,
        "estimates": {key: _estimate(e) for key, e in plan.estimates.items()},
        "findings": [
            {
                "severity": finding.severity,
                "where": finding.where,
                "text": finding.text,
                "remedy": finding.remedy,
                "source": finding.source,
            }
            for finding in plan.findings
        ],
        "cautions": [
            {
                "severity": caution.severity,
                "title": caution.title,
                "text": caution.text,
                "what_to_do": caution.what_to_do,
                "source": caution.source,
            }
            for caution in plan.cautions
        ],
        "signs": [
            {
                "number": sign.number,
                "meaning": sign.meaning,
                "condition": sign.condition,
                "source": sign.source,
                "trust": sign.trust,
            }
            for sign in plan.signs
        ],
        "change_overs": [
            {
                "gas": change_over.gas,
                "spells": [
                    {
                        "cylinders": list(spell.names),
                        "begins_min": spell.begins_s / 60.0,
                        "ends_min": spell.ends_s[1] / 60.0,
                        "ends_min_low": spell.ends_s[0] / 60.0,
                        "ends_min_high": spell.ends_s[2] / 60.0,
                        "holds_kg": spell.holds_kg,
                        "gives_kg": spell.gives_kg,
                        "shows_then": spell.left_text,
                        "is_changed": spell.is_changed,
                        "reason": spell.reason,
                    }
                    for spell in change_over.spells
                ],
                "not_needed": list(change_over.unused),
                "missing_kg": change_over.missing_kg,
            }
            for change_over in plan.change_overs
        ],
        "steps": [{"group": step.group, "text": step.text, "why": step.why} for step in plan.steps],
        "assumed": [
            {"where": one.where, "label": one.label, "value": one.value} for one in plan.assumed
        ],
    }
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"
