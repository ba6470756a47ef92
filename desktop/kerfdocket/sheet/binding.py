"""Binds sheets into one PDF that keeps tags, fonts and carried files: a pack.

Why not the merge of a library. The archive's form PDF/A-3a wants one tree of tags over all pages;
pypdf (7.1) leaves the tree of what it merges behind. pikepdf (10.18, qpdf) can carry it over, but
holds every object of every sheet until the end: 1.2 MB a sheet, 390 MB for 300 sheets, measured.
Here a sheet is taken apart with pypdf where it was made, in its own process, and its objects are
written behind those of the sheet before; what stays in memory is 8 bytes an object. The numbers in
brackets are of ISO 32000-1.
"""

import hashlib
import io
import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import BinaryIO, cast

from pypdf import PdfReader
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NumberObject,
    PdfObject,
    StreamObject,
    TextStringObject,
)

__all__ = ["Binder", "Leaf", "take_apart"]

# Objects that every bound file has, by number.
_CATALOG, _PAGES, _TAGS, _DOCUMENT, _PARENTS, _OUTLINE, _FILES, _INFO = range(1, 9)
_FIRST_FREE = 9
_KEYS_EACH = 100_000  # keys of the parent tree for each leaf: more than it can have pages
_TAGS_EACH = 64  # subset tags for each leaf: more than it can have fonts
_IN_ONE_STREAM = 200  # objects packed together: common practice, no source
_SUBSET = re.compile(r"/([A-Z]{6})\+")  # [9.6.4]
_OF_COVER = ("/Metadata", "/OutputIntents", "/Lang", "/ViewerPreferences", "/MarkInfo")

# What stands in an object: bytes as they are, and between them numbers of other objects; of its own
# leaf from 0, or less than 0 for those that every bound file has.
Text = list[bytes | int]


@dataclass(frozen=True)
class Leaf:
    """A PDF taken apart, with an even number of pages, its objects numbered from 0.

    Attributes:
        objects: text of each, and the data behind it where it is a stream.
        pages: number of the object that lists its pages.
        first_page: number of its first page.
        sides: pages that are printed, without a blank one at the end.
        parents: number of the object that leads from its pages to its tags.
        first_key: least key in that.
        parts: numbers of its topmost tags.
        files: name and number of each carried file.
        of_cover: entries that the bound file takes over from its cover.
    """

    objects: tuple[tuple[Text, bytes | None], ...]
    pages: int
    first_page: int
    sides: int
    parents: int
    first_key: int
    parts: tuple[int, ...]
    files: tuple[tuple[str, int], ...]
    of_cover: tuple[tuple[str, Text], ...]


def take_apart(
    content: bytes, index: int, names: Mapping[str, str] | None = None, is_cover: bool = False
) -> Leaf:
    """Take a sheet's PDF apart, so that it can be bound with others.

    Whatever must be unique in a file is made so with `index`: tags of font subsets, keys of pages,
    names of table cells. A blank page follows an odd number of pages: the next one then begins on a
    sheet of paper of its own.

    Args:
        content: the PDF, with tags and without a form.
        index: of the leaf, another one for each; from 0.
        names: of a carried file -> what it is called in the bound file.
        is_cover: True for the one whose metadata are those of the bound file.

    Raises:
        ValueError: it has no tags, or has fields to fill in, which are not kept.
    """
    reader = PdfReader(io.BytesIO(content))
    root = cast("DictionaryObject", reader.trailer["/Root"])
    if "/StructTreeRoot" not in root or "/AcroForm" in root:
        raise ValueError("only a PDF with tags and without a form can be bound")
    return _Knife(reader, root, index).cut(names or {}, is_cover)


class _Numbered(PdfObject):
    """Refers to an object by its number in the leaf or, less than 0, in every bound file."""

    def __init__(self, number: int) -> None:
        self.number = number


class _Knife:
    """Cuts one file: finds its objects from the pages, tags and carried files on."""

    def __init__(self, reader: PdfReader, root: DictionaryObject, index: int) -> None:
        self._reader = reader
        self._root = root
        self._index = index
        self._numbers: dict[int, int] = {}  # number in the file -> number in the leaf
        self._found: list[PdfObject] = []
        self._subsets: dict[str, str] = {}

    def cut(self, names: Mapping[str, str], is_cover: bool) -> Leaf:
        pages = self._pages()
        parts = self._parts()
        parents = self._parents()
        files = tuple(self._files(names))
        of_cover = []
        if is_cover:
            of_cover = [(name, self._text(self._root.raw_get(name))) for name in _OF_COVER]
            of_cover.append(("/Info", self._text(self._reader.trailer["/Info"])))
        first_page = self._reader.pages[0].indirect_reference
        assert first_page is not None, "a page is always an object of its own"
        first = self._number(first_page)
        objects: list[tuple[Text, bytes | None]] = []
        while len(objects) < len(self._found):  # writing one may find more
            objects.append(self._written(self._found[len(objects)]))
        return Leaf(
            objects=tuple(objects),
            pages=pages,
            first_page=first,
            sides=len(self._reader.pages),
            parents=parents,
            first_key=self._index * _KEYS_EACH,
            parts=parts,
            files=files,
            of_cover=tuple(of_cover),
        )

    def _add(self, found: PdfObject) -> int:
        self._found.append(found)
        return len(self._found) - 1

    def _number(self, reference: IndirectObject) -> int:
        if reference.idnum not in self._numbers:
            found = reference.get_object()
            assert found is not None, "a sheet refers to nothing that it does not have"
            self._numbers[reference.idnum] = self._add(found)
        return self._numbers[reference.idnum]

    def _key(self, key: PdfObject) -> NumberObject:
        return NumberObject(self._index * _KEYS_EACH + int(cast("NumberObject", key)))

    def _pages(self) -> int:
        reference = cast("IndirectObject", self._root.raw_get("/Pages"))
        number = self._number(reference)
        node = cast("DictionaryObject", reference.get_object())
        _put(node, "/Parent", _Numbered(-_PAGES))
        for listed in self._reader.pages:
            assert listed.indirect_reference is not None, "a page is always an object of its own"
            # pypdf lists copies; what is written is the object itself.
            page = cast("DictionaryObject", listed.indirect_reference.get_object())
            _put(page, "/StructParents", self._key(page["/StructParents"]))
            annotations = page["/Annots"] if "/Annots" in page else ArrayObject()
            for annotation in cast("ArrayObject", annotations):
                own = cast("DictionaryObject", annotation.get_object())
                if "/StructParent" in own:
                    _put(own, "/StructParent", self._key(own["/StructParent"]))
        if len(self._reader.pages) % 2:
            blank = DictionaryObject()
            _put(blank, "/Type", NameObject("/Page"))
            _put(blank, "/Parent", _Numbered(number))
            _put(blank, "/MediaBox", self._reader.pages[-1]["/MediaBox"])
            _put(blank, "/Resources", DictionaryObject())
            kids = cast("ArrayObject", node["/Kids"])
            _put(node, "/Kids", ArrayObject([*list.__iter__(kids), _Numbered(self._add(blank))]))
            _put(node, "/Count", NumberObject(len(self._reader.pages) + 1))
        return number

    def _parts(self) -> tuple[int, ...]:
        tree = cast("DictionaryObject", self._root["/StructTreeRoot"])
        parts = []
        for reference in list.__iter__(cast("ArrayObject", tree["/K"])):
            part = cast("DictionaryObject", reference.get_object())
            _put(part, "/S", NameObject("/Part"))
            _put(part, "/P", _Numbered(-_DOCUMENT))
            _put(part, "/Lang", self._root["/Lang"])
            parts.append(self._number(reference))
        return tuple(parts)

    def _parents(self) -> int:
        """The part of the parent tree that is this leaf's [14.7.4.4]."""
        tree = cast("DictionaryObject", self._root["/StructTreeRoot"])
        parents = cast("DictionaryObject", tree["/ParentTree"])
        flat = list(list.__iter__(cast("ArrayObject", parents["/Nums"])))
        keys = [self._key(key) for key in flat[::2]]
        nums = ArrayObject()
        for key, value in zip(keys, flat[1::2], strict=True):
            nums.extend((key, value))
        leaf = DictionaryObject()
        _put(leaf, "/Limits", ArrayObject([keys[0], keys[-1]]))
        _put(leaf, "/Nums", nums)
        return self._add(leaf)

    def _files(self, names: Mapping[str, str]) -> Iterable[tuple[str, int]]:
        files = self._root["/AF"] if "/AF" in self._root else ArrayObject()
        for reference in list.__iter__(cast("ArrayObject", files)):
            file = cast("DictionaryObject", reference.get_object())
            name = names.get(str(file["/UF"]), str(file["/UF"]))
            for key in ("/F", "/UF"):
                _put(file, key, TextStringObject(name))
            yield name, self._number(reference)

    def _written(self, found: PdfObject) -> tuple[Text, bytes | None]:
        if not isinstance(found, StreamObject):
            return self._text(found), None
        data: bytes = found._data  # as it is packed; pypdf gives out only what it unpacked
        _put(found, "/Length", NumberObject(len(data)))
        return self._text(found), data

    def _text(self, value: PdfObject) -> Text:
        writer = _Writer()
        self._write(value, writer)
        return writer.text()

    def _write(self, value: PdfObject, into: "_Writer") -> None:
        match value:
            case _Numbered():
                into.refer(value.number)
            case IndirectObject():
                into.refer(self._number(value))
            case DictionaryObject():
                into.put(b"<<")
                is_tag = value.get("/Type") == "/StructElem"
                for key, own in dict.items(value):
                    NameObject(key).write_to_stream(into.buffer)
                    into.put(b" ")
                    self._write(self._unique(key, own, is_tag), into)
                into.put(b">>")
            case ArrayObject():
                into.put(b"[")
                for own in list.__iter__(value):
                    self._write(own, into)
                    into.put(b" ")
                into.put(b"]")
            case _:
                value.write_to_stream(into.buffer)

    def _unique(self, key: str, value: PdfObject, is_tag: bool) -> PdfObject:
        """Return a value as no other leaf has it, where that is wanted."""
        if key in {"/BaseFont", "/FontName"}:
            return NameObject(_SUBSET.sub(self._subset, str(value)))
        if key == "/ID" and is_tag:
            return self._cell(value)
        if key == "/Headers":
            return ArrayObject([self._cell(own) for own in cast("ArrayObject", value)])
        return value

    def _subset(self, found: re.Match[str]) -> str:
        """Two subsets of one font must not bear the same tag: a printer keeps one for both."""
        own = self._subsets.setdefault(
            found[1], _letters(self._index * _TAGS_EACH + len(self._subsets))
        )
        return f"/{own}+"

    def _cell(self, name: PdfObject) -> TextStringObject:
        return TextStringObject(f"{self._index}-{name}")


class _Writer:
    """Collects the text of an object."""

    def __init__(self) -> None:
        self.buffer = io.BytesIO()
        self._text: Text = []

    def put(self, content: bytes) -> None:
        self.buffer.write(content)

    def refer(self, number: int) -> None:
        self._text += [self.buffer.getvalue(), number]
        self.buffer = io.BytesIO()

    def text(self) -> Text:
        return [*self._text, self.buffer.getvalue()]


def _put(into: DictionaryObject, key: str, value: PdfObject) -> None:
    into[NameObject(key)] = value


def _letters(number: int) -> str:
    """Six capitals, another six for each number."""
    found = ""
    for _place in range(6):
        number, letter = divmod(number, 26)
        found = chr(ord("A") + letter) + found
    return found


class Binder:
    """Writes a bound file, leaf after leaf.

    Args:
        file: where to; nothing is read from it.
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._at = 0
        self._hash = hashlib.sha256()
        self._places = bytearray()  # of the objects, as the file lists them [7.5.8.3]
        self._next = _FIRST_FREE
        self._leaves: list[_Bound] = []
        self._put(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")

    def bind(self, leaf: Leaf) -> None:
        """Add a leaf behind the others."""
        self._leaves.append(self._bind(leaf))

    def finish(self, cover: Leaf, titles: Sequence[str]) -> None:
        """Put the cover in front and write what holds all together.

        Args:
            cover: taken apart as one.
            titles: bookmark of the cover and of each leaf, in order.

        Raises:
            ValueError: two carried files have the same name, or titles and leaves do not agree.
        """
        leaves = [self._bind(cover), *self._leaves]
        base = leaves[0].base
        of_cover = {name: _joined(text, base) for name, text in cover.of_cover}
        kids = b" ".join(_refer(leaf.pages) for leaf in leaves)
        count = sum(leaf.sides + leaf.sides % 2 for leaf in leaves)
        parts = b" ".join(_refer(part) for leaf in leaves for part in leaf.parts)
        # The keys of the leaves rise with their indices, not with their order.
        parents = b" ".join(_refer(p) for _, p in sorted((x.first_key, x.parents) for x in leaves))
        files = sorted((name, number) for leaf in leaves for name, number in leaf.files)
        if len(dict(files)) < len(files):
            raise ValueError("each carried file needs a name of its own")
        named = b" ".join(_string(name) + b" " + _refer(number) for name, number in files)
        items = [self._take_number() for _title in titles]
        catalog = [
            b"/Type /Catalog /PageMode /UseOutlines",
            b"/Pages %s" % _refer(_PAGES),
            b"/StructTreeRoot %s" % _refer(_TAGS),
            b"/Outlines %s" % _refer(_OUTLINE),
            b"/Names <</EmbeddedFiles %s>>" % _refer(_FILES),
            b"/AF [%s]" % b" ".join(_refer(number) for _name, number in files),
            *(name.encode() + b" " + of_cover[name] for name in _OF_COVER),
        ]
        texts = {
            _CATALOG: b"<<%s>>" % b" ".join(catalog),
            _PAGES: b"<</Type /Pages /Kids [%s] /Count %d>>" % (kids, count),
            _TAGS: b"<</Type /StructTreeRoot /K [%s] /ParentTree %s /ParentTreeNextKey %d>>"
            % (_refer(_DOCUMENT), _refer(_PARENTS), len(leaves) * _KEYS_EACH),
            _DOCUMENT: b"<</Type /StructElem /S /Document /P %s /K [%s]>>" % (_refer(_TAGS), parts),
            _PARENTS: b"<</Kids [%s]>>" % parents,
            _OUTLINE: b"<</Type /Outlines /First %s /Last %s /Count %d>>"
            % (_refer(items[0]), _refer(items[-1]), len(items)),
            _FILES: b"<</Names [%s]>>" % named,
            _INFO: of_cover["/Info"],
        }
        for at, (number, title, leaf) in enumerate(zip(items, titles, leaves, strict=True)):
            beside = b""
            if at:
                beside += b" /Prev %s" % _refer(items[at - 1])
            if at + 1 < len(items):
                beside += b" /Next %s" % _refer(items[at + 1])
            texts[number] = b"<</Title %s /Parent %s /Dest [%s /Fit]%s>>" % (
                _string(title),
                _refer(_OUTLINE),
                _refer(leaf.first_page),
                beside,
            )
        self._pack(list(texts.items()))
        self._end()

    def _bind(self, leaf: Leaf) -> "_Bound":
        base = self._next
        self._next += len(leaf.objects)
        plain = []
        for number, (text, data) in enumerate(leaf.objects, start=base):
            if data is None:
                plain.append((number, _joined(text, base)))
            else:
                self._stream(number, _joined(text, base), data)
        self._pack(plain)
        return _Bound(
            base=base,
            pages=base + leaf.pages,
            first_page=base + leaf.first_page,
            sides=leaf.sides,
            parents=base + leaf.parents,
            first_key=leaf.first_key,
            parts=tuple(base + part for part in leaf.parts),
            files=tuple((name, base + number) for name, number in leaf.files),
        )

    def _put(self, content: bytes) -> None:
        self._file.write(content)
        self._hash.update(content)
        self._at += len(content)

    def _take_number(self) -> int:
        self._next += 1
        return self._next - 1

    def _place(self, number: int, kind: int, where: int, index: int) -> None:
        end = (number + 1) * _PLACE_BYTES
        if len(self._places) < end:
            self._places.extend(bytes(end - len(self._places)))
        self._places[end - _PLACE_BYTES : end] = (
            kind.to_bytes(1) + where.to_bytes(5) + index.to_bytes(2)
        )

    def _stream(self, number: int, text: bytes, data: bytes) -> None:
        self._place(number, 1, self._at, 0)
        self._put(b"%d 0 obj\n%s\nstream\n" % (number, text))
        self._put(data)
        self._put(b"\nendstream\nendobj\n")

    def _pack(self, objects: Sequence[tuple[int, bytes]]) -> None:
        """Write objects that are no streams, many packed in one [7.5.7]."""
        for start in range(0, len(objects), _IN_ONE_STREAM):
            some = objects[start : start + _IN_ONE_STREAM]
            number = self._take_number()
            places, at = [], 0
            for index, (own, text) in enumerate(some):
                self._place(own, 2, number, index)
                places.append(b"%d %d" % (own, at))
                at += len(text) + 1
            head = b" ".join(places) + b"\n"
            data = zlib.compress(head + b"\n".join(text for _own, text in some))
            about = b"<</Type /ObjStm /N %d /First %d /Filter /FlateDecode /Length %d>>"
            self._stream(number, about % (len(some), len(head), len(data)), data)

    def _end(self) -> None:
        """Write where each object is, and the end [7.5.8]."""
        number, start = self._take_number(), self._at
        self._place(0, 0, 0, 0xFFFF)
        self._place(number, 1, start, 0)
        data = zlib.compress(bytes(self._places))
        identifier = self._hash.hexdigest()[:32].encode()
        about = (
            b"<</Type /XRef /Size %d /W [1 5 2] /Root %s /Info %s /ID [<%s> <%s>]"
            b" /Filter /FlateDecode /Length %d>>"
            % (
                self._next,
                _refer(_CATALOG),
                _refer(_INFO),
                identifier,
                identifier,
                len(data),
            )
        )
        self._stream(number, about, data)
        self._put(b"startxref\n%d\n%%%%EOF\n" % start)


_PLACE_BYTES = 8  # kind, place, index: 1 + 5 + 2


@dataclass(frozen=True)
class _Bound:
    """Where a leaf's objects are in the bound file."""

    base: int
    pages: int
    first_page: int
    sides: int
    parents: int
    first_key: int
    parts: tuple[int, ...]
    files: tuple[tuple[str, int], ...]


def _refer(number: int) -> bytes:
    return b"%d 0 R" % number


def _joined(text: Text, base: int) -> bytes:
    return b"".join(
        part if isinstance(part, bytes) else _refer(base + part if part >= 0 else -part)
        for part in text
    )


def _string(text: str) -> bytes:
    """A text string [7.9.2.2]."""
    return b"<%s>" % ("\ufeff" + text).encode("utf-16-be").hex().encode()
