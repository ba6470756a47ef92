"""The archive of travellers: what was issued, what became of it, proof that nothing was altered."""

from kerfdocket.archive.errors import ArchiveProblem, NotPossible
from kerfdocket.archive.model import STATES, Event, IssuedSheet, State, Traveller
from kerfdocket.archive.store import Archive, default_archive, open_archive
from kerfdocket.archive.verify import Fault, verify

__all__ = [
    "STATES",
    "Archive",
    "ArchiveProblem",
    "Event",
    "Fault",
    "IssuedSheet",
    "NotPossible",
    "State",
    "Traveller",
    "default_archive",
    "open_archive",
    "verify",
]
