"""Typed, checked access to the shipped tables; every row keeps its source."""

from kerfdocket.reference.hazards import HAZARD_WORDS
from kerfdocket.reference.library import Reference, load_reference
from kerfdocket.reference.table import Figure, Range, TableError, Trust

__all__ = ["HAZARD_WORDS", "Figure", "Range", "Reference", "TableError", "Trust", "load_reference"]
