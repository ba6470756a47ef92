"""Stage 3: torch system, fuel and thickness to one nozzle."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, marked
from kerfdocket.planning.keys import Span, estimate, from_stated, withheld
from kerfdocket.planning.model import Basis, Finding, StageResult
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.steel import SteelResult
from kerfdocket.quantity import LENGTH, UnitSystem
from kerfdocket.reference import Reference
from kerfdocket.reference.nozzles import Nozzle

__all__ = ["NozzleResult", "plan_nozzle"]

_MIXING = {
    "nozzle": marked("mixing in the nozzle"),
    "torch": marked("mixing in the torch"),
    "injector": marked("mixing by injector"),
}

_TABLES = marked("tables of this program")
_PROGRAM = marked("this program")


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
        return _none(_("the material is not to be cut with oxygen"), ())
    if job.chart.bore is not None:
        return _of_chart(job, job.chart.bore.si)
    fuel, mixing = job.fuel.gas, job.torch.mixing
    thickness_m = plate.chart_thickness_m
    shown = job.unit_system.size(thickness_m)
    system = reference.nozzle_system(mixing, fuel)
    if system is None:
        text = _(
            "No published nozzle set is known for {fuel} with {mixing}.",
            fuel=_(fuel),
            mixing=_(_MIXING[mixing]),
        )
        remedy = _("Use the chart of the torch's maker, or another torch.")
        finding = Finding("stop", "torch.mixing", text, remedy, _TABLES)
        return _none(text, (finding,))
    if job.torch.nozzle:
        return _stated(job, reference, system.key, thickness_m)
    nozzle = reference.nozzle_for(system, thickness_m)
    if nozzle is None:
        rows = reference.nozzles(system)
        low, high = min(n.thickness_from_m for n in rows), max(n.thickness_to_m for n in rows)
        text = _(
            "No nozzle of the set {system} is for {thickness}: it covers {range}.",
            system=system.key,
            thickness=job.unit_system.apart(LENGTH, thickness_m, low, high)[0],
            range=job.unit_system.sizes(low, high),
        )
        remedy = _(
            "Use the chart of the nozzle's maker with a qualified person, or another process."
        )
        finding = Finding("stop", "plate.thickness", text, remedy, rows[0].source)
        return _none(text, (finding,))
    how = _("Chosen for {thickness} from the set {system}.", thickness=shown, system=system.key)
    return _chosen(job.unit_system, nozzle, how)


def _stated(job: Job, reference: Reference, system: str, thickness_m: float) -> NozzleResult:
    name = job.torch.nozzle
    nozzle = reference.nozzle(name)
    source = _TABLES
    if nozzle is None:
        known = ", ".join(key for key in reference.nozzle_tables.by_key if key.startswith(system))
        text = _("A nozzle {name} is not in the set {system}.", name=repr(name), system=system)
        remedy = _("Known there: {names}.", names=known)
        finding = Finding("stop", "torch.nozzle", text, remedy, source)
    elif nozzle.system != system:
        text = _(
            "Nozzle {name} belongs to the system {system} ({fuel}, {mixing}), the torch to "
            "{torch_system}.",
            name=name,
            system=nozzle.system,
            fuel=_(nozzle.fuel),
            mixing=_(_MIXING[nozzle.mixing]),
            torch_system=system,
        )
        remedy = _(
            "Never put parts of two systems together: fit a nozzle made for this torch and gas."
        )
        finding = Finding("stop", "torch.nozzle", text, remedy, source)
    elif not nozzle.covers(thickness_m):
        ends = nozzle.thickness_from_m, nozzle.thickness_to_m
        text = _(
            "Nozzle {name} is for {range}, the plate has {thickness}.",
            name=name,
            range=job.unit_system.sizes(*ends),
            thickness=job.unit_system.apart(LENGTH, thickness_m, *ends)[0],
        )
        remedy = _("Leave the field empty to have one chosen.")
        finding = Finding("stop", "torch.nozzle", text, remedy, nozzle.source)
    else:
        how = _("Stated by the planner; it covers this thickness.")
        return _chosen(job.unit_system, nozzle, how)
    return _none(finding.text, (finding,))


def _chosen(units: UnitSystem, nozzle: Nozzle, how: str) -> NozzleResult:
    note = f" {_(nozzle.note)}" if nozzle.note else ""
    basis = Basis(how + note, nozzle.source, nozzle.trust)
    finding = Finding(
        "note",
        "torch.nozzle",
        _(
            "Nozzle {name} is a row of a generic, published set, not of your nozzle's maker.",
            name=nozzle.key,
        ),
        _("The maker's own chart comes first: enter its values under 'chart'."),
        nozzle.source,
    )
    text = _(
        "bore {bore}, for {fuel}, {mixing}, plate {range}",
        bore=units.size(nozzle.bore_m),
        fuel=_(nozzle.fuel),
        mixing=_(_MIXING[nozzle.mixing]),
        range=units.sizes(nozzle.thickness_from_m, nozzle.thickness_to_m),
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
            _(
                "Two nozzles are stated: {name} of the generic set, and one with a bore of {bore} "
                "from a chart.",
                name=job.torch.nozzle,
                bore=job.unit_system.size(bore_m),
            ),
            _("Leave one of the two fields empty."),
            _PROGRAM,
        )
        return _none(finding.text, (finding,))
    name = job.chart.nozzle or _("of the chart")
    bore = from_stated("nozzle.bore", bore_m, _("nozzle maker's or shop's chart"))
    text = _(
        "bore {bore}, for {fuel}, {mixing}, by its chart",
        bore=job.unit_system.size(bore_m),
        fuel=_(job.fuel.gas),
        mixing=_(_MIXING[job.torch.mixing]),
    )
    finding = Finding(
        "note",
        "chart.bore",
        _(
            "The nozzle is one of your own chart: whether it fits torch, gas and thickness is not "
            "checked here."
        ),
        _("Check it against the chart and against what is stamped on torch and nozzle."),
        _PROGRAM,
    )
    return NozzleResult("nozzle", (bore,), (finding,), bore_m, None, name, text)


def _none(reason: str, findings: tuple[Finding, ...]) -> NozzleResult:
    return NozzleResult("nozzle", (withheld("nozzle.bore", reason),), findings, text=reason)
