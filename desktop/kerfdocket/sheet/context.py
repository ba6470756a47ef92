"""What a traveller prints, as ready text: the one thing that its template sees.

A pure function from a plan to frozen dataclasses of strings. Nothing is worked out here and
nothing in the template: a value is shown as the plan gives it, or it is not shown.
"""

from dataclasses import dataclass

from kerfdocket.language import _, language_named, marked, review_note, speaking
from kerfdocket.planning.model import Plan
from kerfdocket.sheet.back import Back, back_of
from kerfdocket.sheet.code import Code, page_code
from kerfdocket.sheet.front import Front, front_of
from kerfdocket.sheet.layout import AT_EASE, Fine, Layout, Room
from kerfdocket.sheet.shop import Shop
from kerfdocket.sheet.stationery import ShopMark, own_places, shop_mark, with_own_cautions
from kerfdocket.sheet.text import page_words, plain
from kerfdocket.sheet.values import Value, Writer

__all__ = ["AT_EASE", "Fine", "Layout", "Room", "Traveller", "Value", "traveller_context"]

_LONG_HEAD = 48
_FOOT = marked(
    "The nozzle maker’s own chart comes first. Local rules, the equipment makers’ instructions and "
    "qualified people come before anything printed here."
)


@dataclass(frozen=True)
class Traveller:
    """The whole sheet."""

    number: str
    title: str
    language: str
    created: str
    generator: str
    is_draft: bool
    is_long: bool
    foot: str
    page_words: tuple[str, ...]
    paper: str
    is_fillable: bool
    revision: str
    front_code: Code
    back_code: Code
    shop: ShopMark | None
    front: Front
    back: Back


def traveller_context(plan: Plan, layout: Layout = AT_EASE, shop: Shop | None = None) -> Traveller:
    """Return all that the traveller of a plan prints, as ready text.

    Args:
        plan: what follows from a job.
        layout: how it is laid out.
        shop: what the shop adds to it.

    Raises:
        KeyError: the plan lacks a value that the sheet prints.
    """
    with speaking(language_named(plan.language)):
        return _traveller(with_own_cautions(plan, shop), layout, shop)


def _traveller(plan: Plan, layout: Layout, shop: Shop | None) -> Traveller:
    write = Writer(plan)
    front = front_of(plan, write, layout.room, own_places(shop, "front"))
    back = back_of(plan, write, layout, own_places(shop, "back"))
    about = plan.job.about
    return Traveller(
        number=plain(about.number),
        title=plain(about.title),
        language=plan.language,
        created=about.date.isoformat() if about.date else "",
        generator=f"Kerfdocket {plain(plan.program_version)}".strip(),
        is_draft=plan.is_stopped,
        is_long=len(about.number) + len(about.title) // 2 > _LONG_HEAD,
        foot=f"{_(_FOOT)} {review_note()}".strip(),
        page_words=page_words(_("page {page} of {pages}")),
        paper=plan.job.paper,
        is_fillable=layout.is_fillable,
        revision=plain(about.revision),
        front_code=page_code(plan, "F"),
        back_code=page_code(plan, "B"),
        shop=shop_mark(shop),
        front=front,
        back=back,
    )
