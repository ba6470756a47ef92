"""Starts the program: wires the parts together and nothing else."""

import os
import sys
from pathlib import Path

from kerfdocket.language import (
    _,
    current_language,
    environment_language,
    language_named,
    set_language,
    speaking,
)

__all__ = ["main"]


def _has_display() -> bool:
    if sys.platform != "linux" or os.environ.get("QT_QPA_PLATFORM"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _open_window(job: Path | None, language: str | None = None) -> int:
    if not _has_display():
        with speaking(language_named(language) if language else current_language()):
            text = _("no display for a window; use: kerfdocket sheet JOB.toml -o FILE.pdf")
        print(text, file=sys.stderr)
        return 2
    # Qt loads only when a window is wanted.
    from kerfdocket.window import default_services, open_window

    return open_window(job, default_services(), language)


def main() -> int:
    """Run the command line; return the exit code."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal without UTF-8 gets a question mark for a dash, not a traceback.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
    from kerfdocket.command import run

    set_language(environment_language())
    try:
        return run(sys.argv[1:], _open_window)
    except BrokenPipeError:
        # The reader closed the pipe, as `| head` does.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


if __name__ == "__main__":
    sys.exit(main())
