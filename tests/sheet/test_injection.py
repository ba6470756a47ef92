"""What is typed into any field of a job comes out as text, or is refused at its field.

The fields are found by walking the models, so that a new one is attacked as well.
"""

import ast
import html as entities
import io
import logging
import re
import tomllib
import types
import typing
import unicodedata
from collections import Counter
from collections.abc import Iterator
from functools import cache
from gettext import GNUTranslations, NullTranslations
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pypdf
import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from pydantic import BaseModel

import kerfdocket
from jobs import make_raw
from kerfdocket.job import Job, JobError, job_text, read_job
from kerfdocket.language import ENGLISH, PSEUDO, Language, _, counted, listed, sense, speaking
from kerfdocket.planning import make_plan, plan_json
from kerfdocket.sheet import sheet_html, sheet_pdf
from sheet.archive_rules import faults
from sheet.sheets import reference

ATTACKS = {
    "script": "<script>alert(1)</script>",
    "image": "<img src=file:///etc/passwd onerror=x()>",
    "drawing": "<svg onload=x()><use href='file:///etc/passwd'/></svg>",
    "style": "</style></title><style>@import 'x.css';*{display:none}",
    "attribute": "\" title='x' style=\"display:none",
    "entities": "&#60;b&#62; &amp;lt; ]]> <!-- x",
    "template": "{{ 7*7 }}{% raw %}{# x #}{% endraw %}",
    "format": "{0.__class__} {x} {} {{}} %s %(x)s ${x}",
    "controls": "a\x01\x08\x1b[31m\x7f\x85b",
    "nul": "a\0b",
    "overrides": "a\u202eb\u2066c\u200fd",
    "right to left": "שלום 12 مرحبا",
    "zero width": "a\u200b\u2060\ufeffb\u00adc\u200dd",
    "lines": "a\r\nb\u2028c\td",
    "marks": "Z" + "\u0301" * 40,
    "emoji": "🔥 👩‍🏭 ☃",
    "no characters": "a\ufffeb\U0010ffffc\ue000d",
    "half a pair": "a\ud800b",
    "ten thousand": "x" * 10_000,
}
_MARKUP = ["script", "image", "drawing", "style", "attribute", "entities", "template", "format"]
# Seven stand on the sheet wherever they are stated: number, title, customer, drawing, who prepared
# it, note and the part's name.
_ALWAYS_SHOWN = 7
_OF_THE_MATERIAL = {"plate.grade", "torch.nozzle", "chart.nozzle"}


def _leaves(model: type[BaseModel], way: str = "") -> Iterator[tuple[str, Any]]:
    """Every field that is no group, with its type; of a list its first item."""
    for name, info in model.model_fields.items():
        here = f"{way}{info.alias or name}"
        groups = list(_groups(info.annotation))
        if not groups:
            yield here, info.annotation
        for group, is_list in groups:
            yield from _leaves(group, f"{here}.0." if is_list else f"{here}.")


def _groups(annotation: Any, is_list: bool = False) -> Iterator[tuple[type[BaseModel], bool]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation, is_list
    is_list = is_list or typing.get_origin(annotation) is tuple
    for inner in typing.get_args(annotation):
        yield from _groups(inner, is_list)


def _is_text(annotation: Any) -> bool:
    if typing.get_origin(annotation) in {typing.Union, types.UnionType}:
        return any(_is_text(one) for one in typing.get_args(annotation))
    return annotation is str


LEAVES = dict(_leaves(Job))
TEXTS = [where for where, annotation in LEAVES.items() if _is_text(annotation)]


def _raw(**stated: str) -> dict[str, Any]:
    """A job with a part and cylinders, and with texts at places such as `parts.0.name`."""
    raw = make_raw(
        parts=[{"name": "P", "count": 2, "cut_length": "900 mm"}],
        oxygen={"cylinders": [{"gauge": "150 bar"}]},
    )
    raw["fuel"]["cylinders"] = [{"weight_now": "66 kg", "weight_empty": "60 kg"}]
    for where, text in stated.items():
        *steps, last = where.split(".")
        target: Any = raw
        for step in steps:
            target = target[int(step)] if step.isdigit() else target.setdefault(step, {})
        target[last] = text
    return raw


def _refusal(where: str, text: str) -> str:
    """What is said at a field that refuses a text; empty where it takes it."""
    try:
        read_job(_raw(**{where: text}))
    except JobError as error:
        [problem] = error.problems
        assert problem.where == where
        return problem.text
    return ""


@cache
def _takes(attack: str) -> tuple[str, ...]:
    return tuple(where for where in TEXTS if not _refusal(where, ATTACKS[attack]))


@cache
def _job(attack: str, with_material: bool) -> Job:
    """A job with an attack at every field that takes it."""
    fields = [one for one in _takes(attack) if with_material or one not in _OF_THE_MATERIAL]
    return read_job(_raw(**dict.fromkeys(fields, ATTACKS[attack])))


def test_the_walk_finds_the_fields() -> None:
    assert {"about.note", "parts.0.name", "oxygen.heating.hose.gas_letters"} <= set(TEXTS)
    assert len(TEXTS) > 20
    assert {"plate.thickness", "fuel.cylinders.0.weight_now", "site.place"} <= set(LEAVES)


@pytest.mark.parametrize("where", TEXTS)
def test_a_text_is_taken_or_refused_at_its_field(where: str) -> None:
    for text in ATTACKS.values():
        said = _refusal(where, text)
        assert len(said) < 300  # what was typed is not said back whole
        assert said == "" or ":" in said or "letters" in said
    too_long = _refusal(where, ATTACKS["ten thousand"])
    assert any(sign.isdigit() for sign in too_long.partition("cannot be used")[2]) or (
        where.endswith(("gas_letters", "functions", "currency"))
    )


@pytest.mark.parametrize("attack", ATTACKS)
def test_a_field_of_another_kind_refuses_it(attack: str) -> None:
    others = [where for where in LEAVES if where not in TEXTS and where != "kerfdocket-job"]
    assert len(others) > 60
    for where in others:
        stated: Any = ATTACKS[attack]
        with pytest.raises(JobError) as refused:
            read_job(_raw(**{where: stated}))
        problems = refused.value.problems
        assert any(problem.where.startswith(where) for problem in problems), where
        assert all(len(problem.text) < 400 for problem in problems)


@pytest.mark.parametrize("where", ["about.title", "about.note", "plate.grade", "parts.0.name"])
@pytest.mark.parametrize("attack", _MARKUP)
def test_the_texts_of_the_job_take_any_letters(where: str, attack: str) -> None:
    assert _refusal(where, ATTACKS[attack]) == ""


def test_half_a_character_is_refused_everywhere() -> None:
    assert _takes("half a pair") == ()
    assert _takes("ten thousand") == ()


class _Tags(HTMLParser):
    """Elements and their attributes as a browser would see them."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.seen: Counter[str] = Counter()
        self.pictures: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.update([tag, *(f"{tag} {name}" for name, _value in attrs)])
        self.pictures += [dict(attrs).get("src") or ""] if tag == "img" else []


@pytest.mark.parametrize("with_material", [False, True], ids=["sound", "odd material"])
@pytest.mark.parametrize(
    "attack", [one for one in ATTACKS if one not in {"half a pair", "ten thousand"}]
)
def test_it_comes_out_as_text(attack: str, with_material: bool) -> None:
    text, job = ATTACKS[attack], _job(attack, with_material)
    assert len(_takes(attack)) >= _ALWAYS_SHOWN
    plan = make_plan(job, reference())
    html = sheet_html(plan)
    harmless = dict.fromkeys(_takes(attack), ("harmless" * 20)[: len(text)])
    if not with_material:
        harmless = {key: said for key, said in harmless.items() if key not in _OF_THE_MATERIAL}
    known = set(_Tags(sheet_html(make_plan(read_job(_raw(**harmless)), reference()))).seen)
    assert set(_Tags(html).seen) <= known
    assert not known & {"script", "iframe", "object", "embed", "a"}
    # The only pictures are the shipped safety signs.
    assert all(
        re.fullmatch(r"\.\./shared/signs/[WMP]\d{3}\.svg", one) for one in _Tags(html).pictures
    )
    for letter in set(html) - {"\n"}:
        assert unicodedata.category(letter) not in {"Cc", "Cs", "Co", "Cn"}, letter
    assert not set(html) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200f\u2028")
    if attack in _MARKUP:
        assert entities.unescape(html).count(text) >= _ALWAYS_SHOWN
    # The file that the sheet carries says the same to the letter.
    assert read_job(tomllib.loads(job_text(job))) == job
    assert plan_json(plan).encode()


@pytest.mark.parametrize("attack", ["image", "format", "template"])
def test_it_comes_out_as_text_in_another_language(attack: str) -> None:
    with speaking(PSEUDO):
        html = sheet_html(make_plan(_job(attack, True), reference()))
    assert entities.unescape(html).count(ATTACKS[attack]) >= _ALWAYS_SHOWN


@pytest.mark.parametrize("attack", ["image", "zero width"])
def test_the_pdf_shows_it_and_loads_nothing(attack: str, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        content = sheet_pdf(make_plan(_job(attack, False), reference()))
    assert [one.getMessage() for one in caplog.records if one.name == "weasyprint"] == []
    reader = pypdf.PdfReader(io.BytesIO(content))
    assert 2 <= len(reader.pages) <= 3
    assert all(len(page.images) == 0 for page in reader.pages)
    assert faults(content) == []
    if attack == "image":
        front = "".join(reader.pages[0].extract_text().split())
        assert front.count("".join(ATTACKS[attack].split())) >= _ALWAYS_SHOWN


def test_the_longest_names_stay_on_few_pages() -> None:
    stated = {
        where: letter * 120
        for where, letter in {
            "about.number": "N",
            "about.title": "W",
            "about.customer": "M",
            "about.drawing": "W",
            "about.prepared_by": "M",
            "parts.0.name": "W",
            "chart.nozzle": "M",
        }.items()
    }
    plan = make_plan(read_job(_raw(**stated, **{"about.note": "W" * 1000})), reference())
    content = sheet_pdf(plan)
    assert 2 <= len(pypdf.PdfReader(io.BytesIO(content)).pages) <= 4
    assert faults(content) == []


# The layer of languages: a message is filled in once, and what is filled in is no message.


class _Spoken(Language):
    """A language that turns a sentence round, as German does."""

    @property
    def catalog(self) -> NullTranslations:
        told = Catalog(locale="de")
        told.add("Open the {valve} slowly.", "{valve} langsam öffnen.")
        told.add(
            ("{count} part of {what}", "{count} parts of {what}"), ("Von {what} {count} Teil",) * 2
        )
        told.add("{items} and {last_item}", "{items} und {last_item}")
        told.add("Say {what}", "{what} sagen", context="aloud")
        compiled = io.BytesIO()
        write_mo(compiled, told)
        compiled.seek(0)
        return GNUTranslations(compiled)


@pytest.mark.parametrize(
    "language", [ENGLISH, PSEUDO, _Spoken("de", "Deutsch")], ids=["en", "pseudo", "turned round"]
)
@pytest.mark.parametrize("attack", ["format", "template", "image", "half a pair", "nul"])
def test_what_is_filled_in_is_no_message(language: Language, attack: str) -> None:
    text = ATTACKS[attack] + "{valve}{what}{count}{items}"
    with speaking(language):
        said = [
            _("Open the {valve} slowly.", valve=text),
            counted("{count} part of {what}", "{count} parts of {what}", 2, what=text),
            sense("aloud", "Say {what}", what=text),
            listed([text, text, text]),
        ]
    assert [one.count(text) for one in said] == [1, 1, 1, 3]
    if language.code == "de":
        assert said[0] == f"{text} langsam öffnen."


def test_a_message_with_places_is_written_out_where_it_is_said() -> None:
    """No text of a job can become a message that is filled in: `_(text, ...)` is not written."""
    root = Path(kerfdocket.__file__).parent
    for path in sorted(root.rglob("*.py")):
        if path.parent.name == "language":
            continue
        for call in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name):
                continue
            position = {"_": 0, "counted": 0, "sense": 1}.get(call.func.id)
            if position is None or not (call.keywords or call.func.id == "counted"):
                continue
            messages = call.args[: 2 if call.func.id == "counted" else None][position:]
            for one in messages:
                is_literal = isinstance(one, ast.Constant) and isinstance(one.value, str)
                # A constant, or one of a table of them.
                named = one
                while isinstance(named, ast.Subscript):
                    named = named.value
                is_constant = isinstance(named, ast.Name) and named.id.lstrip("_").isupper()
                assert is_literal or is_constant, f"{path.name}:{call.lineno}"
