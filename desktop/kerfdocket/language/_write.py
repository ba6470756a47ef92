"""Numbers, dates and lists as a language writes them."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from functools import cache

from kerfdocket.language._catalogs import ENGLISH, PSEUDO
from kerfdocket.language._say import _, current_language

__all__ = [
    "date_text",
    "decimal_text",
    "in_language",
    "listed",
    "moment_text",
    "one_of_listed",
    "titled",
    "zone_text",
    "zones_text",
]

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


def moment_text(utc: str) -> str:
    """Return day and time on the clock of this computer; `zones_text` says once what clock that is.

    Args:
        utc: a moment as the archive keeps it, in ISO 8601. [text]

    Raises:
        ValueError: it is none.
    """
    here = datetime.fromisoformat(utc).astimezone()
    return f"{date_text(here.date())} {here:%H:%M}"


def zone_text(utc: str) -> str:
    """Return how far the clock here was from UTC at a moment, as `UTC+01:00`.

    Args:
        utc: the moment; ISO 8601. [text]

    Raises:
        ValueError: it is none.
    """
    offset = f"{datetime.fromisoformat(utc).astimezone():%z}"
    # Seconds there are none in any zone of today.
    return f"UTC{offset[:3]}:{offset[3:5]}".replace("-", "−")


def zones_text(moments: Iterable[str]) -> str:
    """Say how far the clock that `moment_text` reads is from UTC; twice a year that may change.

    Args:
        moments: all that are shown; ISO 8601. [text]

    Raises:
        ValueError: one is none.
    """
    zones = sorted(set(map(zone_text, moments)))
    return _("Times on the clock here: {zones}.", zones=listed(zones)) if zones else ""


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
