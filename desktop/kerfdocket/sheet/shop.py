"""What a shop adds to the sheet: name, logo, cautions, fields, style and a template of its own.

All of it lies in one folder with a `shop.toml`. The folder is data, never code: templates run in
a sandbox that knows a short list of what may be called, pictures and styles are read from the
folder alone, and what is wrong is said by file and key before a sheet is made.
"""

import tomllib
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal
from urllib.parse import quote

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from kerfdocket.errors import InputError
from kerfdocket.language import _
from kerfdocket.sheet.drawing import drawing_problems
from kerfdocket.sheet.sandbox import MOST_TEMPLATE_BYTES, template_problems
from kerfdocket.storage import make_folder, reason_of, write_atomically

__all__ = [
    "SHOP_FILE",
    "SHOP_ROOT",
    "OwnCaution",
    "OwnField",
    "Shop",
    "ShopError",
    "file_problems",
    "load_shop",
    "own_shop_folder",
    "set_own_shop_folder",
    "template_text",
]

SHOP_FILE = "shop.toml"
_CHOSEN = "shop-folder"  # in the user's folder of settings; holds a path
# Where a sheet finds the folder's files; the same on every machine, so that the same input gives
# the same bytes wherever the folder lies. The fetcher knows where it is really.
SHOP_ROOT = "file:///shop-folder/"
_FORMAT = 1
_MOST_BYTES = 2_000_000  # of one file: a logo is no photograph
_MOST_PIXELS = 20_000_000
_PICTURES = (".svg", ".png", ".jpg", ".jpeg")
_FONTS = (".ttf", ".otf", ".woff", ".woff2")
_FONT_STARTS = (b"\0\1\0\0", b"OTTO", b"wOFF", b"wOF2")

Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=300)]
Gas = Literal["acetylene", "propane", "natural gas"]


class ShopError(InputError):
    """A shop's folder cannot be used; `problems` says why, one a line.

    Attributes:
        problems: at least one.
    """

    def __init__(self, problems: tuple[str, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))

    def __reduce__(self) -> tuple[type, tuple[object, ...]]:
        """Come out of another process as it went in."""
        return type(self), (self.problems,)


class _Stated(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class OwnCaution(_Stated):
    """What can hurt someone in this shop.

    Attributes:
        title: a few words that say what to do by themselves.
        what_to_do: the whole of it.
        fuel: the fuel gas that it is meant for; None for all.
    """

    title: Line
    what_to_do: Text
    fuel: Gas | None = None


class OwnField(_Stated):
    """A field to write in.

    Attributes:
        name: for who reads filled sheets; small letters, digits and underscores.
        label: as the sheet prints it.
        side: where it stands.
    """

    name: Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,30}$")]
    label: Line
    side: Literal["front", "back"] = "back"


class _Stationery(_Stated):
    """The keys of `shop.toml`."""

    format: Literal[1] = Field(alias="kerfdocket-shop")
    name: Line
    lines: Annotated[tuple[Line, ...], Field(max_length=3)] = ()
    logo: Line | None = None
    style: Line | None = None
    template: Line | None = None
    cautions: Annotated[tuple[OwnCaution, ...], Field(max_length=12)] = ()
    fields: Annotated[tuple[OwnField, ...], Field(max_length=12)] = ()


class Shop(_Stationery):
    """A checked folder.

    Attributes:
        folder: where it is. [path]
        name: of the shop.
        lines: that stand behind the name, such as department and telephone.
        logo, style, template: names of files in the folder, or None.
        cautions: of its own, worst first.
        fields: of its own.
    """

    folder: Path

    @cached_property
    def logo_url(self) -> str:
        """Where the sheet finds the logo, or empty."""
        return self.url(self.logo) if self.logo else ""

    @cached_property
    def style_url(self) -> str:
        """Where the sheet finds the style, or empty."""
        return self.url(self.style) if self.style else ""

    @staticmethod
    def url(name: str) -> str:
        """Return where a sheet finds a file of the folder."""
        return SHOP_ROOT + quote(name)


def own_shop_folder() -> Path | None:
    """Return the folder set up for this user, or None where there is none. [path]"""
    config = _config()
    try:
        chosen = (config / _CHOSEN).read_text("utf-8").strip()
    except (OSError, UnicodeDecodeError):
        # Nothing was chosen, or it cannot be read: the folder of the usual name, if it is there.
        folder = config / "shop"
        return folder if (folder / SHOP_FILE).is_file() else None
    return Path(chosen) if chosen else None


def set_own_shop_folder(folder: Path | None) -> None:
    """Make a folder the one of this user, for window and commands; None for no folder at all.

    Raises:
        EnvironmentProblem: the choice cannot be written down.
    """
    config = _config()
    make_folder(config)
    write_atomically(config / _CHOSEN, str(folder.resolve() if folder else "").encode())


def _config() -> Path:
    import platformdirs

    return platformdirs.user_config_path("kerfdocket", appauthor=False)


def load_shop(folder: Path) -> Shop:
    """Read and check a shop's folder.

    Args:
        folder: has a `shop.toml`. [path]

    Raises:
        ShopError: something in it is missing, unknown, too large or not allowed; all of it is
            listed at once.
    """
    path = folder / SHOP_FILE
    try:
        # What is no file, such as a pipe, might never end.
        if path.exists() and not path.is_file():
            raise ShopError((f"{path}: " + _("is no file"),))
        if path.stat().st_size > _MOST_BYTES:
            raise ShopError((f"{path}: " + _("{name} is larger than 2 MB", name=path.name),))
        raw = tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        text = _("cannot be read: {reason}", reason=reason_of(error))
        raise ShopError((f"{path}: {text}",)) from error
    except UnicodeDecodeError as error:
        raise ShopError((f"{path}: " + _("is not text in UTF-8"),)) from error
    except tomllib.TOMLDecodeError as error:
        text = _("is not TOML: {reason}", reason=error)
        raise ShopError((f"{path}: {text}",)) from error
    except (RecursionError, ValueError) as error:
        # Brackets in brackets without end, or a number of thousands of digits.
        text = _("a value in it is beyond all measure")
        raise ShopError((f"{path}: {text}",)) from error
    version = raw.get("kerfdocket-shop")
    if version is None:
        text = _("must say 'kerfdocket-shop = {version}'", version=_FORMAT)
        raise ShopError((f"{path}: {text}",))
    if isinstance(version, int) and not isinstance(version, bool) and version > _FORMAT:
        text = _("written in format {version} by a newer program", version=version)
        raise ShopError((f"{path}: {text}",))
    try:
        shop = Shop.model_validate(
            {**_Stationery.model_validate(raw).model_dump(), "folder": folder.resolve()}
        )
    except ValidationError as failure:
        raise ShopError(tuple(_said(path, one) for one in failure.errors())) from failure
    problems = (*_doubled(shop), *_file_problems(shop))
    if problems:
        raise ShopError(tuple(f"{path}: {problem}" for problem in problems))
    return shop


def template_text(shop: Shop) -> str:
    """Return the shop's own template, checked again: the folder may have changed since.

    Raises:
        ShopError: it cannot be read, or does what it may not.
    """
    assert shop.template is not None
    path = shop.folder / shop.template
    if not path.resolve().is_relative_to(shop.folder.resolve()):
        text = _("{name} lies outside the folder", name=shop.template)
        raise ShopError((f"{path}: {text}",))
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ShopError((f"{path}: {error}",)) from error
    if problems := template_problems(text):
        raise ShopError(tuple(f"{path}, {problem}" for problem in problems))
    return text


def _said(path: Path, error: Any) -> str:
    where = ".".join(str(step) for step in error["loc"])
    kind, context = error["type"], error.get("ctx", {})
    match kind:
        case "missing":
            text = _("must be given")
        case "extra_forbidden":
            known = ", ".join(_known(error["loc"][:-1]))
            text = _("this key is not known (known here: {keys})", keys=known)
        case "string_too_long":
            text = _("at most {number} letters are accepted", number=context["max_length"])
        case "too_long":
            text = _("at most {number} are accepted", number=context["max_length"])
        case "string_too_short":
            text = _("must not be empty")
        case "string_pattern_mismatch":
            text = _("must begin with a small letter; small letters, digits and _ are accepted")
        case "literal_error":
            text = _("is not a choice here; accepted: {choices}", choices=context["expected"])
        case "string_type":
            text = _("must be text, in quotes")
        case _:
            text = _("must be a list of groups, each under [[{name}]]", name=error["loc"][0])
    return f"{path}: {where}: {text}"


def _known(where: tuple[int | str, ...]) -> list[str]:
    models: dict[Any, type[BaseModel]] = {"cautions": OwnCaution, "fields": OwnField}
    model = models.get(where[0], _Stationery) if where else _Stationery
    return [info.alias or name for name, info in model.model_fields.items()]


def _doubled(shop: Shop) -> Iterator[str]:
    names = [one.name for one in shop.fields]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield "fields: " + _("{name} is there twice; each field has a name of its own", name=name)


def _file_problems(shop: Shop) -> Iterator[str]:
    """What is wrong with the files that `shop.toml` names."""
    for key, name, endings in (
        ("logo", shop.logo, _PICTURES),
        ("style", shop.style, (".css",)),
        ("template", shop.template, (".html.j2",)),
    ):
        if name is None:
            continue
        if not name.lower().endswith(endings):
            yield f"{key}: " + _(
                "{name} must end in {endings}", name=name, endings=", ".join(endings)
            )
            continue
        path = (shop.folder / name).resolve()
        if not path.is_relative_to(shop.folder):
            yield f"{key}: " + _("{name} lies outside the folder", name=name)
        elif not path.is_file():
            yield f"{key}: " + _("{name} is not there", name=name)
        elif key == "template":
            if path.stat().st_size > MOST_TEMPLATE_BYTES:
                yield f"{key}: " + _(
                    "{name} is larger than {most} bytes", name=name, most=MOST_TEMPLATE_BYTES
                )
                continue
            for problem in template_problems(path.read_text("utf-8", errors="replace")):
                yield f"{key}: {name}, {problem}"
        else:
            yield from (f"{key}: {problem}" for problem in file_problems(path))


def file_problems(path: Path) -> Iterator[str]:
    """Yield what keeps a file of the folder from being drawn or read as a style or font.

    Args:
        path: is there. [path]
    """
    name, ending = path.name, path.suffix.lower()
    if path.stat().st_size > _MOST_BYTES:
        yield _("{name} is larger than 2 MB", name=name)
    elif ending in _PICTURES:
        yield from _picture_problems(path)
    elif ending == ".css":
        # A style that is a drawing, too, would be drawn unchecked.
        if b"\0" in path.read_bytes() or _is_xml(path.read_bytes()):
            yield _("{name} is no style", name=name)
    elif ending in _FONTS:
        if not path.read_bytes().startswith(_FONT_STARTS):
            yield _("{name} is no font", name=name)
    else:
        endings = ", ".join((*_PICTURES, ".css", *_FONTS))
        yield _("{name} must end in {endings}", name=name, endings=endings)


def _is_xml(content: bytes) -> bool:
    from xml.etree import ElementTree

    if b"<!ENTITY" in content.upper():
        return True
    try:
        ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, LookupError):
        return False
    return True


def _picture_problems(path: Path) -> Iterator[str]:
    if path.suffix.lower() == ".svg":
        from xml.etree import ElementTree

        content = path.read_bytes()
        # An entity may stand for a file, or for itself a billion times.
        if b"<!ENTITY" in content.upper():
            yield _("{name} declares entities, which a picture has no need of", name=path.name)
            return
        try:
            root = ElementTree.fromstring(content)
        except (ElementTree.ParseError, ValueError, LookupError) as error:
            yield _("{name} is no SVG: {reason}", name=path.name, reason=error)
            return
        yield from drawing_problems(root, path.name)
        return
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(path) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                yield _("{name} has more than 20 million pixels", name=path.name)
            else:
                picture.verify()
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError):
        yield _("{name} is no picture that can be read", name=path.name)
