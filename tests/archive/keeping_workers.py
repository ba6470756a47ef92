"""What tests of keeping let other processes do to an archive."""

import resource
from pathlib import Path

from kerfdocket.archive import open_archive
from kerfdocket.archive.keeping import backup, export
from kerfdocket.errors import KerfdocketError


def keep_for_ever(place: str, folder: str) -> None:
    """Make backup after backup and export after export, each under a new name."""
    archive = open_archive(place)
    at = 0
    while True:
        at += 1
        backup(archive, Path(folder) / f"{at}.sqlite")
        export(archive, Path(folder) / f"{at}")


def keep_on_a_full_disk(place: str, folder: str, said: str) -> None:
    """Write down what is said where no file may grow beyond a million bytes."""
    archive = open_archive(place)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, 1_000_000))
    errors = []
    for keep in (
        lambda: backup(archive, Path(folder) / "b.sqlite"),
        lambda: export(archive, Path(folder) / "export"),
    ):
        try:
            keep()
        except KerfdocketError as error:
            errors.append(f"{type(error).__name__}: {error}\n")
    Path(said).write_text("".join(errors))
