"""Job files: round trips, and every way of being wrong named where it is."""

import copy
import json
import os
import re
import stat
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Annotated, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.job import (
    Job,
    JobError,
    field_at,
    job_schema,
    job_text,
    load_job,
    raw_from_job,
    read_job,
    read_raw,
    save_raw,
    toml_text,
)
from kerfdocket.job.problems import model_in
from kerfdocket.language import language_named, speaking
from kerfdocket.quantity import UNIT_SYSTEMS, Measure, Within, parse_measure
from kerfdocket.storage import make_folder, write_atomically

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))
SAMPLE = Path(__file__).parents[2] / "samples" / "base-plates-12mm.toml"
SMALLEST = {
    "kerfdocket-job": 1,
    "about": {"number": "1", "title": "test"},
    "plate": {"grade": "S235JR", "thickness": "10 mm"},
    "fuel": {"gas": "propane"},
}


def problems_of(text: str, tmp_path: Path):
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(JobError) as caught:
        load_job(path)
    assert str(path) in str(caught.value)
    return caught.value.problems


def test_there_are_five_samples():
    assert len(SAMPLES) >= 5


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples_round_trip(path):
    job = load_job(path)
    assert read_job(tomllib.loads(job_text(job))) == job
    assert read_job(tomllib.loads(job_text(job))).plate.model_fields_set == (
        job.plate.model_fields_set
    )


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_saving_a_sample_unchanged_keeps_its_bytes(path, tmp_path):
    copy = tmp_path / path.name
    copy.write_bytes(path.read_bytes())
    save_raw(read_raw(copy), copy, copy.read_bytes())
    assert copy.read_bytes() == path.read_bytes()


def test_saving_a_change_keeps_the_comments(tmp_path):
    copy = tmp_path / "job.toml"
    copy.write_bytes(SAMPLE.read_bytes())
    raw = read_raw(copy)
    raw["plate"]["thickness"] = "15 mm"
    raw["parts"] = raw["parts"][:1]
    save_raw(raw, copy, copy.read_bytes())
    assert read_raw(copy) == raw
    assert copy.read_text(encoding="utf-8").startswith("# Base plates")


def test_what_no_file_can_hold_is_refused_at_its_field(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(SAMPLE.read_bytes())
    raw = read_raw(path)
    raw["about"]["title"] = "half \ud800 of a pair"
    raw["parts"][1]["name"] = "\udfff"
    with pytest.raises(JobError) as failure:
        save_raw(raw, path, path.read_bytes())
    assert [problem.where for problem in failure.value.problems] == ["about.title", "parts.1.name"]
    assert all("must be whole letters" in one.text for one in failure.value.problems)
    str(failure.value).encode()  # it can itself be shown and written
    assert path.read_bytes() == SAMPLE.read_bytes()
    raw["about"]["title"], raw["parts"][1]["name"] = "a whole pair: \U0001f525", "P"
    save_raw(raw, path, path.read_bytes())
    assert read_raw(path) == raw


def test_the_smallest_job_needs_only_four_things():
    job = read_job(SMALLEST)
    assert str(job.oxygen.purity) == "99.5 %"
    assert raw_from_job(job) == SMALLEST


def test_a_job_is_frozen():
    job = read_job(SMALLEST)
    with pytest.raises(ValueError, match="frozen"):
        job.plate.grade = "S355J2"


@pytest.mark.parametrize(
    ("old", "new", "where", "line", "text"),
    [
        ('thickness = "12 mm"', 'thicknes = "12 mm"', "plate.thicknes", 15, "mean 'thickness'"),
        ('thickness = "12 mm"', 'thickness = "0 mm"', "plate.thickness", 15, "above 0 mm"),
        ('"12.0 mm"', '"12.0 kg"', "plate.readings.1", 16, "not a length"),
        ('length = "10 m"', 'length = "-10 m"', "oxygen.hose.length", 42, "above 0 m"),
        ('gas = "acetylene"', 'gas = "acetylen"', "fuel.gas", 50, "'natural gas'"),
        ('gauge = "150 bar"', 'gauge = "150"', "oxygen.cylinders.0.gauge", 46, "unit is missing"),
        ('gauge = "150 bar"', "gauge = 150", "oxygen.cylinders.0.gauge", 46, "with its unit"),
        ('weight_now = "66.2 kg"', 'gauge = "12 bar"', "fuel.cylinders.0", 55, "weigh the cyl"),
        ("count = 6\n", 'count = "six"\n', "parts.0.count", 24, "must be a whole number"),
        ("count = 6\n", "count = 0\n", "parts.0.count", 24, "must be at least 1"),
        ("date = 2026-11-25", "date = 5", "about.date", 10, "2026-11-25"),
        ("count = 6\n", "count = nan\n", "parts.0.count", 24, "whole number"),
        ("hour = 62.0", "hour = nan", "prices.hour", 68, "nan cannot be used: must be a number"),
        ("kerfdocket-job = 1", "kerfdocket-job = 2", "kerfdocket-job", 2, "newer program"),
        ("[torch]", "torch = 3\n[torches]", "torch", 35, "group of keys"),
    ],
)
def test_problems_name_field_line_and_what_is_accepted(tmp_path, old, new, where, line, text):
    source = SAMPLE.read_text(encoding="utf-8")
    if new.startswith("torch"):  # a key at the top must stand before the first group
        source = source.replace("[torch]", "[torches]")
        source = source.replace("kerfdocket-job = 1", "kerfdocket-job = 1\ntorch = 3")
        line = 3
    else:
        assert old in source
        source = source.replace(old, new, 1)
    found = {problem.where: problem for problem in problems_of(source, tmp_path)}
    assert where in found, list(found)
    assert text in found[where].text
    assert found[where].line == line


def test_all_problems_are_listed_at_once(tmp_path):
    source = SAMPLE.read_text(encoding="utf-8")
    source = source.replace('"12 mm"', '"12 kg"').replace('"S355J2"', '""')
    wheres = {problem.where for problem in problems_of(source, tmp_path)}
    assert {"plate.thickness", "plate.grade"} <= wheres


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\xff", "not a text file"),
        (b"a\0b = 1", "not a text file"),
        (b"kerfdocket-job = 1\n[plate\n", "line 2"),
        (b"[plate]\ngrade = 1\n", "not a job file"),
        (b"x" * 1_000_001, "at most"),
        (b"kerfdocket-job = 1\na = " + b"[" * 100_000, "beyond all measure"),
        (b"kerfdocket-job = 1\na = " + b"9" * 10_000, "beyond all measure"),
    ],
    ids=[
        "empty",
        "blank",
        "binary",
        "zero-byte",
        "typing-error",
        "other-toml",
        "huge",
        "brackets",
        "digits",
    ],
)
def test_what_is_no_job_file_is_refused_in_words(tmp_path, content, text):
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    with pytest.raises(JobError, match=text):
        load_job(path)


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    with pytest.raises(EnvironmentProblem, match="cannot read"):
        load_job(tmp_path / "none.toml")
    with pytest.raises(EnvironmentProblem, match="folder"):
        load_job(tmp_path)


def test_windows_line_ends_and_byte_order_mark_are_read(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SAMPLE.read_bytes().replace(b"\n", b"\r\n"))
    assert load_job(path) == load_job(SAMPLE)


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Cc"]), max_size=100))
def test_any_text_survives_the_file(text):
    raw = {**SMALLEST, "about": {"number": "1", "title": "test", "note": text}}
    assert tomllib.loads(toml_text(raw)) == raw


def test_schema_lists_every_group_and_refuses_unknown_keys():
    schema = json.loads(job_schema())
    assert set(schema["properties"]) == {
        info.alias or name for name, info in Job.model_fields.items()
    }
    assert schema["additionalProperties"] is False
    assert "kerfdocket-job" in schema["required"]


def _parts_of(annotation):
    yield annotation
    for inner in get_args(annotation):
        yield from _parts_of(inner)


_JSON_TYPES = {
    "string": str,
    "integer": int,
    "number": (int, float),
    "boolean": bool,
    "null": type(None),
    "array": list,
    "object": dict,
}


def _fits(value, schema, whole):
    """Whether a value is what a schema of this program's says; its other words are not used."""
    if "$ref" in schema:
        return _fits(value, whole["$defs"][schema["$ref"].rpartition("/")[2]], whole)
    if "anyOf" in schema:
        return any(_fits(value, one, whole) for one in schema["anyOf"])
    if "type" in schema:
        is_odd = isinstance(value, bool) and schema["type"] != "boolean"
        if is_odd or not isinstance(value, _JSON_TYPES[schema["type"]]):
            return False
    if isinstance(value, dict):
        inner = schema["properties"]
        return set(value) <= set(inner) and all(_fits(v, inner[k], whole) for k, v in value.items())
    if isinstance(value, list):
        return all(_fits(item, schema["items"], whole) for item in value)
    return value in schema.get("enum", [value]) and value == schema.get("const", value)


def _properties(schema):
    for name, group in {"": schema, **schema["$defs"]}.items():
        for key, inner in group["properties"].items():
            yield f"{name}.{key}", inner


def test_defaults_in_the_schema_are_what_a_file_would_say():
    schema = json.loads(job_schema())
    defaults = {
        where: inner["default"] for where, inner in _properties(schema) if "default" in inner
    }
    for where, inner in _properties(schema):
        assert "default" not in inner or _fits(inner["default"], inner, schema), where
    assert not _fits({"number": "10"}, {"type": "string"}, schema)  # the check can fail
    assert not _fits({"length": 10}, {"$ref": "#/$defs/Hose"}, schema)
    assert defaults["Hose.length"] == "10 m"
    assert defaults["Oxygen.hose"]["length"] == "10 m"
    assert defaults["Oxygen.heating"]["hose"]["bore"] == "6.3 mm"
    assert defaults[".oxygen"]["heating"]["hose"]["bore"] == "6.3 mm"
    assert defaults["Plate.preheat"] is None


def test_a_job_of_nothing_but_defaults_of_the_schema_is_the_smallest_job():
    schema = json.loads(job_schema())
    stated = {
        key: inner["default"] for key, inner in schema["properties"].items() if "default" in inner
    }
    full, least = read_job({**SMALLEST, **stated}), read_job(SMALLEST)
    for key in stated:
        assert getattr(full, key) == getattr(least, key)


def _limited(model=Job, path=""):
    """Every quantity of a job with its limits: (path, limits)."""
    for name, info in model.model_fields.items():
        inner = model_in(info.annotation)
        parts = [*info.metadata, *_parts_of(info.annotation)]
        if inner is not None:
            yield from _limited(inner, f"{path}{name}.")
        yield from ((f"{path}{name}", part) for part in parts if isinstance(part, Within))


LIMITED = list(_limited())


def test_every_quantity_is_found():
    assert len({where for where, _ in LIMITED}) > 60
    assert {"plate.readings", "site.temperature", "oxygen.cylinders.gauge"} <= dict(LIMITED).keys()


@pytest.mark.parametrize("system", UNIT_SYSTEMS.values(), ids=lambda system: system.name)
@pytest.mark.parametrize("within", [w for _, w in LIMITED], ids=[where for where, _ in LIMITED])
def test_a_printed_limit_is_accepted_and_close_and_so_is_the_example(within, system):
    read = TypeAdapter(Annotated[Measure, within]).validate_python
    kind = within.kind
    for limit in within.range_text(system).split(", "):
        word, printed = re.fullmatch(r"(above|at least|below|at most) (.+)", limit).groups()
        assert not re.search("(ft|m)3", printed), "as a sheet prints it"
        bound = parse_measure(printed, kind)
        assert bound.unit == system.unit(bound.unit, kind)
        if word in {"above", "below"}:
            with pytest.raises(ValidationError):
                read(printed)
        else:
            assert read(printed) == bound
        # Inwards, but not by more than the digits cost: a hundredth beyond is refused.
        beyond = {"above": -1, "at least": -1, "below": 1, "at most": 1}[word]
        further = bound.si + beyond * max(0.01 * abs(bound.si), 1e-6)
        with pytest.raises(ValidationError):
            read(Measure(Decimal(kind.from_si(further, bound.unit)), bound.unit, kind))
    assert read(within.example(system)).unit == system.unit(within.usual_unit, kind)


def test_an_example_is_in_what_its_field_is_written_in():
    for units, example in {"metric": "'12 m'", "US customary": "'12 ft'"}.items():
        raw = {**SMALLEST, "units": units, "oxygen": {"hose": {"length": "12"}}}
        with pytest.raises(JobError, match=f"such as {example}"):
            read_job(raw)
    with pytest.raises(JobError, match="such as '90 %'"):
        read_job({**SMALLEST, "oxygen": {"purity": "99"}})


def test_one_sentence_speaks_of_a_unit_in_one_way():
    raw = {**SMALLEST, "units": "US customary"}
    with pytest.raises(JobError) as caught:
        read_job({**raw, "oxygen": {"outlet": {"flow_limit": "200000 ft3/h"}}})
    assert "200000 ft³/h is out of range" in str(caught.value)
    assert "above 0 ft³/h, at most 177" in str(caught.value)
    assert "ft3" not in str(caught.value)


@pytest.mark.parametrize(
    ("group", "key", "value", "same"),
    [
        ("prices", "currency", "usd", "USD"),
        ("oxygen.regulator", "rated_class", 3, "3"),
        ("torch", "oxygen_hoses", "2", 2),
        ("quality", "roughness_range", "3", 3),
        ("fuel.arrestor", "functions", "NV/FA/TV", "NV FA TV"),
        ("fuel.arrestor", "functions", ["NV", "FA"], "NV FA"),
        ("fuel.arrestor", "functions", "tv; nv", "NV TV"),
        ("plate", "thickness", "1/2 in", "0.5 in"),
    ],
)
def test_one_thing_may_be_written_in_more_than_one_way(group, key, value, same):
    def read(stated):
        raw = copy.deepcopy(SMALLEST)
        at = raw
        for step in group.split("."):
            at = at.setdefault(step, {})
        at[key] = stated
        return read_job(raw)

    assert read(value) == read(same)


@pytest.mark.parametrize(
    ("group", "stated", "text"),
    [
        ("prices", 'currency = "euro"', "Currency: Three letters of ISO 4217, such as EUR."),
        ("prices", "currency = 5", "5 cannot be used: must be text, in quotes"),
        ("prices", 'hour = "much"', "'much' cannot be used: must be a number, such as 12.5"),
        ("prices", "hour = []", "must be a number, such as 12.5"),
        ("prices", "hour = -1", "-1 cannot be used: must be at least 0"),
        ("oxygen.hose", "joints = true", "true cannot be used: must be a whole number"),
        ("oxygen.hose", 'joints = "2"', "must be a whole number, without quotes"),
        ("oxygen.hose", "joints = 41", "must be at most 40"),
        ("oxygen.hose", 'gas_letters = "7"', "Hose: gas letter: As marked on it"),
        ("oxygen.arrestor", 'fitted = "true"', "must be true or false, without quotes"),
        ("oxygen.arrestor", "fitted = 1", "1 cannot be used: must be true or false"),
        ("oxygen.arrestor", "functions = [1]", "must be text, in quotes"),
        ("oxygen.regulator", "rated_class = true", "true is not a choice here; accepted: '0'"),
        ("oxygen.standing_test", 'start_gauge = "5 bar"', "mean 'end_gauge' or 'begin_gauge'?"),
        ("about", 'number = ""\ntitle = "x"', "must not be empty"),
        ("about", f'number = "{"x" * 121}"', "at most 120 letters are accepted"),
        ("about", 'date = "25.11.2026"', "write a date as 2026-11-25"),
        ("about", 'date = "next week"', "write a date as 2026-11-25"),
        ("about", "date = 2026-11-25T07:30:00", "write a date as 2026-11-25"),
        ("plate", f"readings = {['12 mm'] * 25}", "at most 24 are accepted"),
    ],
)
def test_what_cannot_be_read_is_told_in_plain_words(tmp_path, group, stated, text):
    found = problems_of(f"kerfdocket-job = 1\n[{group}]\n{stated}\n", tmp_path)
    [told] = [problem.text for problem in found if "must be given" not in problem.text]
    assert text in told
    assert "nput should" not in told


@pytest.mark.parametrize(
    ("first", "second", "title"),
    [
        ("oxygen_m3", "oxygen_100ft3", "'Oxygen, per m³'"),
        ("fuel_kg", "fuel_lb", "'Fuel gas, per kg'"),
    ],
)
def test_a_price_stated_twice_names_the_field_and_not_its_key(first, second, title):
    with pytest.raises(JobError) as caught:
        read_job({**SMALLEST, "prices": {first: 2.0, second: 3.0}})
    [problem] = caught.value.problems
    assert title in problem.text
    assert first not in problem.text


def test_every_field_has_a_title():
    def walk(model, path):
        for name, info in model.model_fields.items():
            here = f"{path}.{name}" if path else name
            inner = model_in(info.annotation)
            if inner is not None:
                walk(inner, here)
            else:
                assert field_at(here)[0] != name, here

    walk(Job, "")


class TestWriting:
    def test_replaces_wholly_and_keeps_the_rights(self, tmp_path):
        path = tmp_path / "a.txt"
        path.write_bytes(b"old")
        path.chmod(0o640)
        write_atomically(path, b"new")
        assert path.read_bytes() == b"new"
        assert stat.S_IMODE(path.stat().st_mode) == 0o640
        assert list(tmp_path.iterdir()) == [path]

    def test_a_new_file_is_readable_by_others(self, tmp_path):
        mask = os.umask(0o022)
        try:
            write_atomically(tmp_path / "a.txt", b"new")
        finally:
            os.umask(mask)
        assert stat.S_IMODE((tmp_path / "a.txt").stat().st_mode) == 0o644

    def test_a_failure_leaves_the_old_file_and_no_litter(self, tmp_path, monkeypatch):
        path = tmp_path / "a.txt"
        path.write_bytes(b"old")

        def full(_descriptor):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(EnvironmentProblem, match="No space left"):
            write_atomically(path, b"new")
        assert path.read_bytes() == b"old"
        assert list(tmp_path.iterdir()) == [path]

    def test_says_where_it_cannot_write(self, tmp_path):
        with pytest.raises(EnvironmentProblem, match="cannot write"):
            write_atomically(tmp_path / "no" / "a.txt", b"")
        with pytest.raises(EnvironmentProblem, match="folder"):
            write_atomically(tmp_path, b"")

    def test_a_link_keeps_pointing_to_the_file(self, tmp_path):
        target, link = tmp_path / "a.txt", tmp_path / "b.txt"
        target.write_bytes(b"old")
        link.symlink_to(target)
        write_atomically(link, b"new")
        assert link.is_symlink()
        assert target.read_bytes() == b"new"

    def test_a_folder_is_made_with_those_above_it_once(self, tmp_path):
        folder = tmp_path / "a" / "b"
        make_folder(folder)
        (folder / "kept.txt").write_bytes(b"kept")
        make_folder(folder)
        assert (folder / "kept.txt").read_bytes() == b"kept"

    def test_says_in_the_language_spoken_why_it_cannot_make_a_folder(self, tmp_path):
        in_the_way = tmp_path / "a"
        in_the_way.write_bytes(b"")
        with pytest.raises(EnvironmentProblem, match=r"cannot make .*a.b: Not a directory"):
            make_folder(in_the_way / "b")
        with speaking(language_named("de")), pytest.raises(EnvironmentProblem) as failure:
            make_folder(in_the_way / "b")
        assert "Not a directory" not in str(failure.value)
