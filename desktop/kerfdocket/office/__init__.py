"""What an office does with sheets and their archive together, for the window and the commands."""

from kerfdocket.office.comparing import (
    compare_texts,
    compare_traveller,
    job_of_traveller,
    ratios_with,
)
from kerfdocket.office.finding import gas_as_kept
from kerfdocket.office.issuing import issue_job, issued_sheet, reissue_job, unchanged_text
from kerfdocket.office.watching import Looked, Watch

__all__ = [
    "Looked",
    "Watch",
    "compare_texts",
    "compare_traveller",
    "gas_as_kept",
    "issue_job",
    "issued_sheet",
    "job_of_traveller",
    "ratios_with",
    "reissue_job",
    "unchanged_text",
]
