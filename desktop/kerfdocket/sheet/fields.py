"""What each field of a sheet to be filled in on a screen is for, in words to be read out."""

from kerfdocket.language import _
from kerfdocket.planning.actuals import ACTUAL_FIELDS

__all__ = ["FIELD_TITLES", "field_title"]

# What comes back is read by these names: they never change their meaning.
FIELD_TITLES = {name: one.title for name, one in ACTUAL_FIELDS.items() if one.on_sheet != "never"}


def field_title(name: str) -> str:
    """Return what a field is for, in the language that is spoken.

    Raises:
        KeyError: no field of that name is known.
    """
    return _(FIELD_TITLES[name])
