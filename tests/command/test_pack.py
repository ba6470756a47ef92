"""The command that makes a pack: what it writes, what it says, its exit code."""

import csv
import io
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest

from jobs import SAMPLES
from kerfdocket.command import BAD_INPUT, GOOD, STOPPED, run
from kerfdocket.command.pack import _teller
from kerfdocket.sheet.pack import Progress

SAMPLE = SAMPLES / "base-plates-12mm.toml"
MACHINE = SAMPLES / "shear-blanks-40mm.toml"
REFUSED = SAMPLES / "refused-stainless.toml"
FEW = ("--jobs", "1")  # no other process to wait for


class Terminal(io.StringIO):
    def isatty(self):
        return True


def call(*arguments, errors=None):
    output, errors = io.StringIO(), errors or io.StringIO()
    code = run([str(a) for a in arguments], lambda _path: 77, output, errors)
    assert output.getvalue() == ""
    return code, errors.getvalue()


def bookmarks(path):
    return [one.title for one in pypdf.PdfReader(path).outline]


def text(path):
    pages = (page.extract_text() for page in pypdf.PdfReader(path).pages)
    return " ".join(" ".join(pages).split())


@pytest.fixture
def broken(tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text(SAMPLE.read_text(encoding="utf-8").replace('"12 mm"', '"0 mm"', 1), "utf-8")
    return path


def test_a_pack_and_its_pick_list(tmp_path):
    pdf, pick = tmp_path / "pack.pdf", tmp_path / "pick.csv"
    code, errors = call("pack", MACHINE, SAMPLE, "-o", pdf, "--pick-list", pick, *FEW)
    assert code == GOOD
    assert errors == "1 of 2: KD-0142\n2 of 2: KD-0141\n"
    assert [title.split(" ")[0] for title in bookmarks(pdf)] == ["Cover:", "KD-0142", "KD-0141"]
    assert pick.read_bytes().startswith(b"\xef\xbb\xbf")
    with pick.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["what"] for row in rows} == {"gas", "cylinder", "nozzle"}
    assert [row["jobs"] for row in rows if row["what"] == "nozzle"] == ["KD-0142", "KD-0141"]


def test_a_broken_job_in_the_middle_is_named_and_the_others_are_made(tmp_path, broken):
    pdf = tmp_path / "pack.pdf"
    code, errors = call("pack", REFUSED, broken, SAMPLE, "-o", pdf, "--quiet", *FEW)
    assert code == BAD_INPUT  # before what is stopped
    assert str(broken) in errors
    assert "plate.thickness" in errors
    assert "Traceback" not in errors
    assert len(bookmarks(pdf)) == 3
    assert "no sheet could be made of them: broken.toml." in text(pdf)


def test_a_draft_is_told_and_is_exit_code_1(tmp_path):
    pdf = tmp_path / "pack.pdf"
    code, errors = call("pack", REFUSED, "-o", pdf, "--quiet", *FEW)
    assert code == STOPPED
    [line] = errors.splitlines()
    assert line.startswith(f"{REFUSED}: a draft, not for cutting: ")
    assert "chromium" in line
    assert bookmarks(pdf)[1].endswith("(draft)")


def test_where_nothing_can_be_read_nothing_is_written(tmp_path, broken):
    pdf, pick = tmp_path / "pack.pdf", tmp_path / "pick.csv"
    pdf.write_bytes(b"an older one")
    nowhere = tmp_path / "nowhere.toml"
    code, errors = call("pack", broken, nowhere, "-o", pdf, "--pick-list", pick)
    assert code == BAD_INPUT
    assert str(nowhere) in errors
    assert "Nothing is written: no job could be read." in errors
    assert pdf.read_bytes() == b"an older one"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["broken.toml", "pack.pdf"]


def test_two_jobs_of_one_number(tmp_path):
    pdf = tmp_path / "pack.pdf"
    assert call("pack", REFUSED, REFUSED, "-o", pdf, "--quiet", *FEW)[0] == STOPPED
    reader = pypdf.PdfReader(pdf)
    assert set(reader.attachments) == {
        "KD-0144.job.toml",
        "KD-0144.plan.json",
        "KD-0144-2.job.toml",
        "KD-0144-2.plan.json",
    }
    assert len(reader.pages) == 6


def test_quiet_says_nothing_of_progress(tmp_path):
    code, errors = call("pack", SAMPLE, "-o", tmp_path / "pack.pdf", "--quiet", *FEW)
    assert (code, errors) == (GOOD, "")


def test_on_a_terminal_there_is_a_bar(tmp_path, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    _, errors = call(
        "pack", REFUSED, REFUSED, REFUSED, "-o", tmp_path / "p.pdf", *FEW, errors=Terminal()
    )
    drawn, told = errors.split("\n", 1)
    first, second, last = drawn.split("\r")[1:]
    assert "1 of 3: KD-0144, about " in first
    assert "left" in second
    assert "3 of 3: KD-0144" in last
    assert "left" not in last
    filled = [line.count("#") for line in (first, second, last)]
    assert filled == sorted(filled)
    assert "." not in last
    assert {len(line) for line in (first, second, last)} == {59}
    assert told.count("a draft") == 3


@pytest.mark.parametrize("columns", ["1", "10", "24", "400"])
def test_a_bar_never_is_wider_than_the_terminal(monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", columns)
    terminal = Terminal()
    tell = _teller(["KD-0144", "KD-0145"], terminal)
    tell(Progress(done=1, of=2, index=0))
    tell(Progress(done=2, of=2, index=1))
    drawn = terminal.getvalue().removesuffix("\n").split("\r")[1:]
    assert len(drawn) == 2
    assert all(len(line) < max(int(columns), 2) for line in drawn)


def test_units_of_the_command_come_before_those_of_the_jobs(tmp_path):
    pdf, pick = tmp_path / "pack.pdf", tmp_path / "pick.csv"
    code, _ = call("pack", SAMPLE, "--units", "us", "-o", pdf, "--pick-list", pick, *FEW)
    assert code == GOOD
    assert "70 °F, 14.7 psi absolute" in text(pdf)
    assert ",ft³," in pick.read_text(encoding="utf-8-sig")


def test_a_sheet_is_taken_for_its_job(tmp_path):
    sheet, pdf = tmp_path / "sheet.pdf", tmp_path / "pack.pdf"
    assert call("sheet", REFUSED, "-o", sheet)[0] == STOPPED
    assert call("pack", sheet, "-o", pdf, "--quiet", *FEW)[0] == STOPPED
    assert bookmarks(pdf)[1].startswith("KD-0144")


@pytest.mark.parametrize("place", ["-o", "--pick-list"])
def test_a_job_is_not_overwritten(tmp_path, place):
    job = tmp_path / "job.toml"
    job.write_bytes(SAMPLE.read_bytes())
    given = ["-o", job] if place == "-o" else ["-o", tmp_path / "pack.pdf", "--pick-list", job]
    code, errors = call("pack", job, *given)
    assert code == BAD_INPUT
    assert "is one of the jobs" in errors
    assert job.read_bytes() == SAMPLE.read_bytes()
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_pack_and_pick_list_are_two_files(tmp_path):
    pdf = tmp_path / "pack.pdf"
    code, errors = call("pack", SAMPLE, "-o", pdf, "--pick-list", tmp_path / "." / "pack.pdf")
    assert code == BAD_INPUT
    assert "two files" in errors
    assert not pdf.exists()


def test_a_folder_that_is_not_there_is_told_before_the_work(tmp_path):
    made, list_ = tmp_path / "pack.pdf", tmp_path / "none" / "list.csv"
    code, errors = call("pack", SAMPLE, "-o", made, "--pick-list", list_)
    assert code == BAD_INPUT
    assert "list.csv: its folder is not there" in errors
    assert not made.exists()


def test_a_place_that_cannot_be_written_is_exit_code_2(tmp_path):
    code, errors = call("pack", REFUSED, "-o", tmp_path / "none" / "x.pdf", "--quiet", *FEW)
    assert code == BAD_INPUT
    assert "cannot write" in errors


@pytest.mark.parametrize("number", ["0", "-1", "two", "1.5", "²"])
def test_what_is_no_number_of_sheets_is_refused(tmp_path, number, capsys):
    with pytest.raises(SystemExit) as ended:
        call("pack", SAMPLE, "-o", tmp_path / "x.pdf", f"--jobs={number}")
    assert ended.value.code == BAD_INPUT
    assert "whole number from 1" in capsys.readouterr().err


def test_ended_from_the_keyboard_it_leaves_nothing(tmp_path, monkeypatch):
    def ended(_task):
        raise KeyboardInterrupt

    monkeypatch.setattr("kerfdocket.sheet.pack._make", ended)
    code, errors = call("pack", SAMPLE, "-o", tmp_path / "pack.pdf", *FEW)
    assert code == BAD_INPUT
    assert errors.strip() == "Ended before the pack was whole; nothing is written."
    assert list(tmp_path.iterdir()) == []


def test_as_a_person_runs_it_with_two_processes(tmp_path):
    pdf = tmp_path / "pack.pdf"
    done = subprocess.run(
        [sys.executable, "-m", "kerfdocket", "pack", str(REFUSED), str(SAMPLE), str(REFUSED),
         "-o", str(pdf), "--jobs", "2"],
        capture_output=True, text=True, check=False, timeout=120, encoding="utf-8",
        cwd=Path(tmp_path),
    )  # fmt: skip
    assert done.returncode == STOPPED
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert [line[:6] for line in lines[:3]] == ["1 of 3", "2 of 3", "3 of 3"]
    assert len(lines) == 5  # and the two drafts
    assert len(pypdf.PdfReader(pdf).pages) == 8


def test_the_reason_of_a_draft_is_said_to_who_gives_the_command(tmp_path):
    pdf = tmp_path / "pack.pdf"
    code, errors = call("pack", REFUSED, "-o", pdf, "--language", "de", "--quiet", *FEW)
    assert code == STOPPED
    assert "a draft, not for cutting: 1.4301 cannot be cut with a flame" in errors
    assert "NICHT ZUM SCHNEIDEN" in text(pdf)
