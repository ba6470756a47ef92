"""The archive of travellers: what was issued, what became of it, proof that nothing was altered."""

from kerfdocket.archive.actuals import actuals_of, record_actuals
from kerfdocket.archive.drafts import (
    draft,
    drafts,
    end_draft,
    hold_draft,
    issue_draft,
    new_draft,
    reissue_draft,
    release_draft,
    save_draft,
)
from kerfdocket.archive.errors import (
    ArchiveProblem,
    ChangedMeanwhile,
    GivenUp,
    NotPossible,
    NotReadable,
)
from kerfdocket.archive.model import (
    STATES,
    Draft,
    Event,
    IssuedSheet,
    PageOfTraveller,
    State,
    Traveller,
)
from kerfdocket.archive.pages import (
    Taken,
    TakenPage,
    keep_pages,
    match_page,
    pages_of,
    set_page_aside,
    take_file,
    tray,
    warning_of,
)
from kerfdocket.archive.store import Archive, default_archive, open_archive
from kerfdocket.archive.verify import Fault, verify

__all__ = [
    "STATES",
    "Archive",
    "ArchiveProblem",
    "ChangedMeanwhile",
    "Draft",
    "Event",
    "Fault",
    "GivenUp",
    "IssuedSheet",
    "NotPossible",
    "NotReadable",
    "PageOfTraveller",
    "State",
    "Taken",
    "TakenPage",
    "Traveller",
    "actuals_of",
    "default_archive",
    "draft",
    "drafts",
    "end_draft",
    "hold_draft",
    "issue_draft",
    "keep_pages",
    "match_page",
    "new_draft",
    "open_archive",
    "pages_of",
    "record_actuals",
    "reissue_draft",
    "release_draft",
    "save_draft",
    "set_page_aside",
    "take_file",
    "tray",
    "verify",
    "warning_of",
]
