"""Every sample's sheet: two pages, nothing lost, and an unfit job is a draft."""

import io
from pathlib import Path

import pypdf
import pytest

import jobs
from kerfdocket.sheet.context import traveller_context
from sheet.sheets import sample_plan, sample_sheet

SAMPLES = sorted(jobs.SAMPLES.glob("*.toml"))


def test_there_are_samples() -> None:
    assert len(SAMPLES) >= 5


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_sample_is_one_sheet_of_paper(path: Path) -> None:
    plan = sample_plan(path.stem)
    reader = pypdf.PdfReader(io.BytesIO(sample_sheet(path.stem)))
    assert len(reader.pages) == 2
    # Lines end at hyphens too, so words are compared without the spaces between them.
    front, back = ("".join(page.extract_text().split()) for page in reader.pages)

    def tight(text: str) -> str:
        return "".join(text.split())

    for part in plan.job.parts:
        assert tight(part.name) in front
    for step in plan.steps:
        assert tight(step.text) in back
    for caution in plan.cautions:
        # What a step or the list of equipment says by itself is not said twice.
        assert tight(caution.title) in back or (caution.covered and plan.steps)
    for finding in plan.findings:
        assert tight(finding.text) in (back if finding.severity == "note" else front)
    assert ("NOTFORCUTTING" in front) == plan.is_stopped
    assert ("NOTFORCUTTING" in back) == plan.is_stopped
    assert ("Signature" in back) != plan.is_stopped


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_sample_prints_no_unverified_setting_as_an_instruction(path: Path) -> None:
    plan = sample_plan(path.stem)
    front = traveller_context(plan).front
    values = [value for block in front.blocks for value in (block.regulator, block.torch)]
    keys = [
        "line.oxygen_regulator_pressure",
        "setting.cutting_oxygen_pressure",
        # Heating oxygen has a regulator of its own only where it has a hose of its own.
        "line.heating_oxygen_regulator_pressure" if plan.job.torch.oxygen_hoses == 2 else None,
        "setting.heating_oxygen_pressure",
        "line.fuel_regulator_pressure",
        "setting.fuel_pressure",
    ]
    for key, value in zip(keys, values, strict=True):
        assert (key is None) == (value is None)
        if key is None or value is None:
            continue
        estimate = plan.estimates[key]
        manner = "guide" if estimate.is_unverified else "firm"
        assert value.manner == ("withheld" if estimate.is_withheld else manner)
