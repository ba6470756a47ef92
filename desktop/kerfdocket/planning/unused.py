"""What the planner stated, and what has no say in this job: said, never passed over in silence."""

from pydantic import BaseModel

from kerfdocket.job import Job
from kerfdocket.language import _
from kerfdocket.planning.model import Finding
from kerfdocket.planning.sources import THIS_PROGRAM

__all__ = ["unused_findings"]


def unused_findings(job: Job) -> tuple[Finding, ...]:
    """Return a note for each thing that is stated and not used.

    Args:
        job: the job.
    """
    found: list[tuple[str, str, str]] = []
    for name, gas, supply in (
        ("oxygen", _("Oxygen"), job.oxygen),
        ("fuel", _("Fuel gas"), job.fuel),
    ):
        if supply.comes_from_main and supply.cylinders:
            found.append(
                (
                    f"{name}.cylinders",
                    _(
                        "{gas} comes from a main or tank: the cylinders that are stated are not "
                        "counted.",
                        gas=gas,
                    ),
                    _("Take them out, or choose cylinders as the supply."),
                )
            )
        if not supply.comes_from_main and _is_stated(supply.outlet):
            found.append(
                (
                    f"{name}.outlet",
                    _(
                        "{gas} comes from cylinders: the outlet of a main or tank is not looked "
                        "at.",
                        gas=gas,
                    ),
                    _("Choose main or tank as the supply, or take it out."),
                )
            )
        for line in ("", ".heating") if name == "oxygen" else ("",):
            arrestor = job.oxygen.heating.arrestor if line else supply.arrestor
            if arrestor.loss_flow is not None and arrestor.pressure_loss is None:
                found.append(
                    (
                        f"{name}{line}.arrestor.loss_flow",
                        _(
                            "{gas}: a flow of the arrestor's diagram is stated, but no loss at it.",
                            gas=gas,
                        ),
                        _("State the pressure loss that the diagram gives at this flow."),
                    )
                )
    if job.torch.oxygen_hoses == 1:
        if _is_stated(job.oxygen.heating):
            found.append(
                (
                    "oxygen.heating",
                    _(
                        "A line of its own is stated for the heating oxygen, but the torch has one "
                        "oxygen hose."
                    ),
                    _("State two oxygen hoses at the torch, or take the line out."),
                )
            )
        own, cutting = job.chart.heating_oxygen_pressure, job.chart.cutting_oxygen_pressure
        if own is not None and (cutting is None or abs(own.si - cutting.si) > 1.0):
            found.append(
                (
                    "chart.heating_oxygen_pressure",
                    _(
                        "One hose has one pressure: that of the cutting oxygen. The heating oxygen "
                        "of the chart is for a torch with two oxygen hoses."
                    ),
                    _("State two oxygen hoses at the torch, or take the pressure out."),
                )
            )
    return tuple(
        Finding("caution" if "chart" in where else "note", where, text, remedy, THIS_PROGRAM)
        for where, text, remedy in found
    )


def _is_stated(group: BaseModel) -> bool:
    return bool(group.model_fields_set)
