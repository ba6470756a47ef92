"""What whoever opens an export must know."""

from kerfdocket.language import _

__all__ = ["readme_text"]


def readme_text() -> str:
    """Return the text that lies in each export, in the language that is spoken."""
    paragraphs = (
        _(
            "This folder holds all of an archive of travellers, in formats that need no program "
            "of ours: text in UTF-8, JSON lines, CSV and PDF."
        ),
        _(
            "sheets: each traveller's sheet as it was printed, by number and revision. "
            "returned: the scans and forms that came back, by the number that they belong to. "
            "Letters that not every system takes in the name of a file became _; names.jsonl "
            "says which file belongs to which number."
        ),
        _(
            "travellers.csv: the travellers for a spreadsheet. It is only to be read: a ' is "
            "put before what a spreadsheet would take for a formula, and nothing is ever "
            "imported from it."
        ),
        _(
            "contents: each kept file once, under its SHA-256: job files, plans, sheets, scans. "
            "The files in sheets and returned are the same files under other names (hard "
            "links) where the disk knows such, and copies where it does not: do not change "
            "them. What was given up on purpose has a line without a file in contents.jsonl."
        ),
        _(
            "events.jsonl: all that happened, in its order; the other files of lines only "
            "repeat what follows from it. Times are UTC, as ISO 8601 writes them. thickness_m "
            "is in metres. job, plan, pdf and file are SHA-256 of contents."
        ),
        _(
            "The events are a chain: hash is the SHA-256 of the JSON list [place, at, who, "
            "what, number, revision, details, previous], written in UTF-8 with a comma and a "
            "space between two, letters as they are; details is the text as it stands; previous "
            "is the hash of the event before, 64 zeros for the first."
        ),
        _(
            "SHA256SUMS: the SHA-256 of each file but manifest.json, which holds the SHA-256 of "
            "SHA256SUMS, the counts, and the hash of the last event. Check them here with: "
            "sha256sum -c SHA256SUMS"
        ),
        _(
            "Put it back into an empty archive with: kerfdocket archive --archive PLACE import "
            "FOLDER. A folder in which any of these files was altered or is missing is refused."
        ),
    )
    return "\n\n".join(paragraphs) + "\n"
