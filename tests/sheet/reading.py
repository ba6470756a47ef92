"""What a PDF holds, read without the program that wrote it: marked pieces of content and the tree.

pikepdf parses the file; content streams are walked here, form XObjects within them as well.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from io import BytesIO
from typing import Any

import pikepdf
from fontTools.ttLib import TTFont

__all__ = ["PAINTS", "SHOWS_TEXT", "Element", "Font", "Piece", "Reading", "Shown"]

Matrix = tuple[float, float, float, float, float, float]
_UNMOVED: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
SHOWS_TEXT = {"Tj", "TJ", "'", '"'}
# ISO 32000-1, 8.5.3 (paths), 9.4.3 (text), 8.8 to 8.10 (objects), 8.7.4.2 (shading).
PAINTS = {*SHOWS_TEXT, "f", "F", "f*", "S", "s", "B", "B*", "b", "b*", "Do", "sh", "BI"}


def _after(first: Matrix, then: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    g, h, i, j, k, m = then
    return (
        a * g + b * i,
        a * h + b * j,
        c * g + d * i,
        c * h + d * j,
        e * g + f * i + k,
        e * h + f * j + m,
    )


class Font:
    """A composite font: what its codes mean, and what its program holds."""

    def __init__(self, dictionary: pikepdf.Object) -> None:
        self.dictionary = dictionary
        self.name = str(dictionary.get("/BaseFont", ""))
        kids = dictionary.get("/DescendantFonts")
        self.descendant = kids[0] if kids else dictionary
        self.descriptor = self.descendant.get("/FontDescriptor")

    @cached_property
    def to_unicode(self) -> dict[int, str]:
        stream = self.dictionary.get("/ToUnicode")
        if stream is None:
            return {}
        pairs = re.findall(rb"<([0-9a-fA-F]{4})>\s*<([0-9a-fA-F]*)>", stream.read_bytes())
        return {
            int(code, 16): bytes.fromhex(text.decode()).decode("utf-16-be", "replace")
            for code, text in pairs
            if text.lower() != b"ffff" or code != b"0000"  # the range of the codes
        }

    @cached_property
    def widths(self) -> dict[int, float]:
        """Widths of the codes by the dictionary, in thousandths of the size."""
        found: dict[int, float] = {}
        listed = list(self.descendant.get("/W", []))
        while listed:
            first, second, *listed = listed
            if isinstance(second, pikepdf.Array):
                found |= {int(first) + n: float(width) for n, width in enumerate(second)}
            else:
                width, *listed = listed
                found |= dict.fromkeys(range(int(first), int(second) + 1), float(width))
        return found

    @cached_property
    def program(self) -> TTFont | None:
        """The font program in the file, None if there is none."""
        for key in ("/FontFile2", "/FontFile3"):
            if self.descriptor is not None and key in self.descriptor:
                return TTFont(BytesIO(self.descriptor[key].read_bytes()))
        return None


@dataclass(frozen=True)
class Shown:
    """Codes that one operator shows."""

    font: Font
    codes: tuple[int, ...]
    rendering: int

    @property
    def text(self) -> str:
        return "".join(self.font.to_unicode.get(code, "") for code in self.codes)


@dataclass(frozen=True)
class Piece:
    """One operator that paints, and the marked content it stands in.

    Attributes:
        tags: of the marked content around it, outermost first.
        mcids: the identifiers among them.
        points: where its path goes, in the page's own units.
    """

    page: int
    operator: str
    tags: tuple[str, ...]
    mcids: tuple[int, ...]
    shown: Shown | None = None
    points: tuple[tuple[float, float], ...] = ()

    @property
    def is_artifact(self) -> bool:
        return "/Artifact" in self.tags


@dataclass
class Element:
    """A structure element; its kids are elements, (page, mcid) or annotations, in order."""

    object: pikepdf.Object
    type: str
    parent: "Element | None"
    kids: list[Any] = field(default_factory=list)

    def walk(self) -> Iterator["Element"]:
        """This element and all below, in order."""
        yield self
        for kid in self.kids:
            if isinstance(kid, Element):
                yield from kid.walk()

    def content(self) -> Iterator[tuple[int, int]]:
        """Its marked content and that below, in order."""
        for kid in self.kids:
            if isinstance(kid, Element):
                yield from kid.content()
            elif isinstance(kid, tuple):
                yield kid

    @property
    def elements(self) -> list["Element"]:
        return [kid for kid in self.kids if isinstance(kid, Element)]

    @property
    def annotations(self) -> list[pikepdf.Object]:
        return [kid for kid in self.kids if isinstance(kid, pikepdf.Object)]

    @property
    def above(self) -> list["Element"]:
        """Its parents, nearest first."""
        return [] if self.parent is None else [self.parent, *self.parent.above]


class Reading:
    """A PDF, read once for all that is asked of it."""

    def __init__(self, content: bytes) -> None:
        self.content = content
        self.pdf = pikepdf.open(BytesIO(content))
        self.root = self.pdf.Root
        self.pages = list(self.pdf.pages)
        self._page_numbers = {page.objgen: number for number, page in enumerate(self.pages)}
        self._fonts: dict[Any, Font] = {}

    def objects(self) -> Iterator[tuple[str, Any]]:
        """Every value in the file, with the way to it from its indirect object."""

        def inside(value: Any, way: str) -> Iterator[tuple[str, Any]]:
            yield way, value
            if isinstance(value, pikepdf.Array):
                for number, item in enumerate(value):
                    if not getattr(item, "is_indirect", False):
                        yield from inside(item, f"{way}[{number}]")
            elif isinstance(value, pikepdf.Dictionary | pikepdf.Stream):
                for key, item in value.items():
                    yield f"{way}{key}", pikepdf.Name(key)
                    if not getattr(item, "is_indirect", False):
                        yield from inside(item, f"{way}{key}")

        for one in self.pdf.objects:
            yield from inside(one, f"object {one.objgen[0]}")
        yield from inside(self.pdf.trailer, "trailer")

    @cached_property
    def dictionaries(self) -> list[tuple[str, Any]]:
        """Every dictionary and stream in the file."""
        return [
            (way, value)
            for way, value in self.objects()
            if isinstance(value, pikepdf.Dictionary | pikepdf.Stream)
        ]

    def instructions(self, page: int) -> list[Any]:
        """The operators of a page's own content."""
        return list(pikepdf.parse_content_stream(self.pages[page]))

    @cached_property
    def pieces(self) -> list[Piece]:
        """All that is painted on the pages, in order."""
        found: list[Piece] = []
        for number, page in enumerate(self.pages):
            self._paint(page, page.get("/Resources"), number, (), (), _UNMOVED, found)
        return found

    def _font(self, resources: Any, name: str) -> Font:
        dictionary = resources["/Font"][name]
        return self._fonts.setdefault(dictionary.objgen, Font(dictionary))

    def _paint(
        self,
        stream: Any,
        resources: Any,
        page: int,
        tags: tuple[str, ...],
        mcids: tuple[int, ...],
        matrix: Matrix,
        found: list[Piece],
    ) -> None:
        marked: list[tuple[tuple[str, ...], tuple[int, ...]]] = [(tags, mcids)]
        saved: list[tuple[Matrix, Font | None, int]] = []
        font: Font | None = None
        rendering = 0
        path: list[tuple[float, float]] = []
        for step in pikepdf.parse_content_stream(stream):
            name, operands = str(step.operator), list(step.operands)
            if name == "q":
                saved.append((matrix, font, rendering))
            elif name == "Q":
                matrix, font, rendering = saved.pop()
            elif name == "cm":
                moved: Any = tuple(float(one) for one in operands)
                matrix = _after(moved, matrix)
            elif name == "Tf":
                font = self._font(resources, str(operands[0]))
            elif name == "Tr":
                rendering = int(operands[0])
            elif name in {"BMC", "BDC"}:
                identifier = operands[1].get("/MCID") if name == "BDC" else None
                now_tags, now_mcids = marked[-1]
                more = () if identifier is None else (int(identifier),)
                marked.append(((*now_tags, str(operands[0])), now_mcids + more))
            elif name == "EMC":
                marked.pop()
            elif name in {"m", "l", "c", "v", "y", "re"}:
                path += self._points(name, [float(one) for one in operands], matrix)
            elif name in PAINTS:
                shown = None
                if name in SHOWS_TEXT and font is not None:
                    shown = Shown(font, self._codes(operands), rendering)
                found.append(Piece(page, name, *marked[-1], shown, tuple(path)))
                path = []
                inner = resources["/XObject"][str(operands[0])] if name == "Do" else None
                if inner is not None and inner.get("/Subtype") == "/Form":
                    own: Any = tuple(float(one) for one in inner.get("/Matrix", _UNMOVED))
                    self._paint(
                        inner,
                        inner.get("/Resources", resources),
                        page,
                        *marked[-1],
                        _after(own, matrix),
                        found,
                    )
            elif name == "n":
                path = []

    @staticmethod
    def _points(name: str, numbers: list[float], matrix: Matrix) -> list[tuple[float, float]]:
        if name == "re":
            x, y, width, height = numbers
            numbers = [x, y, x + width, y, x + width, y + height, x, y + height]
        a, b, c, d, e, f = matrix
        pairs = zip(numbers[::2], numbers[1::2], strict=True)
        return [(a * x + c * y + e, b * x + d * y + f) for x, y in pairs]

    @staticmethod
    def _codes(operands: list[Any]) -> tuple[int, ...]:
        strings = operands[-1] if isinstance(operands[-1], pikepdf.Array) else [operands[-1]]
        raw = b"".join(bytes(one) for one in strings if isinstance(one, pikepdf.String))
        return tuple(int.from_bytes(raw[at : at + 2]) for at in range(0, len(raw), 2))

    @cached_property
    def texts(self) -> dict[tuple[int, int], str]:
        """The text of each marked piece of content by page and identifier."""
        found: dict[tuple[int, int], str] = {}
        for piece in self.pieces:
            if piece.shown and piece.mcids:
                key = (piece.page, piece.mcids[-1])
                found[key] = found.get(key, "") + piece.shown.text
        return found

    @cached_property
    def tree(self) -> Element | None:
        """The structure tree's root, None if the file has none."""
        root = self.root.get("/StructTreeRoot")
        return None if root is None else self._element(root, None)

    def _element(self, source: Any, parent: Element | None, page: int | None = None) -> Element:
        element = Element(source, str(source.get("/S", "/StructTreeRoot")), parent)
        if "/Pg" in source:
            page = self._page_numbers.get(source.Pg.objgen)
        kids = source.get("/K")
        listed = list(kids) if isinstance(kids, pikepdf.Array) else [kids]
        for kid in (one for one in listed if one is not None):
            if isinstance(kid, int):
                element.kids.append((page, int(kid)))
            elif kid.get("/Type") == "/MCR":
                own = self._page_numbers.get(kid.Pg.objgen) if "/Pg" in kid else page
                element.kids.append((own, int(kid.MCID)))
            elif kid.get("/Type") == "/OBJR":
                element.kids.append(kid.Obj)
            else:
                element.kids.append(self._element(kid, element, page))
        return element

    @cached_property
    def elements(self) -> list[Element]:
        """All elements of the tree in reading order, without its root."""
        return list(self.tree.walk())[1:] if self.tree else []

    def text(self, element: Element) -> str:
        """What is read out of an element."""
        return " ".join(self.texts.get(key, "") for key in element.content())

    @property
    def widgets(self) -> list[Any]:
        """The annotations of fields, page by page."""
        return [
            one
            for page in self.pages
            for one in page.get("/Annots", [])
            if one.get("/Subtype") == "/Widget"
        ]
