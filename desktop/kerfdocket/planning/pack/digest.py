"""What a pack keeps of a plan, so that hundreds of plans need not be held at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, counted, titled
from kerfdocket.planning.keys import NONE, span_of
from kerfdocket.planning.model import Basis, Estimate, Plan, SupplyLine, Trust, least
from kerfdocket.planning.pack.model import Missing, NozzleKind, Total
from kerfdocket.planning.sources import DERIVED
from kerfdocket.quantity import GAS_VOLUME, Kind, UnitSystem

__all__ = ["Digest", "Placed", "digest", "not_known", "nozzle_kind", "summed", "taken", "use_key"]

_KEPT = (
    "plate.thickness",
    "nozzle.bore",
    "use.oxygen",
    "use.fuel",
    "use.fuel_mass",
    "supply.oxygen_available",
    "supply.fuel_available",
    "supply.fuel_side_by_side",
    "cut.flame_time",
    "cut.clock_time",
)


@dataclass(frozen=True)
class Digest:
    """What a pack keeps of a plan.

    Attributes:
        job: what the plan follows from.
        estimates: by key, those that a pack adds up or shows.
        lines: the cylinders on hand.
        stops: what stops the job.
        nozzle_name: as the plan calls it.
        program_version: of the program that made the plan.
    """

    job: Job
    estimates: Mapping[str, Estimate]
    lines: tuple[SupplyLine, ...]
    stops: tuple[str, ...]
    nozzle_name: str
    program_version: str


Placed = tuple[int, Digest]  # place in the pack, and what is kept of the plan


def digest(plan: Plan) -> Digest:
    """Return what a pack keeps of a plan."""
    return Digest(
        job=plan.job,
        estimates={key: plan.estimates[key] for key in _KEPT if key in plan.estimates},
        lines=plan.supplies,
        stops=tuple(f.text for f in plan.findings if f.severity == "stop"),
        nozzle_name=plan.nozzle_name,
        program_version=plan.program_version,
    )


def nozzle_kind(one: Digest) -> NozzleKind | None:
    """Return which nozzle a job is cut with, None where that is not known."""
    job, bore_m = one.job, one.estimates["nozzle.bore"].value_si
    if bore_m is None:
        return None
    is_of_chart = job.chart.bore is not None
    return NozzleKind(
        name=job.chart.nozzle if is_of_chart else one.nozzle_name,
        bore_m=bore_m,
        fuel=job.fuel.gas,
        mixing=job.torch.mixing,
        torch=job.torch.kind,
        is_of_chart=is_of_chart,
    )


def use_key(gas: str) -> str:
    """Return the key of what a job takes of a gas, which is given by its own key."""
    return "use.oxygen" if gas == "oxygen" else "use.fuel"


def taken(gas: str, jobs: Sequence[Placed], units: UnitSystem) -> Total:
    """Return what jobs take of a gas together, as a volume.

    Args:
        gas: its name, a key.
        jobs: those that take it.
        units: in which it is shown.
    """
    unit = units.unit("m3", GAS_VOLUME)
    return summed(f"pack.{gas}", titled(_(gas)), GAS_VOLUME, unit, jobs, use_key(gas))


def summed(
    key: str, label: str, kind: Kind, unit: str, jobs: Sequence[Placed], of_each: str
) -> Total:
    """Add up one value of several jobs.

    Args:
        key: of the sum.
        label: what it is called.
        kind: what is measured.
        unit: in which the sum is written.
        jobs: whose values are added up.
        of_each: key of the value.

    Returns:
        The sum of the values that there are, and which are missing. Low ends are added to low
        ends and high to high: the widest that the sum can be.
    """
    total, trusts, inputs = NONE, [], []
    missing: list[Missing] = []
    density: float | None = None
    for place, one in jobs:
        part = one.estimates[of_each]
        span = span_of(part)
        if span is None:
            missing.append(Missing(place, part.basis.text))
            continue
        total = total.plus(span)
        trusts.append(part.basis.trust)
        inputs.append((one.job.about.number, part.stated_text))
        density = density or part.gas_density_kg_m3
    if not trusts:
        reason = _("no job gives a value") if missing else _("there is no job that may be cut")
        return Total(not_known(key, label, kind, unit, reason), tuple(missing))
    weakest: Trust = least("derived", *trusts)
    basis = Basis(
        counted(
            "Sum over {count} job; its range is the job's own.",
            "Sum over {count} jobs; the range takes all of them at the same end at once, the "
            "widest that it can be.",
            len(trusts),
        ),
        DERIVED,
        weakest,
        "Σ",
        tuple(inputs),
    )
    low, value, high = total
    return Total(Estimate(key, label, kind, unit, value, low, high, basis, density), tuple(missing))


def not_known(key: str, label: str, kind: Kind, unit: str, reason: str) -> Estimate:
    """Return a value of the pack that is withheld, with the reason."""
    basis = Basis(reason, "withheld", "derived")
    return Estimate(key, label, kind, unit, None, None, None, basis)
