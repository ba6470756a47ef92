"""The commands in other languages: what is asked for, what surrounds them, what is refused."""

import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import kerfdocket.sheet
from jobs import SAMPLES
from kerfdocket.command import BAD_INPUT, GOOD, STOPPED, run
from kerfdocket.job import job_text
from kerfdocket.language import ENGLISH, current_language, language_named, set_language
from kerfdocket.planning import Plan

SAMPLE = SAMPLES / "base-plates-12mm.toml"
REFUSED = SAMPLES / "refused-stainless.toml"
YARD = SAMPLES / "winter-yard-30mm.toml"


def call(*arguments: object) -> tuple[int, str, str]:
    output, errors = io.StringIO(), io.StringIO()
    code = run([str(one) for one in arguments], lambda _path: 77, output, errors)
    assert current_language() is ENGLISH
    return code, output.getvalue(), errors.getvalue()


@pytest.fixture
def german_process() -> Iterator[None]:
    set_language(language_named("de"))
    yield
    set_language(ENGLISH)


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[Plan]:
    plans: list[Plan] = []
    monkeypatch.setattr(kerfdocket.sheet, "write_sheet", lambda plan, *_: plans.append(plan))
    return plans


def german(path: Path, tmp_path: Path) -> Path:
    """The same job, its sheet in German."""
    job = tmp_path / path.name
    text = path.read_text(encoding="utf-8")
    job.write_text(
        text.replace("kerfdocket-job = 1", 'kerfdocket-job = 1\nlanguage = "de"'), encoding="utf-8"
    )
    return job


@pytest.mark.parametrize("before", [True, False], ids=["before", "behind"])
def test_a_plan_in_german(before: bool) -> None:
    asked = ("--language", "de")
    code, output, _ = call(*asked, "plan", YARD) if before else call("plan", YARD, *asked)
    assert code == GOOD
    assert "Gasvolumen bei 15 °C, 1 bar absolut; Drücke sind Überdrücke." in output
    assert "flaschen, Minuten ab Beginn" in output
    assert "; dann 10 bar" in output
    assert "befähigte Personen gehen vor." in output
    assert "gauge readings" not in output


def test_one_value_explained_in_german() -> None:
    key = "setting.cutting_oxygen_flow"
    _, output, _ = call("plan", SAMPLE, "--explain", key, "--language", "de")
    assert "\nWert        1,75 m³/h\n" in output
    assert "\n            Gas bei 15 °C, 1 bar absolut\n" in output


def test_json_has_the_same_keys_in_every_language() -> None:
    english = json.loads(call("plan", SAMPLE, "--json")[1])
    said = json.loads(call("plan", SAMPLE, "--json", "--language", "de")[1])
    assert said["gas_reference"] == "15 °C, 1 bar absolut"
    assert said.keys() == english.keys()
    assert said["estimates"].keys() == english["estimates"].keys()
    values = [{key: one["value"] for key, one in p["estimates"].items()} for p in (said, english)]
    assert values[0] == values[1]


def test_a_plan_does_not_ask_the_job_for_its_language(tmp_path: Path) -> None:
    assert call("plan", german(SAMPLE, tmp_path))[1] == call("plan", SAMPLE)[1]


def test_a_sheet_speaks_the_language_of_its_job(written: list[Plan], tmp_path: Path) -> None:
    for job in (SAMPLE, german(SAMPLE, tmp_path)):
        assert call("sheet", job, "-o", tmp_path / "x.pdf")[0] == GOOD
    assert [plan.language for plan in written] == ["en", "de"]
    assert "language" not in job_text(written[0].job)


def test_a_sheet_can_be_asked_for_in_another_language(written: list[Plan], tmp_path: Path) -> None:
    target = tmp_path / "x.pdf"
    assert call("sheet", SAMPLE, "--language", "de", "-o", target)[0] == GOOD
    assert call("sheet", german(SAMPLE, tmp_path), "--language", "en", "-o", target)[0] == GOOD
    assert call("sheet", SAMPLE, "--language", "en-XA", "-o", target)[0] == GOOD
    assert [plan.language for plan in written] == ["de", "en", "en-XA"]
    # What the sheet carries gives the same sheet again; no job file is in the pseudo language.
    assert [plan.job.language for plan in written] == ["de", "en", "en"]
    assert 'language = "de"' in job_text(written[0].job)


def test_stops_are_told_in_the_language_of_the_command(written: list[Plan], tmp_path: Path) -> None:
    target = tmp_path / "x.pdf"
    plain = call("sheet", REFUSED, "-o", target)
    assert call("sheet", REFUSED, "--language", "de", "-o", target) == plain
    assert plain[0] == STOPPED
    assert "a draft, not for cutting\nstop: plate.grade: " in plain[2]
    code, _, errors = call("--language", "de", "sheet", REFUSED, "-o", target)
    assert code == STOPPED
    assert "Entwurf, nicht zum Schneiden\nStopp: plate.grade: " in errors
    assert [plan.language for plan in written] == ["en", "de", "en"]


@pytest.mark.usefixtures("german_process")
def test_without_a_word_the_process_is_followed(written: list[Plan], tmp_path: Path) -> None:
    output, errors = io.StringIO(), io.StringIO()
    arguments = ["plan", str(tmp_path / "none.toml")]
    assert run(arguments, lambda _path: 77, output, errors) == BAD_INPUT
    assert errors.getvalue().endswith("ist nicht lesbar: Datei oder Ordner gibt es nicht\n")
    run(["sheet", str(SAMPLE), "-o", "x.pdf"], lambda _path: 77, output, errors)
    assert written[0].language == "en"  # whoever cuts may speak another


def test_only_a_language_that_was_asked_for_goes_to_the_window() -> None:
    opened: list[tuple[object, ...]] = []

    def window(*given: object) -> int:
        opened.append((*given, current_language().code))
        return 0

    run([], window)
    run(["window", "a.toml"], window)
    run(["window", "a.toml", "--language", "de"], window)
    run(["--language", "de"], window)
    file = Path("a.toml")
    # The window speaks on its own, so that it can change its language.
    assert opened == [(None, "en"), (file, "en"), (file, "de", "en"), (None, "de", "en")]


@pytest.mark.parametrize("command", [[], ["plan", "x"], ["sheet", "x", "-o", "y"], ["window"]])
def test_an_unknown_language_is_refused_with_those_there_are(
    command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        call(*command, "--language", "fr")
    assert ended.value.code == BAD_INPUT
    assert "'fr' is no language of the program; accepted: en, de\n" in capsys.readouterr().err


def test_help_and_errors_of_the_command_line_are_said(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        call("--language", "de", "sheet", "--help")
    told = capsys.readouterr().out
    for words in ("Aufruf: kerfdocket sheet", "\nArgumente:\n", "\nOptionen:\n", "Auftragsdatei"):
        assert words in told
    assert "en-XA" not in told
    with pytest.raises(SystemExit):
        call("plan", "--language", "de")
    assert "kerfdocket plan: Fehler: " in capsys.readouterr().err


def test_as_a_person_runs_it_the_surroundings_choose() -> None:
    environment = {**os.environ, "LANGUAGE": "de", "PYTHONIOENCODING": "utf-8"}
    result = subprocess.run(
        [sys.executable, "-m", "kerfdocket", "plan", "none.toml"],
        capture_output=True,
        check=False,
        encoding="utf-8",
        env=environment,
        timeout=60,
    )
    assert result.returncode == BAD_INPUT
    assert result.stderr == "none.toml ist nicht lesbar: Datei oder Ordner gibt es nicht\n"


def test_long_names_leave_the_values_in_one_column() -> None:
    lines = call("plan", YARD, "--language", "de")[1].splitlines()
    long = next(line for line in lines if "Verlust vom Druckminderer zum Brenner, Heiz" in line)
    short = next(line for line in lines if line.startswith("  Fugenbreite"))
    begins = len(short) - len(short.removeprefix("  Fugenbreite").lstrip())
    assert long[begins - 1] == " "
    assert long[begins] != " "


@pytest.mark.parametrize("command", ["open", "shop"])
def test_errors_in_the_language_asked_for_behind(command: str, tmp_path: Path) -> None:
    code, _, errors = call(command, tmp_path / "nowhere", "--language", "de")
    assert code == BAD_INPUT
    assert "Datei oder Ordner gibt es nicht" in errors
