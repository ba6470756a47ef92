"""What stands as a source where there is no publication; said in a language where it is shown.

Several are joined by `join_sources`; each part is a message of its own.
"""

from kerfdocket.language import marked

__all__ = ["DERIVED", "FRICTION_FACTOR", "GAS_LAW", "NO_SOURCE", "PLANNER", "THIS_PROGRAM"]

DERIVED = marked("derived")
FRICTION_FACTOR = marked("friction factor after Haaland 1983")
GAS_LAW = marked("derived: gas law")
NO_SOURCE = marked("common practice, no source")
PLANNER = marked("the planner")
THIS_PROGRAM = marked("this program")
