"""The job file that a printed sheet carries inside its PDF; a pack's has one for each job."""

import io
from typing import Any

from kerfdocket.errors import InputError
from kerfdocket.language import _

__all__ = ["CARRIED_NAME", "job_text_in_pdf"]

CARRIED_NAME = "job.toml"
_LARGEST = 1_000_000  # bytes of the carried file
_MOST_NAMED = 20
_IN_PACK = f".{CARRIED_NAME}"  # behind the job's number


def job_text_in_pdf(content: bytes, name: str | None = None) -> str:
    """Return the job file that a sheet's or a pack's PDF carries.

    Args:
        content: the PDF's bytes.
        name: of the job in a pack, as its files are named; None for the only one.

    Raises:
        InputError: it is no PDF that can be read, or carries no job file, several and none is
            named, or not the one that is named.
    """
    # Only whoever opens a sheet waits for the reader of PDFs.
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        attachments = PdfReader(io.BytesIO(content)).attachments
        found = _chosen(attachments, name)
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        # A damaged file ends in any of these; what is in it is not ours.
        raise InputError(_("this PDF is damaged or protected and cannot be read")) from error
    if len(found) > _LARGEST:
        raise InputError(_("the job file in this PDF is larger than {most} bytes", most=_LARGEST))
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(_("the job file in this PDF is not text")) from error


def _chosen(attachments: Any, name: str | None) -> bytes:
    """Return the job file that is meant."""
    jobs = {
        file.removesuffix(_IN_PACK): file
        for file in sorted(attachments, key=lambda one: one.removesuffix(_IN_PACK))
        if file == CARRIED_NAME or (file.endswith(_IN_PACK) and file != _IN_PACK)
    }
    if not jobs:
        raise InputError(
            _("this PDF carries no job file; only a sheet that this program made has one in it")
        )
    names = ", ".join([*jobs][:_MOST_NAMED]) + (" …" if len(jobs) > _MOST_NAMED else "")
    if name is None:
        if len(jobs) > 1:
            raise InputError(
                _(
                    "this is a pack of {count} jobs: {names}; name one: "
                    "kerfdocket open FILE.pdf --job {first}",
                    count=len(jobs),
                    names=names,
                    first=next(iter(jobs)),
                )
            )
        name = next(iter(jobs))
    if name not in jobs:
        raise InputError(
            _("{name} is no job of this PDF; it has: {names}", name=repr(name), names=names)
        )
    content: bytes = attachments[jobs[name]][0]
    return content
