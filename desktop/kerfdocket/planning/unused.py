"""What the planner stated, and what has no say in this job: said, never passed over in silence."""

from pydantic import BaseModel

from kerfdocket.job import Job
from kerfdocket.planning.model import Finding

__all__ = ["unused_findings"]


def unused_findings(job: Job) -> tuple[Finding, ...]:
    """Return a note for each thing that is stated and not used.

    Args:
        job: the job.
    """
    found: list[tuple[str, str, str]] = []
    for name, word, supply in (("oxygen", "Oxygen", job.oxygen), ("fuel", "Fuel gas", job.fuel)):
        if supply.comes_from_main and supply.cylinders:
            found.append(
                (
                    f"{name}.cylinders",
                    f"{word} comes from a main or tank: the cylinders that are stated are not "
                    "counted.",
                    "Take them out, or choose cylinders as the supply.",
                )
            )
        if not supply.comes_from_main and _is_stated(supply.outlet):
            found.append(
                (
                    f"{name}.outlet",
                    f"{word} comes from cylinders: the outlet of a main or tank is not looked at.",
                    "Choose main or tank as the supply, or take it out.",
                )
            )
        for line in ("", ".heating") if name == "oxygen" else ("",):
            arrestor = job.oxygen.heating.arrestor if line else supply.arrestor
            if arrestor.loss_flow is not None and arrestor.pressure_loss is None:
                found.append(
                    (
                        f"{name}{line}.arrestor.loss_flow",
                        f"{word}: a flow of the arrestor's diagram is stated, but no loss at it.",
                        "State the pressure loss that the diagram gives at this flow.",
                    )
                )
    if job.torch.oxygen_hoses == 1:
        if _is_stated(job.oxygen.heating):
            found.append(
                (
                    "oxygen.heating",
                    "A line of its own is stated for the heating oxygen, but the torch has one "
                    "oxygen hose.",
                    "State two oxygen hoses at the torch, or take the line out.",
                )
            )
        own, cutting = job.chart.heating_oxygen_pressure, job.chart.cutting_oxygen_pressure
        if own is not None and (cutting is None or abs(own.si - cutting.si) > 1.0):
            found.append(
                (
                    "chart.heating_oxygen_pressure",
                    "One hose has one pressure: that of the cutting oxygen. The heating oxygen of "
                    "the chart is for a torch with two oxygen hoses.",
                    "State two oxygen hoses at the torch, or take the pressure out.",
                )
            )
    return tuple(
        Finding("caution" if "chart" in where else "note", where, text, remedy, "this program")
        for where, text, remedy in found
    )


def _is_stated(group: BaseModel) -> bool:
    return bool(group.model_fields_set)
