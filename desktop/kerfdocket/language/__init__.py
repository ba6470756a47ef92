"""What the program says, in the language that is spoken where it is said.

A text is written in English where it is needed, `_("Close the {valve}.", valve=name)`, and looked
up in a gettext catalog. The language is one for the process (`set_language`) and may be another
for a while (`speaking`), as a sheet may speak another language than the window that shows it.
"""

from kerfdocket.language._catalogs import ENGLISH, LANGUAGES, PSEUDO, Language, language_named
from kerfdocket.language._say import (
    _,
    counted,
    current_language,
    environment_language,
    marked,
    review_note,
    sense,
    set_language,
    speaking,
)
from kerfdocket.language._write import (
    date_text,
    decimal_text,
    in_language,
    listed,
    moment_text,
    one_of_listed,
    titled,
    zone_text,
    zones_text,
)

__all__ = [
    "ENGLISH",
    "LANGUAGES",
    "PSEUDO",
    "Language",
    "_",
    "counted",
    "current_language",
    "date_text",
    "decimal_text",
    "environment_language",
    "in_language",
    "language_named",
    "listed",
    "marked",
    "moment_text",
    "one_of_listed",
    "review_note",
    "sense",
    "set_language",
    "speaking",
    "titled",
    "zone_text",
    "zones_text",
]
