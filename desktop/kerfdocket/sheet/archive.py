"""What the file for the archive still lacks when WeasyPrint 70 has written it.

PDF/A-3a and tagged PDF ask for more than its writer does; `finish` adds it before the file is
closed. `tests/sheet/archive_rules.py` names the clauses.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydyf import PDF  # type: ignore[import-untyped]
    from weasyprint import Document  # type: ignore[import-untyped]

__all__ = ["finish"]

_POINTS = 0.75  # in a pixel of CSS
_KINDS = {"job.toml": "/application#2ftoml"}  # the renderer does not know that one


def finish(document: "Document", pdf: "PDF") -> None:
    """Complete a sheet's file for the archive: the finisher that WeasyPrint calls.

    Args:
        document: as it was laid out.
        pdf: as it will be written; changed in place.
    """
    _name_files_once(pdf)
    if "StructTreeRoot" in pdf.catalog:
        # All but the one that holds the whole document: it is on no page.
        elements = [
            one
            for one in pdf.objects
            if isinstance(one, dict) and one.get("Type") == "/StructElem" and "Pg" in one
        ]
        _read_margins_once(pdf, elements)
        _list_names(pdf, elements)
        _place_figures(pdf, elements)
    _show_fields(pdf)
    _read_all_letters(document, pdf)


def _at(pdf: "PDF", reference: bytes) -> Any:
    return pdf.objects[int(reference.split()[0])]


def _name_files_once(pdf: "PDF") -> None:
    """Name each carried file once, where it is listed twice, and say of what kind it is."""
    from pydyf import Array

    if "AF" in pdf.catalog:
        pdf.catalog["AF"] = Array(dict.fromkeys(pdf.catalog["AF"]))
    for reference in pdf.catalog.get("AF", ()):
        file = _at(pdf, reference)
        if kind := _KINDS.get(file["UF"].string):
            _at(pdf, file["EF"]["F"]).extra["Subtype"] = kind


def _read_margins_once(pdf: "PDF", elements: list[Any]) -> None:
    """Let head and foot be read out on the first page, and be decoration on the others.

    What stands in a page's margin is marked as content and then belongs to nothing. The foot says
    what comes before this sheet, so it is not left out.
    """
    from pydyf import Dictionary

    root = _at(pdf, pdf.catalog["StructTreeRoot"])
    whole = _at(pdf, root["K"][0])
    parents = dict(zip(*[iter(_at(pdf, root["ParentTree"])["Nums"])] * 2, strict=True))
    known = set(whole["K"])
    for number, page_reference in enumerate(pdf.page_references):
        loose = [
            one
            for one in elements
            if one["P"] == whole.reference
            and one["Pg"] == page_reference
            and one.reference not in known
        ]
        if number == 0:
            here = [one.reference for one in elements if one["Pg"] == page_reference]
            after = 1 + max(n for n, one in enumerate(whole["K"]) if one in here)
            whole["K"][after:after] = [one.reference for one in loose]
            continue
        dropped = {mcid for one in loose for mcid in _content(pdf, one)}
        for mcid in dropped:
            parents[number][mcid] = b"null"
        written = _at(pdf, _at(pdf, page_reference)["Contents"]).stream
        for place, word in enumerate(written):
            if word == b"BDC" and written[place - 1].get("MCID") in dropped:
                written[place - 2] = "/Artifact"
                written[place - 1] = Dictionary({"Type": "/Pagination"})


def _content(pdf: "PDF", element: Any) -> Iterable[int]:
    """Yield what an element and those below it mark."""
    for kid in element["K"]:
        if isinstance(kid, int):
            yield kid
        else:
            yield from _content(pdf, _at(pdf, kid))


def _list_names(pdf: "PDF", elements: list[Any]) -> None:
    """List the elements that have a name; a table on two pages has each of its names twice."""
    from pydyf import Array, Dictionary, String

    named = {}
    for one in elements:
        page = int(one["Pg"].split()[0])
        if "ID" in one:
            one["ID"] = String(f"{page}-{one['ID'].string}")
            named[one["ID"].string] = one.reference
        if heads := one.get("A", {}).get("Headers"):
            one["A"]["Headers"] = Array(String(f"{page}-{head.string}") for head in heads)
    names = Array()
    for name in sorted(named):
        names.extend((String(name), named[name]))
    _at(pdf, pdf.catalog["StructTreeRoot"])["IDTree"] = Dictionary({"Names": names})


def _place_figures(pdf: "PDF", elements: list[Any]) -> None:
    """Say in points from below where a figure is; it was said in pixels from above."""
    from pydyf import Array

    for one in elements:
        if one["S"] == "/Figure":
            left, top, right, bottom = (side * _POINTS for side in one["A"]["BBox"])
            height = _at(pdf, one["Pg"])["MediaBox"][3]
            one["A"]["BBox"] = Array((left, height - bottom, right, height - top))


def _show_fields(pdf: "PDF") -> None:
    """Give each empty field its appearance, instead of asking the viewer to make it."""
    from pydyf import Array, Dictionary, Stream

    form = pdf.catalog.get("AcroForm", {})
    form.pop("NeedAppearances", None)
    for reference in form.get("Fields", ()):
        field = _at(pdf, reference)
        left, top, right, bottom = field["Rect"]
        box = Array((0, 0, abs(right - left), abs(top - bottom)))
        look = {"Type": "/XObject", "Subtype": "/Form", "BBox": box}
        empty = Stream([b"/Tx BMC", b"EMC"], look)
        pdf.add_object(empty)
        field["AP"] = Dictionary({"N": empty.reference})


def _read_all_letters(document: "Document", pdf: "PDF") -> None:
    """Say what letter each glyph is, where a font is there as a whole for its fields.

    The renderer then lists the font's plain letters alone: figures of equal width would be lost to
    who searches or has it read out.
    """
    by_name = {
        one["BaseFont"]: one
        for one in pdf.objects
        if isinstance(one, dict) and one.get("Subtype") == "/Type0"
    }
    for font in document.fonts.values():
        if font.used_in_forms and font.name in by_name:
            listed = _at(pdf, by_name[font.name]["ToUnicode"]).stream
            known = {line.split()[0] for line in listed if line.startswith(b"<")}
            more = [
                f"<{glyph:04x}> <{text.encode('utf-16-be').hex()}>".encode()
                for glyph, text in sorted(font.to_unicode.items())
                if f"<{glyph:04x}>".encode() not in known
            ]
            place = listed.index(b"endcmap")
            for at in range(0, len(more), 100):  # as many as a block may have
                block = more[at : at + 100]
                listed[place:place] = [
                    f"{len(block)} beginbfchar".encode(),
                    *block,
                    b"endbfchar",
                ]
