"""The commands, run inside this process and, for a few, as a person runs them."""

import io
import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest

from jobs import SAMPLES
from kerfdocket import __version__
from kerfdocket.command import BAD_INPUT, GOOD, STOPPED, cli, run

SAMPLE = SAMPLES / "base-plates-12mm.toml"
REFUSED = SAMPLES / "refused-stainless.toml"


def call(*arguments):
    output, errors = io.StringIO(), io.StringIO()
    code = run([str(a) for a in arguments], lambda _path: 77, output, errors)
    return code, output.getvalue(), errors.getvalue()


def changed(tmp_path: Path, old: str, new: str) -> Path:
    text = SAMPLE.read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "job.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


def test_plan_as_text():
    code, output, errors = call("plan", SAMPLE)
    assert code == GOOD
    assert "Cutting oxygen at the torch" in output
    assert "qualified people come first" in output
    assert errors == ""


def test_plan_as_json():
    code, output, _ = call("plan", SAMPLE, "--json")
    assert code == GOOD
    plan = json.loads(output)
    bore = plan["estimates"]["nozzle.bore"]
    assert (bore["value"], bore["unit"]) == (pytest.approx(1.2), "mm")
    assert {"value", "unit", "low", "high", "basis"} <= set(bore)
    assert {"severity", "where", "text", "remedy", "source"} == set(plan["findings"][0])
    assert plan["steps"][0]["text"]
    assert plan["estimates"]["cost.total"]["unit"] == "EUR"


def test_a_value_can_be_explained():
    code, output, _ = call("plan", SAMPLE, "--explain", "setting.cutting_oxygen_flow")
    assert code == GOOD
    for word in ("Equation", "Inputs", "Source", "Trust", "1.2 mm", "Shapiro", "15 °C, 1 bar"):
        assert word in output


def test_a_withheld_value_is_explained_by_its_reason():
    code, output, _ = call("plan", REFUSED, "--explain", "nozzle.bore")
    assert code == STOPPED
    assert "Withheld: the material is not to be cut" in output


def test_a_value_that_is_not_needed_is_no_gap():
    _, output, _ = call("plan", SAMPLE)
    assert re.search(r"Preheat of the plate +none needed  none: ", output)
    _, output, _ = call("plan", SAMPLE, "--explain", "steel.preheat")
    assert "None needed: none: " in output


def test_an_unknown_value_names_near_ones():
    code, output, errors = call("plan", SAMPLE, "--explain", "cut.sped")
    assert (code, output) == (BAD_INPUT, "")
    assert "cut.speed" in errors


def test_a_stop_is_told_and_is_exit_code_1():
    code, output, errors = call("plan", REFUSED, "--json")
    assert code == STOPPED
    plan = json.loads(output)
    assert plan["is_stopped"] is True
    assert plan["estimates"]["nozzle.bore"]["value"] is None
    assert plan["estimates"]["nozzle.bore"]["basis"]["text"]
    assert "plate.grade" in errors
    assert "chromium" in errors


def test_sheet_writes_a_pdf(tmp_path):
    target = tmp_path / "sheet.pdf"
    code, output, errors = call("sheet", SAMPLE, "-o", target)
    assert (code, output, errors) == (GOOD, "", "")
    text = "".join(page.extract_text() for page in pypdf.PdfReader(target).pages)
    assert "KD-0141" in text


def test_a_refused_job_prints_only_a_draft(tmp_path):
    target = tmp_path / "draft.pdf"
    code, _, errors = call("sheet", REFUSED, "-o", target)
    assert code == STOPPED
    assert "not for cutting" in errors
    for page in pypdf.PdfReader(target).pages:
        assert "NOT FOR CUTTING" in page.extract_text().upper()


REFUSALS = [
    ("stainless", 'grade = "S355J2"', 'grade = "1.4301"', STOPPED, "plate.grade"),
    ("0 mm", 'thickness = "12 mm"', 'thickness = "0 mm"', BAD_INPUT, "plate.thickness"),
    ("reading of 1 mm", '"12.0 mm"', '"1.0 mm"', STOPPED, "plate.readings.1"),
    ("other system", 'mixing = "nozzle"', 'mixing = "nozzle"\nnozzle = "P-T-1.2"', STOPPED,
     "torch.nozzle"),
    ("negative hose", 'length = "10 m"', 'length = "-10 m"', BAD_INPUT, "oxygen.hose.length"),
    ("typing error", 'surface = "mill scale"', 'surfce = "mill scale"', BAD_INPUT,
     "did you mean 'surface'"),
    ("bad TOML", "[plate]", "[plate", BAD_INPUT, "line 13"),
    ("acetylene too high", "[site]", '[chart]\nfuel_pressure = "1.8 bar"\n[site]', STOPPED,
     "chart.fuel_pressure"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "code", "word"), [r[1:] for r in REFUSALS],
                         ids=[r[0] for r in REFUSALS])  # fmt: skip
def test_refusals_have_reason_and_exit_code(tmp_path, old, new, code, word):
    got, _, errors = call("plan", changed(tmp_path, old, new))
    assert got == code
    assert word in errors
    assert "Traceback" not in errors


def test_a_plate_of_400_mm_is_refused(tmp_path):
    path = changed(tmp_path, '"12 mm"', '"400 mm"')
    path.write_text(
        "\n".join(line for line in path.read_text().split("\n") if "readings" not in line)
    )
    code, _, errors = call("plan", path)
    assert code == STOPPED
    assert "it covers 3 to 300 mm" in errors


@pytest.mark.parametrize("content", [b"", b"\x00\xff\xfe\x89PNG"], ids=["empty", "binary"])
def test_what_is_no_job_file_is_exit_code_2(tmp_path, content):
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    code, output, errors = call("sheet", path, "-o", tmp_path / "x.pdf")
    assert code == BAD_INPUT
    assert output == ""
    assert str(path) in errors
    assert not (tmp_path / "x.pdf").exists()


def test_a_place_that_cannot_be_written_is_exit_code_2(tmp_path):
    code, _, errors = call("sheet", SAMPLE, "-o", tmp_path / "none" / "x.pdf")
    assert code == BAD_INPUT
    assert "cannot write" in errors


def test_schema_is_json():
    code, output, _ = call("schema")
    assert code == GOOD
    assert json.loads(output)["properties"]["plate"]


def test_without_a_command_the_window_opens():
    assert call()[0] == 77
    assert call("window", SAMPLE)[0] == 77


class TestAsAPersonRunsIt:
    """One process each; a second or two altogether."""

    def run(self, *arguments, **keywords):
        return subprocess.run(
            [sys.executable, "-m", "kerfdocket", *map(str, arguments)],
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
            encoding="utf-8",
            **keywords,
        )

    def test_version(self):
        result = self.run("--version")
        assert (result.returncode, result.stdout) == (0, f"kerfdocket {__version__}\n")

    def test_plan_needs_neither_qt_nor_weasyprint(self):
        code = (
            "import sys; sys.argv = ['kerfdocket', 'plan', sys.argv[1]];"
            "from kerfdocket.__main__ import main; main();"
            "print(sorted(m for m in sys.modules if m in ('PySide6', 'weasyprint')))"
        )
        result = subprocess.run(
            [sys.executable, "-c", code, str(SAMPLE)], capture_output=True, text=True, check=True
        )
        assert result.stdout.rstrip().endswith("[]")

    def test_an_unknown_command_is_exit_code_2(self):
        result = self.run("cut")
        assert result.returncode == 2
        assert "usage" in result.stderr

    def test_without_a_display_it_says_so_in_one_line(self):
        environment = {"PATH": "/usr/bin:/bin", "LANG": "C.UTF-8"}
        result = self.run(env=environment)
        assert result.returncode == 2
        assert result.stderr.count("\n") == 1
        assert "kerfdocket sheet" in result.stderr


def test_units_of_the_command_come_before_those_of_the_file(tmp_path):
    code, output, _ = call("plan", SAMPLE, "--units", "us")
    assert code == GOOD
    assert "Gas volumes at 70 °F, 14.7 psi absolute" in output
    assert " psi" in output
    american = changed(tmp_path, "kerfdocket-job = 1", 'kerfdocket-job = 1\nunits = "US customary"')
    assert call("plan", american)[1] == output
    assert call("plan", american, "--units", "metric")[1] == call("plan", SAMPLE)[1]


def test_json_says_in_which_units_it_is():
    _, output, _ = call("plan", SAMPLE, "--json", "--units", "us")
    plan = json.loads(output)
    assert plan["units"] == "US customary"
    assert plan["gas_reference"] == "70 °F, 14.7 psi absolute"
    assert plan["estimates"]["nozzle.bore"]["unit"] == "in"
    assert plan["estimates"]["nozzle.bore"]["value"] == pytest.approx(1.2 / 25.4)


def test_the_order_of_the_cylinders_is_told():
    yard = SAMPLES / "winter-yard-30mm.toml"
    _, output, _ = call("plan", yard)
    assert "Order of the oxygen cylinders" in output
    assert "too cold to hold its pressure" in output
    _, output, _ = call("plan", yard, "--json")
    for change_over in json.loads(output)["change_overs"]:
        ends = [spell["ends_min"] for spell in change_over["spells"]]
        assert ends == sorted(ends)
        assert {"cylinders", "gives_kg", "shows_then", "is_changed"} <= set(
            change_over["spells"][0]
        )


def test_a_sheet_gives_its_job_back(tmp_path):
    sheet, job = tmp_path / "sheet.pdf", tmp_path / "job.toml"
    assert call("sheet", SAMPLE, "-o", sheet)[0] == GOOD
    code, output, _ = call("open", sheet)
    assert code == GOOD
    assert call("open", sheet, "-o", job)[0] == GOOD
    assert job.read_text(encoding="utf-8") == output
    assert call("plan", job)[1] == call("plan", sheet)[1] == call("plan", SAMPLE)[1]
    code, _, errors = call("open", tmp_path / "nowhere.pdf")
    assert code == BAD_INPUT
    assert "cannot read" in errors


def test_one_job_of_a_pack_is_named(tmp_path):
    pack, job = tmp_path / "pack.pdf", tmp_path / "job.toml"
    jobs = [SAMPLE, SAMPLES / "shear-blanks-40mm.toml"]
    assert call("pack", *jobs, "-o", pack, "--jobs", "1", "--quiet")[0] == GOOD
    for command in ("open", "plan"):
        code, _, errors = call(command, pack)
        assert code == BAD_INPUT
        assert "this is a pack of 2 jobs: KD-0141, KD-0142; name one" in errors
    assert call("open", pack, "--job", "KD-0142", "-o", job)[0] == GOOD
    assert call("plan", job)[1] == call("plan", jobs[1])[1]


@pytest.mark.parametrize("command", ["sheet", "open"])
def test_what_is_read_is_not_written_over(command, tmp_path):
    job = tmp_path / "job.toml"
    job.write_bytes(SAMPLE.read_bytes())
    code, _, errors = call(command, job, "-o", tmp_path / "." / "job.toml")
    assert code == BAD_INPUT
    assert "is what is read; give another file to write" in errors
    assert job.read_bytes() == SAMPLE.read_bytes()


def test_a_sheet_to_fill_in_has_fields(tmp_path):
    sheet = tmp_path / "sheet.pdf"
    assert call("sheet", SAMPLE, "--fillable", "-o", sheet)[0] == GOOD
    assert "oxygen_before" in pypdf.PdfReader(sheet).get_fields()


README = SAMPLES.parent / "README.md"
SHOWN = re.findall(
    r"^    sh desktop/start (\w.*)$", README.read_text(encoding="utf-8"), re.MULTILINE
)


@pytest.mark.parametrize("line", SHOWN)
def test_what_the_readme_shows_is_a_command(line: str) -> None:
    cli._parser().parse_args(shlex.split(line, comments=True))


def test_there_are_commands_in_the_readme() -> None:
    assert any(line.startswith("archive find") for line in SHOWN)
