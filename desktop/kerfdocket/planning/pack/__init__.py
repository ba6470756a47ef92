"""Several jobs as one pack: in which order to cut them, what to fetch, how long they take."""

from kerfdocket.planning.pack.make import make_pack
from kerfdocket.planning.pack.model import (
    Changes,
    CylinderKind,
    Fetch,
    FromOutlet,
    GasTotal,
    Missing,
    NozzleKind,
    NozzleNeed,
    Pack,
    PackedJob,
    Total,
    places_text,
)
from kerfdocket.planning.pack.order import count_changes, proposed_order
from kerfdocket.planning.pack.pick_list import pick_list_csv
from kerfdocket.planning.pack.words import cylinder_text

__all__ = [
    "Changes",
    "CylinderKind",
    "Fetch",
    "FromOutlet",
    "GasTotal",
    "Missing",
    "NozzleKind",
    "NozzleNeed",
    "Pack",
    "PackedJob",
    "Total",
    "count_changes",
    "cylinder_text",
    "make_pack",
    "pick_list_csv",
    "places_text",
    "proposed_order",
]
