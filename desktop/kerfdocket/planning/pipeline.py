"""Strings the stages together: job and reference in, plan out."""

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from kerfdocket import __version__
from kerfdocket.job import Composition, Job
from kerfdocket.planning.cost import plan_cost
from kerfdocket.planning.cut import plan_cut
from kerfdocket.planning.hazard import plan_hazard
from kerfdocket.planning.line import plan_line
from kerfdocket.planning.model import Assumed, Plan
from kerfdocket.planning.nozzle import plan_nozzle
from kerfdocket.planning.plate import plan_plate
from kerfdocket.planning.quality import plan_quality
from kerfdocket.planning.setting import plan_setting
from kerfdocket.planning.steel import plan_steel
from kerfdocket.planning.steps import plan_steps
from kerfdocket.planning.supply import plan_supply
from kerfdocket.planning.use import plan_use
from kerfdocket.reference import Reference

__all__ = ["make_plan"]

# Defaults that change nothing that is computed or done.
_NO_ASSUMPTION = {"format", "currency", "count", "starts"}


def make_plan(job: Job, reference: Reference) -> Plan:
    """Work out everything that follows from a job.

    Args:
        job: what the planner states.
        reference: what the tables know.

    Returns:
        The plan; where something cannot be said, the value is withheld with its reason. It never
        fails for a job that could be read.
    """
    plate = plan_plate(job, reference)
    steel = plan_steel(job, reference, plate)
    nozzle = plan_nozzle(job, reference, plate, steel)
    setting = plan_setting(job, reference, plate, nozzle)
    line = plan_line(job, reference, setting)
    cut = plan_cut(job, reference, plate, nozzle, setting)
    use = plan_use(job, plate, steel, setting, cut)
    supply = plan_supply(job, reference, setting, line, cut, use)
    quality = plan_quality(job, reference, plate)
    hazard = plan_hazard(job, reference, plate, steel, setting, cut)
    steps = plan_steps(job, reference, steel, nozzle, setting, line, cut, supply.lines)
    cost = plan_cost(job, setting, cut, use)
    return Plan(
        job=job,
        stages=(
            plate,
            steel,
            nozzle,
            setting,
            line,
            cut,
            use,
            supply,
            quality,
            hazard,
            steps,
            cost,
        ),
        nozzle_name=nozzle.nozzle_name,
        nozzle_text=nozzle.text,
        supplies=supply.lines,
        cautions=hazard.cautions,
        protections=hazard.protections,
        steps=steps.steps,
        assumed=tuple(
            one
            for one in _assumed(job, "")
            # Where the altitude is stated the air pressure follows from it.
            if one.where != "site.pressure" or job.site.altitude is None
        ),
        program_version=__version__,
    )


def _assumed(model: BaseModel, path: str, prefix: str = "") -> Iterator[Assumed]:
    """Every default that stands in for something: fields not set, with a value that says much."""
    for name, info in type(model).model_fields.items():
        where = f"{path}.{name}" if path else name
        value: Any = getattr(model, name)
        title = info.title or name
        if isinstance(value, Composition):
            continue  # an element that a certificate does not list is not an assumption
        if isinstance(value, BaseModel):
            yield from _assumed(value, where, prefix)
        elif isinstance(value, tuple):
            for number, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from _assumed(item, f"{where}.{number}", f"{title} {number + 1}: ")
        elif name not in model.model_fields_set and name not in _NO_ASSUMPTION:
            if value is None or value == "":
                continue
            shown = {True: "yes", False: "no"}.get(value) if isinstance(value, bool) else None
            yield Assumed(where, f"{prefix}{title}", shown or str(value))
