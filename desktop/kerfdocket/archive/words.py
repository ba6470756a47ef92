"""What travellers are found by: words, the same ones on each database."""

import unicodedata
from collections.abc import Iterable, Mapping

__all__ = ["IN_FIELDS", "in_field", "words_in", "words_of"]

_LONGEST = 60  # letters of a word; what is longer is still found by its begin
# Fields that can be searched alone; the first letters of a word in them mark it as theirs.
IN_FIELDS = ("number", "title", "customer", "drawing", "grade", "nozzle", "gas", "cutter")


def words_in(text: str) -> tuple[str, ...]:
    """Return the words of a text: small letters without accents, and digits.

    >>> words_in("KD-0141: Türblech, S355J2")
    ('kd', '0141', 'turblech', 's355j2')
    """
    # Taken apart, some signs have capital letters (№ is No); made small, some come apart once more.
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    kept = "".join(
        letter if letter.isalnum() else "" if unicodedata.combining(letter) else " "
        for letter in plain
    )
    return tuple(word[:_LONGEST] for word in kept.split())


def in_field(name: str, word: str) -> str:
    """Return a word as it is kept for a field of its own.

    No word of a text begins like it, so that who looks for `gas` does not find all that have one.

    >>> in_field("grade", "s355j2")
    '_grade_s355j2'
    """
    return f"_{name}_{word}"


def words_of(fields: Mapping[str, str], texts: Iterable[str]) -> str:
    """Return what is kept of a traveller to find it by.

    Args:
        fields: by name, of `IN_FIELDS`; others count as texts.
        texts: what else it is found by.

    Returns:
        Words with a space between two.
    """
    found: dict[str, None] = {}
    for name, text in fields.items():
        for word in words_in(text):
            found[word] = None
            if name in IN_FIELDS:
                found[in_field(name, word)] = None
    for text in texts:
        found.update(dict.fromkeys(words_in(text)))
    return " ".join(found)
