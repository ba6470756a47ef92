"""Times of day as a person writes them, with or without their date."""

import re
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from kerfdocket.errors import InputError
from kerfdocket.language import _, date_text

__all__ = ["Moment", "Taken", "is_before", "quoted", "read_moment", "time_taken", "with_days"]

_DAY_S = 86_400
_LONGEST_TEXT = 60
_FIRST_YEAR, _LAST_YEAR = 1900, 2199  # any other is a slip of the pen


def _clock(signs: str) -> str:
    """Return the form of a time of day, with these signs between hours and minutes."""
    return (
        rf"(?:(?P<hour>\d{{1,2}})(?:[{signs}](?P<minute>\d{{2}})(?::(?P<second>\d{{2}}))?)?"
        r"|(?P<four>\d{4}))"
        r"\s*(?P<half>[ap])?(?P<mark>\.?m\.?)?\s*(?P<word>h|uhr)?"
    )


_ISO = r"(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})"
_DOTS = r"(?P<day>\d{1,2})\.\s?(?P<month>\d{1,2})\.(?:\s?(?P<year>\d{4}|\d{2}))?"
_SLASHES = r"(?P<first>\d{1,2})/(?P<other>\d{1,2})(?:/(?P<year>\d{4}|\d{2}))?"
# Without its last dot a date looks like a time: the time must be written in another way then.
_ONE_DOT = r"(?P<day>\d{1,2})\.(?P<month>\d{1,2})(?P<year>)"
_BETWEEN = r"(?:\s*[,T]\s*|\s+|(?<=\.))"
_DAYS = ((_ISO, ":.h"), (_DOTS, ":.h"), (_SLASHES, ":.h"), (_ONE_DOT, ":h"))
_BOTH = tuple(
    re.compile(form, re.IGNORECASE)
    for day, signs in _DAYS
    for form in (
        rf"{day}{_BETWEEN}{_clock(signs)}",
        rf"{_clock(signs)}(?:\s*,\s*|\s+){day}",
    )
)
_CLOCK_ALONE = re.compile(_clock(":.h"), re.IGNORECASE)
_DAY_ALONE = tuple(re.compile(day) for day in (_ISO, _DOTS, _SLASHES))


@dataclass(frozen=True)
class Moment:
    """A time of day, a day, or both.

    Attributes:
        day: None where nothing tells it.
        second: since midnight, 86400 for 24:00; None where only a day is written. [s]
        is_day_stated: False where the day is not written but taken from beside.
    """

    day: date | None
    second: int | None
    is_day_stated: bool = False

    @property
    def clock_text(self) -> str:
        """The time of day, such as `7:05`; empty where there is none."""
        if self.second is None:
            return ""
        hours, rest = divmod(self.second, 3600)
        minutes, seconds = divmod(rest, 60)
        return f"{hours}:{minutes:02}" + (f":{seconds:02}" if seconds else "")

    @property
    def text(self) -> str:
        """As a person of the language reads it."""
        day = date_text(self.day) if self.day is not None and self.is_day_stated else ""
        return f"{day} {self.clock_text}".strip()

    @property
    def plain(self) -> str:
        """As `read_moment` reads it in any language: `2026-11-25 7:05`."""
        day = self.day.isoformat() if self.day is not None and self.is_day_stated else ""
        return f"{day} {self.clock_text}".strip()


def read_moment(
    text: str, near: date | None, order: Literal["day first", "month first"] = "day first"
) -> Moment:
    """Read a time of day, a date, or both, in either order.

    Read are 7:30, 07.30, 0730, 7h30, 7:30 am, 24:00; 2026-11-25, 25.11.2026, 25.11.26, 25.11.,
    and with strokes 25/11 in the order of the region, unless only one order makes a date.

    Args:
        text: what the person wrote. [text]
        near: a day that a date without its year is near to, None where none is known.
        order: of day and month with strokes between.

    Returns:
        The moment; its day is None where none is written.

    Raises:
        InputError: not a time; the message says what would be accepted.

    >>> read_moment("25.11. 7.30", date(2026, 12, 1)).plain
    '2026-11-25 7:30'
    >>> read_moment("2:05 pm", None).plain
    '14:05'
    """
    written = text.strip()
    if len(written) <= _LONGEST_TEXT:
        if found := _CLOCK_ALONE.fullmatch(written):
            second = _second(found)
            if second is not None:
                return Moment(None, second)
        for form in _BOTH:
            if found := form.fullmatch(written):
                day, second = _day(found, near, order, text), _second(found)
                if day is not None and second is not None:
                    return Moment(day, second, is_day_stated=True)
        for form in _DAY_ALONE:
            if found := form.fullmatch(written):
                day = _day(found, near, order, text)
                if day is not None:
                    return Moment(day, None, is_day_stated=True)
    raise InputError(
        _(
            "{given} is not a time; write hours and minutes, such as 7:30, and the date before "
            "it where it is another day, such as 2026-11-25 7:30",
            given=quoted(text),
        )
    )


def quoted(text: str) -> str:
    """Return what a person wrote as a message repeats it, cut short."""
    return repr(text if len(text) <= 40 else text[:37] + "...")


def _second(found: re.Match[str]) -> int | None:
    """Return the seconds since midnight; None for what no clock shows, or a bare hour."""
    half, word = found["half"], found["word"]
    if bool(half) != bool(found["mark"]):
        return None
    if four := found["four"]:
        hour, minute, second = int(four[:2]), int(four[2:]), 0
    else:
        if found["minute"] is None and not half and not word:
            return None  # 7 may be an hour or anything else
        hour, minute = int(found["hour"]), int(found["minute"] or 0)
        second = int(found["second"] or 0)
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half.lower() == "p" else 0)
    whole = hour * 3600 + minute * 60 + second
    return whole if minute < 60 and second < 60 and whole <= _DAY_S else None


def _day(found: re.Match[str], near: date | None, order: str, text: str) -> date | None:
    """Return the day; None for one that no calendar has.

    Raises:
        InputError: the year is not written, and nothing is known that it is near to.
    """
    groups = found.groupdict()
    if "first" in groups:
        first, other = int(groups["first"]), int(groups["other"])
        pairs = [(first, other), (other, first)]  # day, month
        if order == "month first":
            pairs.reverse()
    else:
        pairs = [(int(groups["day"]), int(groups["month"]))]
    day_of_month, month = next((pair for pair in pairs if pair[1] <= 12), pairs[0])
    if written := groups["year"]:
        # Two figures are a year of this century.
        return _made(int(written) + (2000 if len(written) == 2 else 0), month, day_of_month)
    if near is None or not _FIRST_YEAR <= near.year <= _LAST_YEAR:
        raise InputError(
            _(
                "{given} has no year, and nothing here tells it; write the date such as 2026-11-25",
                given=quoted(text),
            )
        )
    years = (near.year - 1, near.year, near.year + 1)
    made = (_made(year, month, day_of_month) for year in years)
    days = [one for one in made if one is not None]
    return min(days, key=lambda day: abs(day - near), default=None)


def _made(year: int, month: int, day: int) -> date | None:
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None


@dataclass(frozen=True)
class Taken:
    """From begun to ended.

    Attributes:
        seconds: negative where it ended before it began. [s]
        is_night_assumed: True where no date says that midnight was passed, but the times do.
    """

    seconds: int
    is_night_assumed: bool


def time_taken(begun: Moment, ended: Moment) -> Taken:
    """Return the time between two moments, past midnight where only times of day are written.

    Args:
        begun: with a time of day.
        ended: with a time of day.

    Raises:
        ValueError: a time of day is lacking.

    >>> time_taken(read_moment("22:30", None), read_moment("1:00", None)).seconds / 3600
    2.5
    """
    if begun.second is None or ended.second is None:
        raise ValueError("both moments must have a time of day")
    seconds = ended.second - begun.second
    if begun.is_day_stated and ended.is_day_stated:
        assert begun.day is not None
        assert ended.day is not None
        return Taken(seconds + (ended.day - begun.day).days * _DAY_S, is_night_assumed=False)
    if seconds < 0:
        return Taken(seconds + _DAY_S, is_night_assumed=True)
    return Taken(seconds, is_night_assumed=False)


def is_before(one: Moment | None, other: Moment | None) -> bool:
    """True if one moment is certainly before another, by what is written of both.

    >>> is_before(read_moment("2026-11-24", None), read_moment("2026-11-25 7:30", None))
    True
    """
    if one is None or other is None or one.day is None or other.day is None:
        return False
    if not (one.is_day_stated and other.is_day_stated) or one.day > other.day:
        return False
    if one.day < other.day:
        return True
    return one.second is not None and other.second is not None and one.second < other.second


def with_days(begun: Moment, ended: Moment, near: date | None) -> tuple[Moment, Moment]:
    """Give the two the days that they must have where they are not written.

    Args:
        begun, ended: with a time of day each.
        near: the day that the work began on, as far as anything tells it.
    """
    if near is not None and not _FIRST_YEAR <= near.year <= _LAST_YEAR:
        near = None
    night = timedelta(days=int(time_taken(begun, ended).is_night_assumed))
    if not begun.is_day_stated:
        day = ended.day - night if ended.is_day_stated and ended.day is not None else near
        begun = replace(begun, day=day)
    if not ended.is_day_stated and begun.day is not None:
        ended = replace(ended, day=begun.day + night)
    return begun, ended
