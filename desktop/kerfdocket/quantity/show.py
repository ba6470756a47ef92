"""Numbers as a person reads them: no more digits than the value can bear."""

import math

from kerfdocket.language import in_language

__all__ = ["number_text", "printed_unit", "value_text"]

# unit -> ((below this magnitude, decimals), ...); the last entry holds for all above.
_DECIMALS: dict[str, tuple[tuple[float, int], ...]] = {
    "bar": ((1, 2), (30, 1), (math.inf, 0)),
    "mm": ((100, 1), (math.inf, 0)),
    "m": ((100, 2), (math.inf, 0)),
    "µm": ((math.inf, 0),),
    "kg": ((10, 2), (100, 1), (math.inf, 0)),
    "m3": ((10, 2), (100, 1), (math.inf, 0)),
    "m3/h": ((10, 2), (100, 1), (math.inf, 0)),
    "L/h": ((0.1, 3), (1, 2), (10, 1), (math.inf, 0)),
    "min": ((10, 1), (math.inf, 0)),
    "s": ((math.inf, 0),),
    "°C": ((math.inf, 0),),
    "%": ((1, 2), (math.inf, 1)),
    "HV": ((math.inf, 0),),
    "kW": ((10, 1), (math.inf, 0)),
    "hPa": ((math.inf, 0),),
    "mmHg": ((math.inf, 0),),
    "L": ((1, 2), (100, 1), (math.inf, 0)),
    "Δ°C": ((math.inf, 1),),
    # US customary
    "psi": ((20, 1), (math.inf, 0)),
    "in": ((10, 3), (100, 2), (math.inf, 1)),
    "ft": ((100, 1), (math.inf, 0)),
    "µin": ((math.inf, 0),),
    "lb": ((100, 1), (math.inf, 0)),
    "ft3": ((10, 2), (100, 1), (math.inf, 0)),
    "ft3/h": ((0.01, 4), (0.1, 3), (1, 2), (100, 1), (math.inf, 0)),
    "in3": ((10, 1), (math.inf, 0)),
    "°F": ((math.inf, 0),),
    "Δ°F": ((math.inf, 1),),
}
_STEPS = {"mm/min": 10.0, "in/min": 0.5, "HV": 5.0, "BTU/h": 500.0}
_PRINTED = {
    "m3": "m³",
    "m3/h": "m³/h",
    "ft3": "ft³",
    "ft3/h": "ft³/h",
    "kgf/cm2": "kgf/cm²",
    "Nm3": "Nm³",
    "Nm3/h": "Nm³/h",
    "in3": "in³",
    "Δ°C": "°C",
    "Δ°F": "°F",
}


def number_text(value: float, unit: str) -> str:
    """Write a number with the digits that its unit deserves on a sheet.

    A cutting speed is set to the nearest 10 mm/min, a pressure read to a tenth of a bar (a
    hundredth below 1 bar): common practice, no source.

    >>> number_text(1.5734, "bar"), number_text(0.147, "bar"), number_text(347.0, "mm/min")
    ('1.6', '0.15', '350')
    """
    if not math.isfinite(value):
        raise ValueError(f"value={value} must be finite")
    if step := _STEPS.get(unit):
        value, decimals = round(value / step) * step, 0 if step >= 1 else 1
    else:
        rules = _DECIMALS.get(unit, ((100, 2), (math.inf, 0)))
        decimals = next(places for limit, places in rules if abs(value) < limit)
    text = f"{value:.{decimals}f}"
    return in_language(text.replace("-", "−") if float(text) != 0 else text.lstrip("-"))


def printed_unit(unit: str) -> str:
    """Return a unit as a sheet prints it.

    >>> printed_unit("m3/h")
    'm³/h'
    """
    return _PRINTED.get(unit, unit)


def value_text(value: float, unit: str) -> str:
    """Write a number with its unit as a sheet prints it.

    >>> value_text(2.504, "m3/h")
    '2.50 m³/h'
    """
    return f"{number_text(value, unit)} {printed_unit(unit)}".strip()
