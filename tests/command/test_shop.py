"""A shop's folder on the command line: checked, stated, or set up for the user."""

import io
from pathlib import Path

import pypdf
import pytest

from kerfdocket.command import run
from kerfdocket.command.cli import BAD_INPUT, GOOD

SAMPLES = Path(__file__).parents[2] / "samples"
JOB = str(SAMPLES / "base-plates-12mm.toml")


def _no_window(*_ignored: object) -> int:
    raise AssertionError("no window is wanted here")


def _run(*arguments: str) -> tuple[int, str, str]:
    output, errors = io.StringIO(), io.StringIO()
    code = run(arguments, _no_window, output, errors)
    return code, output.getvalue(), errors.getvalue()


def _front(path: Path) -> str:
    return pypdf.PdfReader(path).pages[0].extract_text()


def test_a_good_folder_is_said_to_be_good() -> None:
    code, said, errors = _run("shop", str(SAMPLES / "shop"))
    assert (code, errors) == (GOOD, "")
    assert "can be used" in said
    assert "2 cautions" in said
    assert "2 fields: heat_number and offcut_bin" in said


def test_a_style_that_hides_is_found_without_a_job(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text('kerfdocket-shop = 1\nname = "Quay"\nstyle = "own.css"\n')
    # Only a draft has it: the check makes one of each.
    (tmp_path / "own.css").write_text(".running-draft { display: none }")
    code, said, errors = _run("shop", str(tmp_path))
    assert (code, said) == (BAD_INPUT, "")
    assert "NOT FOR CUTTING" in errors


def test_a_sheet_with_a_stated_folder(tmp_path: Path) -> None:
    made = tmp_path / "sheet.pdf"
    assert _run("sheet", JOB, "--shop", str(SAMPLES / "shop"), "-o", str(made))[0] == GOOD
    assert "Lower Quay Plate Shop" in _front(made)


def test_the_folder_set_up_for_the_user_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("platformdirs.user_config_path", lambda *_a, **_k: tmp_path)
    made = tmp_path / "sheet.pdf"
    assert _run("sheet", JOB, "-o", str(made))[0] == GOOD
    assert "Own shop" not in _front(made)
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "shop.toml").write_text('kerfdocket-shop = 1\nname = "Own shop"\n')
    assert _run("sheet", JOB, "-o", str(made))[0] == GOOD
    assert "Own shop" in _front(made)


def test_nothing_is_written_with_a_bad_folder(tmp_path: Path) -> None:
    made = tmp_path / "sheet.pdf"
    code, _said, errors = _run("sheet", JOB, "--shop", str(tmp_path), "-o", str(made))
    assert code == BAD_INPUT
    assert "shop.toml" in errors
    assert not made.exists()
