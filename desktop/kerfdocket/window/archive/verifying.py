"""Going over the whole archive, in a process of its own: it takes long, and may be given up."""

from dataclasses import dataclass

from kerfdocket.language import language_named, speaking

__all__ = ["Verified", "verify_archive"]


@dataclass(frozen=True)
class Verified:
    """What going over the archive has shown.

    Attributes:
        faults: in words; empty if nothing was altered or lost.
        count: how many events there are.
        last: hash of the last one, to be noted down elsewhere.
    """

    faults: tuple[str, ...]
    count: int
    last: str


def verify_archive(place: str, language: str) -> Verified:
    """Go over an archive.

    Args:
        place: of it.
        language: code of the language in which to say what is wrong.

    Raises:
        NotPossible: there is none.
        ArchiveProblem: it cannot be read.
    """
    from contextlib import closing

    from kerfdocket.archive import open_archive, verify

    # The process begins in English, whatever its window speaks. An empty archive that was made just
    # now, as the disk of the one that was meant is gone, would be found to be all right.
    with (
        speaking(language_named(language)),
        closing(open_archive(place, may_be_made=False)) as archive,
    ):
        faults = verify(archive)
        count, last = archive.head()
    return Verified(tuple(map(str, faults)), count, last)
