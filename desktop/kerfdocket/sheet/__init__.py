"""The sheet: a plan as the paper that the cutter holds."""

from kerfdocket.sheet.render import sheet_html, sheet_pdf, write_sheet
from kerfdocket.sheet.shop import (
    Shop,
    ShopError,
    load_shop,
    own_shop_folder,
    set_own_shop_folder,
)

__all__ = [
    "Shop",
    "ShopError",
    "load_shop",
    "own_shop_folder",
    "set_own_shop_folder",
    "sheet_html",
    "sheet_pdf",
    "write_sheet",
]
