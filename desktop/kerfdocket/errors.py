"""Errors of Kerfdocket.

* KerfdocketError
  - InputError          the person can put it right; `str(error)` is the message
  - EnvironmentProblem  a file cannot be written, shipped data is missing, disk full
    . ResourceMissing   shipped tables or sheet templates are not where they belong

Anything else that reaches the top is a bug.
"""

__all__ = ["EnvironmentProblem", "InputError", "KerfdocketError", "ResourceMissing"]


class KerfdocketError(Exception):
    """Any error that Kerfdocket raises on purpose."""


class InputError(KerfdocketError):
    """What was given cannot be used; the message says what would be accepted."""


class EnvironmentProblem(KerfdocketError):
    """Something outside the program stands in the way; the message says what to do."""


class ResourceMissing(EnvironmentProblem):
    """Shipped data is not where it belongs."""
