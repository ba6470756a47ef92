"""Quantities as the form shows them, in the job's units; what was stated stays as it was."""

from kerfdocket.errors import InputError
from kerfdocket.language import marked
from kerfdocket.quantity import METRIC, UNIT_SYSTEMS, Kind, UnitSystem, parse_measure
from kerfdocket.window.document import Document

__all__ = ["UNIT_NAMES", "in_units", "system_of"]

# What the menu calls each system, by its name in a job.
UNIT_NAMES = (
    ("metric", marked("&Metric units")),
    ("US customary", marked("&US customary units")),
)


def system_of(document: Document) -> UnitSystem:
    """Return the units that a document wants; metric ones where it names none that are known."""
    return UNIT_SYSTEMS.get(str(document.value("units")), METRIC)


def in_units(text: str, kind: Kind, system: UnitSystem) -> str:
    """Return a stated quantity in the units of a system.

    Args:
        text: as stated.
        kind: what it must be.
        system: the units wanted.

    Returns:
        Number and unit; the text itself where it is in such units already, or is no quantity.

    >>> from kerfdocket.quantity import LENGTH, US_CUSTOMARY
    >>> in_units("20 mm", LENGTH, US_CUSTOMARY), in_units("0,787in", LENGTH, US_CUSTOMARY)
    ('0.787 in', '0,787in')
    """
    try:
        measure = parse_measure(text, kind)
    except InputError:
        return text
    return text if system.owns(measure) else _typeable(system.converted(measure), kind)


def _typeable(shown: str, kind: Kind) -> str:
    """A value that can be typed as it is shown: `1,181 in` could mean a thousand and more."""
    try:
        parse_measure(shown, kind)
    except InputError:
        return shown.replace(",", ".")
    return shown
