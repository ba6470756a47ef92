"""Keeping an archive: backup, export, what need not be kept any longer, and what it tells."""

from kerfdocket.archive.keeping.copying import Copied, backup, restore
from kerfdocket.archive.keeping.export import Exported, export
from kerfdocket.archive.keeping.imported import Imported, import_export
from kerfdocket.archive.keeping.retention import (
    YEARS,
    GivingUp,
    Proposal,
    Rule,
    discard,
    proposals,
    would_discard,
)
from kerfdocket.archive.keeping.rows import NotWhole
from kerfdocket.archive.keeping.stats import BANDS_M, FEWEST, KINDS, Ratios, Spread, Stats, stats

__all__ = [
    "BANDS_M",
    "FEWEST",
    "KINDS",
    "YEARS",
    "Copied",
    "Exported",
    "GivingUp",
    "Imported",
    "NotWhole",
    "Proposal",
    "Ratios",
    "Rule",
    "Spread",
    "Stats",
    "backup",
    "discard",
    "export",
    "import_export",
    "proposals",
    "restore",
    "stats",
    "would_discard",
]
