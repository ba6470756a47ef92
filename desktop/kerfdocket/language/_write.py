"""Numbers, dates and lists as a language writes them."""

from collections.abc import Sequence
from datetime import date
from functools import cache

from kerfdocket.language._catalogs import ENGLISH, PSEUDO
from kerfdocket.language._say import _, current_language

__all__ = ["date_text", "decimal_text", "in_language", "listed", "one_of_listed", "titled"]

_LIKE_ENGLISH = {ENGLISH.code, PSEUDO.code}


@cache
def _decimal_sign(code: str) -> str:
    if code in _LIKE_ENGLISH:
        return "."
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(code)


def in_language(number: str) -> str:
    """Return a number that is written with a decimal point as the language writes it.

    >>> in_language("12.50")
    '12.50'
    """
    return number.replace(".", _decimal_sign(current_language().code))


def decimal_text(value: float, places: int = 0) -> str:
    """Return a number with so many decimals.

    >>> decimal_text(-1.25, 1)
    '-1.2'
    """
    return in_language(f"{value:.{places}f}")


def date_text(day: date) -> str:
    """Return a date; in English as ISO 8601 has it, as British and Americans part over any other.

    >>> date_text(date(2026, 3, 4))
    '2026-03-04'
    """
    code = current_language().code
    if code in _LIKE_ENGLISH:
        return day.isoformat()
    from babel.dates import format_date

    return format_date(day, "medium", locale=code)


def listed(items: Sequence[str]) -> str:
    """Return items as a list in a sentence.

    >>> listed(["oxygen", "propane"]), listed(["a", "b", "c"]), listed(["a"])
    ('oxygen and propane', 'a, b and c', 'a')
    """
    if len(items) < 2:
        return "".join(items)
    return _("{items} and {last_item}", items=", ".join(items[:-1]), last_item=items[-1])


def one_of_listed(items: Sequence[str]) -> str:
    """Return items as a list of which one is to be taken.

    >>> one_of_listed(["oxygen", "propane"]), one_of_listed(["a", "b", "c"]), one_of_listed(["a"])
    ('oxygen or propane', 'a, b or c', 'a')
    """
    if len(items) < 2:
        return "".join(items)
    return _("{items} or {last_item}", items=", ".join(items[:-1]), last_item=items[-1])


def titled(words: str) -> str:
    """Return words as a heading or the begin of a sentence: a capital first, the rest as it is.

    >>> titled("natural gas")
    'Natural gas'
    """
    return words[:1].upper() + words[1:]
