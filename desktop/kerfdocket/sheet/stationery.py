"""What a shop adds, as the sheet prints it."""

from dataclasses import dataclass, replace

from kerfdocket.planning.model import Caution, Plan
from kerfdocket.sheet.shop import SHOP_ROOT, Shop
from kerfdocket.sheet.text import plain

__all__ = [
    "OWN_CAUTION",
    "OwnPlace",
    "OwnRows",
    "ShopMark",
    "own_mm",
    "own_places",
    "shop_mark",
    "with_own_cautions",
]

OWN_CAUTION = "own"  # key of a shop's own caution
_OWN_IN_A_ROW = 4
_OWN_ROW_MM = 8.8
_OWN_FRAME_MM = 2.0


@dataclass(frozen=True)
class ShopMark:
    """Whose sheet it is.

    Attributes:
        name: of the shop.
        lines: that stand behind it.
        logo, style: where the sheet finds them, or empty.
        root: where it finds the other files of the shop's folder.
    """

    name: str
    lines: tuple[str, ...]
    logo: str
    style: str
    root: str


@dataclass(frozen=True)
class OwnPlace:
    """A field of the shop's own, to write in."""

    name: str
    label: str


# Row by row; None fills a row up.
OwnRows = tuple[tuple[OwnPlace | None, ...], ...]


def shop_mark(shop: Shop | None) -> ShopMark | None:
    """Return whose sheet it is, None where no shop is set up."""
    if shop is None:
        return None
    lines = tuple(map(plain, shop.lines))
    return ShopMark(plain(shop.name), lines, shop.logo_url, shop.style_url, SHOP_ROOT)


def with_own_cautions(plan: Plan, shop: Shop | None) -> Plan:
    """Return the plan with the cautions of the shop before its own."""
    if shop is None:
        return plan
    own = tuple(
        Caution(OWN_CAUTION, "caution", one.title, "", one.what_to_do, shop.name, "stated")
        for one in shop.cautions
        if one.fuel in {None, plan.job.fuel.gas}
    )
    return replace(plan, cautions=(*own, *plan.cautions))


def own_places(shop: Shop | None, side: str) -> OwnRows:
    """Return the shop's own fields in rows; of several rows, the last is filled up."""
    fields = shop.fields if shop else ()
    places = [OwnPlace(one.name, plain(one.label)) for one in fields if one.side == side]
    rows = [tuple(places[at : at + _OWN_IN_A_ROW]) for at in range(0, len(places), _OWN_IN_A_ROW)]
    full = len(rows[0]) if rows else 0
    return tuple((*row, *(None,) * (full - len(row))) for row in rows)


def own_mm(own: OwnRows) -> float:
    """Return how high the table of own fields is. [mm]"""
    return len(own) * _OWN_ROW_MM + _OWN_FRAME_MM * bool(own)
