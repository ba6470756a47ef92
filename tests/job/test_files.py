"""Job files: round trips, and every way of being wrong named where it is."""

import os
import stat
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
from kerfdocket.storage import write_atomically

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
        ("count = 6\n", 'count = "six"\n', "parts.0.count", 24, "integer"),
        ("count = 6\n", "count = 0\n", "parts.0.count", 24, "greater than or equal to 1"),
        ("date = 2026-11-25", "date = 5", "about.date", 10, "2026-11-25"),
        ("count = 6\n", "count = nan\n", "parts.0.count", 24, "integer"),
        ("hour = 62.0", "hour = nan", "prices.hour", 68, "less than or equal"),
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
    schema = tomllib.loads("x = 1") and __import__("json").loads(job_schema())
    assert set(schema["properties"]) == {
        info.alias or name for name, info in Job.model_fields.items()
    }
    assert schema["additionalProperties"] is False
    assert "kerfdocket-job" in schema["required"]


def test_every_field_has_a_title():
    def walk(model, path):
        for name, info in model.model_fields.items():
            here = f"{path}.{name}" if path else name
            from kerfdocket.job.problems import model_in

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
