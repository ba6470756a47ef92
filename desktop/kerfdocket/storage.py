"""Writing files so that a reader never sees half of one."""

import contextlib
import os
import tempfile
from pathlib import Path

from kerfdocket.errors import EnvironmentProblem

__all__ = ["write_atomically"]


def write_atomically(path: Path, content: bytes) -> None:
    """Write `content` to `path`: wholly, or not at all with the old file untouched.

    Args:
        path: the file to make or replace; its folder must exist.
        content: all bytes of it.

    Raises:
        EnvironmentProblem: it cannot be written there; the message says why.
    """
    target = path.resolve()  # a link keeps pointing to the file that is replaced
    if target.is_dir():
        raise EnvironmentProblem(f"{path} is a folder; give the name of a file")
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.")
    except OSError as error:
        raise EnvironmentProblem(f"cannot write {path}: {error.strerror}") from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes private files; a job sheet gets the rights that any new file would.
        mask = os.umask(0)
        os.umask(mask)
        Path(name).chmod(target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~mask)
        Path(name).replace(target)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise EnvironmentProblem(f"cannot write {path}: {error.strerror}") from error
