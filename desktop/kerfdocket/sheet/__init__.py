"""The sheet: a plan as the paper that the cutter holds."""

from kerfdocket.sheet.render import sheet_html, sheet_pdf, write_sheet

__all__ = ["sheet_html", "sheet_pdf", "write_sheet"]
