"""Quantities: what a person writes, and its value in SI."""

from kerfdocket.quantity.kinds import (
    ABSOLUTE_PRESSURE,
    CAPACITY,
    COUNT,
    GAS_FLOW,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    HARDNESS,
    KINDS,
    LENGTH,
    MASS,
    MONEY,
    PERCENT,
    RATIO,
    SPEED,
    TEMPERATURE,
    TIME,
    Kind,
)
from kerfdocket.quantity.measure import Measure, Within, parse_measure
from kerfdocket.quantity.show import number_text, printed_unit, value_text

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
    "RATIO",
    "SPEED",
    "TEMPERATURE",
    "TIME",
    "Kind",
    "Measure",
    "Within",
    "number_text",
    "parse_measure",
    "printed_unit",
    "value_text",
]
