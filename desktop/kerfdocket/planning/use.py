"""Stage 7: how much gas the job takes, each use apart."""

from dataclasses import dataclass

from kerfdocket.job import Hose, Job
from kerfdocket.language import _, decimal_text, marked
from kerfdocket.physics.gas import STANDARD_ATMOSPHERE_PA, Gas
from kerfdocket.physics.hose import hose_volume_m3
from kerfdocket.physics.orifice import density_kg_m3
from kerfdocket.physics.plate import mass_kg
from kerfdocket.planning.before import BeforeLighting, purge_s
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import NONE, Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult, Trust, least
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.preheat import band_m, preheat_fuel_kg
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.sources import DERIVED, NO_SOURCE
from kerfdocket.planning.steel import SteelResult
from kerfdocket.reference.table import join_sources

__all__ = ["UseResult", "plan_use"]

_ROOM_K = 293.15
# A hose is blown out with this many of its volumes to leave 1 % of what was in it (derived: well
# mixed, ln 100); half and twice of it as the range.
_PURGE_VOLUMES = Span(2.3, 4.6, 9.2)
# Part of a pierce in which the cutting oxygen is open already: assumed, common practice, no source.
_JET_SHARE = Span(0.1, 0.25, 0.5)
# A share of idling that nobody stated may be anything from none to twice what is assumed.
_IDLE_DOUBT = Span(0.0, 1.0, 2.0)
# A part of less than this share of the whole does not make the whole less firm than it is without
# (common practice, no source: far less than the doubt in the flow).
_MATTERS = 0.1


@dataclass(frozen=True)
class UseResult(StageResult):
    """Attributes:
    oxygen_kg: all oxygen, None if withheld. [kg]
    fuel_kg: all fuel gas, None if withheld. [kg]
    """

    oxygen_kg: Span | None = None
    fuel_kg: Span | None = None


@dataclass(frozen=True)
class _Times:
    """How long which flow runs [s]; None where that is withheld."""

    cutting: Span | None
    starts: Span | None
    jet_in_pierces: Span | None
    idling: Span | None
    clock: Span | None


def plan_use(
    job: Job,
    plate: PlateResult,
    steel: SteelResult,
    setting: SettingResult,
    before: BeforeLighting,
    cut: CutResult,
) -> UseResult:
    """Add up the gas.

    Args:
        job: the job.
        plate: the plate stage.
        steel: the steel stage.
        setting: the setting stage.
        before: blowing out and testing the line.
        cut: the cut stage.

    Returns:
        Oxygen and fuel by use and in all; held as mass.
    """
    findings: list[Finding] = []
    times = _times(job, cut)
    fuel_parts = _flame_uses("fuel", setting["setting.fuel_flow"], setting.fuel, times, job, cut)
    fuel_preheat = _preheat(job, plate, steel, cut, setting.fuel, findings)
    fuel_parts += (
        fuel_preheat,
        _purge(job, "fuel", setting.fuel, setting["setting.fuel_flow"], before["steps.fuel_purge"]),
        _leak("use.fuel_leak", before, "fuel", times, cut, setting.fuel),
    )
    oxygen_parts = (
        _cutting(setting, times, cut),
        *_flame_uses(
            "oxygen",
            setting["setting.heating_oxygen_flow"],
            setting.oxygen,
            times,
            job,
            cut,
            jet=setting["setting.cutting_oxygen_flow"],
        ),
        _preheat_oxygen(setting, fuel_preheat),
        _purge(
            job,
            "oxygen",
            setting.oxygen,
            setting["setting.cutting_oxygen_flow"],
            before["steps.oxygen_purge"],
            setting["setting.heating_oxygen_flow"],
        ),
        _leak("use.oxygen_leak", before, "oxygen", times, cut, setting.oxygen),
    )
    # Uses that do not arise are withheld, and yet nothing is missing in the sum.
    absent: set[str] = set()
    if not _is_heated_before(job, steel):
        absent |= {"use.fuel_preheat", "use.oxygen_preheat"}
    if setting.holds_all_oxygen:
        key = "use.oxygen_heating"
        absent.add(key)
        reason = _("counted with the cutting oxygen: the injector's table holds all oxygen")
        oxygen_parts = tuple(
            withheld(key, reason) if one.key == key else one for one in oxygen_parts
        )
    all_oxygen = _total("use.oxygen", oxygen_parts, absent, setting.oxygen)
    all_fuel = _total("use.fuel", fuel_parts, absent, setting.fuel)
    fuel_span = span_of(all_fuel)
    by_weight = (
        estimate("use.fuel_mass", fuel_span, all_fuel.basis)
        if fuel_span
        else withheld("use.fuel_mass", all_fuel.basis.text)
    )
    return UseResult(
        "use",
        (*oxygen_parts, all_oxygen, *fuel_parts, all_fuel, by_weight),
        tuple(findings),
        span_of(all_oxygen),
        fuel_span,
    )


def _is_heated_before(job: Job, steel: SteelResult) -> bool:
    return steel.preheat_k is not None and steel.preheat_k > job.site.temperature.si


def _times(job: Job, cut: CutResult) -> _Times:
    start, pierce = span_of(cut["cut.start_time"]), span_of(cut["cut.pierce_time"])
    starts: Span | None = NONE
    for count, one in ((cut.edge_starts, start), (cut.pierces, pierce)):
        if count and starts is not None:
            starts = starts.plus(one.scaled(count)) if one else None
    jet: Span | None = NONE
    if cut.pierces:
        jet = pierce.scaled(cut.pierces).times(_JET_SHARE) if pierce else None
    share = job.torch.idle_share.si
    shares = Span.exact(share)
    if not _is_idling_stated(job):
        shares = Span(*(min(1.0, share * doubt) for doubt in _IDLE_DOUBT))
    return _Times(
        cut.cutting_time_s,
        starts,
        jet,
        cut.between_cuts_s.times(shares),
        span_of(cut["cut.clock_time"]),
    )


def _is_idling_stated(job: Job) -> bool:
    return "idle_share" in job.torch.model_fields_set


def _amount(
    key: str, flow: Estimate, time_s: Span | None, timed: Estimate, gas: Gas, text: str
) -> Estimate:
    rate = span_of(flow)
    if rate is None or time_s is None:
        return withheld(key, first_reason(flow, timed))
    trust = least("derived", flow.basis.trust, timed.basis.trust)
    basis = Basis(text, DERIVED, trust, "m = q · t")
    return estimate(key, rate.times(time_s), basis, gas)


def _cutting(setting: SettingResult, times: _Times, cut: CutResult) -> Estimate:
    return _amount(
        "use.oxygen_cutting",
        setting["setting.cutting_oxygen_flow"],
        times.cutting,
        cut["cut.speed"],
        setting.oxygen,
        _("Cutting oxygen flow times the time on the way."),
    )


def _flame_uses(
    name: str,
    flow: Estimate,
    gas: Gas,
    times: _Times,
    job: Job,
    cut: CutResult,
    jet: Estimate | None = None,
) -> tuple[Estimate, ...]:
    """What the heating flame takes: while cutting, at the starts, between the cuts."""
    start, pierce = cut["cut.start_time"], cut["cut.pierce_time"]
    heated = [start] * bool(cut.edge_starts) + [pierce] * bool(cut.pierces)
    key = f"use.{name}_starts"
    rate = span_of(flow)
    if rate is None or times.starts is None or times.jet_in_pierces is None:
        starts = withheld(key, first_reason(flow, *heated))
    else:
        amount = rate.times(times.starts)
        trusts: list[Trust] = [flow.basis.trust, *(one.basis.trust for one in heated)]
        text = _(
            "Flame through {edge_starts} edge starts and {pierces} pierces.",
            edge_starts=cut.edge_starts,
            pierces=cut.pierces,
        )
        jet_rate = span_of(jet) if jet is not None else None
        if jet_rate is not None and jet is not None and cut.pierces:
            amount = amount.plus(jet_rate.times(times.jet_in_pierces))
            trusts += [jet.basis.trust, "common practice, no source"]
            jet_text = _("The cutting oxygen is open for 25 % (10 to 50 %) of a pierce.")
            text = f"{text} {jet_text}"
        basis = Basis(text, DERIVED, least("derived", *trusts), "m = q · n · t")
        starts = estimate(key, amount, basis, gas)
    known = _("assumed; none to twice that as the range")
    if _is_idling_stated(job):
        known = _("as stated")
    return (
        _amount(
            f"use.{name}_heating",
            flow,
            times.cutting,
            cut["cut.speed"],
            gas,
            _("Flow of the heating flame times the time on the way."),
        ),
        starts,
        _idling(
            f"use.{name}_idling",
            flow,
            times.idling,
            gas,
            _(
                "Flame left burning for {share} of the time between cuts ({known}), 1 min (0.5 to "
                "3) for each start.",
                share=job.unit_system.stated(job.torch.idle_share),
                known=known,
            ),
        ),
    )


def _idling(key: str, flow: Estimate, time_s: Span | None, gas: Gas, text: str) -> Estimate:
    rate = span_of(flow)
    if rate is None or time_s is None:
        return withheld(key, first_reason(flow))
    basis = Basis(text, DERIVED, "common practice, no source", "m = q · share · t_between")
    return estimate(key, rate.times(time_s), basis, gas)


def _purge(
    job: Job,
    name: str,
    gas: Gas,
    flow: Estimate,
    purge: Estimate,
    heating: Estimate | None = None,
) -> Estimate:
    """Blowing out the hose before the torch goes on, and letting it flow while it is set."""
    key = f"use.{name}_purge"
    hoses: list[Hose] = [job.oxygen.hose if name == "oxygen" else job.fuel.hose]
    if name == "oxygen" and job.torch.oxygen_hoses == 2:
        hoses.append(job.oxygen.heating.hose)
    # A hose is blown out at little above the pressure of the air.
    density = density_kg_m3(gas, STANDARD_ATMOSPHERE_PA, _ROOM_K)
    volume_m3 = sum(hose_volume_m3(hose.bore.si, hose.length.si) for hose in hoses)
    rate, seconds = span_of(flow), purge_s(purge)
    if rate is not None and name == "oxygen" and job.torch.oxygen_hoses == 2:
        own = span_of(heating) if heating is not None else None
        rate = rate.plus(own) if own else rate
    if rate is None or seconds is None:
        return withheld(key, first_reason(flow, purge))
    basis = Basis(
        _(
            "4.6 volumes of the hose before the torch goes on, and {seconds} s of flow while the "
            "pressure is set.",
            seconds=decimal_text(seconds),
        ),
        marked("derived: well mixed to 1 %"),
        least("derived", flow.basis.trust),
        "m = 4.6 · V · ρ + q · t",
    )
    blown = _PURGE_VOLUMES.scaled(volume_m3 * density)
    return estimate(key, blown.plus(rate.scaled(seconds)), basis, gas)


def _leak(
    key: str, before: BeforeLighting, name: str, times: _Times, cut: CutResult, gas: Gas
) -> Estimate:
    """What a standing test found; else between nothing and what a line may lose that stood it."""
    found = before[f"steps.{name}_leak_found"]
    measured = span_of(found)
    if measured is not None and times.clock is not None:
        basis = Basis(
            _("What the standing test found, over the whole time on the clock."),
            DERIVED,
            least(found.basis.trust, cut["cut.clock_time"].basis.trust),
            "m = q · t",
        )
        loss = Span(*(max(one, 0.0) for one in measured))
        return estimate(key, loss.times(times.clock), basis, gas)
    leak = before[f"steps.{name}_smallest_leak"]
    rate = span_of(leak)
    if rate is None or times.clock is None:
        return withheld(key, first_reason(leak, cut["cut.clock_time"]))
    high = rate.high * times.clock.high
    basis = Basis(
        _(
            "A line that stood its test loses less than the least leak that the gauge shows; half "
            "of that is taken, over the whole time on the clock."
        ),
        DERIVED,
        least(leak.basis.trust, cut["cut.clock_time"].basis.trust),
        "m = q_least · t / 2",
    )
    value = 0.5 * rate.value * times.clock.value
    return estimate(key, Span(0.0, value, max(high, value)), basis, gas)


def _total(key: str, parts: tuple[Estimate, ...], absent: set[str], gas: Gas) -> Estimate:
    """Sum of the uses but for those that do not arise."""
    present = [one for one in parts if one.key not in absent]
    spans = [span_of(part) for part in present]
    if any(span is None for span in spans):
        return withheld(key, first_reason(*present))
    total = NONE
    for span in spans:
        if span is not None:
            total = total.plus(span)
    trusts = [
        part.basis.trust
        for part, span in zip(present, spans, strict=True)
        if span is not None and span.high >= _MATTERS * total.value
    ]
    basis = Basis(
        _("Sum of the uses."),
        DERIVED,
        least("derived", *trusts),
        "m = Σ m_use",
        tuple(
            (part.label, _share(part, total))
            for part, span in zip(present, spans, strict=True)
            if span is not None
        ),
    )
    return estimate(key, total, basis, gas)


def _share(part: Estimate, total: Span) -> str:
    share = (part.value_si or 0.0) / total.value if total.value > 0.0 else 0.0
    return _("{number}%", number=decimal_text(share * 100.0))


def _preheat(
    job: Job,
    plate: PlateResult,
    steel: SteelResult,
    cut: CutResult,
    fuel: Gas,
    findings: list[Finding],
) -> Estimate:
    key, units = "use.fuel_preheat", job.unit_system
    amounts = preheat_fuel_kg(job, plate, steel, cut.length_m, fuel)
    if isinstance(amounts, str):
        return withheld(key, _(amounts))
    steel_kg = mass_kg(1.0, band_m(plate), plate.thickness_m) * cut.length_m
    findings.append(
        Finding(
            "note",
            "plate.preheat",
            _(
                "The gas for preheating counts a band of {width} along all cuts, each heated once "
                "with the torch's flame, and 30 % of the heat reaching it.",
                width=units.size(band_m(plate)),
            ),
            _("Heat that runs off into a large plate comes on top; have gas in reserve."),
            NO_SOURCE,
        )
    )
    basis = Basis(
        _(
            "Heating {mass} of steel from {temperature}, two thicknesses on each side of the cut, "
            "20 to 40 % of the heat reaching it.",
            mass=units.mass(steel_kg),
            temperature=units.temperature(job.site.temperature.si),
        ),
        join_sources(
            marked("EN 1993-1-2 (heat content, held constant in the cold)"),
            marked("Polish welding textbook, 11.2 (band)"),
            marked("efficiency assumed"),
        ),
        "common practice, no source",
        "m_gas = m_steel · Δh / (η · LHV)",
    )
    return estimate(key, amounts, basis, fuel)


def _preheat_oxygen(setting: SettingResult, fuel_preheat: Estimate) -> Estimate:
    key = "use.oxygen_preheat"
    amount, ratio = span_of(fuel_preheat), span_of(setting["setting.flame_ratio"])
    if amount is None or ratio is None:
        return withheld(key, fuel_preheat.basis.text)
    oxygen, fuel = setting.oxygen, setting.fuel
    densities = oxygen.density_reference_kg_m3 / fuel.density_reference_kg_m3
    basis = Basis(
        _(
            "Fuel gas to preheat times the oxygen ratio of the flame; none, where another burner "
            "with air is used."
        ),
        DERIVED,
        fuel_preheat.basis.trust,
        "m_oxygen = ratio · ρ_oxygen / ρ_fuel · m_fuel",
    )
    return estimate(key, amount.times(ratio).scaled(densities), basis, oxygen)
