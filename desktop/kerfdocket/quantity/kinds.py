"""What a quantity can be, the units a person may write it in, and its SI unit."""

from collections.abc import Callable
from dataclasses import dataclass, field

from kerfdocket.language import marked
from kerfdocket.quantity.registry import factor_and_offset

__all__ = [
    "ABSOLUTE_PRESSURE",
    "CAPACITY",
    "COUNT",
    "GAS_FLOW",
    "GAS_VOLUME",
    "GAUGE_PRESSURE",
    "HARDNESS",
    "KINDS",
    "LENGTH",
    "MASS",
    "MONEY",
    "PERCENT",
    "POWER",
    "RATIO",
    "SPEED",
    "TEMPERATURE",
    "TEMPERATURE_DIFFERENCE",
    "TIME",
    "Kind",
]


@dataclass(frozen=True)
class Kind:
    """One kind of quantity.

    Attributes:
        name: as a message says it, with its article: "a length"; said with `_`.
        si_unit: Pint expression of the unit that the core computes in.
        units: what may be written -> Pint expression; the first is the one that examples use.
        note: what the units mean where that is not plain, such as a gas volume's reference state.
    """

    name: str
    si_unit: str
    units: dict[str, str] = field(hash=False)
    note: str = ""

    def __reduce__(self) -> tuple[Callable[[str], "Kind"], tuple[str]]:
        # Kinds are compared by identity, which must last through another process.
        return _kind_named, (self.name,)

    @property
    def first_unit(self) -> str:
        """The unit that examples and messages use."""
        return next(iter(self.units))

    def to_si(self, value: float, unit: str) -> float:
        """Convert `value` from `unit` (as written, one of `units`) to the SI unit."""
        factor, offset = factor_and_offset(self.units[unit], self.si_unit)
        return value * factor + offset

    def from_si(self, value_si: float, unit: str) -> float:
        """Convert an SI value to `unit` (as written, one of `units`)."""
        factor, offset = factor_and_offset(self.units[unit], self.si_unit)
        return (value_si - offset) / factor

    @property
    def accepted(self) -> str:
        """The accepted units as a message lists them."""
        return ", ".join(self.units)


LENGTH = Kind(
    marked("a length"),
    "m",
    {
        "mm": "mm",
        "cm": "cm",
        "m": "m",
        "in": "inch",
        "ft": "foot",
        "µm": "micrometer",
        "µin": "microinch",
    },
)
MASS = Kind(marked("a mass"), "kg", {"kg": "kg", "g": "g", "lb": "lb"})
TEMPERATURE = Kind(marked("a temperature"), "kelvin", {"°C": "degC", "°F": "degF", "K": "kelvin"})
# Gauge and absolute pressures share units but never a kind.
_PRESSURE = {
    "bar": "bar",
    "mbar": "mbar",
    "kPa": "kPa",
    "MPa": "MPa",
    "psi": "psi",
    "kgf/cm2": "kgf/cm**2",
}
GAUGE_PRESSURE = Kind(marked("a gauge pressure"), "Pa", dict(_PRESSURE))
# Barometers also show a column of mercury: the conventional millimetre of 133.322387415 Pa.
ABSOLUTE_PRESSURE = Kind(
    marked("an absolute pressure"),
    "Pa",
    {"hPa": "hPa", **_PRESSURE, "inHg": "inHg", "mmHg": "mmHg"},
)
TEMPERATURE_DIFFERENCE = Kind(
    marked("a difference of temperatures"), "delta_degC", {"Δ°C": "delta_degC", "Δ°F": "delta_degF"}
)
CAPACITY = Kind(
    marked("a water capacity"), "m**3", {"L": "L", "m3": "m**3", "in3": "inch**3", "ft3": "foot**3"}
)
# SI of both: volume at 15 °C and 1 bar absolute. Between the reference states the ideal gas law
# converts, within 0.1 % of the real gases to ft3 and 0.4 % to Nm3 (propane; CoolProp 8.0.0).
_GAS_REFERENCE = marked(
    "m3 and L at 15 °C and 1 bar absolute, Nm3 at 0 °C and 1.01325 bar absolute, ft3 at 70 °F and "
    "14.696 psi absolute"
)
GAS_VOLUME = Kind(
    marked("a gas volume"),
    "m**3",
    {"m3": "m**3", "L": "L", "Nm3": "gas_normal_m3", "ft3": "gas_standard_ft3"},
    _GAS_REFERENCE,
)
GAS_FLOW = Kind(
    marked("a gas flow"),
    "m**3/s",
    {
        "m3/h": "m**3/hour",
        "L/min": "L/minute",
        "L/h": "L/hour",
        "Nm3/h": "gas_normal_m3/hour",
        "ft3/h": "gas_standard_ft3/hour",
    },
    _GAS_REFERENCE,
)
POWER = Kind(marked("a heat flow"), "W", {"kW": "kW", "BTU/h": "Btu_it/hour"})
SPEED = Kind(
    marked("a speed"), "m/s", {"mm/min": "mm/minute", "m/min": "m/minute", "in/min": "inch/minute"}
)
TIME = Kind(marked("a time"), "s", {"s": "s", "min": "minute", "h": "hour"})
PERCENT = Kind(marked("a percentage"), "dimensionless", {"%": "percent"})
RATIO = Kind(marked("a ratio"), "dimensionless", {"": "dimensionless"})
COUNT = Kind(marked("a number"), "dimensionless", {"": "dimensionless"})
HARDNESS = Kind(marked("a Vickers hardness"), "dimensionless", {"HV": "dimensionless"})
MONEY = Kind(marked("an amount of money"), "dimensionless", {"": "dimensionless"})

KINDS: tuple[Kind, ...] = (
    LENGTH,
    MASS,
    TEMPERATURE,
    GAUGE_PRESSURE,
    ABSOLUTE_PRESSURE,
    CAPACITY,
    GAS_VOLUME,
    GAS_FLOW,
    SPEED,
    TIME,
    PERCENT,
)


def _kind_named(name: str) -> Kind:
    own = (value for value in globals().values() if isinstance(value, Kind))
    return next(kind for kind in own if kind.name == name)
