"""A plan as text for a terminal."""

import difflib

from kerfdocket.errors import InputError
from kerfdocket.language import _, decimal_text, marked, titled
from kerfdocket.planning import Estimate, Plan, Spell
from kerfdocket.planning.model import said_source

__all__ = ["explain_text", "plan_text"]

_LABEL_WIDTH = 44  # at the least, so that plans look alike
_MARK = {"stop": marked("STOP"), "caution": marked("CAUTION"), "note": marked("note")}
_HEADS = {
    "value": marked("Value"),
    "range": marked("Range"),
    "how": marked("How"),
    "equation": marked("Equation"),
    "inputs": marked("Inputs"),
    "source": marked("Source"),
    "trust": marked("Trust"),
}


def _line(estimate: Estimate, width: int) -> str:
    if estimate.is_withheld:
        value = _("none needed") if estimate.is_none_needed else "—"
        return f"  {estimate.label:{width}} {value}  {estimate.basis.text}"
    spread = f"  ({estimate.range_text})" if estimate.range_text else ""
    mark = "  " + _("unverified") if estimate.is_unverified else ""
    return f"  {estimate.label:{width}} {estimate.value_text}{spread}{mark}"


def _spell_line(spell: Spell) -> str:
    low, value, high = (decimal_text(time_s / 60.0) for time_s in spell.ends_s)
    begin = f"{decimal_text(spell.begins_s / 60.0):>4}"
    if spell.is_changed:
        said = _(
            "{begin} to {end} ({low}–{high}), {reason}; then {left}",
            begin=begin,
            end=value,
            low=low,
            high=high,
            reason=spell.reason,
            left=spell.left_text,
        )
    else:
        said = _("{begin} to the end; then {left}", begin=begin, left=spell.left_text)
    names = _(" and ").join(spell.names)
    return f"  {names:12} {said}"


def _change_lines(plan: Plan) -> list[str]:
    """Say in which order the cylinders are emptied."""
    lines: list[str] = []
    for change_over in plan.change_overs:
        head = _("Order of the {gas} cylinders, minutes on the clock", gas=_(change_over.gas))
        lines += ["", head]
        lines += [_spell_line(spell) for spell in change_over.spells]
        if change_over.unused:
            lines.append("  " + _("not needed: {names}", names=", ".join(change_over.unused)))
        if change_over.missing_kg > 0.0:
            lacks = change_over.missing_kg / change_over.gas_density_kg_m3
            volume = plan.job.unit_system.gas_volume(lacks)
            lines.append("  " + _("then {volume} are lacking", volume=volume))
    return lines


def plan_text(plan: Plan) -> str:
    """Return a plan as lines for a terminal."""
    job = plan.job
    lines = [f"{job.about.number}  {job.about.title}"]
    if plan.is_stopped:
        lines.append(_("NOT FOR CUTTING: something stops this job."))
    nozzle = _("Nozzle: {name}", name=plan.nozzle_name or "—")
    lines += ["", f"{nozzle}  {plan.nozzle_text}"]
    width = max([_LABEL_WIDTH, *(len(one.label) for one in plan.estimates.values())])
    for stage in plan.stages:
        if stage.estimates:
            lines += ["", titled(_(stage.name))]
            lines += [_line(estimate, width) for estimate in stage.estimates]
    lines += _change_lines(plan)
    lines += ["", plan.job.unit_system.readings_note(), ""]
    for finding in plan.findings:
        lines.append(f"{_(_MARK[finding.severity])} [{finding.where}] {finding.text}")
        lines.append(f"    {finding.remedy}")
    lines += [
        "",
        _(
            "The nozzle maker's chart, the equipment's instructions, local rules and qualified "
            "people come first."
        ),
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
        if near:
            text = _(
                "{key} is no value of a plan; near: {keys}", key=repr(key), keys=", ".join(near)
            )
        else:
            keys = ", ".join(plan.estimates)
            text = _("{key} is no value of a plan; known: {keys}", key=repr(key), keys=keys)
        raise InputError(text)
    basis = estimate.basis
    lines = [f"{key}: {estimate.label}", ""]
    if estimate.is_withheld:
        if estimate.is_none_needed:
            return "\n".join([*lines, _("None needed: {reason}", reason=basis.text), ""])
        return "\n".join([*lines, _("Withheld: {reason}", reason=basis.text), ""])
    rows = [("value", estimate.value_text)]
    if estimate.range_text:
        rows.append(("range", f"{estimate.range_text} {estimate.unit_text}".rstrip()))
    if estimate.gas_reference:
        rows.append(("", _("gas at {state}", state=estimate.gas_reference)))
    rows.append(("how", basis.text))
    if basis.equation:
        rows.append(("equation", basis.equation))
    width = max((len(name) for name, _text in basis.inputs), default=0)
    for number, (name, text) in enumerate(basis.inputs):
        rows.append(("" if number else "inputs", f"{name:{width}}  {text}"))
    rows.append(("source", said_source(basis.source)))
    trust = _(basis.trust)
    rows.append(
        ("trust", _("{trust}, unverified", trust=trust) if estimate.is_unverified else trust)
    )
    heads = {name: _(head) for name, head in _HEADS.items()}
    width = max(len(head) for head in heads.values()) + 2
    return "\n".join([*lines, *(f"{heads.get(name, ''):{width}}{text}" for name, text in rows), ""])
