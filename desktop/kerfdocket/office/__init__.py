"""What an office does with sheets and their archive together, for the window and the commands."""

from kerfdocket.office.issuing import issue_job, issued_sheet, reissue_job
from kerfdocket.office.watching import Looked, Watch

__all__ = ["Looked", "Watch", "issue_job", "issued_sheet", "reissue_job"]
