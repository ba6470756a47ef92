"""Binding PDFs: pages, tags, fonts and files of each are whole in the file that comes of it."""

import io
import pickle
import tracemalloc
from dataclasses import replace

import pikepdf
import pypdf
import pytest

from kerfdocket.sheet import sheet_pdf
from kerfdocket.sheet.binding import Binder, take_apart
from kerfdocket.sheet.render import html_to_pdf
from sheet.hand_plan import hand_plan

_HTML = """<!DOCTYPE html><html lang="{language}"><head><meta charset="utf-8"><title>{title}</title>
<link rel="stylesheet" href="../shared/base.css"><style>@page {{ size: {size}; }}
p + p {{ break-before: page; }}</style></head><body><table><tr><th>{title}</th><td>cell</td></tr>
</table>{pages}</body></html>"""


def small(title, pages, size="A4", language="en"):
    said = "".join(f"<p>{title} page {number}</p>" for number in range(1, pages + 1))
    return html_to_pdf(_HTML.format(title=title, pages=said, size=size, language=language))


def bound(*contents, cover=None, titles=None):
    file = io.BytesIO()
    binder = Binder(file)
    for index, content in enumerate(contents, start=1):
        names = {"job.toml": f"{index}.toml", "plan.json": f"{index}.json"}
        binder.bind(take_apart(content, index, names))
    binder.finish(
        take_apart(cover or small("Cover", 1), 0, is_cover=True),
        titles or ["Cover", *(f"No. {index}" for index in range(1, len(contents) + 1))],
    )
    return file.getvalue()


@pytest.fixture(scope="module")
def several():
    return bound(
        small("One", 1), small("Two", 2, "Letter"), small("Drei", 3, language="de"),
        sheet_pdf(hand_plan()), sheet_pdf(hand_plan()),
    )  # fmt: skip


def texts(content):
    reader = pypdf.PdfReader(io.BytesIO(content), strict=True)
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def test_each_begins_on_a_front(several):
    pages = texts(several)
    assert [page[:14] for page in pages[:10]] == [
        "Cover cell Cov", "", "One cell One p", "", "Two cell Two p", "Two page 2",
        "Drei cell Drei", "Drei page 2", "Drei page 3", "",
    ]  # fmt: skip
    assert len(pages) == 14
    assert "page 1 of 2" in pages[10]
    assert "page 2 of 2" in pages[13]


def test_a_blank_page_is_as_large_as_the_one_before():
    reader = pypdf.PdfReader(io.BytesIO(bound(small("One", 1, "Letter"))))
    assert len(reader.pages) == 4
    assert reader.pages[3].mediabox == reader.pages[2].mediabox != reader.pages[1].mediabox


def test_another_library_finds_nothing_wrong(several):
    # qpdf reads the tables that say where each object is, and every object.
    with pikepdf.open(io.BytesIO(several)) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert pdf.pdf_version == "1.7"
        assert len(pdf.pages) == 14


def test_tags_of_all_pages_hang_in_one_tree(several):
    with pikepdf.open(io.BytesIO(several)) as pdf:
        tree = pdf.Root.StructTreeRoot
        [document] = tree.K
        assert document.S == "/Document"
        parts = list(document.K)
        assert [part.S for part in parts] == ["/Part"] * 6
        assert [str(part.Lang) for part in parts] == ["en", "en", "en", "de", "en", "en"]
        parents = {}
        limits = []
        for kid in tree.ParentTree.Kids:
            keys, values = list(kid.Nums)[::2], list(kid.Nums)[1::2]
            assert [int(keys[0]), int(keys[-1])] == [int(one) for one in kid.Limits]
            limits.append([int(one) for one in kid.Limits])
            parents.update(zip(map(int, keys), values, strict=True))
        assert limits == sorted(limits)
        printed = [page for page in pdf.pages if "/Contents" in page.obj]
        assert len(printed) == 11
        assert max(parents) < int(tree.ParentTreeNextKey)
        for page in printed:
            tags = list(parents[int(page.obj.StructParents)])
            assert tags
            for tag in tags:
                if isinstance(tag, pikepdf.Dictionary):
                    assert tag.Pg.objgen == page.obj.objgen
                    while tag.S != "/Document":  # up to the root, which ends
                        tag = tag.P
                    assert tag.objgen == document.objgen


def test_what_must_be_unique_is(several):
    with pikepdf.open(io.BytesIO(several)) as pdf:
        subsets, cells = [], []
        for found in pdf.objects:
            if isinstance(found, pikepdf.Dictionary):
                if found.get("/Type") == "/FontDescriptor":
                    subsets.append(str(found.FontName))
                if found.get("/Type") == "/StructElem" and "/ID" in found:
                    cells.append(bytes(found.ID))
        assert len(subsets) > 6
        assert len(set(subsets)) == len(subsets)
        assert all(name[7] == "+" and name[1:7].isupper() for name in subsets)
        assert len(cells) > 6
        assert len(set(cells)) == len(cells)


def test_font_names_agree_within_each_font(several):
    # ISO 32000-1, 9.7.4: a composite font, its descendant and its descriptor bear one name.
    with pikepdf.open(io.BytesIO(several)) as pdf:
        fonts = [f for f in pdf.objects if isinstance(f, pikepdf.Dictionary)
                 and f.get("/Subtype") == "/Type0"]  # fmt: skip
        assert fonts
        for font in fonts:
            [inner] = font.DescendantFonts
            assert inner.BaseFont == inner.FontDescriptor.FontName == font.BaseFont


def test_carried_files_are_listed_by_their_new_names(several):
    reader = pypdf.PdfReader(io.BytesIO(several))
    own = pypdf.PdfReader(io.BytesIO(sheet_pdf(hand_plan()))).attachments
    assert set(reader.attachments) == {"4.toml", "4.json", "5.toml", "5.json"}
    assert reader.attachments["4.toml"] == own["job.toml"]
    root = reader.trailer["/Root"]
    listed = [reference.idnum for reference in list.__iter__(root["/AF"])]
    assert len(listed) == len(set(listed)) == 4
    for reference in root["/AF"]:
        file = reference.get_object()
        assert file["/F"] == file["/UF"]
        assert file["/AFRelationship"] in {"/Source", "/Data"}


def test_bookmarks_and_metadata(several):
    reader = pypdf.PdfReader(io.BytesIO(several))
    found = [(one.title, reader.get_destination_page_number(one)) for one in reader.outline]
    assert found == [("Cover", 0), ("No. 1", 2), ("No. 2", 4), ("No. 3", 6), ("No. 4", 10),
                     ("No. 5", 12)]  # fmt: skip
    assert reader.metadata.title == "Cover"
    root = reader.trailer["/Root"]
    assert 'pdfaid:part="3"' in root["/Metadata"].get_data().decode()
    assert root["/MarkInfo"]["/Marked"]
    assert root["/OutputIntents"][0]["/S"] == "/GTS_PDFA1"
    assert len(reader.trailer["/ID"][0]) == 16


def test_same_leaves_same_bytes():
    one, two = small("One", 1), small("Two", 2)
    assert bound(one, two) == bound(one, two)
    assert bound(one, two) != bound(two, one)


def test_a_title_may_have_any_letters():
    titles = ["Cover", "Плита (№7) \\ ø"]
    reader = pypdf.PdfReader(io.BytesIO(bound(small("One", 1), titles=titles)))
    assert [one.title for one in reader.outline] == titles


class _Nowhere(io.RawIOBase):
    def write(self, content):
        return len(content)


def test_what_is_held_does_not_grow_with_the_leaves():
    leaf = replace(take_apart(sheet_pdf(hand_plan()), 1), files=())
    packed = pickle.dumps(leaf)

    def peak_bytes(count):
        tracemalloc.start()
        try:
            binder = Binder(_Nowhere())
            for _number in range(count):
                binder.bind(pickle.loads(packed))
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    few, many = peak_bytes(20), peak_bytes(80)
    # 8 bytes an object, twice as much while the list of them grows, and some numbers a leaf.
    assert many - few < 60 * (len(leaf.objects) * 8 * 2 + 1000)


def test_two_files_of_one_name_are_refused():
    binder = Binder(io.BytesIO())
    for index in (1, 2):
        binder.bind(take_apart(sheet_pdf(hand_plan()), index))
    with pytest.raises(ValueError, match="name of its own"):
        binder.finish(take_apart(small("Cover", 1), 0, is_cover=True), ["Cover", "1", "2"])


@pytest.mark.parametrize("content", ["form", "plain"])
def test_what_would_lose_something_is_refused(content):
    if content == "form":
        made = sheet_pdf(hand_plan(), is_fillable=True)
    else:
        writer = pypdf.PdfWriter()
        writer.add_blank_page(100, 100)
        file = io.BytesIO()
        writer.write(file)
        made = file.getvalue()
    with pytest.raises(ValueError, match="with tags and without a form"):
        take_apart(made, 1)


def test_more_objects_than_fit_in_one_stream():
    rows = "".join(f"<tr><td>{number}</td><td>x</td></tr>" for number in range(400))
    html = _HTML.format(title="Long", pages=f"<table>{rows}</table>", size="A4", language="en")
    content = bound(html_to_pdf(html))
    with pikepdf.open(io.BytesIO(content)) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert len(pdf.objects) > 1000
    assert "399 x" in texts(content)[-1] or "399 x" in texts(content)[-2]
