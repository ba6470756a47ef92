"""The texts that Qt itself brings: buttons of boxes, the printer's dialog, menus of editors."""

from PySide6.QtCore import QCoreApplication, QLibraryInfo, QTranslator

from kerfdocket.language import Language

__all__ = ["say_qt_texts"]

_NAME = "texts of Qt"


def say_qt_texts(application: QCoreApplication, language: Language) -> None:
    """Let Qt's own texts be in a language, or in English where Qt has no translation."""
    for old in application.findChildren(QTranslator, _NAME):
        application.removeTranslator(old)
        old.setParent(None)
        old.deleteLater()
    folder = QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)
    translator = QTranslator(application)
    translator.setObjectName(_NAME)
    if translator.load(f"qtbase_{language.code}", folder):
        application.installTranslator(translator)
    else:
        translator.deleteLater()
