"""Commands without a window."""

from kerfdocket.command.cli import BAD_INPUT, GOOD, STOPPED, run

__all__ = ["BAD_INPUT", "GOOD", "STOPPED", "run"]
