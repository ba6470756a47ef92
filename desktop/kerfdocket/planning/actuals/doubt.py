"""Readings that look like another unit's: said, never altered."""

from kerfdocket.language import _
from kerfdocket.quantity import GAUGE_PRESSURE, Measure, value_text

__all__ = ["unit_hint"]

_OTHER = {"bar": "psi", "psi": "bar"}  # 14.5 psi are 1 bar
# How far beyond what is expected a reading in the other unit may be and still be taken for one:
# common practice, no source; far less than the factor of 14.5 that it must tell apart.
_WIDE = 1.25


def unit_hint(measure: Measure, low_si: float, high_si: float) -> str:
    """Say that a pressure would be as expected if it were in the other of bar and psi.

    Args:
        measure: as it was read.
        low_si, high_si: between which it is expected. [Pa gauge]

    Returns:
        A sentence; empty where the reading is as expected, or is no better in the other unit.
    """
    other = _OTHER.get(measure.unit)
    if measure.kind is not GAUGE_PRESSURE or other is None:
        return ""
    low, high = low_si / _WIDE, high_si * _WIDE
    number = float(measure.number)
    if low <= measure.si <= high or not low <= GAUGE_PRESSURE.to_si(number, other) <= high:
        return ""
    return _(
        "{reading} would be as expected: look whether the unit is right. Nothing was altered.",
        reading=value_text(number, other),
    )
