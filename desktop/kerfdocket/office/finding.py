"""What travellers are looked for by, as the archive keeps it."""

from typing import get_args

from kerfdocket.job.models import Fuel
from kerfdocket.language import _

__all__ = ["gas_as_kept"]

_GASES: tuple[str, ...] = get_args(Fuel.model_fields["gas"].annotation)


def gas_as_kept(text: str) -> str:
    """Return the gas that begins so in the current language, as archives keep it: in English.

    Any other text stays as it is, as a gas may also be looked for by its second word.

    >>> gas_as_kept("prop"), gas_as_kept("gas")
    ('propane', 'gas')
    """
    asked = text.strip().casefold()
    return next((gas for gas in _GASES if asked and _(gas).casefold().startswith(asked)), text)
