"""A plan as text for a terminal."""

import difflib

from kerfdocket.errors import InputError
from kerfdocket.planning import Estimate, Plan

__all__ = ["explain_text", "plan_text"]

_MARK = {"stop": "STOP", "caution": "CAUTION", "note": "note"}


def _line(estimate: Estimate) -> str:
    if estimate.is_withheld:
        value = "none needed" if estimate.is_none_needed else "—"
        return f"  {estimate.label:44} {value}  {estimate.basis.text}"
    spread = f"  ({estimate.range_text})" if estimate.range_text else ""
    mark = "  unverified" if estimate.is_unverified else ""
    return f"  {estimate.label:44} {estimate.value_text}{spread}{mark}"


def _change_lines(plan: Plan) -> list[str]:
    """Say in which order the cylinders are emptied."""
    lines: list[str] = []
    for change_over in plan.change_overs:
        lines += ["", f"Order of the {change_over.gas} cylinders, minutes on the clock"]
        for spell in change_over.spells:
            low, value, high = (time_s / 60.0 for time_s in spell.ends_s)
            end = "to the end"
            if spell.is_changed:
                end = f"to {value:.0f} ({low:.0f}–{high:.0f}), {spell.reason}"
            lines.append(
                f"  {' and '.join(spell.names):12} {spell.begins_s / 60.0:4.0f} {end}; then "
                f"{spell.left_text}"
            )
        if change_over.unused:
            lines.append(f"  not needed: {', '.join(change_over.unused)}")
        if change_over.missing_kg > 0.0:
            lacks = change_over.missing_kg / change_over.gas_density_kg_m3
            lines.append(f"  then {plan.job.unit_system.gas_volume(lacks)} are lacking")
    return lines


def plan_text(plan: Plan) -> str:
    """Return a plan as lines for a terminal."""
    job = plan.job
    lines = [f"{job.about.number}  {job.about.title}"]
    if plan.is_stopped:
        lines.append("NOT FOR CUTTING: something stops this job.")
    lines += ["", f"Nozzle: {plan.nozzle_name or '—'}  {plan.nozzle_text}"]
    for stage in plan.stages:
        if stage.estimates:
            lines += ["", stage.name.capitalize()]
            lines += [_line(estimate) for estimate in stage.estimates]
    lines += _change_lines(plan)
    reference = plan.job.unit_system.gas_reference
    lines += ["", f"Gas volumes at {reference}; pressures are gauge readings.", ""]
    for finding in plan.findings:
        lines.append(f"{_MARK[finding.severity]} [{finding.where}] {finding.text}")
        lines.append(f"    {finding.remedy}")
    lines += [
        "",
        "The nozzle maker's chart, the equipment's instructions, local rules and qualified people "
        "come first.",
    ]
    return "\n".join(lines) + "\n"


def explain_text(plan: Plan, key: str) -> str:
    """Return how one value was got: equation, inputs, source.

    Raises:
        InputError: the plan has no value of that key; near ones are named.
    """
    estimate = plan.estimates.get(key)
    if estimate is None:
        near = difflib.get_close_matches(key, plan.estimates, n=3, cutoff=0.4)
        known = ", ".join(near or plan.estimates)
        raise InputError(f"{key!r} is no value of a plan; {'near' if near else 'known'}: {known}")
    basis = estimate.basis
    lines = [f"{key}: {estimate.label}", ""]
    if estimate.is_withheld:
        how = "None needed" if estimate.is_none_needed else "Withheld"
        return "\n".join([*lines, f"{how}: {basis.text}", ""])
    lines.append(f"Value     {estimate.value_text}")
    if estimate.range_text:
        lines.append(f"Range     {estimate.range_text} {estimate.unit_text}".rstrip())
    if estimate.gas_density_kg_m3 is not None:
        lines.append(f"          gas at {plan.job.unit_system.gas_reference}")
    lines.append(f"How       {basis.text}")
    if basis.equation:
        lines.append(f"Equation  {basis.equation}")
    width = max((len(name) for name, _ in basis.inputs), default=0)
    for number, (name, text) in enumerate(basis.inputs):
        lines.append(f"{'Inputs' if number == 0 else '':10}{name:{width}}  {text}")
    lines.append(f"Source    {basis.source}")
    lines.append(f"Trust     {basis.trust}{', unverified' if estimate.is_unverified else ''}")
    return "\n".join([*lines, ""])
