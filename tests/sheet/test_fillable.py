"""The sheet to be filled in on a screen: named fields where one writes, nothing else changed."""

import io

import pypdf
import pytest

from kerfdocket.sheet import sheet_pdf
from sheet.hand_plan import hand_plan, stop, with_findings


@pytest.fixture(scope="module")
def fillable() -> bytes:
    return sheet_pdf(hand_plan(), is_fillable=True)


def _fields(content: bytes) -> set[str]:
    return set(pypdf.PdfReader(io.BytesIO(content)).get_fields() or {})


def test_the_printed_sheet_has_none() -> None:
    assert _fields(sheet_pdf(hand_plan())) == set()


def test_it_says_what_the_printed_sheet_says(fillable: bytes) -> None:
    front, back = (
        "".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(fillable)).pages
    )
    assert "Whattoset" in front
    assert "Signature" in back
    for step in hand_plan().steps:
        assert "".join(step.text.split()) in back


def test_what_is_filled_in_can_be_read_back(fillable: bytes) -> None:
    said = {"oxygen_before": "182", "remarks": "Kerf 2.1 mm, ünruhig", "cutter_name": "A. Cutter"}
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(fillable))
    for page in writer.pages:
        writer.update_page_form_field_values(page, said, auto_regenerate=False)
    made = io.BytesIO()
    writer.write(made)
    fields = pypdf.PdfReader(made).get_form_text_fields()
    assert {name: fields[name] for name in said} == said


def test_a_draft_is_not_signed_on_a_screen_either() -> None:
    draft = _fields(sheet_pdf(with_findings(hand_plan(), stop()), is_fillable=True))
    assert not {"cutter_name", "supervisor_name", "oxygen_before"} & draft
