"""The archive on the command line."""

import io
from contextlib import closing
from pathlib import Path

import pypdf
import pytest
from sqlalchemy import text

from kerfdocket.archive import open_archive
from kerfdocket.command import run
from kerfdocket.command.cli import BAD_INPUT, GOOD

SAMPLES = Path(__file__).parents[2] / "samples"
JOB = SAMPLES / "base-plates-12mm.toml"


def _no_window(*_ignored: object) -> int:
    raise AssertionError("no window is wanted here")


@pytest.fixture
def archive(tmp_path: Path):
    def call(*arguments: str) -> tuple[int, str, str]:
        output, errors = io.StringIO(), io.StringIO()
        place = str(tmp_path / "a.sqlite")
        whole = ["archive", "--archive", place, "--who", "Foreman", *arguments]
        code = run(whole, _no_window, output, errors)
        return code, output.getvalue(), errors.getvalue()

    return call


def test_issued_changed_and_printed_again(archive, tmp_path: Path) -> None:
    first, again = tmp_path / "first.pdf", tmp_path / "again.pdf"
    code, said, errors = archive("issue", str(JOB), "-o", str(first))
    assert (code, errors) == (GOOD, "")
    assert said.split()[:3] == ["KD-0141", "A", "issued"]
    assert archive("send", "KD-0141")[0] == GOOD
    assert archive("reissue", str(JOB), "--reason", "plate is thicker")[1].split()[1] == "B"
    assert archive("print", "KD-0141", "--revision", "A", "-o", str(again))[0] == GOOD
    assert again.read_bytes() == first.read_bytes()
    said = archive("print", "KD-0141", "--revision", "A", "-o", str(again))[2]
    assert said == "Caution: KD-0141 A is superseded: nothing may be cut by it\n"
    assert archive("print", "KD-0141", "-o", str(again))[2] == ""
    archive("print", "KD-0141", "-o", str(again))
    assert "KD-0141 · B" in pypdf.PdfReader(again).pages[0].extract_text()
    code, said, _errors = archive("show", "KD-0141")
    revisions, events = said.split("\n\n")
    old, new, why = revisions.splitlines()
    assert old.split()[:3] == ["KD-0141", "A", "superseded"]
    assert new.split()[:3] == ["KD-0141", "B", "issued"]
    assert why == "  issued anew: plate is thicker"
    *events, clock = events.splitlines()
    assert clock.startswith("Times on the clock here: UTC")
    assert [line.split()[3] for line in events] == [
        "issued",
        "on",
        "superseded",
        "issued",
    ]
    code, said, errors = archive("verify")
    assert (code, errors) == (GOOD, "")
    assert "4 events" in said


def test_a_number_of_a_series_stands_on_the_sheet(archive, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(JOB.read_text("utf-8").replace("KD-0141", "W-???"), "utf-8")
    made = tmp_path / "made.pdf"
    assert archive("issue", str(job), "-o", str(made))[1].startswith("W-001 ")
    assert archive("issue", str(job))[1].startswith("W-002 ")
    assert "W-001" in pypdf.PdfReader(made).pages[0].extract_text()


def test_a_draft_is_not_issued_and_takes_no_number(archive, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    refused = (SAMPLES / "refused-stainless.toml").read_text("utf-8")
    job.write_text(refused.replace("KD-0144", "W-???"), "utf-8")
    code, said, errors = archive("issue", str(job))
    assert (code, said) == (BAD_INPUT, "")
    assert "a draft is not issued" in errors
    # Nor does it leave an empty archive behind.
    assert "there is no archive at" in archive("verify")[2]


def test_who_issues_anew_what_has_not_changed_is_told(
    archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    archive("issue", str(JOB))
    again = "reissue", "--reason", "the paper was lost"
    code, said, errors = archive(*again, str(JOB))
    assert (code, said.split()[1]) == (GOOD, "B")
    assert errors == "Caution: Nothing in the job has changed since KD-0141 A.\n"
    # The sheet of the revision before, which says another one, is the same job.
    sheet = tmp_path / "b.pdf"
    archive("print", "KD-0141", "-o", str(sheet))
    assert archive(*again, str(sheet))[2].endswith("has changed since KD-0141 B.\n")
    monkeypatch.setattr("kerfdocket.office.issuing.tables_digest", lambda: "other")
    assert "since KD-0141 C; the program or its tables have" in archive(*again, str(JOB))[2]
    changed = tmp_path / "changed.toml"
    changed.write_text(JOB.read_text("utf-8").replace("12 mm", "14 mm"), "utf-8")
    code, said, errors = archive(*again, str(changed))
    assert (code, said.split()[1], errors) == (GOOD, "E", "")


def test_a_job_that_is_damaged_in_the_archive_is_issued_anew(archive, tmp_path: Path) -> None:
    archive("issue", str(JOB))
    with (
        closing(open_archive(tmp_path / "a.sqlite")) as opened,
        opened.engine.begin() as connection,
    ):
        connection.execute(
            text("UPDATE content SET bytes = 'x' WHERE digest = (SELECT job FROM traveller)")
        )
    assert "was altered" in archive("verify")[2]
    code, said, errors = archive("reissue", str(JOB), "--reason", "the disk was bad")
    assert (code, said.split()[1], errors) == (GOOD, "B", "")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("issue", str(JOB)), "was issued before"),
        (("print", "KD-9", "-o", "x.pdf"), "KD-9 was never issued"),
        (("print", "KD-0141", "--revision", "C", "-o", "x.pdf"), "there are A"),
        (("close", "KD-0141"), "cannot become closed"),
        (("withdraw", "KD-0141"), "for a reason"),
        (("show", "KD-9"), "never issued"),
        (("verify", "--head", "f" * 64), "has no event"),
    ],
)
def test_what_cannot_be_done_is_said(archive, arguments: tuple[str, ...], said: str) -> None:
    archive("issue", str(JOB))
    code, _output, errors = archive(*arguments)
    assert code == BAD_INPUT
    assert said in errors


def test_what_was_altered_is_said(archive, tmp_path: Path) -> None:
    import sqlite3

    archive("issue", str(JOB))
    with sqlite3.connect(tmp_path / "a.sqlite") as connection:
        connection.execute("UPDATE traveller SET grade = 'S235'")
    connection.close()
    code, said, errors = archive("verify")
    assert code == BAD_INPUT
    assert "KD-0141 A: facts was altered" in errors
    assert "Nothing was altered" not in said


def test_a_user_without_a_name_is_asked_for_one_only_where_something_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unknown() -> str:
        raise KeyError("uid not found")

    monkeypatch.setattr("getpass.getuser", unknown)
    place = ["archive", "--archive", str(tmp_path / "a.sqlite")]
    errors = io.StringIO()
    open_archive(tmp_path / "a.sqlite").close()
    assert run([*place, "list"], _no_window, io.StringIO(), errors) == GOOD
    assert run([*place, "issue", str(JOB)], _no_window, io.StringIO(), errors) == BAD_INPUT
    assert "--who" in errors.getvalue()
    named = [*place, "--who", "Foreman", "issue", str(JOB)]
    assert run(named, _no_window, io.StringIO(), errors) == GOOD


@pytest.mark.parametrize(
    "deed",
    [
        ("verify",),
        ("list",),
        ("show", "KD-1"),
        ("find", "plate"),
        ("tray",),
        ("take", str(JOB)),
        ("watch", "--once", "."),
        ("draft", "list"),
        ("send", "KD-1"),
    ],
)
def test_a_wrong_name_is_no_empty_archive_of_which_all_is_well(
    archive, tmp_path: Path, deed: tuple[str, ...]
) -> None:
    code, said, errors = archive(*deed)
    assert (code, said) == (BAD_INPUT, "")
    assert f"there is no archive at {tmp_path / 'a.sqlite'}" in errors
    assert not list(tmp_path.iterdir())


def test_a_sheet_that_cannot_be_written_is_issued_all_the_same_and_said_so(
    archive, tmp_path: Path
) -> None:
    code, said, errors = archive("issue", str(JOB), "-o", str(tmp_path / "missing" / "s.pdf"))
    assert code == BAD_INPUT
    assert said.startswith("KD-0141 ")
    assert "KD-0141 A is issued, but not written" in errors
    assert "archive print" in errors


def test_a_job_file_is_not_written_over_by_its_sheet(archive, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_bytes(JOB.read_bytes())
    for deed in (("issue",), ("reissue", "--reason", "thicker")):
        code, said, errors = archive(*deed, str(job), "-o", str(job))
        assert (code, said) == (BAD_INPUT, "")
        assert "is what is read" in errors or "no archive" in errors
    assert job.read_bytes() == JOB.read_bytes()
    assert archive("list")[1] == ""


def test_closed_with_nothing_that_came_back(archive) -> None:
    archive("issue", str(JOB))
    archive("send", "KD-0141")
    archive("return", "KD-0141")
    code, said, errors = archive("close", "KD-0141")
    assert (code, said.split()[2]) == (GOOD, "closed")
    assert errors.startswith("Caution: nothing that came back of KD-0141 A is kept")


def test_closed_with_what_was_written(archive) -> None:
    archive("issue", str(JOB))
    archive("send", "KD-0141")
    archive("return", "KD-0141")
    archive("record", "KD-0141", "cutter_name=R. Amsel")
    assert archive("close", "KD-0141")[2] == ""


def test_what_there_is_nothing_of_is_said(archive, tmp_path: Path) -> None:
    """An empty answer leaves open whether the question was understood, and which archive it was."""
    open_archive(tmp_path / "a.sqlite").close()
    code, said, errors = archive("verify")
    assert (code, errors) == (GOOD, "It is empty: look whether it is the archive that you mean.\n")
    for asked in (("list",), ("find", "tower"), ("tray",)):
        code, said, errors = archive(*asked)
        assert (code, said) == (GOOD, "")
        assert errors


def test_a_number_in_small_letters(archive) -> None:
    archive("issue", str(JOB))
    assert archive("send", "kd-0141 ")[1].split()[:2] == ["KD-0141", "A"]
    assert archive("show", "kd-0141")[0] == GOOD
    assert "kd-0142 was never issued" in archive("send", "kd-0142")[2]
