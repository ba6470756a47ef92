"""Makes the application, the window, and what catches faults."""

import sys
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from kerfdocket.language import current_language, language_named, set_language
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.preferences import remembered_language
from kerfdocket.window.qt_texts import say_qt_texts
from kerfdocket.window.services import Services

__all__ = ["run"]


def run(argv_file: Path | None, services: Services, language: str | None = None) -> int:
    """Show the main window and run until it is closed; see `kerfdocket.window.open_window`."""
    application = QApplication.instance()
    if not isinstance(application, QApplication):
        application = QApplication(sys.argv[:1])
    application.setApplicationName("kerfdocket")
    application.setApplicationDisplayName("Kerfdocket")
    chosen = language_named(language) if language else None
    set_language(chosen or remembered_language(services.preferences()) or current_language())
    say_qt_texts(application, current_language())
    window = MainWindow(services, argv_file)
    window.resize(window.sizeHint())
    window.show()
    # Loaded while the window system brings the window up.
    from kerfdocket.window.messages import BugCatcher

    catcher = BugCatcher()
    # Queued: a box must not open inside whatever failed, such as a paint.
    catcher.caught.connect(window.report_bug, Qt.ConnectionType.QueuedConnection)
    catcher.install()
    try:
        return application.exec()
    finally:
        catcher.remove()
        window.shut_down(keep_copy=window.document.is_changed and window.isVisible())
