"""What is wrong with a job, said in another language: all of it, and the same in the file."""

import datetime
import math
import re
from pathlib import Path
from typing import Any

import pytest

from jobs import SAMPLES, make_raw
from kerfdocket.errors import EnvironmentProblem, KerfdocketError
from kerfdocket.job import Job, JobError, job_schema, load_job, read_job
from kerfdocket.job.problems import model_in
from kerfdocket.language import ENGLISH, PSEUDO, Language, language_named, speaking
from kerfdocket.quantity import KINDS, LENGTH, UNIT_SYSTEMS, US_CUSTOMARY, parse_measure

GERMAN = language_named("de")
SAMPLE = (SAMPLES / "base-plates-12mm.toml").read_text(encoding="utf-8")


def _with(old: str, new: str) -> bytes:
    assert old in SAMPLE
    return SAMPLE.replace(old, new, 1).encode()


BAD_FILES = {
    "empty": b"",
    "binary": b"\x89PNG\xff",
    "zero byte": b"a\0b = 1",
    "huge": b"x" * 1_000_001,
    "damaged PDF": b"%PDF-1.7 nothing",
    "brackets": b"kerfdocket-job = 1\na = " + b"[" * 100_000,
    "other TOML": b"[plate]\ngrade = 1\n",
    "newer": _with("kerfdocket-job = 1", "kerfdocket-job = 2"),
    "open bracket": b"kerfdocket-job = 1\n[plate\n",
    "no value": b"kerfdocket-job = 1\nunits =\n",
    "odd letter": b'kerfdocket-job = 1\nunits = "\x01"\n',
    "open text": b'kerfdocket-job = 1\nunits = "metric\n',
    "twice": b"kerfdocket-job = 1\n[plate]\n[plate]\n",
    "nothing in it": b"kerfdocket-job = 1\n",
    "unknown key, one near": _with("thickness =", "thicknes ="),
    "unknown key, two near": _with("[site]", '[fuel.standing_test]\nstart_gauge = "1 bar"\n[site]'),
    "unknown key, none near": _with("[site]", "[site]\nqqqq = 1"),
    "out of range": _with('thickness = "12 mm"', 'thickness = "0 mm"'),
    "other kind": _with('"12.0 mm"', '"12.0 kg"'),
    "unit like another": _with('gauge = "150 bar"', 'gauge = "15 MPA"'),
    "no unit": _with('gauge = "150 bar"', 'gauge = "150"'),
    "no text": _with('gauge = "150 bar"', "gauge = 150"),
    "absolute": _with('gauge = "150 bar"', 'gauge = "150 bara"'),
    "two meanings": _with('thickness = "12 mm"', 'thickness = "1,234 mm"'),
    "thirds": _with('thickness = "12 mm"', 'thickness = "1/3 in"'),
    "more than one": _with('thickness = "12 mm"', 'thickness = "5/4 in"'),
    "fraction of another": _with('thickness = "12 mm"', 'thickness = "1/2 mm"'),
    "many inches": _with('thickness = "12 mm"', 'thickness = "1 ft 12 in"'),
    "feet and another": _with('thickness = "12 mm"', 'thickness = "1 ft 12 mm"'),
    "no choice": _with('gas = "acetylene"', 'gas = "acetylen"'),
    "gauge of a liquid": _with('weight_now = "66.2 kg"', 'gauge = "12 bar"'),
    "letters": _with("[site]", '[fuel.arrestor]\nfunctions = "NV XX"\n[site]'),
    "price twice": _with("hour = 62.0", "fuel_kg = 9.0\nfuel_lb = 5.0"),
    "content twice": _with(
        "[site]", '[fuel.outlet]\ncontent = "1 m3"\ncontent_weight = "1 kg"\n[site]'
    ),
    "nothing left": _with(
        "[site]", '[fuel.arrestor]\npressure_loss = "1.5 bar"\nloss_inlet = "1 bar"\n[site]'
    ),
}


def refusal(path: Path, language: Language) -> str:
    with speaking(language), pytest.raises(KerfdocketError) as caught:
        load_job(path)
    return str(caught.value)


def outside_brackets(text: str) -> str:
    """What the pseudo language did not say; it puts each text between brackets."""
    depth, outside = 0, ""
    for letter in text:
        depth += {"⟦": 1, "⟧": -1}.get(letter, 0)
        outside += letter if depth == 0 and letter != "⟧" else ""
    assert depth == 0, text
    return outside


def _words(text: str) -> set[str]:
    return set(re.findall(r"[^\W\d_]{4,}", text))


def _key_words(model: Any = Job) -> set[str]:
    """Words that are the same in every language: keys of a file and what they may say."""
    words = set()
    for name, info in model.model_fields.items():
        inner = model_in(info.annotation)
        choices = re.findall(r"'[^']*'", str(info.annotation))
        words |= _words(name) | (_key_words(inner) if inner else _words(" ".join(choices)))
    return words


KEY_WORDS = _key_words() | _words(" ".join(kind.accepted for kind in KINDS))
KEY_WORDS |= _words("kerfdocket true false weight_now weight_empty lorem ipsum dolor")


def assert_all_said(english: str, pseudo: str, given: str) -> None:
    """Every word is said through the catalog but keys and what was given."""
    known = KEY_WORDS | _words(given)
    for line in pseudo.splitlines():
        field = outside_brackets(line)
        assert re.fullmatch(r"(: )?([\w.-]+: )?", field), line
        known |= _words(field)
    assert _words(english) & _words(pseudo) <= known, pseudo


@pytest.mark.parametrize("name", BAD_FILES)
def test_every_refusal_is_said_through_the_catalog(tmp_path: Path, name: str) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(BAD_FILES[name])
    english, pseudo = refusal(path, ENGLISH), refusal(path, PSEUDO)
    assert "⟦" in pseudo
    quoted = re.findall(r'"([^"\n]{1,20})', BAD_FILES[name].decode("utf-8", "replace"))
    assert_all_said(english, pseudo.replace(f"{path}: ", ""), " ".join(quoted))


def test_files_that_cannot_be_read_or_written_are_told_through_the_catalog(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with speaking(PSEUDO), pytest.raises(EnvironmentProblem) as caught:
            load_job(path)
        assert not outside_brackets(str(caught.value))
    assert "⟦Nõ šûçh fîlé" in refusal(tmp_path / "none.toml", PSEUDO)


BAD_VALUES = [
    "",
    "x",
    "12",
    "true",
    "12 zz",
    "-9999999 mm",
    "." * 2000,
    5,
    -5,
    10**30,
    math.nan,
    True,
    [],
    [1],
    ["x"] * 300,
    {},
    {"zz": 1},
    datetime.date(2026, 1, 1),
    datetime.datetime.fromisoformat("2026-01-01T07:00:00"),
]


def _everywhere(model: Any, bad: object) -> dict[str, Any]:
    """A job that states the same nonsense in every field."""
    raw: dict[str, Any] = {}
    for name, info in model.model_fields.items():
        if inner := model_in(info.annotation):
            group = _everywhere(inner, bad)
            raw[name] = [group] if "tuple" in str(info.annotation) else group
        else:
            raw[name] = bad
    return raw


@pytest.mark.parametrize("bad", BAD_VALUES, ids=lambda bad: repr(bad)[:20])
def test_nonsense_in_any_field_is_refused_through_the_catalog(bad: object) -> None:
    raw = {**_everywhere(Job, bad), "kerfdocket-job": 1, "units": "metric"}
    del raw["format"]
    said: list[list[str]] = []
    for language in (ENGLISH, PSEUDO):
        with speaking(language), pytest.raises(JobError) as caught:
            read_job(raw)
        said.append([str(problem) for problem in caught.value.problems])
    assert len(said[0]) > 20
    for english, pseudo in zip(*said, strict=True):
        assert_all_said(english, pseudo, f"{bad!r} {bad!s}".upper() + f" {bad!r}")


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        ({"plate__thickness": "0 mm"}, "plate.thickness: 0 mm liegt außerhalb des Bereichs"),
        ({"plate__thickness": "0 mm"}, "zulässig: Länge über 0 mm, höchstens 1000 mm"),
        ({"plate__thickness": "12"}, "nicht als Länge lesbar: die Einheit fehlt"),
        ({"site__pressure": "1200,5 hPa"}, "1200,5 hPa liegt"),
        ({"fuel__gas": "Propan"}, "zulässig: 'acetylene', 'propane' oder 'natural gas'"),
        ({"prices__hour": "viel"}, "muss eine Zahl mit Dezimalpunkt sein, z. B. 12.5"),
        ({"prices__hour": -1}, "muss mindestens 0 sein"),
        ({"sitte": 1}, "ist 'site' gemeint?"),
    ],
)
def test_a_german_refusal(raw: dict[str, Any], text: str) -> None:
    with speaking(GERMAN), pytest.raises(JobError) as caught:
        read_job(make_raw(**raw))
    assert text in str(caught.value)


def test_a_limit_in_the_other_units_can_be_said_with_a_decimal_comma() -> None:
    # A limit is read again after it was converted; 1,968 could be 1968 there.
    with speaking(GERMAN), pytest.raises(JobError) as caught:
        read_job(make_raw(units="US customary", oxygen__hose__bore="9 in"))
    assert "mindestens 0,079 in, höchstens 1,968 in" in str(caught.value)


def test_units_and_gas_state_are_said_in_the_language() -> None:
    with speaking(GERMAN):
        assert US_CUSTOMARY.gas_reference == "70 °F, 14,7 psi absolut"
        assert UNIT_SYSTEMS["metric"].sizes(0.0195, 0.1) == "19,5 bis 100 mm"
        assert str(parse_measure("12.5 mm", LENGTH)) == "12.5 mm"


def test_the_schema_is_the_same_in_every_language() -> None:
    english = job_schema()
    for language in (GERMAN, PSEUDO):
        with speaking(language):
            assert job_schema() == english
