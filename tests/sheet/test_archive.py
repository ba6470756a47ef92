"""The PDF is PDF/A-3a and tagged as it says, and the rules that say so can fail."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, String

import kerfdocket
from jobs import SAMPLES
from kerfdocket.sheet import sheet_pdf
from sheet.archive_rules import RULES, faults
from sheet.hand_plan import hand_job, hand_plan
from sheet.reading import Reading
from sheet.sheets import sample_sheet

DRAFT, PICTURE, FILLABLE = "refused-stainless", "winter-yard-30mm", "base-plates-12mm, fillable"


@cache
def _sheet(what: str) -> bytes:
    if what == "many parts":
        part = hand_job().parts[0]
        parts = tuple(part.model_copy(update={"name": f"Part {n}"}) for n in range(60))
        return sheet_pdf(hand_plan(hand_job().model_copy(update={"parts": parts})))
    sample, _comma, fillable = what.partition(", ")
    return sample_sheet(sample, bool(fillable))


@pytest.mark.parametrize(
    "what", ["base-plates-12mm", "ramp-feet-1in", DRAFT, PICTURE, FILLABLE, "many parts"]
)
def test_it_is_what_it_says(what: str) -> None:
    assert faults(_sheet(what)) == []


def test_the_sheets_have_what_the_rules_are_about() -> None:
    draft, picture, fillable = (Reading(_sheet(one)) for one in (DRAFT, PICTURE, FILLABLE))
    assert any(float(one.get("/ca", 1)) < 1 for _way, one in draft.dictionaries)
    figures = [str(one.object.Alt) for one in picture.elements if one.type == "/Figure"]
    signs = [one for one in figures if "ISO 7010" in one]
    assert len(signs) > 5
    assert len(figures) - len(signs) == 3
    assert any("Content of the cylinders" in one for one in figures)
    assert len(fillable.widgets) == 21
    assert len(Reading(_sheet("many parts")).pages) > 2
    assert {rule.source for rule in RULES.values()} == {"published", "from memory"}


# How a good file is spoiled, by the rule that must report it.
Spoil = Callable[[pikepdf.Pdf], Any]
_SPOILT: list[tuple[str, str, Spoil]] = []


def _spoilt(rule: str, sheet: str = FILLABLE) -> Callable[[Spoil], Spoil]:
    def keep(spoil: Spoil) -> Spoil:
        _SPOILT.append((rule, sheet, spoil))
        return spoil

    return keep


def _elements(pdf: pikepdf.Pdf, kind: str) -> Iterator[Any]:
    for one in pdf.objects:
        if isinstance(one, Dictionary) and one.get("/S") == kind and "/P" in one:
            yield one


def _first(pdf: pikepdf.Pdf, kind: str) -> Any:
    return next(_elements(pdf, kind))


def _widget(pdf: pikepdf.Pdf) -> Any:
    return pdf.pages[0].Annots[0]


def _font(pdf: pikepdf.Pdf) -> Any:
    return next(iter(pdf.pages[0].Resources.Font.values()))


def _rewrite(stream: Any, old: bytes, new: bytes) -> None:
    content = stream.read_bytes()
    assert old in content
    stream.write(content.replace(old, new))


@_spoilt("no-external-stream")
def _stream_elsewhere(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Metadata["/F"] = String("elsewhere.xml")


@_spoilt("filters")
def _lzw(pdf: pikepdf.Pdf) -> None:
    pdf.Root["/Kept"] = pdf.make_stream(b"\x80\x0b\x60\x50\x22\x0c\x0c\x85\x01")
    pdf.Root["/Kept"].Filter = Name.LZWDecode


@_spoilt("limits")
def _large_number(pdf: pikepdf.Pdf) -> None:
    pdf.Root["/Kept"] = 2**31


@_spoilt("limits")
def _long_text(pdf: pikepdf.Pdf) -> None:
    pdf.Root["/Kept"] = String("x" * 32768)


@_spoilt("limits")
def _deep_states(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].contents_add(b"q " * 29 + b"Q " * 29)


@_spoilt("operators")
def _unknown_operator(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].contents_add(b"BX 1 Zz EX")


@_spoilt("resources")
def _no_resources(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[1].Resources


@_spoilt("output-intent")
def _no_intent(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.OutputIntents


@_spoilt("output-intent")
def _other_profile(pdf: pikepdf.Pdf) -> None:
    profile = pdf.Root.OutputIntents[0].DestOutputProfile
    _rewrite(profile, b"mntrRGB ", b"abstRGB ")


@_spoilt("profile-components")
def _components(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OutputIntents[0].DestOutputProfile.N = 4


@_spoilt("device-colours")
def _process_colour(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].contents_add(b"0 0 0 1 k")


@_spoilt("graphics-state")
def _transfer(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Resources.ExtGState["/a1"].TR = Name.Identity


@_spoilt("blending-space", DRAFT)
def _no_space_to_blend_in(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.OutputIntents


@_spoilt("images-and-forms")
def _smoothed_image(pdf: pikepdf.Pdf) -> None:
    image = pdf.make_stream(b"\0", Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1)
    image.Interpolate = True
    pdf.pages[0].Resources.XObject["/im"] = image


@_spoilt("images-and-forms", PICTURE)
def _form_elsewhere(pdf: pikepdf.Pdf) -> None:
    next(iter(pdf.pages[0].Resources.XObject.values())).Ref = Dictionary()


@_spoilt("font-dictionary")
def _other_codes(pdf: pikepdf.Pdf) -> None:
    _font(pdf).Encoding = Name("/Identity-V")


@_spoilt("font-embedded")
def _font_elsewhere(pdf: pikepdf.Pdf) -> None:
    del _font(pdf).DescendantFonts[0].FontDescriptor.FontFile2


def _show(pdf: pikepdf.Pdf, code: bytes) -> None:
    name = next(iter(pdf.pages[0].Resources.Font.keys())).encode()
    pdf.pages[0].contents_add(b"/Artifact BMC BT %b 9 Tf <%b> Tj ET EMC" % (name, code))


@_spoilt("glyphs-present")
def _no_letter(pdf: pikepdf.Pdf) -> None:
    _show(pdf, b"0000")


@_spoilt("glyphs-present")
def _beyond_the_font(pdf: pikepdf.Pdf) -> None:
    _show(pdf, b"fff0")


@_spoilt("widths")
def _other_widths(pdf: pikepdf.Pdf) -> None:
    _font(pdf).DescendantFonts[0].W = Array([0, 65535, 600])


@_spoilt("unicode")
def _no_meaning(pdf: pikepdf.Pdf) -> None:
    del _font(pdf).ToUnicode


@_spoilt("unicode")
def _private_meaning(pdf: pikepdf.Pdf) -> None:
    _rewrite(_font(pdf).ToUnicode, b"> <0061>", b"> <e061>")


@_spoilt("annotation-types")
def _movie(pdf: pikepdf.Pdf) -> None:
    film = Dictionary(Type=Name.Annot, Subtype=Name.Movie, Rect=Array([0, 0, 9, 9]), F=4)
    pdf.pages[0].Annots.append(pdf.make_indirect(film))


@_spoilt("annotation-flags")
def _hidden(pdf: pikepdf.Pdf) -> None:
    _widget(pdf).F = 4 | 2


@_spoilt("annotation-flags")
def _not_printed(pdf: pikepdf.Pdf) -> None:
    _widget(pdf).F = 0


@_spoilt("appearance")
def _no_appearance(pdf: pikepdf.Pdf) -> None:
    del _widget(pdf).AP


@_spoilt("appearance")
def _appearance_when_pressed(pdf: pikepdf.Pdf) -> None:
    _widget(pdf).AP.D = _widget(pdf).AP.N


@_spoilt("no-form-actions")
def _field_does_something(pdf: pikepdf.Pdf) -> None:
    _widget(pdf).AA = Dictionary()


@_spoilt("appearances-are-there")
def _appearances_asked_for(pdf: pikepdf.Pdf) -> None:
    pdf.Root.AcroForm.NeedAppearances = True


@_spoilt("no-xfa")
def _xfa(pdf: pikepdf.Pdf) -> None:
    pdf.Root.AcroForm.XFA = String("<xdp/>")


@_spoilt("actions")
def _script(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=String("app.alert(1)"))


@_spoilt("actions")
def _program(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = Dictionary(Type=Name.Action, S=Name.Launch, F=String("x"))


@_spoilt("no-triggers")
def _trigger(pdf: pikepdf.Pdf) -> None:
    pdf.Root.AA = Dictionary()


@_spoilt("no-triggers")
def _page_trigger(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].AA = Dictionary()


@_spoilt("metadata")
def _no_metadata(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.Metadata


@_spoilt("metadata")
def _damaged_metadata(pdf: pikepdf.Pdf) -> None:
    _rewrite(pdf.Root.Metadata, b"</rdf:RDF>", b"")


@_spoilt("metadata-properties")
def _property_of_the_shop(pdf: pikepdf.Pdf) -> None:
    _rewrite(pdf.Root.Metadata, b"pdf:Producer", b"pdf:Shop")


@_spoilt("identification")
def _other_level(pdf: pikepdf.Pdf) -> None:
    _rewrite(pdf.Root.Metadata, b'conformance="A"', b'conformance="B"')


@_spoilt("metadata-agree")
def _other_title(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/Title"] = "Other plates"


@_spoilt("metadata-agree")
def _other_day(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/CreationDate"] = "D:20261124"


@_spoilt("marked")
def _unmarked(pdf: pikepdf.Pdf) -> None:
    pdf.Root.MarkInfo.Marked = False


@_spoilt("structure")
def _no_tree(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.StructTreeRoot


@_spoilt("structure")
def _type_of_its_own(pdf: pikepdf.Pdf) -> None:
    _first(pdf, "/Sect").S = Name.Step


@_spoilt("language")
def _no_language(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.Lang


@_spoilt("language")
def _language_in_words(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Lang = String("in English")


@_spoilt("all-marked")
def _loose_paint(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].contents_add(b"0 0 9 9 re f")


@_spoilt("all-in-tree")
def _section_lost(pdf: pikepdf.Pdf) -> None:
    whole = pdf.Root.StructTreeRoot.K[0]
    del whole.K[0]


@_spoilt("identifiers-once")
def _identifier_twice(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].contents_add(b"/Span <</MCID 0>> BDC EMC")


@_spoilt("parents")
def _parents_changed(pdf: pikepdf.Pdf) -> None:
    first = pdf.Root.StructTreeRoot.ParentTree.Nums[1]
    first[0] = first[1]


@_spoilt("parents")
def _field_astray(pdf: pikepdf.Pdf) -> None:
    _widget(pdf).StructParent = 9999


@_spoilt("element-names")
def _no_names(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.StructTreeRoot.IDTree


@_spoilt("headings")
def _level_left_out(pdf: pikepdf.Pdf) -> None:
    _first(pdf, "/H2").S = Name.H3


@_spoilt("tables-and-lists")
def _no_row(pdf: pikepdf.Pdf) -> None:
    _first(pdf, "/TR").S = Name.Div


@_spoilt("tables-and-lists")
def _no_item(pdf: pikepdf.Pdf) -> None:
    _first(pdf, "/LI").S = Name.P


@_spoilt("table-headers")
def _other_head(pdf: pikepdf.Pdf) -> None:
    cell = next(one for one in _elements(pdf, "/TD") if len(one.A.get("/Headers", [])))
    cell.A.Headers = Array([String("none")])


@_spoilt("figures", PICTURE)
def _untold_figure(pdf: pikepdf.Pdf) -> None:
    del _first(pdf, "/Figure").Alt


@_spoilt("figure-places")
def _figure_elsewhere(pdf: pikepdf.Pdf) -> None:
    _first(pdf, "/Figure").A.BBox = Array([0, 0, 10, 10])


@_spoilt("fields")
def _untold_field(pdf: pikepdf.Pdf) -> None:
    _widget(pdf).TU = _widget(pdf).T


@_spoilt("fields")
def _field_outside_the_tree(pdf: pikepdf.Pdf) -> None:
    _first(pdf, "/Form").K = Array([])


@_spoilt("tab-order")
def _no_order(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[0].Tabs


@_spoilt("title-shown")
def _title_hidden(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.ViewerPreferences


@_spoilt("embedded-files")
def _no_relation(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.AF[0].AFRelationship


@_spoilt("embedded-files")
def _no_kind(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.AF[1].EF.F.Subtype


@_spoilt("embedded-files")
def _not_associated(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.AF


@_spoilt("no-alternatives")
def _layers(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OCProperties = Dictionary()


def _saved(pdf: pikepdf.Pdf, **options: Any) -> bytes:
    made = BytesIO()
    pdf.save(made, compress_streams=False, fix_metadata_version=False, **options)
    return made.getvalue()


@pytest.mark.parametrize("what", [FILLABLE, DRAFT, PICTURE])
def test_a_file_that_is_only_saved_again_stays_good(what: str) -> None:
    assert faults(_saved(pikepdf.open(BytesIO(_sheet(what))))) == []


@pytest.mark.parametrize(
    ("rule", "what", "spoil"), _SPOILT, ids=[one[2].__name__.strip("_") for one in _SPOILT]
)
def test_what_is_spoilt_is_reported(rule: str, what: str, spoil: Spoil) -> None:
    pdf = pikepdf.open(BytesIO(_sheet(what)))
    spoil(pdf)
    assert list(RULES[rule].check(Reading(_saved(pdf))))


_SPOILT_BYTES: list[tuple[str, str, Callable[[bytes], bytes]]] = [
    ("header", "other version", lambda content: content.replace(b"%PDF-1.7", b"%PDF-2.0", 1)),
    ("header", "something before", lambda content: b"\n" + content),
    (
        "identifier",
        "none",
        lambda content: content.replace(b"/ID [", b"/IX [").replace(b"/ID[", b"/IX["),
    ),
    ("end", "something after", lambda content: content + b"and more"),
    ("objects", "no line of its own", lambda content: content.replace(b"\nendobj", b" endobj", 1)),
    (
        "objects",
        "stream too short",
        lambda content: content.replace(b"\nendstream", b"\n\nendstream", 1),
    ),
]


@pytest.mark.parametrize(
    ("rule", "spoil"),
    [(rule, spoil) for rule, _name, spoil in _SPOILT_BYTES],
    ids=[f"{rule}, {name}" for rule, name, _spoil in _SPOILT_BYTES],
)
def test_spoilt_bytes_are_reported(rule: str, spoil: Callable[[bytes], bytes]) -> None:
    content = spoil(_sheet(FILLABLE))
    assert content != _sheet(FILLABLE)
    assert list(RULES[rule].check(Reading(content)))


def test_a_locked_file_is_reported() -> None:
    pdf = pikepdf.open(BytesIO(_sheet(FILLABLE)))
    locked = _saved(pdf, encryption=pikepdf.Encryption(owner="foreman", user=""))
    assert list(RULES["no-encryption"].check(Reading(locked)))


def test_every_rule_can_fail() -> None:
    spoilt = {rule for rule, *_ in (*_SPOILT, *_SPOILT_BYTES)} | {"no-encryption"}
    assert spoilt == set(RULES)


# Elsewhere: a process that has no fonts but those that are shipped.
_ELSEWHERE = """
import sys, warnings
warnings.simplefilter("ignore")
sys.path[:0] = sys.argv[3:]
from pathlib import Path
from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf
from sheet.hand_plan import hand_job, hand_plan
sample, folder = map(Path, sys.argv[1:3])
plan = make_plan(load_job(sample), load_reference())
(folder / "sample.pdf").write_bytes(sheet_pdf(plan, is_fillable=True))
(folder / "foreign.pdf").write_bytes(sheet_pdf(hand_plan(hand_job(title="Plate \\u677f"))))
"""


@pytest.fixture(scope="module")
def elsewhere(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("elsewhere")
    (folder / "none").mkdir()
    fonts = folder / "fonts.conf"
    fonts.write_text(
        '<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">'
        f"<fontconfig><dir>{folder / 'none'}</dir><cachedir>{folder}</cachedir></fontconfig>",
        encoding="utf-8",
    )
    places = [str(Path(kerfdocket.__file__).parents[1]), str(Path(__file__).parents[1])]
    sample = SAMPLES / f"{PICTURE}.toml"
    subprocess.run(
        [sys.executable, "-c", _ELSEWHERE, str(sample), str(folder), *places],
        env={**os.environ, "FONTCONFIG_FILE": str(fonts)},
        check=True,
    )
    return folder


def test_the_fonts_of_the_machine_change_nothing(elsewhere: Path) -> None:
    here = sample_sheet(PICTURE, True)
    assert (elsewhere / "sample.pdf").read_bytes() == here
    names = {piece.shown.font.name for piece in Reading(here).pieces if piece.shown}
    assert all("+Sheet-" in name for name in names)


@pytest.mark.xfail(
    strict=True,
    reason="a letter that neither the shipped fonts nor the machine's have is drawn as .notdef, "
    "which PDF/A forbids (6.2.11.8); the renderer maps it so",
)
def test_a_letter_that_no_font_has_is_no_notdef(elsewhere: Path) -> None:
    assert faults((elsewhere / "foreign.pdf").read_bytes()) == []
