"""A language for tests: English with accents and a third longer, each text between brackets.

What comes out without them was never handed to the catalog; what no longer fits its place would not
fit in a language that is longer than English either.
"""

import re
from gettext import NullTranslations

__all__ = ["PseudoTranslations"]

_ACCENTS = str.maketrans("aeiouAEIOUcnsyz", "àéîõûÀÉÎÕÛçñšýž")
_PLACE = re.compile(r"(\{[^}]*\})")
_LONGER = 0.35  # German is that much longer than English: measured on our own catalog
_FILL = "lorem ipsum dolor sit amet "


def pseudo(message: str) -> str:
    """Return a text accented, lengthened and between brackets; its places stay.

    >>> pseudo("Cut {length}")
    '⟦Cût {length} lor⟧'
    """
    parts = _PLACE.split(message)
    said = "".join(
        part if number % 2 else part.translate(_ACCENTS) for number, part in enumerate(parts)
    )
    letters = sum(len(part) for part in parts[::2])
    more = max(3, round(letters * _LONGER))
    fill = (_FILL * (more // len(_FILL) + 1))[:more].strip()
    return f"⟦{said} {fill}⟧"


class PseudoTranslations(NullTranslations):
    """Answers every message with its pseudo form."""

    def gettext(self, message: str) -> str:
        return pseudo(message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return pseudo(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:  # noqa: ARG002  # as gettext has it
        return pseudo(message)
