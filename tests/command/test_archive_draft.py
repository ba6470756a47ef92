"""Shared drafts on the command line."""

import io
import re
from pathlib import Path

import pypdf
import pytest

from kerfdocket.archive import open_archive
from kerfdocket.command import run
from kerfdocket.command.cli import BAD_INPUT, GOOD

SAMPLES = Path(__file__).parents[2] / "samples"
JOB = SAMPLES / "base-plates-12mm.toml"


def _no_window(*_ignored: object) -> int:
    raise AssertionError("no window is wanted here")


@pytest.fixture
def call(tmp_path: Path):
    def do(who: str, *arguments: str) -> tuple[int, str, str]:
        output, errors = io.StringIO(), io.StringIO()
        whole = ["archive", "--archive", str(tmp_path / "a.sqlite"), "--who", who, *arguments]
        code = run(whole, _no_window, output, errors)
        return code, output.getvalue(), errors.getvalue()

    return do


def test_the_second_is_told_and_may_keep_theirs(call, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(JOB.read_text("utf-8"), "utf-8")
    code, said, _errors = call("Ann", "draft", "save", str(job))
    assert (code, said.split()[:3]) == (GOOD, ["1", "v1", "drafted"])
    job.write_text(JOB.read_text("utf-8") + "\n# Ann was here.\n", "utf-8")
    assert call("Ann", "draft", "save", str(job), "--draft", "1", "--version", "1")[0] == GOOD
    code, said, errors = call("Ben", "draft", "save", str(JOB), "--draft", "1", "--version", "1")
    assert (code, said) == (BAD_INPUT, "")
    assert "Ann saved draft 1 meanwhile" in errors
    assert call("Ben", "draft", "save", str(JOB))[1].split()[0] == "2"
    assert [line.split()[0] for line in call("Ben", "draft", "list")[1].splitlines()] == ["2", "1"]
    assert "# Ann was here." in call("Ben", "draft", "open", "1")[1]
    got = tmp_path / "got.toml"
    call("Ben", "draft", "open", "2", "-o", str(got))
    assert got.read_text("utf-8") == JOB.read_text("utf-8")


def test_a_draft_is_issued_and_gone_from_the_list(call, tmp_path: Path) -> None:
    call("Ann", "draft", "save", str(JOB))
    made = tmp_path / "made.pdf"
    assert call("Ann", "issue", "--draft", "1", "-o", str(made))[1].startswith("KD-0141 ")
    assert "KD-0141" in pypdf.PdfReader(made).pages[0].extract_text()
    assert call("Ann", "draft", "list")[1] == ""
    assert "was issued as KD-0141" in call("Ann", "issue", "--draft", "1")[2]
    assert call("Ann", "verify")[0] == GOOD


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("issue",), "a job file, or a draft"),
        (("issue", str(JOB), "--draft", "1"), "a job file, or a draft"),
        (("issue", "--draft", "7"), "no draft 7"),
        (("draft", "open", "7"), "no draft 7"),
        (("draft", "drop", "7"), "no draft 7"),
    ],
)
def test_what_does_not_fit_is_refused(
    call, tmp_path: Path, arguments: tuple[str, ...], said: str
) -> None:
    open_archive(tmp_path / "a.sqlite").close()
    code, output, errors = call("Ann", *arguments)
    assert (code, output) == (BAD_INPUT, "")
    assert said in errors


def test_a_draft_that_is_no_job_yet_is_kept_and_not_issued(call, tmp_path: Path) -> None:
    half = tmp_path / "half.toml"
    half.write_text('kerfdocket-job = 1\n[about]\ntitle = "Gussets"\n', "utf-8")
    said = call("Ann", "draft", "save", str(half))[1]
    assert re.search(r"\d\d:\d\d UTC[+−]\d\d:\d\d  Ann  Gussets$", said.rstrip())
    code, _said, errors = call("Ann", "issue", "--draft", "1")
    assert code == BAD_INPUT
    assert "draft 1: " in errors
    assert "about.number" in errors
    assert call("Ann", "draft", "drop", "1")[1].split()[2] == "dropped"
