"""One sheet of paper: what a shop really prints, up to six parts, fits front and back."""

import io
import logging
from typing import Any

import pypdf
import pytest

from kerfdocket.job import read_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf

REFERENCE = load_reference()


def _raw(
    units: str, fuel: str, kind: str, parts: int, oxygen: int, fuels: int, thickness: str
) -> dict[str, Any]:
    """A job with everything stated; cylinders part used, so that they are changed."""
    full, tare = ("8 kg", 60.5) if fuel == "acetylene" else ("33 kg", 35.0)
    weights = (0.9, 0.5, 0.7)
    arrestor = {"pressure_loss": "0.05 bar", "functions": "NV FA TV"}
    raw: dict[str, Any] = {
        "kerfdocket-job": 1,
        "units": units,
        "about": {
            "number": "F-1",
            "title": "Base plates for the stair tower",
            "customer": "Site office",
            "drawing": "ST-1 rev A",
            "prepared_by": "Foreman",
        },
        "plate": {"grade": "S355J2", "thickness": thickness, "readings": [thickness] * 3},
        "parts": [
            {
                "name": f"P{number} plate",
                "count": 4,
                "cut_length": "1200 mm",
                "start": "edge" if number % 2 else "pierce",
            }
            for number in range(parts)
        ],
        "torch": {"kind": kind},
        "oxygen": {
            "cylinders": [{"gauge": f"{(40, 90, 150)[n % 3]} bar"} for n in range(oxygen)],
            "regulator": {"outlet_limit": "16 bar", "flow_limit": "60 m3/h"},
            "arrestor": arrestor,
            "hose": {"bore": "8 mm"},
        },
        "fuel": {
            "gas": fuel,
            "regulator": {"outlet_limit": "1.5 bar", "flow_limit": "6 m3/h"},
            "arrestor": arrestor,
            "hose": {"bore": "8 mm"},
        },
        "prices": {"hour": 75.0, "oxygen_m3": 3.0, "fuel_kg": 9.0},
    }
    if fuel != "natural gas":
        raw["fuel"]["cylinders"] = [
            {
                "weight_now": f"{tare + float(full.split()[0]) * weights[n % 3]:.1f} kg",
                "weight_empty": f"{tare} kg",
                "full_content": full,
            }
            for n in range(fuels)
        ]
    return raw


@pytest.mark.parametrize(
    "job",
    [
        ("metric", "acetylene", "hand", 1, 1, 1, "12 mm"),
        ("metric", "acetylene", "hand", 3, 1, 1, "12 mm"),
        ("metric", "acetylene", "hand", 6, 3, 2, "20 mm"),
        ("US customary", "acetylene", "hand", 6, 2, 2, "25 mm"),
        ("metric", "propane", "machine", 6, 3, 2, "40 mm"),
        ("US customary", "propane", "machine", 4, 3, 1, "40 mm"),
        ("metric", "natural gas", "machine", 6, 3, 0, "60 mm"),
        ("US customary", "acetylene", "tractor", 6, 3, 1, "50 mm"),
    ],
    ids=lambda job: "-".join(str(one) for one in job),
)
def test_a_job_of_the_shop_is_one_sheet(
    job: tuple[Any, ...], caplog: pytest.LogCaptureFixture
) -> None:
    plan = make_plan(read_job(_raw(*job)), REFERENCE)
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        reader = pypdf.PdfReader(io.BytesIO(sheet_pdf(plan)))
    assert [one.getMessage() for one in caplog.records if one.name == "weasyprint"] == []
    assert len(reader.pages) == 2
    front = "".join(reader.pages[0].extract_text().split())
    for part in plan.job.parts:
        assert "".join(part.name.split()) in front


@pytest.mark.parametrize(
    ("paper", "points"),
    # ISO 216: 210 x 297 mm; ANSI/ASME Y14.1 size A: 8.5 x 11 in; a point is 1/72 in.
    [("A4", (595.3, 841.9)), ("Letter", (612.0, 792.0))],
)
def test_the_sheet_is_made_for_its_paper(paper: str, points: tuple[float, float]) -> None:
    raw = _raw("US customary", "acetylene", "hand", 3, 2, 1, "12 mm")
    plan = make_plan(read_job({**raw, "paper": paper}), REFERENCE)
    pages = pypdf.PdfReader(io.BytesIO(sheet_pdf(plan))).pages
    assert len(pages) == 2
    for page in pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx(points, abs=0.1)
