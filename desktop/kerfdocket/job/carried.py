"""The job file that a printed sheet carries inside its PDF."""

import io

from kerfdocket.errors import InputError
from kerfdocket.language import _

__all__ = ["CARRIED_NAME", "job_text_in_pdf"]

CARRIED_NAME = "job.toml"
_LARGEST = 1_000_000  # bytes of the carried file


def job_text_in_pdf(content: bytes) -> str:
    """Return the job file that a sheet's PDF carries.

    Args:
        content: the PDF's bytes.

    Raises:
        InputError: it is no PDF that can be read, or carries no job file.
    """
    # Only whoever opens a sheet waits for the reader of PDFs.
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        found = PdfReader(io.BytesIO(content)).attachments.get(CARRIED_NAME, [])
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        # A damaged file ends in any of these; what is in it is not ours.
        raise InputError(_("this PDF is damaged or protected and cannot be read")) from error
    if not found:
        raise InputError(
            _("this PDF carries no job file; only a sheet that this program made has one in it")
        )
    if len(found[0]) > _LARGEST:
        raise InputError(_("the job file in this PDF is larger than {most} bytes", most=_LARGEST))
    try:
        return found[0].decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(_("the job file in this PDF is not text")) from error
