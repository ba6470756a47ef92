"""Stage 12: what gas and work cost at the shop's prices."""

from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, marked
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.keys import Span, estimate, first_reason, span_of, withheld
from kerfdocket.planning.model import Basis, Estimate, StageResult, least
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.use import UseResult
from kerfdocket.quantity import GAS_VOLUME, MASS

__all__ = ["CostResult", "plan_cost"]

_PRICES = marked("the planner's prices")


@dataclass(frozen=True)
class CostResult(StageResult):
    """Cost of gas and work; consumables are not counted."""


def plan_cost(job: Job, setting: SettingResult, cut: CutResult, use: UseResult) -> CostResult:
    """Price the gas and the time.

    Args:
        job: the job.
        setting: the setting stage.
        cut: the cut stage.
        use: the use stage.

    Returns:
        Oxygen, fuel, work and their sum, in the job's currency.
    """
    assert setting.oxygen is not None, "set by plan_setting"
    density = setting.oxygen.density_reference_kg_m3
    prices = job.prices
    per_kg, fuel_per_kg = None, prices.fuel_kg
    if prices.oxygen_m3 is not None:
        per_kg = prices.oxygen_m3 / density
    elif prices.oxygen_100ft3 is not None:
        per_kg = prices.oxygen_100ft3 / GAS_VOLUME.to_si(100.0, "ft3") / density
    if prices.fuel_lb is not None:
        fuel_per_kg = prices.fuel_lb / MASS.to_si(1.0, "lb")
    per_second = None if prices.hour is None else prices.hour / 3600.0
    parts = (
        _part(
            job,
            "cost.oxygen",
            use["use.oxygen"],
            per_kg,
            _("Oxygen, all times the price of oxygen."),
            _("no price of oxygen is stated"),
        ),
        _part(
            job,
            "cost.fuel",
            use["use.fuel"],
            fuel_per_kg,
            _("Fuel gas, all times the price of fuel gas."),
            _("no price of fuel gas is stated"),
        ),
        _part(
            job,
            "cost.work",
            cut["cut.clock_time"],
            per_second,
            _("Time on the clock times the price of an hour."),
            _("no price of an hour is stated"),
        ),
    )
    return CostResult("cost", (*parts, _total(parts, prices.currency)))


def _part(
    job: Job, key: str, amount: Estimate, price: float | None, how: str, why_none: str
) -> Estimate:
    span = span_of(amount)
    if price is None:
        return withheld(key, why_none)
    if span is None:
        return withheld(key, first_reason(amount))
    basis = Basis(how, _PRICES, least("derived", amount.basis.trust))
    return estimate(key, span.scaled(price), basis, currency=job.prices.currency)


def _total(parts: tuple[Estimate, ...], currency: str) -> Estimate:
    spans = [span_of(part) for part in parts]
    missing = [part for part in parts if part.is_withheld]
    if missing:
        return withheld("cost.total", "; ".join(dict.fromkeys(p.basis.text for p in missing)))
    total = Span.exact(0.0)
    for span in spans:
        if span is not None:
            total = total.plus(span)
    basis = Basis(
        _(
            "Oxygen, fuel gas and work, in {currency}; nozzles and other consumables are not "
            "counted.",
            currency=currency,
        ),
        _PRICES,
        least(*(part.basis.trust for part in parts)),
    )
    return estimate("cost.total", total, basis, currency=currency)
