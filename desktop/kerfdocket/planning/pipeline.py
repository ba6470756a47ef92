"""Strings the stages together: job and reference in, plan out."""

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from kerfdocket import __version__
from kerfdocket.job import Composition, Job
from kerfdocket.language import _, current_language
from kerfdocket.planning.before import plan_before_lighting
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
from kerfdocket.quantity import Measure, UnitSystem
from kerfdocket.reference import Reference

__all__ = ["make_plan"]

# Defaults that change nothing that is computed or done.
_NO_ASSUMPTION = {
    "format",
    "language",
    "paper",
    "revision",
    "units",
    "currency",
    "count",
    "coupled",
    "starts",
    "loss_gas",
    "time",
}


def make_plan(job: Job, reference: Reference) -> Plan:
    """Work out everything that follows from a job, and say it in the current language.

    Args:
        job: what the planner states.
        reference: what the tables know.

    Returns:
        The plan; where something cannot be said, the value is withheld with its reason. It never
        fails for a job that could be read.
    """
    # Each stage's values are put in the job's units at once: later stages put them in sentences.
    units = job.unit_system
    plate = plan_plate(job, reference).shown_in(units)
    steel = plan_steel(job, reference, plate).shown_in(units)
    nozzle = plan_nozzle(job, reference, plate, steel).shown_in(units)
    setting = plan_setting(job, reference, plate, nozzle).shown_in(units)
    line = plan_line(job, reference, setting).shown_in(units)
    before = plan_before_lighting(job, setting, line).shown_in(units)
    cut = plan_cut(job, reference, plate, steel, nozzle, setting).shown_in(units)
    use = plan_use(job, plate, steel, setting, before, cut).shown_in(units)
    supply = plan_supply(job, reference, setting, line, cut, use).shown_in(units)
    quality = plan_quality(job, reference, plate).shown_in(units)
    hazard = plan_hazard(job, reference, plate, steel, setting, cut).shown_in(units)
    steps = plan_steps(
        job, reference, steel, nozzle, line, before, cut, supply.lines, supply.change_overs
    )
    cost = plan_cost(job, setting, cut, use).shown_in(units)
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
        change_overs=supply.change_overs,
        cautions=hazard.cautions,
        protections=hazard.protections,
        signs=hazard.signs,
        steps=steps.steps,
        assumed=tuple(one for one in _assumed(job, "", units) if not _is_idle(one.where, job)),
        program_version=__version__,
        language=current_language().code,
    )


def _is_idle(where: str, job: Job) -> bool:
    """Tell whether a default has no say in this job."""
    return (
        # Where the altitude is stated the air pressure follows from it.
        (where == "site.pressure" and job.site.altitude is not None)
        or (where.startswith("oxygen.heating.") and job.torch.oxygen_hoses == 1)
        or (where == "oxygen.supply" and bool(job.oxygen.cylinders))
        or (where == "oxygen.reserve" and job.oxygen.comes_from_main)
    )


def _assumed(model: BaseModel, path: str, units: UnitSystem, prefix: str = "") -> Iterator[Assumed]:
    """Every default that stands in for something: fields not set, with a value that says much."""
    for name, info in type(model).model_fields.items():
        where = f"{path}.{name}" if path else name
        value: Any = getattr(model, name)
        title = _(info.title or name)
        if isinstance(value, Composition):
            continue  # an element that a certificate does not list is not an assumption
        if isinstance(value, BaseModel):
            yield from _assumed(value, where, units, prefix)
        elif isinstance(value, tuple):
            for number, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from _assumed(item, f"{where}.{number}", units, f"{title} {number + 1}: ")
        elif name not in model.model_fields_set and name not in _NO_ASSUMPTION:
            if value is None or value == "":
                continue
            yield Assumed(where, f"{prefix}{title}", _shown(value, units))


def _shown(value: Any, units: UnitSystem) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, Measure):
        return units.stated(value)
    # A default that is text is a choice of the form: free texts are empty unless stated.
    return _(value) if isinstance(value, str) else str(value)
