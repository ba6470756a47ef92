"""The languages there are and their catalogs."""

from dataclasses import dataclass
from functools import cache
from gettext import GNUTranslations, NullTranslations
from io import BytesIO
from pathlib import Path

from kerfdocket.language._pseudo import PseudoTranslations

__all__ = ["ENGLISH", "LANGUAGES", "PSEUDO", "Language", "catalog_path", "language_named"]


@dataclass(frozen=True)
class Language:
    """A language that the program speaks.

    Attributes:
        code: as in BCP 47, also the name of its catalog's folder.
        name: in the language itself.
        is_reviewed: False where nobody of the trade who grew up with it has read it yet.
    """

    code: str
    name: str
    is_reviewed: bool = True

    @property
    def catalog(self) -> NullTranslations:
        """Its catalog, read once."""
        return _catalog(self.code)


ENGLISH = Language("en", "English")
GERMAN = Language("de", "Deutsch", is_reviewed=False)
# Unicode's code for accented, lengthened English: shows what is not translated and what overflows.
PSEUDO = Language("en-XA", "Pseudo", is_reviewed=False)
LANGUAGES: tuple[Language, ...] = (ENGLISH, GERMAN)


def language_named(code: str) -> Language:
    """Return the language of a code, or English where there is none such.

    >>> language_named("de_AT.UTF-8").code, language_named("xx").code
    ('de', 'en')
    """
    if code == PSEUDO.code:
        return PSEUDO
    first = code.replace("-", "_").partition("_")[0].partition(".")[0].lower()
    return next((one for one in LANGUAGES if one.code == first), ENGLISH)


def catalog_path(code: str) -> Path:
    """Return where the catalog of a language is. [path]"""
    return Path(__file__).parent / "catalogs" / code / "LC_MESSAGES" / "kerfdocket.po"


@cache
def _catalog(code: str) -> NullTranslations:
    if code == ENGLISH.code:
        return NullTranslations()
    if code == PSEUDO.code:
        return PseudoTranslations()
    # Read as it is edited, so that no compiled copy can be older than it.
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    compiled = BytesIO()
    with catalog_path(code).open("rb") as file:
        write_mo(compiled, read_po(file, locale=code))
    compiled.seek(0)
    return GNUTranslations(compiled)
