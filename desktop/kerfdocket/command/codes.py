"""What a command's exit code says."""

__all__ = ["BAD_INPUT", "GOOD", "STOPPED"]

GOOD, STOPPED, BAD_INPUT = 0, 1, 2
