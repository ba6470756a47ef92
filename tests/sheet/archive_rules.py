"""What PDF/A-3a and tagged PDF ask of a file, clause by clause.

Clauses of ISO 19005-3:2012 and what they ask are those that veraPDF's published validation profile
PDFA-3A.xml cites and quotes (read in its public repository); the standard itself was not read.
Where `source` says `from memory`, the rule is ISO 32000-1:2008, ISO 14289-1:2014 or
ISO 19005-1:2005 as remembered. Not looked at, as no file of ours has such things: hexadecimal
strings (6.1.6), signatures (6.1.12, 6.4.3), spot colours (6.2.4.4), halftones (6.2.5), JPEG 2000
(6.2.8.3), simple fonts and encodings (6.2.11.6), extension schemas (6.6.2.3.2).
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pikepdf
from lxml import etree

from sheet.reading import Font, Reading

__all__ = ["RULES", "Rule", "faults"]

_MEMORY = "from memory"
Check = Callable[[Reading], Iterator[str]]


@dataclass(frozen=True)
class Rule:
    """One thing that is asked.

    Attributes:
        key: to name it by.
        clause: where it is asked; of ISO 19005-3 where no other document is named.
        source: `published` or `from memory`.
        check: yields what breaks it.
    """

    key: str
    clause: str
    source: str
    check: Check


RULES: dict[str, Rule] = {}


def _rule(key: str, clause: str, source: str = "published") -> Callable[[Check], Check]:
    def keep(check: Check) -> Check:
        RULES[key] = Rule(key, clause, source, check)
        return check

    return keep


def faults(content: bytes) -> list[str]:
    """Return what breaks a rule, each with the rule's key and clause."""
    reading = Reading(content)
    return [
        f"{rule.key} ({rule.clause}): {fault}"
        for rule in RULES.values()
        for fault in rule.check(reading)
    ]


# The file


@_rule("header", "6.1.2")
def _header(reading: Reading) -> Iterator[str]:
    if not re.match(rb"%PDF-1\.[0-7](\r\n|\r|\n)%[\x80-\xff]{4}", reading.content):
        yield "no header of PDF 1.n with a comment of four bytes above 127"


@_rule("identifier", "6.1.3")
def _identifier(reading: Reading) -> Iterator[str]:
    identifier = reading.pdf.trailer.get("/ID")
    if identifier is None or len(identifier) != 2 or not all(bytes(one) for one in identifier):
        yield "the trailer has no ID of two strings"


@_rule("no-encryption", "6.1.3")
def _no_encryption(reading: Reading) -> Iterator[str]:
    if "/Encrypt" in reading.pdf.trailer:
        yield "the trailer has Encrypt"


@_rule("end", "6.1.3")
def _end(reading: Reading) -> Iterator[str]:
    if not re.search(rb"%%EOF(\r\n|\r|\n)?\Z", reading.content):
        yield "something follows the last end-of-file marker"


_OBJECT = re.compile(rb"(\d+) (\d+) obj(?:\r\n|\r|\n)")


@_rule("objects", "6.1.7, 6.1.9")
def _objects(reading: Reading) -> Iterator[str]:
    """Spacing around objects and streams, and that a stream is as long as it says."""
    content = reading.content
    at = re.compile(rb"\A[^\n]*\n[^\n]*\n").match(content)
    place = at.end() if at else 0
    while found := _OBJECT.match(content, place):
        what = f"object {found[1].decode()}"
        end = content.find(b"endobj", found.end())
        begin = re.compile(rb"stream(\r\n|\n|\r)").search(content, found.end(), end)
        if begin:
            length = re.search(rb"/Length (\d+)", content[found.end() : begin.start()])
            place = begin.end() + int(length[1] if length else 0)
            if not length or begin[1] == b"\r":
                yield f"{what}: no length of its own, or no line feed after 'stream'"
            after = re.compile(rb"(\r\n|\r|\n)endstream").match(content, place)
            if not after:
                yield f"{what}: the stream is not as long as it says"
                return
            end = content.find(b"endobj", place)
        if content[end - 1 : end] not in b"\r\n" or content[end + 6 : end + 7] not in b"\r\n":
            yield f"{what}: no line of its own for 'endobj'"
        place = end + 7
    if not re.compile(rb"xref|startxref").match(content, place):
        yield f"at byte {place} there is neither an object nor the cross-reference"


@_rule("no-external-stream", "6.1.7")
def _no_external_stream(reading: Reading) -> Iterator[str]:
    for way, one in reading.dictionaries:
        if isinstance(one, pikepdf.Stream):
            for key in {"/F", "/FFilter", "/FDecodeParms"} & set(one.keys()):
                yield f"{way} has {key}"


_FILTERS = {
    "/ASCIIHexDecode",
    "/ASCII85Decode",
    "/FlateDecode",
    "/RunLengthDecode",
    "/CCITTFaxDecode",
    "/JBIG2Decode",
    "/DCTDecode",
    "/JPXDecode",
}


@_rule("filters", "6.1.7, 6.1.10")
def _filters(reading: Reading) -> Iterator[str]:
    for way, one in reading.dictionaries:
        if isinstance(one, pikepdf.Stream) and "/Filter" in one:
            named = one.Filter if isinstance(one.Filter, pikepdf.Array) else [one.Filter]
            for name in named:
                if str(name) not in _FILTERS:
                    yield f"{way} is packed with {name}"


@_rule("limits", "6.1.13")
def _limits(reading: Reading) -> Iterator[str]:
    for way, one in reading.objects():
        if isinstance(one, int) and not -(2**31) <= one < 2**31:
            yield f"{way}: {one} is beyond 32 bits"
        elif isinstance(one, pikepdf.Name) and len(str(one).encode()) > 128:  # with its solidus
            yield f"{way}: a name of more than 127 bytes"
        elif isinstance(one, pikepdf.String) and len(bytes(one)) > 32767:
            yield f"{way}: a string of more than 32767 bytes"
    for number, page in enumerate(reading.pages):
        depth = deepest = 0
        for step in reading.instructions(number):
            depth += {"q": 1, "Q": -1}.get(str(step.operator), 0)
            deepest = max(deepest, depth)
        if deepest > 28:
            yield f"page {number + 1}: q in q {deepest} deep"
        for name in ("/MediaBox", "/TrimBox", "/BleedBox", "/CropBox", "/ArtBox"):
            if name in page:
                left, low, right, high = (float(one) for one in page[name])
                if not (3 <= abs(right - left) <= 14400 and 3 <= abs(high - low) <= 14400):
                    yield f"page {number + 1}: {name} is not of a page's size"


# Graphics

# ISO 32000-1, annex A.
_OPERATORS = """
    b B b* B* BDC BI BMC BT BX c cm CS cs d d0 d1 Do DP EI EMC ET EX f F f* G g gs h i ID j J K k l
    m M MP n q Q re RG rg ri s S SC sc SCN scn sh T* Tc Td TD Tf Tj TJ TL Tm Tr Ts Tw Tz v w W W* y
    ' " INLINE IMAGE
"""


@_rule("operators", "6.2.2")
def _operators(reading: Reading) -> Iterator[str]:
    for number in range(len(reading.pages)):
        used = {str(step.operator) for step in reading.instructions(number)}
        for name in used - set(_OPERATORS.split()):
            yield f"page {number + 1}: operator {name}"


@_rule("resources", "6.2.2")
def _resources(reading: Reading) -> Iterator[str]:
    kinds = {"Tf": "/Font", "gs": "/ExtGState", "Do": "/XObject"}
    for number, page in enumerate(reading.pages):
        for step in reading.instructions(number):
            if kind := kinds.get(str(step.operator)):
                name = str(step.operands[0])
                if name not in page.obj.get("/Resources", {}).get(kind, {}):
                    yield f"page {number + 1}: {kind} {name} is none of its own resources"


def _profile(reading: Reading) -> bytes:
    for intent in reading.root.get("/OutputIntents", []):
        if intent.get("/S") == "/GTS_PDFA1" and "/DestOutputProfile" in intent:
            return bytes(intent.DestOutputProfile.read_bytes())
    return b""


_COMPONENTS = {b"GRAY": 1, b"RGB ": 3, b"CMYK": 4, b"Lab ": 3}


@_rule("output-intent", "6.2.3")
def _output_intent(reading: Reading) -> Iterator[str]:
    profile = _profile(reading)
    if not profile:
        yield "no output intent of PDF/A with a profile"
        return
    # ICC.1: version at byte 8, class at 12, colour space at 16, signature at 36.
    if profile[12:16] not in {b"prtr", b"mntr"} or profile[16:20] not in _COMPONENTS:
        yield "its profile is neither a printer's nor a monitor's"
    if profile[36:40] != b"acsp" or profile[8] >= 5 or int.from_bytes(profile[:4]) != len(profile):
        yield "its profile is damaged or of a version that is not allowed"
    targets = {
        one.DestOutputProfile.objgen
        for one in reading.root.OutputIntents
        if "/DestOutputProfile" in one
    }
    if len(targets) > 1:
        yield "output intents with several profiles"


@_rule("profile-components", "6.2.4.2")
def _profile_components(reading: Reading) -> Iterator[str]:
    for way, one in reading.dictionaries:
        if isinstance(one, pikepdf.Stream) and "/N" in one and "/Type" not in one:
            data = one.read_bytes()
            if _COMPONENTS.get(data[16:20]) != int(one.N):
                yield f"{way}: N is {one.N}, its profile is {data[16:20]!r}"


@_rule("device-colours", "6.2.4.3")
def _device_colours(reading: Reading) -> Iterator[str]:
    space = _profile(reading)[16:20]
    allowed = {b"RGB ": {"rg", "RG"}, b"CMYK": {"k", "K"}}.get(space, set())
    allowed |= {"g", "G"} if space else set()
    for number in range(len(reading.pages)):
        used = {str(step.operator) for step in reading.instructions(number)}
        for name in (used & {"rg", "RG", "k", "K", "g", "G"}) - allowed:
            yield f"page {number + 1}: {name} without a profile of that colour space"


_BLENDS = """
    Normal Compatible Multiply Screen Overlay Darken Lighten ColorDodge ColorBurn HardLight
    SoftLight Difference Exclusion Hue Saturation Color Luminosity
"""


@_rule("graphics-state", "6.2.5, 6.2.6, 6.2.10")
def _graphics_state(reading: Reading) -> Iterator[str]:
    intents = {"RelativeColorimetric", "AbsoluteColorimetric", "Perceptual", "Saturation"}
    for page in reading.pages:
        for name, state in page.Resources.get("/ExtGState", {}).items():
            if "/TR" in state or "/HTP" in state or state.get("/TR2", "/Default") != "/Default":
                yield f"{name} has a transfer function or a halftone's phase"
            if str(state.get("/BM", "/Normal"))[1:] not in _BLENDS.split():
                yield f"{name} blends in a way of its own"
            if "/RI" in state and str(state.RI)[1:] not in intents:
                yield f"{name} has a rendering intent of its own"


@_rule("blending-space", "6.2.10")
def _blending_space(reading: Reading) -> Iterator[str]:
    if _profile(reading):
        return
    for number, page in enumerate(reading.pages):
        states = page.Resources.get("/ExtGState", {}).values()
        is_seen_through = any(
            float(state.get(key, 1)) < 1 for state in states for key in ("/ca", "/CA")
        )
        if is_seen_through and "/CS" not in page.get("/Group", {}):
            yield f"page {number + 1} is seen through and names no space to blend in"


@_rule("images-and-forms", "6.2.8, 6.2.9")
def _images_and_forms(reading: Reading) -> Iterator[str]:
    for way, one in reading.dictionaries:
        if one.get("/Subtype") == "/Image":
            if one.get("/Interpolate", False):
                yield f"{way} is interpolated"
            for key in {"/Alternates", "/OPI"} & set(one.keys()):
                yield f"{way} has {key}"
        elif one.get("/Subtype") == "/Form" and isinstance(one, pikepdf.Stream):
            for key in {"/OPI", "/PS", "/Ref"} & set(one.keys()):
                yield f"{way} has {key}"
        elif one.get("/Subtype") == "/PS":
            yield f"{way} is PostScript"


# Fonts


def _fonts(reading: Reading) -> list[Font]:
    return list({piece.shown.font.name: piece.shown.font for piece in _shown(reading)}.values())


def _shown(reading: Reading) -> list[Any]:
    return [piece for piece in reading.pieces if piece.shown is not None]


def _codes(reading: Reading, font: Font) -> set[int]:
    return {
        code
        for piece in _shown(reading)
        if piece.shown.font.name == font.name
        for code in piece.shown.codes
    }


@_rule("font-dictionary", "6.2.11.2, 6.2.11.3")
def _font_dictionary(reading: Reading) -> Iterator[str]:
    for font in _fonts(reading):
        outer, inner = font.dictionary, font.descendant
        if outer.get("/Type") != "/Font" or outer.get("/Subtype") != "/Type0":
            yield f"{font.name} is not a composite font"
        if not font.name or outer.get("/Encoding") != "/Identity-H":
            yield f"{font.name}: no name, or codes that are not its glyphs"
        if inner.get("/Subtype") == "/CIDFontType2" and "/CIDToGIDMap" not in inner:
            yield f"{font.name}: no CIDToGIDMap"


@_rule("font-embedded", "6.2.11.4")
def _font_embedded(reading: Reading) -> Iterator[str]:
    for font in _fonts(reading):
        if font.program is None:
            yield f"{font.name} is not in the file"


@_rule("glyphs-present", "6.2.11.4, 6.2.11.8")
def _glyphs_present(reading: Reading) -> Iterator[str]:
    for font in _fonts(reading):
        count = font.program["maxp"].numGlyphs if font.program else 2**16
        for code in sorted(_codes(reading, font)):
            if code == 0 or code >= count:
                letter = font.to_unicode.get(code, "?")
                yield f"{font.name} has no glyph {code} ({letter!r})"


@_rule("widths", "6.2.11.5")
def _widths(reading: Reading) -> Iterator[str]:
    for font in _fonts(reading):
        if font.program is None:
            continue
        names, em = font.program.getGlyphOrder(), font.program["head"].unitsPerEm
        for code in sorted(_codes(reading, font)):
            if code < len(names):
                own = font.program["hmtx"][names[code]][0] * 1000 / em
                # One thousandth is what ISO 19005-3 leaves for rounding (from memory).
                if abs(font.widths.get(code, 1000.0) - own) > 1.0:
                    yield f"{font.name}: glyph {code} is {own:.0f} wide, not as listed"


@_rule("unicode", "6.2.11.7")
def _unicode(reading: Reading) -> Iterator[str]:
    for font in _fonts(reading):
        for code in sorted(_codes(reading, font)):
            text = font.to_unicode.get(code)
            if not text:
                yield f"{font.name}: glyph {code} has no Unicode value"
            elif set(text) & {"\0", "\ufeff", "\ufffe"}:
                yield f"{font.name}: glyph {code} stands for no letter"
            elif any("\ue000" <= letter <= "\uf8ff" for letter in text):
                yield f"{font.name}: glyph {code} is of the private use area"


# Annotations, forms, actions


def _annotations(reading: Reading) -> list[tuple[str, Any]]:
    return [
        (f"page {number + 1}, {one.get('/T', one.get('/Subtype'))}", one)
        for number, page in enumerate(reading.pages)
        for one in page.get("/Annots", [])
    ]


@_rule("annotation-types", "6.3.1")
def _annotation_types(reading: Reading) -> Iterator[str]:
    for what, one in _annotations(reading):
        if str(one.get("/Subtype")) not in {"/Link", "/Widget"}:  # no other is made here
            yield f"{what} is a {one.get('/Subtype')}"


@_rule("annotation-flags", "6.3.2")
def _annotation_flags(reading: Reading) -> Iterator[str]:
    for what, one in _annotations(reading):
        flags = int(one.get("/F", 0))
        # Invisible 1, Hidden 2, Print 4, NoView 32, ToggleNoView 256.
        if not flags & 4 or flags & (1 | 2 | 32 | 256):
            yield f"{what} is not printed or not seen: flags {flags}"


@_rule("appearance", "6.3.3")
def _appearance(reading: Reading) -> Iterator[str]:
    for what, one in _annotations(reading):
        left, low, right, high = (float(side) for side in one.Rect)
        if one.get("/Subtype") in {"/Popup", "/Link"} or (left == right and low == high):
            continue
        shown = one.get("/AP")
        if shown is None:
            yield f"{what} has no appearance"
        elif set(shown.keys()) != {"/N"} or not isinstance(shown.N, pikepdf.Stream):
            yield f"{what} has other appearances than one stream"


@_rule("no-form-actions", "6.4.1")
def _no_form_actions(reading: Reading) -> Iterator[str]:
    for what, one in _annotations(reading):
        if one.get("/Subtype") == "/Widget" and {"/A", "/AA"} & set(one.keys()):
            yield f"{what} does something"


@_rule("appearances-are-there", "6.4.1")
def _appearances_are_there(reading: Reading) -> Iterator[str]:
    if reading.root.get("/AcroForm", {}).get("/NeedAppearances", False):
        yield "a viewer is asked to make the appearances"


@_rule("no-xfa", "6.4.2")
def _no_xfa(reading: Reading) -> Iterator[str]:
    if "/XFA" in reading.root.get("/AcroForm", {}) or reading.root.get("/NeedsRendering", False):
        yield "a form of XML"


_ACTIONS = {"/GoTo", "/GoToR", "/GoToE", "/Thread", "/URI", "/Named", "/SubmitForm"}


@_rule("actions", "6.5.1")
def _actions(reading: Reading) -> Iterator[str]:
    for way, one in reading.dictionaries:
        is_action = one.get("/Type") == "/Action" or way.endswith(("/A", "/OpenAction"))
        if is_action and "/S" in one and str(one.S) not in _ACTIONS and "/O" not in one:
            yield f"{way} is an action {one.S}"
        if "/JS" in one or way.endswith("/JavaScript"):
            yield f"{way} is a script"


@_rule("no-triggers", "6.5.2")
def _no_triggers(reading: Reading) -> Iterator[str]:
    for way, one in [("catalog", reading.root), *((f"page {p.index}", p) for p in reading.pages)]:
        if "/AA" in one:
            yield f"{way} has additional actions"


# Metadata

_NAMES = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "pdf": "http://ns.adobe.com/pdf/1.3/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "pdfaid": "http://www.aiim.org/pdfa/ns/id/",
}


def _metadata(reading: Reading) -> dict[str, str]:
    """The properties of the document's metadata as prefix:name and text."""
    stream = reading.root.get("/Metadata")
    if stream is None:
        return {}
    try:
        tree = etree.fromstring(stream.read_bytes())
    except etree.XMLSyntaxError:
        return {}
    prefixes = {address: name for name, address in _NAMES.items()}
    found: dict[str, str] = {}

    def keep(name: Any, text: str) -> None:
        where = etree.QName(name)
        prefix = prefixes.get(where.namespace or "", where.namespace or "")
        if prefix != "rdf":
            found[f"{prefix}:{where.localname}"] = text

    for described in tree.iter(f"{{{_NAMES['rdf']}}}Description"):
        for name, value in described.attrib.items():
            keep(name, value)
        for child in described:
            keep(child.tag, "".join(child.itertext()))
    return found


@_rule("metadata", "6.6.2.1")
def _metadata_stream(reading: Reading) -> Iterator[str]:
    stream = reading.root.get("/Metadata")
    if stream is None:
        yield "the catalog has no metadata"
        return
    data = stream.read_bytes()
    packet = re.match(rb"<\?xpacket ([^?]*)\?>", data)
    if not packet or re.search(rb"\b(bytes|encoding)=", packet[1]):
        yield "no packet without the attributes bytes and encoding"
    try:
        etree.fromstring(data)
        data.decode("utf-8")
    except (etree.XMLSyntaxError, UnicodeDecodeError) as error:
        yield f"not XML in UTF-8: {error}"


_PROPERTIES = {
    "dc:title",
    "dc:creator",
    "dc:description",
    "pdf:Producer",
    "pdf:Keywords",
    "xmp:CreatorTool",
    "xmp:CreateDate",
    "xmp:ModifyDate",
    "pdfaid:part",
    "pdfaid:conformance",
}


@_rule("metadata-properties", "6.6.2.3")
def _metadata_properties(reading: Reading) -> Iterator[str]:
    for name in _metadata(reading).keys() - _PROPERTIES:
        yield f"{name} is of no schema that XMP or PDF/A defines"


@_rule("identification", "6.6.4")
def _identification(reading: Reading) -> Iterator[str]:
    said = _metadata(reading)
    if (said.get("pdfaid:part"), said.get("pdfaid:conformance")) != ("3", "A"):
        yield "it does not say that it is PDF/A-3a"


@_rule("metadata-agree", "ISO 19005-1, 6.7.3", _MEMORY)
def _metadata_agree(reading: Reading) -> Iterator[str]:
    said, info = _metadata(reading), reading.pdf.trailer.get("/Info", {})
    pairs = {"/Title": "dc:title", "/Creator": "xmp:CreatorTool", "/Producer": "pdf:Producer"}
    for key, name in {**pairs, "/Author": "dc:creator", "/Subject": "dc:description"}.items():
        if str(info.get(key, "")) != said.get(name, ""):
            yield f"{key} is {info.get(key)}, {name} is {said.get(name)!r}"
    for key, name in {"/CreationDate": "xmp:CreateDate", "/ModDate": "xmp:ModifyDate"}.items():
        here, there = str(info.get(key, "")), said.get(name, "")
        if re.sub(r"\D", "", here) != re.sub(r"\D", "", there):
            yield f"{key} is {here}, {name} is {there}"


# Structure

# ISO 32000-1, 14.8.4.
_TYPES = """
    Document Part Art Sect Div BlockQuote Caption TOC TOCI Index NonStruct Private P H H1 H2 H3 H4
    H5 H6 L LI Lbl LBody Table TR TH TD THead TBody TFoot Span Quote Note Reference BibEntry Code
    Link Annot Ruby RB RT RP Warichu WT WP Figure Formula Form
"""


@_rule("marked", "6.7.2")
def _marked(reading: Reading) -> Iterator[str]:
    if not reading.root.get("/MarkInfo", {}).get("/Marked", False):
        yield "it does not say that it is marked"


@_rule("structure", "6.7.3")
def _structure(reading: Reading) -> Iterator[str]:
    if reading.tree is None or not reading.elements:
        yield "no structure tree"
        return
    roles, types = reading.tree.object.get("/RoleMap", {}), _TYPES.split()
    for one in reading.elements:
        role, steps = one.type, 0
        while role[1:] not in types and role in roles and steps < 9:
            role, steps = str(roles[role]), steps + 1
        if role[1:] not in types:
            yield f"{one.type} is no standard type and is mapped to none"


@_rule("language", "6.7.4")
def _language(reading: Reading) -> Iterator[str]:
    tags = [reading.root.get("/Lang"), *(one.object.get("/Lang", "en") for one in reading.elements)]
    for tag in tags:
        if tag is None or not re.fullmatch(r"[a-zA-Z]{1,8}(-[a-zA-Z0-9]{1,8})*", str(tag)):
            yield f"{tag} is no language"


@_rule("all-marked", "ISO 32000-1, 14.8.2.2", _MEMORY)
def _all_marked(reading: Reading) -> Iterator[str]:
    for piece in reading.pieces:
        if not piece.mcids and not piece.is_artifact:
            text = piece.shown.text if piece.shown else ""
            yield f"page {piece.page + 1}: {piece.operator} {text!r} is neither"
        if piece.mcids and piece.is_artifact:
            yield f"page {piece.page + 1}: {piece.operator} is both content and artifact"


@_rule("all-in-tree", "ISO 32000-1, 14.7.4.2 and 14.8.2.2", _MEMORY)
def _all_in_tree(reading: Reading) -> Iterator[str]:
    """Each piece of content belongs to one element, and what elements name is there."""
    named = list(reading.tree.content()) if reading.tree else []
    marked = {
        (number, int(step.operands[1].MCID))
        for number in range(len(reading.pages))
        for step in reading.instructions(number)
        if str(step.operator) == "BDC" and "/MCID" in step.operands[1]
    }
    for page, identifier in sorted(marked - set(named)):
        text = reading.texts.get((page, identifier), "")
        yield f"page {page + 1}: {text!r} is in no element"
    for page, identifier in sorted(set(named) - marked):
        yield f"page {page + 1}: content {identifier} is named and not there"
    if len(named) != len(set(named)):
        yield "some content is named twice"


@_rule("identifiers-once", "ISO 32000-1, 14.7.4.2", _MEMORY)
def _identifiers_once(reading: Reading) -> Iterator[str]:
    for number in range(len(reading.pages)):
        seen: set[int] = set()
        for step in reading.instructions(number):
            if str(step.operator) == "BDC" and "/MCID" in step.operands[1]:
                identifier = int(step.operands[1].MCID)
                if identifier in seen:
                    yield f"page {number + 1}: content {identifier} is there twice"
                seen.add(identifier)


def _numbered(tree: Any) -> dict[int, Any]:
    """The entries of a number tree."""
    found = {}
    for kid in tree.get("/Kids", []):
        found |= _numbered(kid)
    entries = list(tree.get("/Nums", []))
    return found | {int(entries[n]): entries[n + 1] for n in range(0, len(entries), 2)}


@_rule("parents", "ISO 32000-1, 14.7.4.4", _MEMORY)
def _parents(reading: Reading) -> Iterator[str]:
    """From content and annotations the tree is found as from the tree the content."""
    if reading.tree is None:
        return
    numbers = _numbered(reading.tree.object.get("/ParentTree", pikepdf.Dictionary()))
    for one in reading.elements:
        above = one.object.get("/P")
        if above is None or one.parent is None or above.objgen != one.parent.object.objgen:
            yield f"{one.type} does not name the element above it"
        for page, identifier in (kid for kid in one.kids if isinstance(kid, tuple)):
            entry = numbers.get(int(reading.pages[page].get("/StructParents", -1)))
            found = None if entry is None or identifier >= len(entry) else entry[identifier]
            if found is None or found.objgen != one.object.objgen:
                yield f"page {page + 1}: content {identifier} does not lead to its {one.type}"
        for kid in one.annotations:
            found = numbers.get(int(kid.get("/StructParent", -1)))
            if found is None or getattr(found, "objgen", None) != one.object.objgen:
                yield f"{kid.get('/T')} does not lead to its {one.type}"


def _named(tree: Any) -> list[tuple[bytes, Any]]:
    """The entries of a name tree."""
    found = [pair for kid in tree.get("/Kids", []) for pair in _named(kid)]
    entries = list(tree.get("/Names", []))
    return found + [(bytes(entries[n]), entries[n + 1]) for n in range(0, len(entries), 2)]


@_rule("element-names", "ISO 32000-1, 14.7.2, table 322", _MEMORY)
def _element_names(reading: Reading) -> Iterator[str]:
    """Elements with an identifier are found by it."""
    if reading.tree is None:
        return
    wanted = [(bytes(one.object.ID), one) for one in reading.elements if "/ID" in one.object]
    listed = _named(reading.tree.object.get("/IDTree", pikepdf.Dictionary()))
    by_name = dict(listed)
    if [name for name, _one in listed] != sorted(name for name, _one in listed):
        yield "the list of names is not in order"
    if len({name for name, _one in wanted}) != len(wanted):
        yield "two elements have the same identifier"
    for name, one in wanted:
        if name not in by_name or by_name[name].objgen != one.object.objgen:
            yield f"{one.type} {name!r} is not found by its identifier"


@_rule("headings", "ISO 14289-1, 7.4", _MEMORY)
def _headings(reading: Reading) -> Iterator[str]:
    last = 0
    for one in reading.elements:
        level = re.fullmatch(r"/H([1-6])", one.type)
        if not level:
            continue
        if int(level[1]) > last + 1:
            yield f"{one.type} {reading.text(one)!r} follows H{last}"
        last = int(level[1])
        if not reading.text(one).strip():
            yield f"{one.type} says nothing"
    if sum(one.type == "/H1" for one in reading.elements) != 1:
        yield "not one heading of the first level"


_MAY_HOLD = {
    "/Table": {"/TR", "/THead", "/TBody", "/TFoot", "/Caption"},
    "/THead": {"/TR"},
    "/TBody": {"/TR"},
    "/TFoot": {"/TR"},
    "/TR": {"/TH", "/TD"},
    "/L": {"/L", "/LI", "/Caption"},
    "/LI": {"/Lbl", "/LBody"},
}


@_rule("tables-and-lists", "ISO 32000-1, 14.8.4.3", _MEMORY)
def _tables_and_lists(reading: Reading) -> Iterator[str]:
    holders: dict[str, set[str]] = {}
    for outer, inner in _MAY_HOLD.items():
        for one in inner - {"/L", "/Caption"}:
            holders.setdefault(one, set()).add(outer)
    for one in reading.elements:
        above = one.parent.type if one.parent else ""
        if one.type in _MAY_HOLD and len(one.elements) != len(one.kids):
            yield f"{one.type} holds content without an element"
        for kid in one.elements:
            if kid.type not in _MAY_HOLD.get(one.type, {kid.type}):
                yield f"{one.type} holds {kid.type}"
        if one.type in holders and above not in holders[one.type]:
            yield f"{one.type} stands in {above}"


@_rule("table-headers", "ISO 14289-1, 7.5", _MEMORY)
def _table_headers(reading: Reading) -> Iterator[str]:
    """What a cell names as its head is a head of the same table."""
    for table in (one for one in reading.elements if one.type == "/Table"):
        cells = [one for one in table.walk() if one.type in {"/TH", "/TD"}]
        own = [one for one in cells if next(up for up in one.above if up.type == "/Table") is table]
        heads = {bytes(one.object.ID) for one in own if one.type == "/TH" and "/ID" in one.object}
        for cell in own:
            if cell.type == "/TH" and "/ID" not in cell.object:
                yield f"head {reading.text(cell)!r} cannot be named by its cells"
            for name in cell.object.get("/A", {}).get("/Headers", []):
                if bytes(name) not in heads:
                    yield f"cell {reading.text(cell)!r} names a head that its table has not"


@_rule("figures", "ISO 14289-1, 7.3", _MEMORY)
def _figures(reading: Reading) -> Iterator[str]:
    for one in (one for one in reading.elements if one.type == "/Figure"):
        said = str(one.object.get("/Alt", ""))
        if len(said.split()) < 3:
            yield f"a figure is told as {said!r}"


@_rule("figure-places", "ISO 32000-1, 14.8.5.4.3", _MEMORY)
def _figure_places(reading: Reading) -> Iterator[str]:
    """A figure's box is where it is drawn, in the page's own units."""
    for one in (one for one in reading.elements if one.type == "/Figure"):
        box = [float(side) for side in one.object.get("/A", {}).get("/BBox", [])]
        drawn = set(one.content())
        points = [
            point
            for piece in reading.pieces
            if piece.mcids and (piece.page, piece.mcids[0]) in drawn
            for point in piece.points
        ]
        if len(box) != 4 or not points:
            yield "a figure has no box or nothing in it"
            continue
        left, low, right, high = box
        outside = [
            (x, y)
            for x, y in points
            if not (left - 1 <= x <= right + 1 and low - 1 <= y <= high + 1)
        ]
        if outside:
            yield f"a figure's box {box} leaves out {outside[0]}"


@_rule("fields", "ISO 14289-1, 7.18.4", _MEMORY)
def _fields(reading: Reading) -> Iterator[str]:
    """Each field is in the tree, under a Form, and says what it is for."""
    told = {
        kid.objgen: one
        for one in reading.elements
        for kid in one.annotations
        if one.type == "/Form"
    }
    for one in reading.widgets:
        name, said = str(one.get("/T", "")), str(one.get("/TU", ""))
        if one.objgen not in told:
            yield f"field {name!r} is not in the tree"
        if not name or not said or said == name or "_" in said:
            yield f"field {name!r} is told as {said!r}"
    listed = {one.objgen for one in reading.root.get("/AcroForm", {}).get("/Fields", [])}
    if listed != {one.objgen for one in reading.widgets}:
        yield "the form's list of fields is not what stands on the pages"


@_rule("tab-order", "ISO 14289-1, 7.18.3", _MEMORY)
def _tab_order(reading: Reading) -> Iterator[str]:
    for number, page in enumerate(reading.pages):
        if page.get("/Tabs") != "/S":
            yield f"page {number + 1}: the fields do not follow in the order of the tree"


@_rule("title-shown", "ISO 14289-1, 7.1", _MEMORY)
def _title_shown(reading: Reading) -> Iterator[str]:
    shown = reading.root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False)
    if not shown or not _metadata(reading).get("dc:title", "").strip():
        yield "a viewer is not told to show the title, or there is none"


# Embedded files


@_rule("embedded-files", "6.8")
def _embedded_files(reading: Reading) -> Iterator[str]:
    # A description and the time of the last change are asked for by 6.8 too (from memory).
    associated = {one.objgen for one in reading.root.get("/AF", [])}
    if len(associated) != len(reading.root.get("/AF", [])):
        yield "a file is associated twice"
    for way, one in reading.dictionaries:
        if "/EF" not in one:
            continue
        name = str(one.get("/UF", ""))
        if not name or not str(one.get("/F", "")):
            yield f"{way} has no name in F and UF"
        if "/AFRelationship" not in one or one.objgen not in associated:
            yield f"{name} is not associated with the document"
        if not str(one.get("/Desc", "")):
            yield f"{name} is not described"
        for stream in one.EF.values():
            kind = str(stream.get("/Subtype", ""))[1:]
            if not re.fullmatch(r"[-\w+.]+/[-\w+.]+", kind):
                yield f"{name} is of no kind: {kind!r}"
            params = stream.get("/Params", {})
            if not re.match(r"D:\d{8}", str(params.get("/ModDate", ""))):
                yield f"{name} says not when it was changed"
            if int(params.get("/Size", -1)) != len(stream.read_bytes()):
                yield f"{name} is not as large as it says"


# What else is not there


@_rule("no-alternatives", "6.9, 6.10, 6.11")
def _no_alternatives(reading: Reading) -> Iterator[str]:
    for key in {"/OCProperties", "/Requirements"} & set(reading.root.keys()):
        yield f"the catalog has {key}"  # nothing here is shown at times only
    if "/AlternatePresentations" in reading.root.get("/Names", {}):
        yield "there are other presentations"
    for number, page in enumerate(reading.pages):
        if "/PresSteps" in page:
            yield f"page {number + 1} is a presentation"
