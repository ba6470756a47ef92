"""Nothing that is said lacks a translation, and no translation is left of what is said no more."""

import re

import pytest
from babel.messages.catalog import Catalog

from catalogs import messages, read_catalog
from kerfdocket.language import ENGLISH, LANGUAGES

_PLACE = re.compile(r"\{([^}]*)\}")
OTHERS = [one.code for one in LANGUAGES if one != ENGLISH]


def _keys(catalog: Catalog) -> set[tuple[object, object]]:
    return {(one.id, one.context) for one in catalog if one.id}


def _texts(string: object) -> tuple[str, ...]:
    return tuple(string) if isinstance(string, tuple | list) else (str(string or ""),)


@pytest.mark.parametrize("code", OTHERS)
def test_catalog_has_just_what_is_said(code: str) -> None:
    said, known = _keys(messages()), _keys(read_catalog(code))
    assert not said - known, "missing: run tests/catalogs.py and translate"
    assert not known - said, "said no more: run tests/catalogs.py"


@pytest.mark.parametrize("code", OTHERS)
def test_every_message_is_translated(code: str) -> None:
    catalog = read_catalog(code)
    empty = [one.id for one in catalog if one.id and not all(_texts(one.string))]
    assert not empty
    assert not [one.id for one in catalog if one.id and one.fuzzy]


@pytest.mark.parametrize("code", OTHERS)
def test_translation_has_the_same_places(code: str) -> None:
    for one in read_catalog(code):
        if one.id:
            wanted = {place for text in _texts(one.id) for place in _PLACE.findall(text)}
            for text in _texts(one.string):
                assert set(_PLACE.findall(text)) <= wanted, one.id
                # One form of a number may say it in words; all other places are kept.
                assert wanted - set(_PLACE.findall(text)) <= {"count"}, one.id


@pytest.mark.parametrize("code", OTHERS)
def test_translation_ends_as_its_message_does(code: str) -> None:
    wrong = [
        one.id
        for one in read_catalog(code)
        if one.id and (_ends(_texts(one.id)[-1]) != _ends(_texts(one.string)[-1]))
    ]
    assert not wrong


def _ends(text: str) -> str:
    return (" " if text.startswith(" ") else "") + (text[-1:] if text[-1:] in " .:;,!?" else "")
