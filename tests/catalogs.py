"""Brings the catalogs up to date with what the program says: `.venv/bin/python tests/catalogs.py`.

What is new gets an empty translation, what is no longer said goes; a test fails on either.
"""

import csv
import tomllib
import types
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po
from jinja2.ext import babel_extract
from pydantic import BaseModel

from kerfdocket.job import Job
from kerfdocket.language import ENGLISH, LANGUAGES
from kerfdocket.language._catalogs import catalog_path

ROOT = Path(__file__).parents[1]
_SAYS = {"_": None, "marked": None, "counted": (1, 2), "sense": ((1, "c"), 2)}
_HEAD = r"""# What Kerfdocket says.
# NOT YET REVIEWED by a safety specialist who grew up with the language.
msgid ""
msgstr ""
"Language: {code}\n"
"MIME-Version: 1.0\n"
"Content-Type: text/plain; charset=utf-8\n"
"Content-Transfer-Encoding: 8bit\n"
"Plural-Forms: {plurals}\n"

"""

Said = tuple[str, str | tuple[str, ...], str | None]


def _in_code(folder: Path) -> Iterator[Said]:
    for path in sorted(folder.rglob("*.py")):
        with path.open("rb") as file:
            for _line, message, _comments, context in extract("python", file, _SAYS):
                yield path.name, message, context


def _in_templates(folder: Path) -> Iterator[Said]:
    for path in sorted(folder.rglob("*.j2")):
        with path.open("rb") as file:
            for _line, name, message, _comments in babel_extract(file, list(_SAYS), [], {}):
                texts = message if isinstance(message, tuple) else (message,)
                if name == "sense":
                    yield path.name, texts[1], texts[0]
                else:
                    yield path.name, texts[:2] if name == "counted" else texts[0], None


def _in_tables(folder: Path) -> Iterator[Said]:
    for path in sorted(folder.rglob("*.toml")):
        columns = tomllib.loads(path.read_text("utf-8")).get("columns", {})
        shown = [name for name, column in columns.items() if column.get("translate")]
        if not shown:
            continue
        rows = path.with_suffix(".csv")
        lines = (line for line in rows.read_text("utf-8").splitlines() if line[:1] != "#")
        for row in csv.DictReader(lines):
            for name in shown:
                if row[name]:
                    yield rows.name, row[name], None


def _choices(annotation: Any) -> Iterator[str]:
    if typing.get_origin(annotation) is Literal:
        yield from (one for one in typing.get_args(annotation) if isinstance(one, str))
    elif typing.get_origin(annotation) is not None or isinstance(annotation, types.UnionType):
        for inner in typing.get_args(annotation):
            yield from _choices(inner)


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in typing.get_args(annotation):
        yield from _models(inner)


def _in_model(model: type[BaseModel], done: set[type[BaseModel]]) -> Iterator[Said]:
    """What a form says of a job: titles, descriptions and the words to choose from."""
    done.add(model)
    for info in model.model_fields.values():
        for text in (info.title, info.description, *_choices(info.annotation)):
            if text and any(letter.isalpha() for letter in text):
                yield "models.py", text, None
        for inner in _models(info.annotation):
            if inner not in done:
                yield from _in_model(inner, done)


def messages() -> Catalog:
    """Return all that the program says, in English."""
    said = Catalog(fuzzy=False)
    for place, message, context in (
        *_in_code(ROOT / "desktop" / "kerfdocket"),
        *_in_templates(ROOT / "sheet_templates"),
        *_in_tables(ROOT / "tables"),
        *_in_model(Job, set()),
    ):
        said.add(message, locations=[(place, 0)], context=context)
    return said


def read_catalog(code: str) -> Catalog:
    """Return a language's catalog as it is, empty if there is none yet."""
    path = catalog_path(code)
    if not path.exists():
        return Catalog(locale=code)
    with path.open("rb") as file:
        return read_po(file, locale=code)


def renewed(code: str) -> Catalog:
    """Return a language's catalog with just the messages that there are now."""
    old, new = read_catalog(code), Catalog(locale=code, fuzzy=False)
    for one in messages():
        if not one.id:
            continue
        known = old.get(one.id, one.context)
        text = known.string if known is not None else None
        places = sorted({(place, 0) for place, _line in one.locations})
        new.add(one.id, text or None, locations=places, context=one.context, flags=one.flags)
    return new


def write_catalog(catalog: Catalog, code: str) -> None:
    """Write a language's catalog; the same messages give the same bytes."""
    path = catalog_path(code)
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(_HEAD.format(code=code, plurals=catalog.plural_forms).encode())
        write_po(file, catalog, 100, omit_header=True, sort_output=True, include_lineno=False)


def main() -> None:
    for language in LANGUAGES:
        if language != ENGLISH:
            catalog = renewed(language.code)
            write_catalog(catalog, language.code)
            missing = sum(1 for one in catalog if one.id and not any(_texts(one.string)))
            print(f"{language.name}: {len(catalog)} messages, {missing} to translate")


def _texts(string: Any) -> tuple[str, ...]:
    return tuple(string) if isinstance(string, tuple | list) else (string,)


if __name__ == "__main__":
    main()
