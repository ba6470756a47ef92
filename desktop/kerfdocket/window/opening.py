"""What keeps a job file out of the form."""

from collections.abc import Mapping
from typing import Any

from kerfdocket.job import JobError, read_job

__all__ = ["refuse_unmendable"]


def refuse_unmendable(raw: Mapping[str, Any], origin: str) -> None:
    """Refuse only what no field can mend: what is no job file, or of a newer format.

    Args:
        raw: keys and values of the file.
        origin: what the file is called in messages.

    Raises:
        JobError: the form cannot show it.
    """
    if raw.get("kerfdocket-job") == 1:
        return
    try:
        read_job(raw)
    except JobError as error:
        general = tuple(p for p in error.problems if p.where in {"", "kerfdocket-job"})
        raise JobError(general or error.problems, origin) from error
