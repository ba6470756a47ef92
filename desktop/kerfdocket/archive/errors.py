"""What keeps the archive from doing what is asked."""

from kerfdocket.errors import EnvironmentProblem, InputError

__all__ = [
    "ArchiveProblem",
    "ChangedMeanwhile",
    "GivenUp",
    "NoArchive",
    "NotPossible",
    "NotReadable",
    "ReasonNeeded",
]


class ArchiveProblem(EnvironmentProblem):
    """The archive cannot be opened, read or written; nothing was changed."""


class NotPossible(InputError):
    """What is asked does not fit what the archive holds; the message says what would."""


class ChangedMeanwhile(NotPossible):
    """Someone else changed it since it was read; nothing was written over."""


class NoArchive(NotPossible):
    """There is none at that place; the message says what makes one."""


class GivenUp(NotPossible):
    """A content was given up on purpose; the message says when, by whom and why."""


class ReasonNeeded(NotPossible):
    """It can be done for a reason, and none was given."""


class NotReadable(InputError):
    """What came back is no file that sheets come back in; the message says what would be."""
