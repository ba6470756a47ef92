"""Saying a text in the language that is spoken."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from kerfdocket.language._catalogs import ENGLISH, Language, language_named

__all__ = [
    "_",
    "counted",
    "current_language",
    "environment_language",
    "marked",
    "review_note",
    "sense",
    "set_language",
    "speaking",
]

# Threads start with an empty context; they speak what the process does.
_of_process = ENGLISH
_for_a_while: ContextVar[Language | None] = ContextVar("language", default=None)


def current_language() -> Language:
    """Return the language that is spoken here and now."""
    return _for_a_while.get() or _of_process


def set_language(language: Language) -> None:
    """Let the process speak a language from now on; for where it starts, and nowhere else."""
    global _of_process  # one per process is what is meant
    _of_process = language


@contextmanager
def speaking(language: Language) -> Iterator[None]:
    """Speak a language within the block, in this thread."""
    token = _for_a_while.set(language)
    try:
        yield
    finally:
        _for_a_while.reset(token)


def review_note() -> str:
    """Return the word that nobody of the trade has read this language yet; empty where one has."""
    if current_language().is_reviewed:
        return ""
    return _("Translation not yet reviewed by a safety specialist.")


def environment_language() -> Language:
    """Return the language that the surroundings ask for, as gettext reads them."""
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        if value := os.environ.get(name):
            return language_named(value.partition(":")[0])
    return ENGLISH


def _(message: str, **values: object) -> str:
    """Return a message in the current language, its places filled.

    Args:
        message: whole sentences where it can be, with named places: "Open the {valve} slowly."
        **values: what goes into the places.

    >>> _("Open the {valve} slowly.", valve="oxygen valve")
    'Open the oxygen valve slowly.'
    """
    if not message:
        return ""  # gettext answers an empty message with the catalog's own head
    said = current_language().catalog.gettext(message)
    return said.format(**values) if values else said


def counted(one: str, many: str, count: int, **values: object) -> str:
    """Return a message in the form that a number takes; `{count}` is the number.

    >>> counted("{count} reading", "{count} readings", 3)
    '3 readings'
    """
    said = current_language().catalog.ngettext(one, many, count)
    return said.format(count=count, **values)


def sense(meaning: str, message: str, **values: object) -> str:
    """Return a short message that has several senses, in the one that is meant.

    >>> sense("of a cylinder valve", "Open")
    'Open'
    """
    said = current_language().catalog.pgettext(meaning, message)
    return said.format(**values) if values else said


def marked(message: str) -> str:
    """Return a message as it is, for a constant that is handed to `_` where it is said."""
    return message
