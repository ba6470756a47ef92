"""Words that several parts of the window say, and how they stand inside a line."""

from kerfdocket.language import ENGLISH, counted, current_language, marked

__all__ = ["SEVERITY_WORDS", "inside", "severity_count"]

SEVERITY_WORDS = {
    "mend": marked("Mend"),
    "stop": marked("Stop"),
    "caution": marked("Caution"),
    "note": marked("Note"),
}


def severity_count(severity: str, count: int) -> str:
    """Return how many there are of a severity, such as "2 cautions"."""
    if severity == "stop":
        return counted("{count} stop", "{count} stops", count)
    if severity == "mend":
        return counted("{count} to mend", "{count} to mend", count)
    if severity == "needed":
        return counted("{count} still needed", "{count} still needed", count)
    if severity == "caution":
        return counted("{count} caution", "{count} cautions", count)
    return counted("{count} note", "{count} notes", count)


def inside(title: str) -> str:
    """Return a title as it stands behind other words.

    English begins it with a small letter there; a German noun keeps its capital.
    """
    return f"{title[:1].lower()}{title[1:]}" if current_language() == ENGLISH else title
