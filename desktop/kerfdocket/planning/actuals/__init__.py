"""Actuals: what was written on the sheet of a finished job, read and held against its plan."""

from kerfdocket.planning.actuals.compare import (
    SENSES,
    ComparedRow,
    Comparison,
    Sense,
    compare,
)
from kerfdocket.planning.actuals.fields import (
    ACTUAL_FIELDS,
    ActualField,
    Side,
    place_kinds,
    place_unit,
)
from kerfdocket.planning.actuals.moments import Moment, read_moment, time_taken
from kerfdocket.planning.actuals.planned import (
    Planned,
    PlannedValue,
    planned_of,
    planned_values,
)
from kerfdocket.planning.actuals.reading import Actuals, ActualValue, Change, read_actuals

__all__ = [
    "ACTUAL_FIELDS",
    "SENSES",
    "ActualField",
    "ActualValue",
    "Actuals",
    "Change",
    "ComparedRow",
    "Comparison",
    "Moment",
    "Planned",
    "PlannedValue",
    "Sense",
    "Side",
    "compare",
    "place_kinds",
    "place_unit",
    "planned_of",
    "planned_values",
    "read_actuals",
    "read_moment",
    "time_taken",
]
