"""Keeping the archive on the command line."""

import csv
import io
import json
from pathlib import Path

import pytest

from kerfdocket.archive import open_archive, verify
from kerfdocket.archive.actuals import record_actuals
from kerfdocket.archive.keeping import YEARS
from kerfdocket.archive.model import IssuedSheet
from kerfdocket.command import archive_keep, run
from kerfdocket.command.codes import BAD_INPUT, GOOD, STOPPED
from kerfdocket.job import job_text, load_job
from kerfdocket.office.keeping import size_text
from kerfdocket.planning import make_plan, plan_json
from kerfdocket.reference import load_reference

SAMPLES = Path(__file__).parents[2] / "samples"


def _no_window(*_ignored: object) -> int:
    raise AssertionError("no window is wanted here")


def call(place: Path, *arguments: str) -> tuple[int, str, str]:
    output, errors = io.StringIO(), io.StringIO()
    whole = ["archive", "--archive", str(place), "--who", "Foreman", *arguments]
    return run(whole, _no_window, output, errors), output.getvalue(), errors.getvalue()


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Two travellers: one closed, one on its way."""
    place = tmp_path / "a.sqlite"
    archive = open_archive(place)
    for number in ("KD-1", "KD-2"):
        facts = {"title": "Base plates", "gas": "acetylene", "grade": "S355J2"}
        sheet = IssuedSheet(f"job {number}", f"plan {number}", b"pdf" * 1000, facts)
        archive.issue(number, sheet, "Foreman")
    archive.move("KD-1", "returned", "Foreman")
    archive.move("KD-1", "closed", "Foreman")
    archive.close()
    return place


@pytest.mark.parametrize(("make", "fill"), [("backup", "restore"), ("export", "import")])
def test_there_and_back(place: Path, tmp_path: Path, make: str, fill: str) -> None:
    made, new = tmp_path / "made", tmp_path / "new.sqlite"
    code, said, errors = call(place, make, str(made))
    assert (code, errors) == (GOOD, "")
    last = call(place, "verify")[1].splitlines()[0]
    assert said.splitlines()[-1] == last  # to be noted down elsewhere
    code, again, errors = call(new, fill, str(made))
    assert (code, errors) == (GOOD, "")
    assert again.splitlines()[-1] == last
    assert call(new, "list") == call(place, "list")
    code, said, errors = call(place, make, str(made))
    assert (code, said) == (BAD_INPUT, "")
    assert str(made) in errors
    code, said, errors = call(new, fill, str(made))
    assert (code, said) == (BAD_INPUT, "")
    assert "not empty" in errors


def test_faults_are_told(place: Path, tmp_path: Path) -> None:
    import sqlite3

    with sqlite3.connect(place) as connection:
        connection.execute("UPDATE traveller SET grade = 'S235' WHERE number = 'KD-2'")
    connection.close()
    made = tmp_path / "made"
    code, said, errors = call(place, "backup", str(made))
    assert (code, said) == (BAD_INPUT, "")
    assert "KD-2 A: facts was altered" in errors
    assert not made.exists()
    code, _said, errors = call(place, "backup", str(made), "--despite-faults")
    assert (code, made.exists()) == (GOOD, True)
    assert "KD-2 A: facts was altered" in errors


@pytest.mark.parametrize(
    "arguments",
    [
        ("backup", "made"),
        ("export", "made"),
        ("retention",),
        ("stats",),
        ("discard", "KD-1", "--reason", "old"),
    ],
)
def test_a_wrong_name_makes_no_empty_archive(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    wrong = tmp_path / "wrong.sqlite"
    code, said, errors = call(wrong, *arguments)
    assert (code, said) == (BAD_INPUT, "")
    assert f"there is no archive at {wrong}" in errors
    assert not wrong.exists()


def test_what_need_not_be_kept(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code, said, _errors = call(place, "retention")
    assert code == GOOD
    assert said.startswith("0 numbers")
    assert "only common practice, without a source" in said
    # Years pass.
    from datetime import date, timedelta

    from kerfdocket.archive.keeping import retention

    today = date.today() + timedelta(days=366 * 3)  # noqa: DTZ011  # a day more or less is nothing

    def later(self: retention.Rule, _today: date) -> date:
        return today.replace(day=1, year=today.year - self.years)

    monkeypatch.setattr(retention.Rule, "latest", later)
    listed = tmp_path / "list.csv"
    code, said, _errors = call(place, "retention", "--years", "2", "--csv", str(listed))
    assert said.splitlines()[0].split()[:2] == ["KD-1", "closed"]
    rows = list(csv.DictReader(listed.read_text("utf-8-sig").splitlines()))
    assert [(row["number"], row["state"], row["pages"]) for row in rows] == [
        ("KD-1", "closed", "0")
    ]
    # The sheet's file is the same for both, so that only job file and plan would go.
    assert rows[0]["bytes"] == str(len("job KD-1") + len("plan KD-1"))
    assert call(place, "retention", "--years", "0")[0] == BAD_INPUT
    assert archive_keep._YEARS == YEARS


def test_giving_up_must_be_confirmed(place: Path, tmp_path: Path) -> None:
    asked = ("discard", "KD-1", "--reason", "ten years")
    code, said, errors = call(place, *asked)
    assert (code, errors) == (STOPPED, "")
    assert "2 contents" in said
    assert "(1 stays, as something else needs it)" in said
    assert "Confirm with --yes" in said
    assert "discarded" not in call(place, "show", "KD-1")[1]
    assert call(place, *asked, "--yes")[0] == GOOD
    assert "discarded" in call(place, "show", "KD-1")[1]
    assert call(place, "verify")[0] == GOOD
    # The sheet is KD-2's, too, and can still be printed; once that ended, it is gone as well.
    assert call(place, "print", "KD-1", "-o", str(tmp_path / "x.pdf"))[0] == GOOD
    code, said, errors = call(place, "discard", "KD-2", "--reason", "old", "--yes")
    assert (code, said) == (BAD_INPUT, "")
    assert "only what is closed, superseded or withdrawn" in errors
    call(place, "withdraw", "KD-2", "--reason", "no plate")
    assert call(place, "discard", "KD-2", "KD-1", "--reason", "old", "--yes")[0] == GOOD
    code, _said, errors = call(place, "print", "KD-1", "-o", str(tmp_path / "y.pdf"))
    assert code == BAD_INPUT
    assert "was given up on" in errors
    assert "by Foreman" in errors
    assert not (tmp_path / "y.pdf").exists()


def test_counts(place: Path) -> None:
    code, said, errors = call(place, "stats")
    assert (code, errors) == (GOOD, "")
    assert said.startswith("2 travellers, 4 events")
    lines = [line.split() for line in said.splitlines()]
    assert ["closed", "1"] in lines
    assert ["acetylene", "2"] in lines
    assert ["sheet", "3.0", "kB"] in lines
    assert "fewer than 5 say nothing" in said
    found = json.loads(call(place, "stats", "--json")[1])
    assert found["by_state"] == {"closed": 1, "issued": 1}
    assert found["issued_to_returned_s"]["n"] == 1
    assert found["issued_to_returned_s"]["median"] is None
    assert found["bands_m"][0] == 0.006


def test_whoever_ends_it_gets_no_traceback(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    def interrupted(*_ignored: object) -> None:
        raise KeyboardInterrupt

    # The package's function of the same name stands before the module.
    module = sys.modules["kerfdocket.archive.keeping.export"]
    monkeypatch.setattr(module, "refuse_faults", interrupted)
    code, _said, errors = call(place, "export", str(tmp_path / "out" / "made"))
    assert code == BAD_INPUT
    assert "nothing was changed" in errors
    assert not list((tmp_path / "out").iterdir())
    archive = open_archive(place)
    assert verify(archive) == ()
    archive.close()


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (0, "0 B"),
        (999, "999 B"),
        (1500, "1.5 kB"),
        (2_500_000, "2.5 MB"),
        (3_100_000_000, "3.1 GB"),
    ],
)
def test_sizes(size: int, said: str) -> None:
    assert size_text(size) == said


def test_how_work_and_plans_agree(place: Path) -> None:
    """Of five finished jobs; the sixth has a plan that nobody can read."""
    reference = load_reference()
    job = load_job(SAMPLES / "base-plates-12mm.toml")
    archive = open_archive(place)
    planned_min = 0.0
    for at in range(5):
        about = job.about.model_copy(update={"number": f"W-{at}"})
        one = job.model_copy(update={"about": about})
        plan = make_plan(one, reference)
        planned_min = plan.estimates["cut.clock_time"].value
        sheet = IssuedSheet(job_text(one), plan_json(plan), b"pdf", {})
        archive.issue(f"W-{at}", sheet, "Foreman")
        written = {"begun": "7:00", "ended": f"7:{40 + at}"}
        record_actuals(archive, f"W-{at}", "A", written, "Foreman")
    record_actuals(archive, "KD-2", "A", {"begun": "7:00"}, "Foreman")
    archive.close()
    found = json.loads(call(place, "stats", "--json")[1])
    clock = found["ratios"]["cut.clock_time"]
    assert clock["n"] == 5
    assert [clock[name] for name in ("low", "median", "high")] == [
        pytest.approx(minutes / planned_min) for minutes in (41, 42, 43)
    ]
    assert (found["not_compared"], found["which_not_compared"]) == (1, ["KD-2 A"])
    said = call(place, "stats")[1]
    assert "(n = 5)" in said
    assert "1 traveller could not be compared with its plan: KD-2 A. archive compare" in said


@pytest.mark.parametrize("fill", ["restore", "import"])
def test_what_could_not_be_filled_leaves_no_empty_archive(tmp_path: Path, fill: str) -> None:
    new = tmp_path / "there" / "new.sqlite"
    code, said, errors = call(new, fill, str(tmp_path / "nothing"))
    assert (code, said) == (BAD_INPUT, "")
    assert "is not there" in errors
    assert list(new.parent.iterdir()) == []
    code, _said, errors = call(new, "verify")
    assert code == BAD_INPUT
    assert "there is no archive at" in errors


def test_a_sheet_that_could_not_be_issued_leaves_no_empty_archive(tmp_path: Path) -> None:
    new = tmp_path / "there" / "new.sqlite"
    code, _said, _errors = call(new, "issue", str(tmp_path / "nothing.toml"))
    assert code != GOOD
    assert list(new.parent.iterdir()) == []
