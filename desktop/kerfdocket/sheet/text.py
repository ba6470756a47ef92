"""Text as it stands on paper: nothing hidden in it, no number parted from its unit."""

import re
import unicodedata

__all__ = ["page_words", "plain", "said", "tied"]

_NUMBER_AND_UNIT = re.compile(
    r"(?<=\d) (?=(?:bar|mm|m|m³|L|kg|s|min|°C|%|µm|psi|ft|in|ft³|lb|°F)(?:\W|$))"
)
_PLACE = re.compile(r"\{pages?\}")


def plain(text: str) -> str:
    """Return `text` with everything that is no text made visible.

    Control characters would end up in the PDF's own strings, direction marks would turn the
    printed order of what follows.
    """
    shown = []
    for letter in text:
        if letter in "\n\t\r\u2028\u2029":
            shown.append(" " if letter in "\t\r" else "\n")
        elif letter in "\u200c\u200d\u00ad":
            shown.append(letter)  # these belong to how some words are written
        elif unicodedata.category(letter) in {"Cc", "Cf", "Cs", "Co", "Cn"}:
            shown.append("\ufffd")
        else:
            shown.append(letter)
    return "".join(shown)


def said(text: str) -> str:
    """Return the plan's own text; a number is not parted from its unit at the end of a line."""
    return _NUMBER_AND_UNIT.sub("\u00a0", plain(text))


def tied(text: str) -> str:
    """Return a short text that stays on one line, such as a number with its unit."""
    return text.replace(" ", "\u00a0")


def page_words(text: str) -> tuple[str, ...]:
    """Return what stands before, between and behind the two numbers of a page.

    >>> page_words("page {page} of {pages}")
    ('page ', ' of ', '')
    """
    return tuple(_PLACE.split(text))
