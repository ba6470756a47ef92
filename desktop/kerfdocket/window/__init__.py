"""The window: a form that follows the gas from cylinder to plate, with the sheet beside it."""

from pathlib import Path

from kerfdocket.window.services import LoadedFile, Services, default_services

__all__ = ["LoadedFile", "Services", "default_services", "open_window"]


def open_window(argv_file: Path | None, services: Services, language: str | None = None) -> int:
    """Show the main window and run until it is closed.

    Args:
        argv_file: job file to open at once, or None.
        services: what the window calls on; see `default_services`.
        language: code of the one to speak, where it was asked for. None: the one that was last
            chosen in the window, or where none was, the one that the process speaks.

    Returns:
        Exit code of the application.
    """
    # Qt is loaded here and not above: `import kerfdocket.window` must cost next to nothing.
    from kerfdocket.window.application import run

    return run(argv_file, services, language)
