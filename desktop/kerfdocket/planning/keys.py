"""Every value that a plan can hold: its label, what it measures and the unit it is written in."""

from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

from kerfdocket.physics.gas import Gas
from kerfdocket.planning.model import Basis, Estimate, Trust
from kerfdocket.quantity import (
    COUNT,
    GAS_FLOW,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    HARDNESS,
    LENGTH,
    MASS,
    MONEY,
    PERCENT,
    POWER,
    RATIO,
    SPEED,
    TEMPERATURE,
    TIME,
    Kind,
)
from kerfdocket.reference import Range

__all__ = [
    "KEYS",
    "NONE",
    "Span",
    "estimate",
    "first_reason",
    "from_stated",
    "none_needed",
    "span_of",
    "withheld",
]

KEYS: dict[str, tuple[str, Kind, str]] = {
    "plate.thickness": ("Thickness, mean of the readings", LENGTH, "mm"),
    "plate.thickness_lowest": ("Thinnest reading", LENGTH, "mm"),
    "plate.thickness_highest": ("Thickest reading", LENGTH, "mm"),
    "plate.mass": ("Mass of the plate", MASS, "kg"),
    "steel.carbon_equivalent": ("Carbon equivalent CE (IIW)", PERCENT, "%"),
    "steel.preheat": ("Preheat of the plate", TEMPERATURE, "°C"),
    "steel.edge_hardness": ("Hardness of the cut edge", HARDNESS, "HV"),
    "nozzle.bore": ("Cutting oxygen bore", LENGTH, "mm"),
    "setting.discharge_coefficient": ("Discharge coefficient of the bore", RATIO, ""),
    "setting.cutting_oxygen_pressure": ("Cutting oxygen at the torch", GAUGE_PRESSURE, "bar"),
    "setting.heating_oxygen_pressure": ("Heating oxygen at the torch", GAUGE_PRESSURE, "bar"),
    "setting.fuel_pressure": ("Fuel gas at the torch", GAUGE_PRESSURE, "bar"),
    "setting.flame_ratio": ("Oxygen to fuel, by volume", RATIO, ""),
    "setting.cutting_oxygen_flow": ("Cutting oxygen flow", GAS_FLOW, "m3/h"),
    "setting.heating_oxygen_flow": ("Heating oxygen flow", GAS_FLOW, "m3/h"),
    "setting.fuel_flow": ("Fuel gas flow", GAS_FLOW, "m3/h"),
    "setting.flame_air_share": ("Oxygen that the air gives the flame", PERCENT, "%"),
    "setting.flame_primary_share": ("Heat of the flame that is in its core", PERCENT, "%"),
    "setting.flame_temperature": ("Flame, the hottest that it can be", TEMPERATURE, "°C"),
    "setting.flame_power": ("Heat of the flame, all", POWER, "kW"),
    "line.oxygen_loss": ("Loss from regulator to torch, oxygen", GAUGE_PRESSURE, "bar"),
    "line.oxygen_regulator_pressure": (
        "Oxygen regulator, set while it flows",
        GAUGE_PRESSURE,
        "bar",
    ),
    "line.heating_oxygen_loss": (
        "Loss from regulator to torch, heating oxygen",
        GAUGE_PRESSURE,
        "bar",
    ),
    "line.heating_oxygen_regulator_pressure": (
        "Heating oxygen regulator, set while it flows",
        GAUGE_PRESSURE,
        "bar",
    ),
    "line.fuel_loss": ("Loss from regulator to torch, fuel gas", GAUGE_PRESSURE, "bar"),
    "line.fuel_regulator_pressure": ("Fuel regulator, set while it flows", GAUGE_PRESSURE, "bar"),
    "cut.speed": ("Cutting speed", SPEED, "mm/min"),
    "cut.kerf": ("Kerf width", LENGTH, "mm"),
    "cut.length": ("Cut length", LENGTH, "m"),
    "cut.starts": ("Starts", COUNT, ""),
    "cut.start_time": ("Heating at an edge start", TIME, "s"),
    "cut.pierce_time": ("Heating and piercing", TIME, "s"),
    "cut.oxygen_utilisation": ("Share of the oxygen that the kerf can burn", PERCENT, "%"),
    "cut.preheat_time": ("Heating the plate with the torch's flame", TIME, "min"),
    "cut.flame_time": ("Time on the flame", TIME, "min"),
    "cut.clock_time": ("Time on the clock", TIME, "min"),
    "use.oxygen_cutting": ("Oxygen for cutting", GAS_VOLUME, "m3"),
    "use.oxygen_heating": ("Oxygen for the flame while cutting", GAS_VOLUME, "m3"),
    "use.oxygen_starts": ("Oxygen for starts and pierces", GAS_VOLUME, "m3"),
    "use.oxygen_idling": ("Oxygen for the flame between cuts", GAS_VOLUME, "m3"),
    "use.oxygen_preheat": ("Oxygen to preheat the plate", GAS_VOLUME, "m3"),
    "use.oxygen_purge": ("Oxygen to blow out the hose", GAS_VOLUME, "L"),
    "use.oxygen_leak": ("Oxygen that may leak", GAS_VOLUME, "L"),
    "use.oxygen": ("Oxygen, all", GAS_VOLUME, "m3"),
    "use.fuel_heating": ("Fuel gas for the flame while cutting", GAS_VOLUME, "m3"),
    "use.fuel_starts": ("Fuel gas for starts and pierces", GAS_VOLUME, "m3"),
    "use.fuel_idling": ("Fuel gas for the flame between cuts", GAS_VOLUME, "m3"),
    "use.fuel_preheat": ("Fuel gas to preheat the plate", GAS_VOLUME, "m3"),
    "use.fuel_purge": ("Fuel gas to blow out the hose", GAS_VOLUME, "L"),
    "use.fuel_leak": ("Fuel gas that may leak", GAS_VOLUME, "L"),
    "use.fuel": ("Fuel gas, all", GAS_VOLUME, "m3"),
    "use.fuel_mass": ("Fuel gas, all, by weight", MASS, "kg"),
    "supply.oxygen_available": ("Oxygen on hand above the reserve", GAS_VOLUME, "m3"),
    "supply.oxygen_cylinders": ("Oxygen cylinders needed", COUNT, ""),
    "supply.oxygen_changes": ("Oxygen cylinders changed during the job", COUNT, ""),
    "supply.fuel_available": ("Fuel gas on hand", GAS_VOLUME, "m3"),
    "supply.fuel_draw": ("Greatest draw from one fuel cylinder", GAS_FLOW, "m3/h"),
    "supply.fuel_lasts": ("Fuel on hand lasts, flame burning", TIME, "min"),
    "supply.fuel_side_by_side": ("Fuel cylinders side by side", COUNT, ""),
    "supply.fuel_cylinders": ("Fuel cylinders needed", COUNT, ""),
    "supply.fuel_changes": ("Fuel cylinders changed during the job", COUNT, ""),
    "quality.perpendicularity_limit": ("Perpendicularity u, at most", LENGTH, "mm"),
    "quality.roughness_limit": ("Roughness Rz5, at most", LENGTH, "µm"),
    "quality.size_deviation": ("Size, plus or minus, for 315 to 1000 mm", LENGTH, "mm"),
    "steps.oxygen_purge": ("Blowing out the oxygen hose", TIME, "s"),
    "steps.fuel_purge": ("Blowing out the fuel hose", TIME, "s"),
    "steps.oxygen_smallest_leak": ("Smallest oxygen leak its gauge shows", GAS_FLOW, "L/h"),
    "steps.fuel_smallest_leak": ("Smallest fuel gas leak its gauge shows", GAS_FLOW, "L/h"),
    "steps.oxygen_test_drift": ("Oxygen gauge in the test: drift by warmth", GAUGE_PRESSURE, "bar"),
    "steps.fuel_test_drift": ("Fuel gauge in the test: drift by warmth", GAUGE_PRESSURE, "bar"),
    "steps.oxygen_leak_found": ("Oxygen leak by the standing test", GAS_FLOW, "L/h"),
    "steps.fuel_leak_found": ("Fuel gas leak by the standing test", GAS_FLOW, "L/h"),
    "cost.oxygen": ("Cost of oxygen", MONEY, ""),
    "cost.fuel": ("Cost of fuel gas", MONEY, ""),
    "cost.work": ("Cost of work", MONEY, ""),
    "cost.total": ("Cost in all", MONEY, ""),
}


class Span(NamedTuple):
    """A value between the ends of its range, in SI; all arithmetic takes the worst ends.

    >>> Span(1.0, 2.0, 3.0).times(Span(2.0, 2.0, 4.0))
    Span(low=2.0, value=4.0, high=12.0)
    """

    low: float
    value: float
    high: float

    @classmethod
    def exact(cls, value: float) -> "Span":
        """A value without a range."""
        return cls(value, value, value)

    @classmethod
    def of(cls, found: Range) -> "Span":
        """The span of a range that the tables gave."""
        return cls(found.low, found.value, found.high)

    def times(self, other: "Span") -> "Span":
        """Product; both must be at least 0."""
        return Span(self.low * other.low, self.value * other.value, self.high * other.high)

    def over(self, other: "Span") -> "Span":
        """Quotient; both at least 0, the divisor above 0."""
        return Span(self.low / other.high, self.value / other.value, self.high / other.low)

    def plus(self, other: "Span") -> "Span":
        """Sum."""
        return Span(self.low + other.low, self.value + other.value, self.high + other.high)

    def scaled(self, factor: float) -> "Span":
        """Multiple; the factor must be at least 0."""
        return Span(self.low * factor, self.value * factor, self.high * factor)


NONE = Span(0.0, 0.0, 0.0)


def estimate(
    key: str, span: Span, basis: Basis, gas: Gas | None = None, currency: str = ""
) -> Estimate:
    """Make the estimate of a key.

    Args:
        key: one of `KEYS`.
        span: the value in SI; for gas kinds as mass [kg] or [kg/s].
        basis: how it was got.
        gas: the gas of a gas flow or gas volume, else None.
        currency: unit of an amount of money, else empty.

    Raises:
        ValueError: a gas without a gas kind, or the reverse.
    """
    label, kind, unit = KEYS[key]
    unit = currency or unit
    is_gas = kind in {GAS_FLOW, GAS_VOLUME}
    if is_gas != (gas is not None):
        raise ValueError(f"{key}: a gas goes with gas flows and gas volumes, and only there")
    density = gas.density_reference_kg_m3 if gas else None
    return Estimate(key, label, kind, unit, span.value, span.low, span.high, basis, density)


def from_stated(key: str, value_si: float, what: str, gas: Gas | None = None) -> Estimate:
    """Make the estimate of a value that the planner stated; `what` is where it was read."""
    basis = Basis(f"Stated by the planner: {what}.", "the planner", "stated")
    return estimate(key, Span.exact(value_si), basis, gas)


def withheld(key: str, reason: str) -> Estimate:
    """Make an estimate that has no value but a reason."""
    label, kind, unit = KEYS[key]
    trust: Trust = "derived"
    return Estimate(key, label, kind, unit, None, None, None, Basis(reason, "withheld", trust))


def none_needed(key: str, reason: str) -> Estimate:
    """Make an estimate that has no value because the job calls for none, and says why."""
    return replace(withheld(key, reason), is_none_needed=True)


def span_of(one: Estimate) -> Span | None:
    """Return the SI span of an estimate, None if it is withheld."""
    if one.value_si is None or one.low_si is None or one.high_si is None:
        return None
    return Span(one.low_si, one.value_si, one.high_si)


def first_reason(*estimates: Estimate) -> str:
    """Return why a value that needs all of these cannot be given."""
    names: Iterable[str] = (e.label.lower() for e in estimates if e.is_withheld)
    return "needs what is withheld: " + ", ".join(names)
