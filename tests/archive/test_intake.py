"""The kinds of file that sheets come back in, what is wrong with others, and what was filled in."""

import io
import time
import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing

import pikepdf
import pypdf
import pypdfium2
import pytest
from PIL import Image, ImageOps, TiffImagePlugin
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NullObject,
    TextStringObject,
)

from kerfdocket.archive.errors import NotReadable
from kerfdocket.archive.intake import ReadPage, read_file
from kerfdocket.archive.intake.scanned import MOST_PIXELS, PIXELS_KEPT
from kerfdocket.errors import InputError
from kerfdocket.planning.page_code import PageCode, code_text, read_code
from kerfdocket.sheet import sheet_pdf
from sheet.hand_plan import hand_job, hand_plan

_SAID = {"oxygen_before": "182", "remarks": "Kerf 2.1 mm, ünruhig\nplate was warm"}


def _code(number: str, side: str) -> PageCode:
    code = read_code(code_text(hand_plan(hand_job(number=number)), side))
    assert code is not None
    return code


@pytest.fixture(scope="module")
def sheet() -> bytes:
    return sheet_pdf(hand_plan())


@pytest.fixture(scope="module")
def front(sheet: bytes) -> Image.Image:
    """The front at 150 dpi, in colour."""
    with (
        closing(pypdfium2.PdfDocument(sheet)) as document,
        closing(document[0]) as page,
        closing(page.render(scale=150 / 72)) as drawn,
    ):
        return drawn.to_pil().convert("RGB")


def test_front_and_back_on_one_picture_are_both_read(sheet: bytes, front: Image.Image) -> None:
    """Laid side by side on the glass of a scanner for A3."""
    with (
        closing(pypdfium2.PdfDocument(sheet)) as document,
        closing(document[1]) as page,
        closing(page.render(scale=150 / 72)) as drawn,
    ):
        back = drawn.to_pil().convert("RGB")
    a3 = Image.new("RGB", (front.width + back.width, front.height), "white")
    a3.paste(front, (0, 0))
    a3.paste(back, (front.width, 0))
    (read,) = read_file(_saved(a3, "PNG"), "a3.png")
    assert {one.side for one in read.codes} == {"F", "B"}
    assert len({(one.number, one.revision, one.check) for one in read.codes}) == 1


def _saved(image: Image.Image, kind: str, **options: object) -> bytes:
    made = io.BytesIO()
    image.save(made, kind, **options)
    return made.getvalue()


def _only(content: bytes) -> ReadPage:
    (page,) = read_file(content, "scan")
    return page


def _sixteen_bits(image: Image.Image) -> Image.Image:
    """Of twelve bits in sixteen, as some scanners write."""
    wide = image.convert("L").convert("I").point(lambda value: value * 15 + 200)
    return wide.convert("I;16")


def _see_through(image: Image.Image) -> Image.Image:
    """Print on nothing: where paper was, black that is wholly transparent."""
    ink = ImageOps.invert(image.convert("L"))
    return Image.merge("LA", (Image.new("L", image.size, 0), ink))


def _blotched(image: Image.Image) -> Image.Image:
    """Under a blue felt pen, through which a grey reading sees nothing."""
    blue = Image.new("RGB", image.size, (20, 40, 235))
    return Image.composite(blue, image, image.convert("L").point(lambda grey: 255 * (grey > 127)))


@pytest.mark.parametrize(
    ("kind", "made", "options"),
    [
        ("PNG", lambda image: image, {}),
        ("PNG", lambda image: image.convert("L"), {}),
        ("PNG", lambda image: image.convert("1"), {}),
        ("PNG", lambda image: image.quantize(16), {}),
        ("PNG", lambda image: image.convert("RGBA"), {}),
        ("PNG", _see_through, {}),
        ("PNG", _sixteen_bits, {}),
        ("PNG", _blotched, {}),
        ("JPEG", lambda image: image, {"quality": 60}),
        ("JPEG", lambda image: image.convert("L"), {}),
        ("JPEG", lambda image: image.convert("CMYK"), {}),
        ("JPEG", lambda image: image, {"progressive": True}),
        ("TIFF", lambda image: image, {}),
        ("TIFF", lambda image: image.convert("CMYK"), {"compression": "tiff_lzw"}),
        ("TIFF", lambda image: image.convert("1"), {"compression": "group4"}),
        ("TIFF", lambda image: image, {"compression": "jpeg"}),
        ("TIFF", lambda image: image, {"compression": "tiff_deflate", "big_tiff": True}),
        ("TIFF", _sixteen_bits, {}),
        ("TIFF", lambda image: image.convert("L").convert("F"), {}),
        ("TIFF", lambda image: image.convert("LAB"), {}),
        ("TIFF", lambda image: image.convert("RGBA"), {}),
        ("PDF", lambda image: image, {"resolution": 150}),
        ("PDF", lambda image: image.convert("1"), {"resolution": 150}),
        # A picture that fills a page of the size of a stamp, and one that says a pixel is a point.
        ("PDF", lambda image: image, {"resolution": 1500}),
        ("PDF", lambda image: image, {"resolution": 72}),
    ],
)
def test_each_kind_of_picture_is_read(
    front: Image.Image,
    kind: str,
    made: Callable[[Image.Image], Image.Image],
    options: dict[str, object],
) -> None:
    content = _saved(made(front), kind, **options)
    assert _only(content) == ReadPage(0, (_code("TEST-001", "F"),))


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_the_side_that_a_camera_says_is_up_is_up(
    front: Image.Image, kind: str, orientation: int
) -> None:
    # What undoes each orientation (EXIF 2.3, 4.6.4, from memory); four are mirrored.
    way = Image.Transpose
    undone = {
        1: None,
        2: way.FLIP_LEFT_RIGHT,
        3: way.ROTATE_180,
        4: way.FLIP_TOP_BOTTOM,
        5: way.TRANSPOSE,
        6: way.ROTATE_90,
        7: way.TRANSVERSE,
        8: way.ROTATE_270,
    }[orientation]
    lying = front if undone is None else front.transpose(undone)
    exif = Image.Exif()
    exif[274] = orientation
    assert _only(_saved(lying, kind, exif=exif)).codes == (_code("TEST-001", "F"),)


@pytest.mark.parametrize("dpi", [100, 300, 600])
@pytest.mark.parametrize("degrees", [0, 90, 180, 270, 33])
def test_any_side_up_at_any_resolution(sheet: bytes, dpi: int, degrees: int) -> None:
    with (
        closing(pypdfium2.PdfDocument(sheet)) as document,
        closing(document[1]) as page,
        closing(page.render(scale=dpi / 72, grayscale=True)) as drawn,
    ):
        image = drawn.to_pil().rotate(degrees, expand=True, fillcolor=255)
    content = _saved(image, "TIFF", compression="packbits")
    assert _only(content).codes == (_code("TEST-001", "B"),)


def test_the_sheet_itself_is_read_front_and_back(sheet: bytes) -> None:
    assert list(read_file(sheet, "sheet.pdf")) == [
        ReadPage(0, (_code("TEST-001", "F"),)),
        ReadPage(1, (_code("TEST-001", "B"),)),
    ]


def test_what_it_is_called_does_not_count(front: Image.Image) -> None:
    (page,) = read_file(_saved(front, "PNG"), "scan.pdf")
    assert page.codes


def test_each_page_of_a_tiff_is_read_and_a_damaged_one_does_not_hide_the_others(
    front: Image.Image,
) -> None:
    pages = [front.convert("L"), Image.new("L", (300, 400), 255), front.convert("L").rotate(180)]
    content = _saved(pages[0], "TIFF", save_all=True, append_images=pages[1:])
    codes = (_code("TEST-001", "F"),)
    good = [ReadPage(0, codes), ReadPage(1), ReadPage(2, codes)]
    assert list(read_file(content, "scan.tif")) == good

    packed = _saved(
        pages[0], "TIFF", save_all=True, append_images=pages[1:], compression="tiff_deflate"
    )
    assert list(read_file(packed, "scan.tif")) == good
    with Image.open(io.BytesIO(packed)) as image:
        assert isinstance(image, TiffImagePlugin.TiffImageFile)
        image.seek(1)
        strips, lengths = image.tag_v2[273], image.tag_v2[279]
    harmed = bytearray(packed)
    for start, length in zip(strips, lengths, strict=True):
        harmed[start : start + length] = b"\xaa" * length
    first, second, third = read_file(bytes(harmed), "scan.tif")
    assert (first, third) == (good[0], good[2])
    assert (second.index, second.codes) == (1, ())
    assert "damaged" in second.problem


def test_a_damaged_page_of_a_pdf_does_not_hide_the_others(sheet: bytes) -> None:
    pdf = pikepdf.open(io.BytesIO(sheet))
    pdf.pages.append(pdf.pages[0])
    pdf.pages[1].obj.MediaBox = pikepdf.Name("/nothing")
    pdf.pages[1].obj.Contents = pdf.make_stream(b"\x00\xff not a page (")
    made = io.BytesIO()
    pdf.save(made)
    first, second, third = read_file(made.getvalue(), "scan.pdf")
    assert first.codes == third.codes == (_code("TEST-001", "F"),)
    assert second.codes == ()

    # What the list of pages names is no page at all.
    pdf.Root.Pages.Kids[1] = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name("/Font")))
    made = io.BytesIO()
    pdf.save(made)
    first, second, third = read_file(made.getvalue(), "scan.pdf")
    assert first.codes == third.codes == (_code("TEST-001", "F"),)
    assert second == ReadPage(1, problem="this page is damaged")


def _archive() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("scan.pdf", b"%PDF-1.7")
    return made.getvalue()


def _protected(sheet: bytes) -> bytes:
    made = io.BytesIO()
    encryption = pikepdf.Encryption(owner="one", user="two")
    pikepdf.open(io.BytesIO(sheet)).save(made, encryption=encryption)
    return made.getvalue()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"Kerf 2.1 mm", "no scan"),
        (_archive(), "no scan"),
        (b"GIF89a" + bytes(40), "no scan"),
        (b"BM" + bytes(60), "no scan"),
        (b"%PDF-1.7\n", "damaged"),
        (b"%PDF-1.7\n" + bytes(range(256)) * 8, "damaged"),
        (b"\x89PNG\r\n\x1a\n", "damaged"),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "damaged"),
        (b"\xff\xd8\xff\xe0" + bytes(100), "damaged"),
        (b"II*\x00" + bytes(100), "damaged"),
        (b"MM\x00*\xff\xff\xff\xff", "damaged"),
    ],
)
def test_what_cannot_be_read_is_refused_at_once_and_says_what_can(
    content: bytes, said: str
) -> None:
    with pytest.raises(NotReadable) as refused:
        read_file(content, "back.bin")
    assert isinstance(refused.value, InputError)
    text = str(refused.value)
    assert text.startswith("back.bin ")
    assert said in text
    assert "PDF, PNG, JPEG or TIFF" in text


def test_a_password_is_asked_to_be_taken_off(sheet: bytes) -> None:
    with pytest.raises(NotReadable, match=r"back\.pdf is protected by a password; .* accepted"):
        read_file(_protected(sheet), "back.pdf")


def test_a_file_that_is_cut_off_is_no_page_without_a_code(front: Image.Image) -> None:
    for kind in ("PNG", "JPEG", "TIFF"):
        content = _saved(front, kind, **({"compression": "tiff_lzw"} if kind == "TIFF" else {}))
        try:
            page = _only(content[: len(content) // 2])
        except NotReadable:
            continue  # the TIFF's list of pages is at its end
        assert page.codes == ()
        assert "damaged" in page.problem


@pytest.mark.parametrize("place", range(10))
def test_any_harm_to_a_file_ends_in_pages_or_a_refusal(
    sheet: bytes, front: Image.Image, place: int
) -> None:
    small = front.convert("L").reduce(3)
    for content in (
        sheet,
        _saved(small, "PNG"),
        _saved(small, "JPEG"),
        _saved(small, "TIFF", compression="tiff_lzw"),
    ):
        at = len(content) * place // 10
        harmed = (
            content[:at] + bytes((137 * place + n) % 256 for n in range(24)) + content[at + 24 :]
        )
        try:
            pages = list(read_file(harmed, "back"))
        except NotReadable:
            continue
        sides = {_code("TEST-001", side) for side in "FB"}
        assert all(set(page.codes) <= sides for page in pages)


def _bomb_png(edge: int) -> bytes:
    """A PNG that unpacks to very much."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = zlib.crc32(kind + data).to_bytes(4)
        return len(data).to_bytes(4) + kind + data + check

    head = edge.to_bytes(4) * 2 + bytes((8, 6, 0, 0, 0))
    data = zlib.compress(bytes(100_000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize("edge", [8_600, 9_500, 30_000, 2**31 - 1])
def test_a_picture_of_too_many_pixels_is_not_unpacked(edge: int) -> None:
    assert edge**2 > MOST_PIXELS
    started = time.thread_time()  # of the processor: others may be busy, too
    page = _only(_bomb_png(edge))
    assert page.codes == ()
    assert "more than 72 million pixels" in page.problem
    assert time.thread_time() - started < 1.0


def test_a_page_of_ten_metres_is_looked_at_coarsely(sheet: bytes) -> None:
    pdf = pikepdf.open(io.BytesIO(sheet))
    ten_metres = 10_000 / 25.4 * 72
    pdf.pages[0].obj.MediaBox = pikepdf.Array([0, 0, ten_metres, ten_metres])
    made = io.BytesIO()
    pdf.save(made)
    first, second = read_file(made.getvalue(), "scan.pdf")
    # The code is 2 mm of 10 m there: past reading, and nothing is said to be wrong.
    assert first == ReadPage(0)
    assert second.codes == (_code("TEST-001", "B"),)


def test_pictures_in_a_pdf_are_bounded_too() -> None:
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=(200, 300))
    edge = 20_000
    picture = pdf.make_stream(
        zlib.compress(bytes(1000)),
        Type=pikepdf.Name.XObject,
        Subtype=pikepdf.Name.Image,
        Width=edge,
        Height=edge,
        ColorSpace=pikepdf.Name.DeviceGray,
        BitsPerComponent=8,
        Filter=pikepdf.Name.FlateDecode,
    )
    pdf.pages[0].Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(P=picture))
    pdf.pages[0].Contents = pdf.make_stream(b"200 0 0 300 0 0 cm /P Do")
    made = io.BytesIO()
    pdf.save(made)
    assert "400 million pixels" in _only(made.getvalue()).problem


def test_a_large_scan_is_made_smaller(front: Image.Image) -> None:
    large = front.convert("L").resize((5600, 7900))
    assert PIXELS_KEPT < large.width * large.height < MOST_PIXELS
    for kind in ("JPEG", "PNG"):
        assert _only(_saved(large, kind)).codes == (_code("TEST-001", "F"),)


def test_an_empty_side_takes_no_time() -> None:
    content = _saved(Image.new("L", (2480, 3508), 250), "PNG")
    started = time.thread_time()  # of the processor: others may be busy, too
    assert _only(content) == ReadPage(0)
    assert time.thread_time() - started < 2.0


def test_pages_are_read_when_they_are_asked_for(sheet: bytes) -> None:
    pages = read_file(sheet, "sheet.pdf")
    assert isinstance(pages, Iterator)
    assert next(pages).index == 0
    pages.close()  # type: ignore[attr-defined]
    assert [page.index for page in read_file(sheet, "sheet.pdf")] == [0, 1]


# --- what was filled in


def _filled(content: bytes, said: dict[str, str]) -> bytes:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(content))
    for page in writer.pages:
        writer.update_page_form_field_values(page, said, auto_regenerate=False)
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


@pytest.fixture(scope="module")
def fillable() -> dict[str, bytes]:
    """Sheets to be filled in, by their numbers."""
    return {
        number: sheet_pdf(hand_plan(hand_job(number=number)), is_fillable=True)
        for number in ("TEST-001", "TEST-002")
    }


def test_a_filled_sheet_gives_its_codes_and_what_was_filled_in(fillable: dict[str, bytes]) -> None:
    pages = list(read_file(_filled(fillable["TEST-001"], _SAID), "back.pdf"))
    assert [page.codes for page in pages] == [
        (_code("TEST-001", "F"),),
        (_code("TEST-001", "B"),),
    ]
    assert {name: text for page in pages for name, text in page.fields.items()} == _SAID
    assert [page.problem for page in pages] == ["", ""]


def test_an_empty_one_gives_no_fields(fillable: dict[str, bytes]) -> None:
    assert [page.fields for page in read_file(fillable["TEST-001"], "back.pdf")] == [{}, {}]
    spaces = _filled(fillable["TEST-001"], {"remarks": "  \n"})
    assert [page.fields for page in read_file(spaces, "back.pdf")] == [{}, {}]


def _pages_only(parts: list[bytes]) -> bytes:
    together = pikepdf.new()
    with warnings.catch_warnings():
        # That only the pages are taken along is the case to be read.
        warnings.simplefilter("ignore", pikepdf.PageCopyWarning)
        for part in parts:
            together.pages.extend(pikepdf.open(io.BytesIO(part)).pages)
        made = io.BytesIO()
        together.save(made)
    return made.getvalue()


def _with_pypdf(parts: list[bytes]) -> bytes:
    together = pypdf.PdfWriter()
    for part in parts:
        together.append(io.BytesIO(part))
    made = io.BytesIO()
    together.write(made)
    return made.getvalue()


@pytest.mark.parametrize("put_together", [_pages_only, _with_pypdf])
def test_sheets_put_together_keep_each_their_own(
    fillable: dict[str, bytes], put_together: Callable[[list[bytes]], bytes]
) -> None:
    one = _filled(fillable["TEST-001"], {"oxygen_before": "182", "cutter_name": "A. Cutter"})
    other = _filled(fillable["TEST-002"], {"oxygen_before": "97", "cutter_name": "B. Cutter"})
    found: dict[str, dict[str, str]] = {}
    for page in read_file(put_together([one, other]), "back.pdf"):
        assert page.problem == ""
        found.setdefault(page.codes[0].number, {}).update(page.fields)
    assert found == {
        "TEST-001": {"oxygen_before": "182", "cutter_name": "A. Cutter"},
        "TEST-002": {"oxygen_before": "97", "cutter_name": "B. Cutter"},
    }


def _widget(**entries: object) -> DictionaryObject:
    made = DictionaryObject({NameObject("/Subtype"): NameObject("/Widget")})
    made[NameObject("/Rect")] = ArrayObject([FloatObject(one) for one in (10, 10, 60, 30)])
    for key, value in entries.items():
        made[NameObject(f"/{key}")] = value  # type: ignore[index]
    return made


def test_fields_of_any_make(sheet: bytes) -> None:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(sheet))
    text, choice, button = NameObject("/Tx"), NameObject("/Ch"), NameObject("/Btn")
    parent = writer._add_object(
        DictionaryObject(
            {
                NameObject("/T"): TextStringObject("cylinder"),
                NameObject("/FT"): text,
                NameObject("/V"): TextStringObject("of the parent"),
            }
        )
    )
    endless = DictionaryObject({NameObject("/T"): TextStringObject("x")})
    endless_at = writer._add_object(endless)
    endless[NameObject("/Parent")] = endless_at
    annotations = [
        _widget(T=TextStringObject("before"), V=TextStringObject("182 bar"), Parent=parent),
        _widget(Parent=parent),  # no field of its own: it only shows its parent's
        _widget(T=TextStringObject("gas"), FT=choice, V=TextStringObject("propane")),
        _widget(
            T=TextStringObject("signs"),
            FT=choice,
            V=ArrayObject([TextStringObject("W021"), TextStringObject("M004")]),
        ),
        _widget(T=TextStringObject("done"), FT=button, V=NameObject("/Yes")),
        _widget(T=TextStringObject("off"), FT=button),
        _widget(T=TextStringObject("signed"), FT=NameObject("/Sig"), V=DictionaryObject()),
        _widget(T=TextStringObject("nothing"), FT=text, V=NullObject()),
        _widget(T=TextStringObject("two lines"), FT=text, V=TextStringObject("one\rtwo")),
        _widget(FT=text, V=TextStringObject("of no name")),
        _widget(Parent=endless_at, FT=text, V=TextStringObject("round and round")),
        DictionaryObject({NameObject("/Subtype"): NameObject("/Link")}),
    ]
    page = writer.pages[0]
    page[NameObject("/Annots")] = ArrayObject([writer._add_object(one) for one in annotations])
    made = io.BytesIO()
    writer.write(made)
    first, second = read_file(made.getvalue(), "back.pdf")
    assert first.problem == second.problem == ""
    assert second.fields == {}
    endless_name = next(name for name in first.fields if name.startswith("x.x"))
    assert first.fields == {
        "cylinder.before": "182 bar",
        "cylinder": "of the parent",
        "gas": "propane",
        "signs": "W021, M004",
        "two lines": "one\ntwo",
        endless_name: "round and round",
    }


def test_fields_that_cannot_be_read_are_told_beside_the_codes(fillable: dict[str, bytes]) -> None:
    made = io.BytesIO()
    # Opens without a password, and is enciphered for whoever would change it.
    encryption = pikepdf.Encryption(owner="one", user="", R=6)
    filled = _filled(fillable["TEST-001"], _SAID)
    pikepdf.open(io.BytesIO(filled)).save(made, encryption=encryption)
    for page in read_file(made.getvalue(), "back.pdf"):
        assert page.codes
        assert page.fields == {} or page.problem == ""
        assert page.fields or "what was filled in cannot be read" in page.problem
