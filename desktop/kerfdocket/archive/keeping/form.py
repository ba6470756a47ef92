"""The form of an export: which files there are, and what they are called."""

import re
import unicodedata
from collections.abc import Collection

from sqlalchemy import Table

from kerfdocket.archive.schema import (
    ACTUAL,
    CONTENT,
    DRAFT,
    EVENT,
    PAGE,
    SERIES,
    TABLES,
    TRAVELLER,
)

__all__ = [
    "CONTENTS",
    "FORMAT",
    "LINES",
    "MANIFEST",
    "NAMES",
    "README",
    "RETURNED",
    "SHEETS",
    "SUMS",
    "TRAVELLERS_CSV",
    "VERSION",
    "columns_of",
    "ending_of",
    "safe_name",
]

FORMAT, VERSION = "kerfdocket-export", 1
MANIFEST, SUMS, README = "manifest.json", "SHA256SUMS", "README.txt"
TRAVELLERS_CSV, NAMES = "travellers.csv", "names.jsonl"
CONTENTS, SHEETS, RETURNED = "contents", "sheets", "returned"

# Each table is a file of lines.
LINES: dict[Table, str] = {
    CONTENT: "contents.jsonl",
    EVENT: "events.jsonl",
    SERIES: "series.jsonl",
    TRAVELLER: "travellers.jsonl",
    PAGE: "pages.jsonl",
    ACTUAL: "actuals.jsonl",
    DRAFT: "drafts.jsonl",
}
assert set(LINES) == set(TABLES)

# The first bytes of what a shop's scanner or form makes; each is fixed by its format's own
# specification (from memory). What is none of them is told by looking at it as a text.
_BEGINS = (
    (b"%PDF-", "pdf"),
    (b"\x89PNG\r\n\x1a\n", "png"),
    (b"\xff\xd8\xff", "jpg"),
    (b"II*\x00", "tif"),
    (b"MM\x00*", "tif"),
    (b"{", "json"),
)
_LIKE_TOML = re.compile(r"\s*(#|\[|[\w.\"-]+\s*=)")

# Names that Windows keeps for its devices, whatever follows after a dot
# (Microsoft, "Naming Files, Paths, and Namespaces"; from memory).
_RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    *(f"{device}{digit}" for device in ("com", "lpt") for digit in range(10)),
}
_LONGEST_NAME = 80  # letters; common practice, no source: paths end at 260 on older systems
_NOT_SAFE = re.compile(r"[^A-Za-z0-9._-]+")


def columns_of(table: Table) -> tuple[str, ...]:
    """Return what a line of a table's file holds, in its order.

    Ids of travellers and pages are the database's own affair; their order says as much.
    """
    if table is CONTENT:
        return ("digest", "file", "size")
    own = {"id"} if table in (TRAVELLER, PAGE) else set()
    return tuple(column.name for column in table.columns if column.name not in own)


def ending_of(content: bytes) -> str:
    """Return a fitting ending for the name of a content's file, without the dot.

    >>> ending_of(b"%PDF-1.7"), ending_of(b"[about]"), ending_of(b"bare text"), ending_of(b"")
    ('pdf', 'toml', 'txt', 'txt')
    """
    for begin, ending in _BEGINS:
        if content.startswith(begin):
            return ending
    try:
        text = content.decode()
    except UnicodeDecodeError:
        return "bin"
    return "toml" if _LIKE_TOML.match(text) else "txt"


def safe_name(text: str, taken: Collection[str]) -> str:
    """Return a name for a file that every system takes, unlike all that are taken.

    Args:
        text: what it is to be called after.
        taken: names that are there, in small letters.

    >>> safe_name("KD-7/2: Türblech", ()), safe_name("../kd", ()), safe_name("KD-1", {"kd-1"})
    ('KD-7_2_Turblech', '_kd', 'KD-1~2')
    >>> safe_name("NUL.1", ()), safe_name("...", ())
    ('_NUL.1', '_')
    """
    plain = "".join(
        letter
        for letter in unicodedata.normalize("NFKD", text)
        if not unicodedata.combining(letter)
    )
    name = _NOT_SAFE.sub("_", plain).lstrip(".")[:_LONGEST_NAME].rstrip(".") or "_"
    if name.partition(".")[0].lower() in _RESERVED:
        name = f"_{name}"
    unlike, count = name, 1
    while unlike.lower() in taken:
        count += 1
        unlike = f"{name}~{count}"
    return unlike
