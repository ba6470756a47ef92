"""Stage 3: torch system, fuel and thickness to one nozzle."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.planning.keys import Span, estimate, from_stated, withheld
from kerfdocket.planning.model import Basis, Finding, StageResult
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.steel import SteelResult
from kerfdocket.quantity import UnitSystem
from kerfdocket.reference import Reference
from kerfdocket.reference.nozzles import Nozzle

__all__ = ["NozzleResult", "plan_nozzle"]

_MIXING = {
    "nozzle": "mixing in the nozzle",
    "torch": "mixing in the torch",
    "injector": "mixing by injector",
}


@dataclass(frozen=True)
class NozzleResult(StageResult):
    """Attributes:
    bore_m: bore of the cutting oxygen channel, None if there is no nozzle that fits. [m]
    row: the row of the generic set, None for a nozzle of the planner's own chart.
    nozzle_name: key of the row, or what the chart calls it.
    text: what it is in words, or why there is none.
    """

    bore_m: float | None = None
    row: Nozzle | None = None
    nozzle_name: str = ""
    text: str = ""


def plan_nozzle(
    job: Job, reference: Reference, plate: PlateResult, steel: SteelResult
) -> NozzleResult:
    """Choose a nozzle; parts of two systems are never put together.

    Args:
        job: the job.
        reference: the tables.
        plate: the plate stage.
        steel: the steel stage.

    Returns:
        The nozzle, or why there is none.
    """
    if not steel.is_cuttable:
        return _none("the material is not to be cut with oxygen", ())
    if job.chart.bore is not None:
        return _of_chart(job, job.chart.bore.si)
    fuel, mixing = job.fuel.gas, job.torch.mixing
    thickness_m = plate.chart_thickness_m
    shown = job.unit_system.size(thickness_m)
    system = reference.nozzle_system(mixing, fuel)
    if system is None:
        text = f"No published nozzle set is known for {fuel} with {_MIXING[mixing]}."
        remedy = "Use the chart of the torch's maker, or another torch."
        finding = Finding("stop", "torch.mixing", text, remedy, "tables of this program")
        return _none(text, (finding,))
    if job.torch.nozzle:
        return _stated(job, reference, system.key, thickness_m)
    nozzle = reference.nozzle_for(system, thickness_m)
    if nozzle is None:
        rows = reference.nozzles(system)
        low, high = min(n.thickness_from_m for n in rows), max(n.thickness_to_m for n in rows)
        text = (
            f"No nozzle of the set {system.key} is for {shown}: it covers "
            f"{job.unit_system.sizes(low, high)}."
        )
        remedy = "Use the chart of the nozzle's maker with a qualified person, or another process."
        finding = Finding("stop", "plate.thickness", text, remedy, rows[0].source)
        return _none(text, (finding,))
    return _chosen(job.unit_system, nozzle, f"Chosen for {shown} from the set {system.key}.")


def _stated(job: Job, reference: Reference, system: str, thickness_m: float) -> NozzleResult:
    name = job.torch.nozzle
    nozzle = reference.nozzle(name)
    shown = job.unit_system.size(thickness_m)
    source = "tables of this program"
    if nozzle is None:
        known = ", ".join(key for key in reference.nozzle_tables.by_key if key.startswith(system))
        text = f"A nozzle {name!r} is not in the set {system}."
        finding = Finding("stop", "torch.nozzle", text, f"Known there: {known}.", source)
    elif nozzle.system != system:
        text = (
            f"Nozzle {name} belongs to the system {nozzle.system} ({nozzle.fuel}, "
            f"{_MIXING[nozzle.mixing]}), the torch to {system}."
        )
        remedy = (
            "Never put parts of two systems together: fit a nozzle made for this torch and gas."
        )
        finding = Finding("stop", "torch.nozzle", text, remedy, source)
    elif not nozzle.covers(thickness_m):
        text = (
            f"Nozzle {name} is for "
            f"{job.unit_system.sizes(nozzle.thickness_from_m, nozzle.thickness_to_m)}, the plate "
            f"has {shown}."
        )
        remedy = "Leave the field empty to have one chosen."
        finding = Finding("stop", "torch.nozzle", text, remedy, nozzle.source)
    else:
        return _chosen(job.unit_system, nozzle, "Stated by the planner; it covers this thickness.")
    return _none(finding.text, (finding,))


def _chosen(units: UnitSystem, nozzle: Nozzle, how: str) -> NozzleResult:
    note = f" {nozzle.note}" if nozzle.note else ""
    basis = Basis(how + note, nozzle.source, nozzle.trust)
    finding = Finding(
        "note",
        "torch.nozzle",
        f"Nozzle {nozzle.key} is a row of a generic, published set, not of your nozzle's maker.",
        "The maker's own chart comes first: enter its values under 'chart'.",
        nozzle.source,
    )
    text = (
        f"bore {units.size(nozzle.bore_m)}, for {nozzle.fuel}, {_MIXING[nozzle.mixing]}, plate "
        f"{units.sizes(nozzle.thickness_from_m, nozzle.thickness_to_m)}"
    )
    return NozzleResult(
        "nozzle",
        (estimate("nozzle.bore", Span.exact(nozzle.bore_m), basis),),
        (finding,),
        nozzle.bore_m,
        nozzle,
        nozzle.key,
        text,
    )


def _of_chart(job: Job, bore_m: float) -> NozzleResult:
    """A nozzle that the planner took from its maker's chart."""
    if job.torch.nozzle:
        finding = Finding(
            "stop",
            "chart.bore",
            f"Two nozzles are stated: {job.torch.nozzle} of the generic set, and one with a bore "
            f"of {job.unit_system.size(bore_m)} from a chart.",
            "Leave one of the two fields empty.",
            "this program",
        )
        return _none(finding.text, (finding,))
    name = job.chart.nozzle or "of the chart"
    bore = from_stated("nozzle.bore", bore_m, "nozzle maker's or shop's chart")
    text = (
        f"bore {job.unit_system.size(bore_m)}, for {job.fuel.gas}, {_MIXING[job.torch.mixing]}, by "
        "its chart"
    )
    finding = Finding(
        "note",
        "chart.bore",
        "The nozzle is one of your own chart: whether it fits torch, gas and thickness is not "
        "checked here.",
        "Check it against the chart and against what is stamped on torch and nozzle.",
        "this program",
    )
    return NozzleResult("nozzle", (bore,), (finding,), bore_m, None, name, text)


def _none(reason: str, findings: tuple[Finding, ...]) -> NozzleResult:
    return NozzleResult("nozzle", (withheld("nozzle.bore", reason),), findings, text=reason)
