"""From context to HTML to PDF."""

import hashlib
import math
import warnings
from dataclasses import replace
from datetime import UTC, datetime, time
from mimetypes import guess_type
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit
from urllib.request import url2pathname

from jinja2 import Template, TemplateError

from kerfdocket.job import CARRIED_NAME, job_text
from kerfdocket.language import _, language_named, speaking
from kerfdocket.planning import plan_json
from kerfdocket.planning.model import Plan
from kerfdocket.resources import data_dir
from kerfdocket.sheet.archive import finish
from kerfdocket.sheet.context import AT_EASE, Fine, Layout, Room, traveller_context
from kerfdocket.sheet.must_say import check_says_all
from kerfdocket.sheet.sandbox import page_problems, within_bounds
from kerfdocket.sheet.shop import SHOP_ROOT, Shop, ShopError, file_problems, template_text
from kerfdocket.sheet.templates import templates
from kerfdocket.storage import write_atomically

if TYPE_CHECKING:
    from weasyprint import Attachment, Document  # type: ignore[import-untyped]
    from weasyprint.urls import URLFetcher  # type: ignore[import-untyped]

__all__ = ["folder_fetcher", "html_to_pdf", "sheet_html", "sheet_pdf", "write_sheet"]

_SHEET = "traveller"
# For the archive and for who has it read out: PDF/A-3 with tags.
_OPTIONS = {"pdf_variant": "pdf/a-3a", "pdf_tags": True, "pdf_forms": True}
_UNDATED = datetime(2000, 1, 1, tzinfo=UTC)
# How many lines to leave free where the back was judged to fit on its page and did not, and how
# much small print to leave: what to do comes before what it rests on. Then how many millimetres
# that can win at the most, so that what cannot be enough is not tried. Lines that
# stand closer come before notes and sources that are left out.
_SHORTER: tuple[tuple[int, Fine, bool, float], ...] = (
    (4, "whole", False, 9.0),
    (8, "short", False, 18.0),
    (40, "least", False, math.inf),
    (40, "least", True, 25.0),
    (40, "notes", True, 32.0),
    (40, "none", True, math.inf),
)
# The same for the front; without what is taken away all of it counts.
_HARDER: tuple[tuple[Room, float], ...] = (
    ("packed", 110.0),
    ("no signs", 120.0),
    ("no pictures", 130.0),
)
# What a shop's own template can end in.
_MISTAKES = (
    TemplateError,
    ArithmeticError,
    AttributeError,
    LookupError,
    RecursionError,
    TypeError,
    ValueError,
)
_MM_IN_PX = 25.4 / 96.0


def folder_fetcher(folder: Path, shop_folder: Path | None = None) -> "URLFetcher":
    """Return a fetcher that reads files in `folder` and a shop's, and refuses all else.

    Args:
        folder: of the shipped templates. [path]
        shop_folder: what stands at `SHOP_ROOT`, if anything. [path]

    Returns:
        A fetcher whose refusal ends the rendering: a sheet without its fonts or its layout is no
        sheet.
    """
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    shop_root = urlsplit(SHOP_ROOT).path

    class _FolderOnly(URLFetcher):  # type: ignore[misc]  # WeasyPrint carries no types
        def __init__(self) -> None:
            super().__init__(allowed_protocols=["file"], allow_redirects=False, fail_on_errors=True)

        def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
            parts = urlsplit(url)
            allowed = folder.resolve()
            path = Path(url2pathname(parts.path)).resolve()
            if shop_folder is not None and parts.path.startswith(shop_root):
                allowed = shop_folder.resolve()
                path = (allowed / url2pathname(parts.path.removeprefix(shop_root))).resolve()
            if parts.scheme != "file" or parts.netloc or not path.is_relative_to(allowed):
                raise FatalURLFetchingError(f"a sheet may not load {url[:200]}")
            if not path.is_file():
                raise FatalURLFetchingError(f"a sheet needs {path.name}, which is not there")
            if allowed != folder.resolve():
                for problem in file_problems(path):
                    raise FatalURLFetchingError(problem)
                # Under the address it was asked for, so that what it names is looked for beside it.
                kind = guess_type(path.name)[0] or "application/octet-stream"
                return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": kind})
            return super().fetch(path.as_uri(), headers)

    return _FolderOnly()


def _template(shop: Shop | None) -> Template:
    if shop is None or shop.template is None:
        return templates().get_template(f"{_SHEET}/sheet.html.j2")
    return templates().from_string(template_text(shop))


def sheet_html(plan: Plan, layout: Layout = AT_EASE, shop: Shop | None = None) -> str:
    """Return the traveller of a plan as HTML.

    Its links are relative to the folder of the traveller's template.

    Args:
        plan: what follows from a job.
        layout: how it is laid out.
        shop: what the shop adds to it.

    Raises:
        ShopError: the shop's own template cannot be used.
    """
    template = _template(shop)
    with speaking(language_named(plan.language)):
        context = traveller_context(plan, layout, shop)
        if shop is None or shop.template is None:
            return template.render(sheet=context)
        try:
            return within_bounds(template.generate(sheet=context))
        except _MISTAKES as error:
            raise ShopError((f"{shop.folder / shop.template}: {error}",)) from error


def _lay_out(html: str, shop: Shop | None = None) -> "Document":
    # Loading takes most of a second and large libraries: not before a sheet is asked for.
    from weasyprint import HTML

    folder = data_dir("sheet_templates")
    page = HTML(
        string=html,
        base_url=(folder / _SHEET).resolve().as_uri() + "/",
        url_fetcher=folder_fetcher(folder, shop.folder if shop else None),
    )
    if shop is None or not (shop.template or shop.style):
        return page.render(**_OPTIONS)
    own = f"{shop.folder / str(shop.template or shop.style)}: "
    if problems := page_problems(page.etree_element):
        raise ShopError(tuple(own + one for one in problems))
    try:
        return page.render(**_OPTIONS)
    except (*_MISTAKES, AssertionError) as error:
        text = _("cannot be laid out: {reason}", reason=str(error) or type(error).__name__)
        raise ShopError((own + text,)) from error


def _write(document: "Document", html: str, carried: "list[Attachment] | None" = None) -> bytes:
    identifier = hashlib.sha256(html.encode()).hexdigest()[:32].encode()
    with warnings.catch_warnings():
        # WeasyPrint 70 leaves the file of its colour profile to the garbage collector.
        warnings.filterwarnings("ignore", "unclosed file .*sRGB2014", ResourceWarning)
        content: bytes = document.write_pdf(
            finisher=finish, pdf_identifier=identifier, attachments=carried or [], **_OPTIONS
        )
    return content


def _carried(plan: Plan) -> "list[Attachment]":
    """Job file and plan, to go into the PDF: a sheet found years later is a job again."""
    from weasyprint import Attachment

    day = plan.job.about.date
    # A file's time must be the same for the same plan: its day, or none in particular.
    when = datetime.combine(day, time(), UTC) if day else _UNDATED
    with speaking(language_named(plan.language)):
        described = (
            (CARRIED_NAME, job_text(plan.job), _("The job that this sheet was made of"), "Source"),
            ("plan.json", plan_json(plan), _("All values with their basis"), "Data"),
        )
    return [
        Attachment(
            string=text,
            name=name,
            description=what,
            created=when,
            modified=when,
            relationship=relation,
        )
        for name, text, what, relation in described
    ]


def _sides(document: "Document") -> tuple[list[Any], list[Any]]:
    """Return the pages of front and back; each that the back runs over has its anchor."""
    front = [page for page in document.pages if "back" not in page.anchors]
    return front, document.pages[len(front) :]


def _over_mm(pages: list[Any]) -> float:
    """How much of a side stands on other pages than its first. [mm]"""
    return sum(_height_px(page) for page in pages[1:]) * _MM_IN_PX


def _height_px(page: Any) -> float:
    """How far down from its top the content of a page goes."""
    box = page._page_box
    lowest, boxes = 0.0, [one for one in box.children if type(one).__name__ != "MarginBox"]
    while boxes:
        one = boxes.pop()
        if one.style["position"] == "fixed":
            continue  # the words across a draft are no content
        children = getattr(one, "children", ())
        boxes += children
        if not children:
            lowest = max(lowest, one.position_y + one.height)
    return float(max(lowest - box.content_box_y(), 0.0))


def html_to_pdf(html: str) -> bytes:
    """Return a sheet's HTML as PDF; it loads nothing from outside the template folder.

    Args:
        html: as `sheet_html` makes it.

    Returns:
        The file's bytes, the same for the same HTML.
    """
    return _write(_lay_out(html), html)


def sheet_pdf(plan: Plan, is_fillable: bool = False, shop: Shop | None = None) -> bytes:
    """Return the traveller of a plan as PDF: front and back, the same bytes for the same plan.

    Args:
        plan: what follows from a job.
        is_fillable: True puts named fields where one writes, to be filled in on a screen.
        shop: what the shop adds to it.

    Raises:
        ShopError: something in the shop's folder cannot be used, or keeps off the sheet what it
            must say.
    """
    from weasyprint.urls import FatalURLFetchingError

    try:
        return _sheet_pdf(plan, Layout(is_fillable=is_fillable), shop)
    except FatalURLFetchingError as error:
        if shop is None:
            raise
        raise ShopError((f"{shop.folder}: {error}",)) from error


def _sheet_pdf(plan: Plan, layout: Layout, shop: Shop | None) -> bytes:
    html = sheet_html(plan, layout, shop)
    document = _lay_out(html, shop)
    over_mm = _over_mm(_sides(document)[0])
    for room, gain_mm in _HARDER:
        # One sheet of paper comes before a picture; a long list of parts stays at its ease.
        if not 0.0 < over_mm <= gain_mm:
            continue
        pressed = replace(layout, room=room)
        tried = sheet_html(plan, pressed, shop)
        shorter = _lay_out(tried, shop)
        if len(_sides(shorter)[0]) == 1:
            layout, html, document = pressed, tried, shorter
            break
    for spare_lines, fine, is_pressed, gain_mm in _SHORTER:
        over_mm = _over_mm(_sides(document)[1])
        if over_mm == 0.0:
            break
        if over_mm > gain_mm:
            continue
        layout = replace(layout, spare_lines=spare_lines, fine=fine, is_pressed=is_pressed)
        html = sheet_html(plan, layout, shop)
        document = _lay_out(html, shop)
    if shop is not None and (shop.template or shop.style):
        with speaking(language_named(plan.language)):
            check_says_all(document, traveller_context(plan, layout, shop), shop)
    return _write(document, html, _carried(plan))


def write_sheet(
    plan: Plan, path: Path, is_fillable: bool = False, shop: Shop | None = None
) -> None:
    """Write the traveller of a plan to `path`, wholly or not at all.

    Raises:
        EnvironmentProblem: it cannot be written there.
        ShopError: something in the shop's folder cannot be used.
    """
    write_atomically(path, sheet_pdf(plan, is_fillable, shop))
