"""How much of a sheet's time is ours: everything against WeasyPrint alone on the same HTML."""

import pytest

from jobs import SAMPLES
from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.resources import data_dir
from kerfdocket.sheet import sheet_html, sheet_pdf


# WeasyPrint 70 leaves the file of its colour profile to the garbage collector.
@pytest.mark.filterwarnings("ignore:unclosed file .*sRGB2014:ResourceWarning")
def test_sheet_against_bare_weasyprint(benchmark, ratio):
    from weasyprint import HTML

    reference = load_reference()
    job = load_job(SAMPLES / "base-plates-12mm.toml")
    html = sheet_html(make_plan(job, reference))
    base = (data_dir("sheet_templates") / "traveller").resolve().as_uri() + "/"
    ratio(
        benchmark,
        "job to PDF against bare WeasyPrint on the same HTML",
        ours=lambda: sheet_pdf(make_plan(job, reference)),
        bare=lambda: HTML(string=html, base_url=base).write_pdf(
            pdf_variant="pdf/a-3a", pdf_tags=True
        ),
        rounds=8,
        aim="aim under 1.10",
    )
