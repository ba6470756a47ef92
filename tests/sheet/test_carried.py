"""A sheet's PDF for the archive: PDF/A-3 with tags, and the job that it was made of inside."""

import io
import json
import re
from pathlib import Path

import pypdf
import pytest

from kerfdocket.errors import InputError
from kerfdocket.job import JobError, load_job, read_text
from kerfdocket.job.carried import job_text_in_pdf
from kerfdocket.planning import make_plan, plan_json
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_pdf
from sheet.hand_plan import hand_plan

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))
REFERENCE = load_reference()


@pytest.fixture(scope="module")
def content() -> bytes:
    return sheet_pdf(hand_plan())


def test_it_says_that_it_is_pdf_a_3_and_is_tagged(content: bytes) -> None:
    # ISO 19005-3: identification in XMP (6.6.4), output intent (6.2.3), associated files (6.8),
    # no encryption (6.1.3); conformance level A: marked, structure and language (6.7).
    reader = pypdf.PdfReader(io.BytesIO(content))
    root = reader.trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()
    assert re.search(r'pdfaid:part="3"', xmp)
    assert re.search(r'pdfaid:conformance="A"', xmp)
    assert root["/OutputIntents"][0]["/S"] == "/GTS_PDFA1"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/StructTreeRoot"]
    assert root["/Lang"] == "en"
    assert not reader.is_encrypted
    named = [file.get_object() for file in root["/AF"]]
    assert [file["/UF"] for file in named] == ["job.toml", "plan.json"]
    assert [file["/AFRelationship"] for file in named] == ["/Source", "/Data"]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_job_comes_back_equal(path: Path, tmp_path: Path) -> None:
    job = load_job(path)
    plan = make_plan(job, REFERENCE)
    sheet = tmp_path / "sheet.pdf"
    sheet.write_bytes(sheet_pdf(plan))
    assert load_job(sheet) == job
    carried = pypdf.PdfReader(sheet).attachments["plan.json"][0]
    assert json.loads(carried) == json.loads(plan_json(plan))


def test_a_pdf_without_a_job_is_refused_with_the_reason(tmp_path: Path) -> None:
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    other = tmp_path / "other.pdf"
    writer.write(other)
    with pytest.raises(JobError, match="carries no job file"):
        load_job(other)


@pytest.mark.parametrize("keep", [6, 200, 5_000, 20_000])
def test_a_damaged_pdf_is_refused_not_guessed(content: bytes, keep: int, tmp_path: Path) -> None:
    broken = tmp_path / "broken.pdf"
    broken.write_bytes(content[:keep])
    with pytest.raises(JobError, match=r"damaged|carries no job file"):
        read_text(broken)


def test_a_job_file_beyond_all_measure_is_refused() -> None:
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_attachment("job.toml", b"x" * 1_000_001)
    made = io.BytesIO()
    writer.write(made)
    with pytest.raises(InputError, match="larger than"):
        job_text_in_pdf(made.getvalue())


def _pack(*names: str) -> bytes:
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    for name in names:
        writer.add_attachment(f"{name}.job.toml", name.encode())
        writer.add_attachment(f"{name}.plan.json", b"{}")
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


class TestAPack:
    def test_with_one_job_gives_it(self) -> None:
        assert job_text_in_pdf(_pack("Q-1")) == "Q-1"

    def test_with_several_names_them(self) -> None:
        with pytest.raises(InputError, match=r"a pack of 3 jobs: Q-1, Q-1-2, Q-2; .*--job Q-1$"):
            job_text_in_pdf(_pack("Q-2", "Q-1", "Q-1-2"))

    def test_gives_the_job_that_is_named(self) -> None:
        assert job_text_in_pdf(_pack("Q-2", "Q-1"), "Q-1") == "Q-1"

    def test_without_the_job_that_is_named_says_which_there_are(self) -> None:
        with pytest.raises(InputError, match="'Q-3' is no job of this PDF; it has: Q-1, Q-2"):
            job_text_in_pdf(_pack("Q-2", "Q-1"), "Q-3")

    def test_of_hundreds_names_the_first(self) -> None:
        with pytest.raises(InputError, match=r"a pack of 300 jobs: .* …; "):
            job_text_in_pdf(_pack(*(f"Q-{number}" for number in range(300))))
