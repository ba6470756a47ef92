"""Plans in, a pack out."""

from collections.abc import Iterable, Sequence

from kerfdocket.language import _, current_language, titled
from kerfdocket.planning.model import Estimate, Plan
from kerfdocket.planning.pack.digest import Digest, Placed, digest, nozzle_kind, summed, taken
from kerfdocket.planning.pack.fetch import plan_fetch, plan_outlets
from kerfdocket.planning.pack.model import (
    GasTotal,
    Missing,
    NozzleKind,
    NozzleNeed,
    Pack,
    PackedJob,
    Total,
)
from kerfdocket.planning.pack.order import SetUp, count_changes, proposed_order
from kerfdocket.quantity import MASS, TIME, UnitSystem

__all__ = ["make_pack"]


def make_pack(plans: Iterable[Plan]) -> Pack:
    """Put jobs together: an order, what they take, what to fetch; said in the current language.

    Jobs that something stops may not be cut: they come last, and count in no sum.

    Args:
        plans: of the jobs, as given; each may be forgotten when the next is asked for.

    Returns:
        The pack, in the units and on the paper of the first job.

    Raises:
        ValueError: there is no plan.
    """
    given = [digest(plan) for plan in plans]
    if not given:
        raise ValueError("a pack needs at least one plan")
    units = given[0].job.unit_system
    cut = [index for index, one in enumerate(given) if not one.stops]
    set_ups = {index: _set_up(index, given[index]) for index in cut}
    order = [cut[at] for at in proposed_order([set_ups[index] for index in cut])]
    drafts = [index for index, one in enumerate(given) if one.stops]
    placed = [(place, given[index]) for place, index in enumerate([*order, *drafts], start=1)]
    to_cut = placed[: len(order)]
    gases = ("oxygen", *dict.fromkeys(one.job.fuel.gas for _place, one in to_cut))
    nozzles, no_nozzle = _nozzles(to_cut, units)
    return Pack(
        jobs=tuple(
            _packed(place, index, one, units)
            for (place, one), index in zip(placed, [*order, *drafts], strict=True)
        ),
        changes=count_changes([set_ups[index] for index in order]),
        changes_as_given=count_changes([set_ups[index] for index in cut]),
        gases=tuple(_gas(gas, to_cut, units) for gas in gases) if to_cut else (),
        cylinders=tuple(
            fetch for gas in gases for fetch in plan_fetch(gas, _taking(gas, to_cut), units)
        ),
        outlets=tuple(
            outlet for gas in gases for outlet in plan_outlets(gas, _taking(gas, to_cut), units)
        ),
        nozzles=nozzles,
        no_nozzle=no_nozzle,
        flame_time=_time("cut.flame_time", "pack.flame_time", _("Time on the flame"), to_cut),
        clock_time=_time("cut.clock_time", "pack.clock_time", _("Time on the clock"), to_cut),
        units=units,
        paper=given[0].job.paper,
        program_version=given[0].program_version,
        language=current_language().code,
    )


def _set_up(index: int, one: Digest) -> SetUp:
    job = one.job
    # A nozzle that is not known is taken for one that no other job has.
    nozzle = nozzle_kind(one) or index
    return SetUp(job.fuel.gas, (job.torch.kind, job.torch.mixing), nozzle)


def _taking(gas: str, jobs: Sequence[Placed]) -> list[Placed]:
    return [(at, one) for at, one in jobs if gas in {"oxygen", one.job.fuel.gas}]


def _gas(gas: str, jobs: Sequence[Placed], units: UnitSystem) -> GasTotal:
    taking = _taking(gas, jobs)
    by_weight = None
    if gas != "oxygen":
        key, unit = f"pack.{gas}.mass", units.unit("kg", MASS)
        by_weight = summed(key, titled(_(gas)), MASS, unit, taking, "use.fuel_mass")
    places = tuple(place for place, _one in taking)
    return GasTotal(gas, taken(gas, taking, units), by_weight, places)


def _time(key: str, pack_key: str, label: str, jobs: Sequence[Placed]) -> Total:
    return summed(pack_key, label, TIME, "min", jobs, key)


def _nozzles(
    jobs: Sequence[Placed], units: UnitSystem
) -> tuple[tuple[NozzleNeed, ...], tuple[Missing, ...]]:
    places: dict[NozzleKind, list[int]] = {}
    bores: dict[NozzleKind, Estimate] = {}
    missing = []
    for place, one in jobs:
        kind, bore = nozzle_kind(one), one.estimates["nozzle.bore"]
        if kind is None:
            missing.append(Missing(place, bore.basis.text))
            continue
        places.setdefault(kind, []).append(place)
        bores.setdefault(kind, bore.shown_in(units))
    needs = (NozzleNeed(kind, bores[kind], tuple(at)) for kind, at in places.items())
    return tuple(needs), tuple(missing)


def _packed(place: int, index: int, one: Digest, units: UnitSystem) -> PackedJob:
    about = one.job.about
    return PackedJob(
        place=place,
        given=index,
        number=about.number,
        title=about.title,
        revision=about.revision,
        grade=one.job.plate.grade,
        thickness=one.estimates["plate.thickness"].shown_in(units),
        fuel=one.job.fuel.gas,
        nozzle=nozzle_kind(one),
        bore=one.estimates["nozzle.bore"].shown_in(units),
        clock_time=one.estimates["cut.clock_time"],
        paper=one.job.paper,
        stops=one.stops,
    )
