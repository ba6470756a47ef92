"""Stage 7: how much gas the job takes, each use apart."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.physics.gas import STANDARD_ATMOSPHERE_PA, Gas
from kerfdocket.physics.heat import preheat_gas_kg
from kerfdocket.physics.hose import hose_volume_m3
from kerfdocket.physics.orifice import density_kg_m3
from kerfdocket.physics.plate import mass_kg
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult, least
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.steel import SteelResult
from kerfdocket.quantity import value_text

__all__ = ["UseResult", "plan_use"]

_ROOM_K = 293.15
# Share of the fuel's heat that reaches the plate: 0.2 to 0.4 assumed, common practice, no source.
_EFFICIENCY = Span(0.4, 0.3, 0.2)  # in the order that gives the least gas first
# A hose is blown out with this many of its volumes to leave 1 % of what was in it (derived: well
# mixed, ln 100); half and twice of it as the range.
_PURGE_VOLUMES = Span(2.3, 4.6, 9.2)


@dataclass(frozen=True)
class UseResult(StageResult):
    """Attributes:
    oxygen_kg: all oxygen, None if withheld. [kg]
    fuel_kg: all fuel gas, None if withheld. [kg]
    """

    oxygen_kg: Span | None = None
    fuel_kg: Span | None = None


def plan_use(
    job: Job, plate: PlateResult, steel: SteelResult, setting: SettingResult, cut: CutResult
) -> UseResult:
    """Add up the gas.

    Args:
        job: the job.
        plate: the plate stage.
        steel: the steel stage.
        setting: the setting stage.
        cut: the cut stage.

    Returns:
        Oxygen and fuel by use and in all; volumes at 15 °C and 1 bar absolute.
    """
    oxygen, fuel = setting.oxygen, setting.fuel
    findings = [
        Finding(
            "note",
            "use",
            "Gas lost through leaks is not counted.",
            "Leak-test before lighting; a line that passes the test loses little.",
            "this program",
        )
    ]
    flame = cut["cut.flame_time"]
    speed = cut["cut.speed"]
    cutting = _amount(
        "use.oxygen_cutting",
        setting["setting.cutting_oxygen_flow"],
        cut.cutting_time_s,
        speed,
        oxygen,
        "Cutting oxygen flow times the time on the way.",
    )
    heating = _amount(
        "use.oxygen_heating",
        setting["setting.heating_oxygen_flow"],
        span_of(flame),
        flame,
        oxygen,
        "Heating oxygen flow times the time on the flame.",
    )
    burned = _amount(
        "use.fuel",
        setting["setting.fuel_flow"],
        span_of(flame),
        flame,
        fuel,
        "Fuel flow times the time on the flame.",
    )
    preheat = _preheat(job, plate, steel, cut, fuel, findings)
    all_oxygen = _total("use.oxygen", (cutting, heating), oxygen, job.oxygen.hose)
    parts = (burned,) if preheat.is_withheld else (burned, preheat)
    all_fuel = _total("use.fuel", parts, fuel, job.fuel.hose)
    fuel_span = span_of(all_fuel)
    by_weight = (
        estimate("use.fuel_mass", fuel_span, all_fuel.basis)
        if fuel_span
        else withheld("use.fuel_mass", all_fuel.basis.text)
    )
    return UseResult(
        "use",
        (cutting, heating, all_oxygen, preheat, all_fuel, by_weight),
        tuple(findings),
        span_of(all_oxygen),
        fuel_span,
    )


def _amount(
    key: str, flow: Estimate, time_s: Span | None, timed: Estimate, gas: Gas, text: str
) -> Estimate:
    rate = span_of(flow)
    if rate is None or time_s is None:
        return withheld(key, first_reason(flow, timed))
    trust = least("derived", flow.basis.trust, timed.basis.trust)
    basis = Basis(text, "derived", trust, "m = q · t")
    return estimate(key, rate.times(time_s), basis, gas)


def _total(key: str, parts: tuple[Estimate, ...], gas: Gas, hose: object) -> Estimate:
    spans = [span_of(part) for part in parts]
    if any(span is None for span in spans):
        return withheld(key, first_reason(*parts))
    bore_m, length_m = (getattr(hose, name).si for name in ("bore", "length"))
    # A hose is blown out at little above the pressure of the air.
    density = density_kg_m3(gas, STANDARD_ATMOSPHERE_PA, _ROOM_K)
    purge = _PURGE_VOLUMES.scaled(hose_volume_m3(bore_m, length_m) * density)
    total = purge
    for span in spans:
        if span is not None:
            total = total.plus(span)
    basis = Basis(
        "Sum of the uses, and of blowing out the hose once "
        f"({gas.volume_m3(purge.value) * 1e3:.1f} L).",
        "derived",
        least("derived", *(part.basis.trust for part in parts)),
    )
    return estimate(key, total, basis, gas)


def _preheat(
    job: Job,
    plate: PlateResult,
    steel: SteelResult,
    cut: CutResult,
    fuel: Gas,
    findings: list[Finding],
) -> Estimate:
    key = "use.fuel_preheat"
    start_k = max(job.site.temperature.si, _ROOM_K)  # the heat content formula begins at 20 °C
    if steel.preheat_k is None or steel.preheat_k <= start_k:
        return withheld(key, "no preheat is asked for")
    band_m = 4.0 * plate.thickness_m  # two thicknesses on each side of the cut
    steel_kg = mass_kg(cut.length_m, band_m, plate.thickness_m)
    try:
        amounts = [
            preheat_gas_kg(steel_kg, start_k, steel.preheat_k, fuel.lower_heating_value_j_kg, share)
            for share in _EFFICIENCY
        ]
    except ValueError as error:
        return withheld(key, f"outside what the formula is good for: {error}")
    findings.append(
        Finding(
            "note",
            "plate.preheat",
            f"The gas for preheating counts a band of {value_text(band_m * 1e3, 'mm')} along all "
            "cuts, each heated once, and 30 % of the heat reaching it.",
            "Heat that runs off into a large plate comes on top; have gas in reserve.",
            "common practice, no source",
        )
    )
    basis = Basis(
        f"Heating {value_text(steel_kg, 'kg')} of steel, two thicknesses on each side of the cut, "
        "20 to 40 % of the heat reaching it.",
        "EN 1993-1-2 (heat content); Polish welding textbook, 11.2 (band); efficiency assumed",
        "common practice, no source",
        "m_gas = m_steel · Δh / (η · LHV)",
    )
    return estimate(key, Span(*amounts), basis, fuel)
