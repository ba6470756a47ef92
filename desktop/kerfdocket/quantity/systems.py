"""The two sets of units that forms, sheets and commands speak in."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kerfdocket.language import _, decimal_text, in_language
from kerfdocket.quantity.kinds import (
    ABSOLUTE_PRESSURE,
    CAPACITY,
    GAS_FLOW,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    LENGTH,
    MASS,
    POWER,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    Kind,
)
from kerfdocket.quantity.show import number_text, printed_unit, value_text

if TYPE_CHECKING:
    from kerfdocket.quantity.measure import Measure

__all__ = ["METRIC", "UNIT_SYSTEMS", "US_CUSTOMARY", "UnitSystem"]

# In what each unit is written where it does not belong to the system; by kind, as a cubic foot of
# gas and one of water capacity go different ways.
_TO_US: dict[str, str] = {
    "mm": "in",
    "cm": "in",
    "m": "ft",
    "µm": "µin",
    "kg": "lb",
    "g": "lb",
    "°C": "°F",
    "K": "°F",
    "Δ°C": "Δ°F",
    "bar": "psi",
    "mbar": "psi",
    "kPa": "psi",
    "MPa": "psi",
    "hPa": "psi",
    "mmHg": "psi",
    "kgf/cm2": "psi",
    "m3": "ft3",
    "Nm3": "ft3",
    "L": "ft3",
    "m3/h": "ft3/h",
    "Nm3/h": "ft3/h",
    "L/min": "ft3/h",
    "L/h": "ft3/h",
    "mm/min": "in/min",
    "m/min": "in/min",
    "kW": "BTU/h",
}
_TO_METRIC: dict[str, str] = {
    "in": "mm",
    "ft": "m",
    "µin": "µm",
    "lb": "kg",
    "°F": "°C",
    "Δ°F": "Δ°C",
    "psi": "bar",
    "inHg": "hPa",
    "ft3": "m3",
    "in3": "L",
    "ft3/h": "m3/h",
    "in/min": "mm/min",
    "BTU/h": "kW",
}
_BY_KIND = {(CAPACITY, "L"): "in3", (CAPACITY, "m3"): "in3", (CAPACITY, "ft3"): "L"}


@dataclass(frozen=True)
class UnitSystem:
    """How values are written: metric units, or those customary in the United States.

    Attributes:
        name: as a job file says it.
        gas_state: temperature and absolute pressure that gas volumes are meant at, with a decimal
            point.
        foreign: unit of the other system -> unit of this one.
    """

    name: str
    gas_state: str
    foreign: Mapping[str, str] = field(repr=False, hash=False, compare=False)

    @property
    def gas_reference(self) -> str:
        """The state that gas volumes are meant at, as a sentence says it."""
        return _("{state} absolute", state=in_language(self.gas_state))

    def unit(self, unit: str, kind: Kind | None = None) -> str:
        """Return what this system writes instead of a unit; its own units stay.

        >>> US_CUSTOMARY.unit("bar"), US_CUSTOMARY.unit("psi"), METRIC.unit("psi")
        ('psi', 'psi', 'bar')
        """
        if unit not in self.foreign:
            return unit
        by_kind = _BY_KIND.get((kind, unit)) if kind is not None else None
        return by_kind or self.foreign[unit]

    def text(self, kind: Kind, value_si: float, unit: str) -> str:
        """Write an SI value of a kind in what this system uses for a metric unit.

        >>> US_CUSTOMARY.text(LENGTH, 0.0254, "mm")
        '1.000 in'
        """
        own = self.unit(unit, kind)
        return value_text(kind.from_si(value_si, own), own)

    def stated(self, measure: "Measure") -> str:
        """Write a stated value: as it was written, or in this system with that in brackets.

        >>> from kerfdocket.quantity.measure import parse_measure
        >>> METRIC.stated(parse_measure("36 psi", GAUGE_PRESSURE))
        '2.48 bar (36 psi)'
        """
        written = measure.printed
        return written if self.owns(measure) else f"{self.converted(measure)} ({written})"

    def owns(self, measure: "Measure") -> bool:
        """Return whether a value is stated in a unit of this system."""
        return measure.unit not in self.foreign

    def converted(self, measure: "Measure") -> str:
        """Write a stated value in this system, about as finely as it was stated.

        >>> from kerfdocket.quantity.measure import parse_measure
        >>> US_CUSTOMARY.converted(parse_measure("0.02 bar", GAUGE_PRESSURE))
        '0.290 psi'
        """
        unit = self.unit(measure.unit, measure.kind)
        return f"{_as_fine(measure, unit)} {printed_unit(unit)}".strip()

    def apart(self, kind: Kind, first: "float | Measure", *others: "float | Measure") -> list[str]:
        """Write values of a sentence that compares the first with each of the others.

        With just as many more decimals as it takes that the first reads as less or more where it
        is: 15 psi are not above 1.0 bar as 1.0 bar. What was stated in this unit stays as it was
        written, in another it follows in brackets.

        Args:
            kind: of all of them.
            first: in `kind.si_unit`, or as it was stated.
            others: likewise.

        >>> METRIC.apart(GAUGE_PRESSURE, 1.034e5, 1.0e5), METRIC.apart(GAUGE_PRESSURE, 2e5, 1e5)
        (['1.03 bar', '1.00 bar'], ['2.0 bar', '1.0 bar'])
        """
        unit = self.unit(kind.first_unit, kind)
        shown = [_Shown.of(one, kind, unit) for one in (first, *others)]
        texts = [one.usual for one in shown]
        for decimals in range(_MOST_DECIMALS):
            if _is_told(shown, texts):
                break
            texts = [one.with_decimals(decimals) for one in shown]
        own = printed_unit(unit)
        return [
            f"{in_language(text).replace('-', '−')} {own}{one.in_brackets}".strip()
            for text, one in zip(texts, shown, strict=True)
        ]

    # One word for each thing that is often written, so that a sentence stays readable.

    def gauge(self, pressure_gauge_pa: float) -> str:
        """Write a gauge pressure [Pa]."""
        return self.text(GAUGE_PRESSURE, pressure_gauge_pa, "bar")

    def air(self, pressure_abs_pa: float) -> str:
        """Write the pressure of the air, absolute [Pa]."""
        return self.text(ABSOLUTE_PRESSURE, pressure_abs_pa, "hPa")

    def size(self, length_m: float) -> str:
        """Write a length of the workpiece or the equipment [m]."""
        return self.text(LENGTH, length_m, "mm")

    def sizes(self, low_m: float, high_m: float) -> str:
        """Write a range of such lengths [m] without needless zeros.

        >>> METRIC.sizes(0.019, 0.1), US_CUSTOMARY.sizes(0.019, 0.1)
        ('19 to 100 mm', '0.748 to 3.937 in')
        """
        own = self.unit("mm")
        low, high = (
            in_language(f"{round(LENGTH.from_si(one, own), 3):g}") for one in (low_m, high_m)
        )
        return _("{low} to {high} {unit}", low=low, high=high, unit=own)

    def distance(self, length_m: float) -> str:
        """Write a length that one walks [m]."""
        return self.text(LENGTH, length_m, "m")

    def mass(self, mass_kg: float) -> str:
        """Write a mass [kg]."""
        return self.text(MASS, mass_kg, "kg")

    def temperature(self, temperature_k: float) -> str:
        """Write a temperature [K]."""
        return self.text(TEMPERATURE, temperature_k, "°C")

    def degrees(self, difference_k: float) -> str:
        """Write a difference of temperatures [K]."""
        return self.text(TEMPERATURE_DIFFERENCE, difference_k, "Δ°C")

    def capacity(self, volume_m3: float) -> str:
        """Write what a vessel or hose holds [m3]."""
        return self.text(CAPACITY, volume_m3, "L")

    def gas_volume(self, volume_m3: float) -> str:
        """Write a gas volume given at 15 °C and 1 bar absolute [m3]."""
        return self.text(GAS_VOLUME, volume_m3, "m3")

    def gas_flow(self, flow_m3_s: float) -> str:
        """Write a gas flow given at 15 °C and 1 bar absolute [m3/s]."""
        return self.text(GAS_FLOW, flow_m3_s, "m3/h")

    def at_state(self, amount: str) -> str:
        """Add to a gas volume or flow the state that it is meant at, where nothing else says it.

        >>> METRIC.at_state(METRIC.gas_volume(2.84))
        '2.84 m³ at 15 °C, 1 bar absolute'
        """
        return _("{amount} at {state}", amount=amount, state=self.gas_reference)

    def readings_note(self) -> str:
        """Say once, beside many values, what gas volumes and pressures among them mean."""
        return _("Gas volumes at {state}; pressures are gauge readings.", state=self.gas_reference)

    def power(self, power_w: float) -> str:
        """Write a heat flow [W]."""
        return self.text(POWER, power_w, "kW")


# A stated value is written as a sheet would write it, but with three figures where rounding costs
# more than they would, and with up to four where it was stated as finely as that.
_LEAST_FIGURES, _MOST_FIGURES = 3, 4
_MOST_OFF = 0.005  # of the value


def _as_fine(measure: "Measure", unit: str) -> str:
    kind = measure.kind
    value = kind.from_si(measure.si, unit)
    text = number_text(value, unit)
    if not measure.number or not value:
        return text
    plain = _plain(text)
    shown = len(plain.partition(".")[2])
    magnitude = math.floor(math.log10(abs(value)))
    exponent = measure.number.as_tuple().exponent
    assert isinstance(exponent, int)  # parsed text is never NaN
    zero, one = (kind.from_si(kind.to_si(n, measure.unit), unit) for n in (0.0, 1.0))
    step = (one - zero) * 10.0**exponent  # what the last digit stated stands for
    wanted = min(math.ceil(-math.log10(step)), _MOST_FIGURES - 1 - magnitude)
    is_off = abs(float(plain) - value) > _MOST_OFF * abs(value)
    if is_off and kind != TEMPERATURE:  # half a degree is half a degree, at 0 °F, too
        wanted = max(wanted, _LEAST_FIGURES - 1 - magnitude)
    elif wanted <= shown:
        return text
    return decimal_text(value, max(0, wanted)).replace("-", "−")


# More than any two numbers that a computer keeps apart near those of a plan need.
_MOST_DECIMALS = 40


@dataclass(frozen=True)
class _Shown:
    """A value among those that are told apart, with a decimal point and a plain minus.

    Attributes:
        value: in the unit that it is shown in.
        usual: as it is shown where nothing else is to be told.
        is_exact: True for what was stated in this unit.
        in_brackets: how it was stated in another.
    """

    value: float
    usual: str
    is_exact: bool = False
    in_brackets: str = ""

    @classmethod
    def of(cls, one: "float | Measure", kind: Kind, unit: str) -> "_Shown":
        if isinstance(one, int | float):
            value = kind.from_si(one, unit)
            return cls(value, _plain(number_text(value, unit)))
        if one.unit == unit:
            return cls(float(one.number), f"{one.number:f}", is_exact=True)
        value = kind.from_si(one.si, unit)
        return cls(value, _plain(_as_fine(one, unit)), in_brackets=f" ({one.printed})")

    def with_decimals(self, decimals: int) -> str:
        if self.is_exact:
            return self.usual
        return f"{self.value:.{max(decimals, len(self.usual.partition('.')[2]))}f}"


def _plain(text: str) -> str:
    return text.replace(in_language("."), ".").replace("−", "-")


def _is_told(shown: list[_Shown], texts: list[str]) -> bool:
    """Return whether the first stands to each of the others as their texts say."""
    value, text = shown[0].value, float(texts[0])
    return all(
        (value < one.value) == (text < float(other))
        and (value > one.value) == (text > float(other))
        for one, other in zip(shown[1:], texts[1:], strict=True)
    )


METRIC = UnitSystem("metric", "15 °C, 1 bar", _TO_METRIC)
US_CUSTOMARY = UnitSystem("US customary", "70 °F, 14.7 psi", _TO_US)
UNIT_SYSTEMS: Mapping[str, UnitSystem] = {one.name: one for one in (METRIC, US_CUSTOMARY)}
