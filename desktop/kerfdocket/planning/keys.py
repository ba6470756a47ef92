"""Every value that a plan can hold: its label, what it measures and the unit it is written in."""

from dataclasses import replace
from typing import NamedTuple

from kerfdocket.language import _, current_language, marked
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
    "plate.thickness": (marked("Thickness, mean of the readings"), LENGTH, "mm"),
    "plate.thickness_lowest": (marked("Thinnest reading"), LENGTH, "mm"),
    "plate.thickness_highest": (marked("Thickest reading"), LENGTH, "mm"),
    "plate.mass": (marked("Mass of the plate"), MASS, "kg"),
    "steel.carbon_equivalent": (marked("Carbon equivalent CE (IIW)"), PERCENT, "%"),
    "steel.preheat": (marked("Preheat of the plate"), TEMPERATURE, "°C"),
    "steel.edge_hardness": (marked("Hardness of the cut edge"), HARDNESS, "HV"),
    "nozzle.bore": (marked("Cutting oxygen bore"), LENGTH, "mm"),
    "setting.discharge_coefficient": (marked("Discharge coefficient of the bore"), RATIO, ""),
    "setting.cutting_oxygen_pressure": (
        marked("Cutting oxygen at the torch"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "setting.heating_oxygen_pressure": (
        marked("Heating oxygen at the torch"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "setting.fuel_pressure": (marked("Fuel gas at the torch"), GAUGE_PRESSURE, "bar"),
    "setting.flame_ratio": (marked("Oxygen to fuel, by volume"), RATIO, ""),
    "setting.cutting_oxygen_flow": (marked("Cutting oxygen flow"), GAS_FLOW, "m3/h"),
    "setting.heating_oxygen_flow": (marked("Heating oxygen flow"), GAS_FLOW, "m3/h"),
    "setting.fuel_flow": (marked("Fuel gas flow"), GAS_FLOW, "m3/h"),
    "setting.flame_air_share": (marked("Oxygen that the air gives the flame"), PERCENT, "%"),
    "setting.flame_primary_share": (marked("Heat of the flame that is in its core"), PERCENT, "%"),
    "setting.flame_temperature": (marked("Flame, the hottest that it can be"), TEMPERATURE, "°C"),
    "setting.flame_power": (marked("Heat of the flame, all"), POWER, "kW"),
    "line.oxygen_loss": (marked("Loss from regulator to torch, oxygen"), GAUGE_PRESSURE, "bar"),
    "line.oxygen_regulator_pressure": (
        marked("Oxygen regulator, set while it flows"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "line.heating_oxygen_loss": (
        marked("Loss from regulator to torch, heating oxygen"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "line.heating_oxygen_regulator_pressure": (
        marked("Heating oxygen regulator, set while it flows"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "line.fuel_loss": (marked("Loss from regulator to torch, fuel gas"), GAUGE_PRESSURE, "bar"),
    "line.fuel_regulator_pressure": (
        marked("Fuel regulator, set while it flows"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "cut.speed": (marked("Cutting speed"), SPEED, "mm/min"),
    "cut.kerf": (marked("Kerf width"), LENGTH, "mm"),
    "cut.length": (marked("Cut length"), LENGTH, "m"),
    "cut.starts": (marked("Starts"), COUNT, ""),
    "cut.start_time": (marked("Heating at an edge start"), TIME, "s"),
    "cut.pierce_time": (marked("Heating and piercing"), TIME, "s"),
    "cut.oxygen_utilisation": (marked("Share of the oxygen that the kerf can burn"), PERCENT, "%"),
    "cut.preheat_time": (marked("Heating the plate with the torch's flame"), TIME, "min"),
    "cut.flame_time": (marked("Time on the flame"), TIME, "min"),
    "cut.clock_time": (marked("Time on the clock"), TIME, "min"),
    "use.oxygen_cutting": (marked("Oxygen for cutting"), GAS_VOLUME, "m3"),
    "use.oxygen_heating": (marked("Oxygen for the flame while cutting"), GAS_VOLUME, "m3"),
    "use.oxygen_starts": (marked("Oxygen for starts and pierces"), GAS_VOLUME, "m3"),
    "use.oxygen_idling": (marked("Oxygen for the flame between cuts"), GAS_VOLUME, "m3"),
    "use.oxygen_preheat": (marked("Oxygen to preheat the plate"), GAS_VOLUME, "m3"),
    "use.oxygen_purge": (marked("Oxygen to blow out the hose"), GAS_VOLUME, "L"),
    "use.oxygen_leak": (marked("Oxygen that may leak"), GAS_VOLUME, "L"),
    "use.oxygen": (marked("Oxygen, all"), GAS_VOLUME, "m3"),
    "use.fuel_heating": (marked("Fuel gas for the flame while cutting"), GAS_VOLUME, "m3"),
    "use.fuel_starts": (marked("Fuel gas for starts and pierces"), GAS_VOLUME, "m3"),
    "use.fuel_idling": (marked("Fuel gas for the flame between cuts"), GAS_VOLUME, "m3"),
    "use.fuel_preheat": (marked("Fuel gas to preheat the plate"), GAS_VOLUME, "m3"),
    "use.fuel_purge": (marked("Fuel gas to blow out the hose"), GAS_VOLUME, "L"),
    "use.fuel_leak": (marked("Fuel gas that may leak"), GAS_VOLUME, "L"),
    "use.fuel": (marked("Fuel gas, all"), GAS_VOLUME, "m3"),
    "use.fuel_mass": (marked("Fuel gas, all, by weight"), MASS, "kg"),
    "supply.oxygen_available": (marked("Oxygen on hand above the reserve"), GAS_VOLUME, "m3"),
    "supply.oxygen_cylinders": (marked("Oxygen cylinders needed"), COUNT, ""),
    "supply.oxygen_changes": (marked("Oxygen cylinders changed during the job"), COUNT, ""),
    "supply.fuel_available": (marked("Fuel gas on hand"), GAS_VOLUME, "m3"),
    "supply.fuel_draw": (marked("Greatest draw from one fuel cylinder"), GAS_FLOW, "m3/h"),
    "supply.fuel_lasts": (marked("Fuel on hand lasts, flame burning"), TIME, "min"),
    "supply.fuel_side_by_side": (marked("Fuel cylinders side by side"), COUNT, ""),
    "supply.fuel_cylinders": (marked("Fuel cylinders needed"), COUNT, ""),
    "supply.fuel_changes": (marked("Fuel cylinders changed during the job"), COUNT, ""),
    "quality.perpendicularity_limit": (marked("Perpendicularity u, at most"), LENGTH, "mm"),
    "quality.roughness_limit": (marked("Roughness Rz5, at most"), LENGTH, "µm"),
    "quality.size_deviation": (marked("Size, plus or minus, for 315 to 1000 mm"), LENGTH, "mm"),
    "steps.oxygen_purge": (marked("Blowing out the oxygen hose"), TIME, "s"),
    "steps.fuel_purge": (marked("Blowing out the fuel hose"), TIME, "s"),
    "steps.oxygen_smallest_leak": (marked("Smallest oxygen leak its gauge shows"), GAS_FLOW, "L/h"),
    "steps.fuel_smallest_leak": (marked("Smallest fuel gas leak its gauge shows"), GAS_FLOW, "L/h"),
    "steps.oxygen_test_drift": (
        marked("Oxygen gauge in the test: drift by warmth"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "steps.fuel_test_drift": (
        marked("Fuel gauge in the test: drift by warmth"),
        GAUGE_PRESSURE,
        "bar",
    ),
    "steps.oxygen_leak_found": (marked("Oxygen leak by the standing test"), GAS_FLOW, "L/h"),
    "steps.fuel_leak_found": (marked("Fuel gas leak by the standing test"), GAS_FLOW, "L/h"),
    "cost.oxygen": (marked("Cost of oxygen"), MONEY, ""),
    "cost.fuel": (marked("Cost of fuel gas"), MONEY, ""),
    "cost.work": (marked("Cost of work"), MONEY, ""),
    "cost.total": (marked("Cost in all"), MONEY, ""),
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
    return Estimate(key, _(label), kind, unit, span.value, span.low, span.high, basis, density)


def from_stated(key: str, value_si: float, what: str, gas: Gas | None = None) -> Estimate:
    """Make the estimate of a value that the planner stated; `what` says where it was read."""
    basis = Basis(_("Stated by the planner: {what}.", what=what), marked("the planner"), "stated")
    return estimate(key, Span.exact(value_si), basis, gas)


def withheld(key: str, reason: str) -> Estimate:
    """Make an estimate that has no value but a reason."""
    label, kind, unit = KEYS[key]
    trust: Trust = "derived"
    return Estimate(
        key, _(label), kind, unit, None, None, None, Basis(reason, marked("withheld"), trust)
    )


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
    names = (_within(one.label) for one in estimates if one.is_withheld)
    return _("needs what is withheld: {names}", names=", ".join(names))


def _within(label: str) -> str:
    """Return a label as it stands within a sentence; German nouns keep their capitals."""
    return label if current_language().code == "de" else label.lower()
