"""The wheel carries the program and its data, and runs where there is no checkout."""

import os
import shutil
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "samples" / "base-plates-12mm.toml"
DATA = ("tables", "sheet_templates")

pytestmark = pytest.mark.slow


def run(command: list[str], folder: Path, **environment: str) -> str:
    done = subprocess.run(
        command,
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    said = done.stdout + done.stderr
    assert done.returncode == 0, f"{command} ended with {done.returncode}:\n{said}"
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder)]
    run([*build, str(ROOT)], folder)
    (built,) = folder.glob("*.whl")
    return built


@dataclass(frozen=True)
class Installed:
    target: Path
    elsewhere: Path

    def python(self, *arguments: str) -> str:
        """Run Python in a folder far from the checkout, with the installed wheel first."""
        command = [sys.executable, "-P", *arguments]
        return run(command, self.elsewhere, PYTHONPATH=str(self.target))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Installed:
    place = Installed(tmp_path_factory.mktemp("target"), tmp_path_factory.mktemp("elsewhere"))
    pip = [sys.executable, "-I", "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    run([*pip, "--no-deps", "--no-index", "--target", str(place.target), str(wheel)], ROOT)
    return place


def test_wheel_carries_exactly_the_data_of_the_checkout(wheel: Path) -> None:
    listing = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard", *DATA]
    names = run(listing, ROOT).split("\0")
    # A file that git lists but that is deleted in the working tree can't be shipped.
    expected = {name for name in names if name and (ROOT / name).is_file()}
    assert expected, "git lists no data file"

    inside = "kerfdocket/_data/"
    shipped = {
        name.removeprefix(inside)
        for name in zipfile.ZipFile(wheel).namelist()
        if name.startswith(inside)
    }
    assert shipped == expected


def test_wheel_puts_nothing_but_kerfdocket_beside_other_packages(wheel: Path) -> None:
    tops = {name.split("/")[0] for name in zipfile.ZipFile(wheel).namelist()}
    (metadata,) = tops - {"kerfdocket"}
    assert metadata.endswith(".dist-info")


def test_installed_program_uses_its_own_code_and_data(installed: Installed) -> None:
    program = (
        "import kerfdocket\n"
        "from kerfdocket.resources import data_dir\n"
        f"for place in kerfdocket.__file__, *map(data_dir, {DATA}):\n"
        "    print(place)\n"
    )
    for place in installed.python("-c", program).splitlines():
        assert Path(place).is_relative_to(installed.target)


def test_installed_program_tells_its_version(installed: Installed, wheel: Path) -> None:
    version = wheel.name.split("-")[1]
    assert version in installed.python("-m", "kerfdocket", "--version").split()


def test_installed_program_prints_a_sheet(installed: Installed) -> None:
    job = str(shutil.copy(SAMPLE, installed.elsewhere))
    sheet = installed.elsewhere / "base-plates.pdf"
    installed.python("-m", "kerfdocket", "sheet", job, "-o", str(sheet))
    assert sheet.read_bytes().startswith(b"%PDF")
