"""What stands as a source where there is no publication; said in a language where it is shown."""

from kerfdocket.language import marked

__all__ = ["DERIVED", "GAS_LAW", "NO_SOURCE", "PLANNER", "THIS_PROGRAM"]

DERIVED = marked("derived")
GAS_LAW = marked("derived: gas law")
NO_SOURCE = marked("common practice, no source")
PLANNER = marked("the planner")
THIS_PROGRAM = marked("this program")
