"""The way back: what a file with scanned or filled-in sheets says, page by page."""

from kerfdocket.archive.intake.read import ReadPage, page_fields, read_file

__all__ = ["ReadPage", "page_fields", "read_file"]
