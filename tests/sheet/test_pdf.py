"""The sheet's PDF: pages, text, fonts, bytes, and that it loads nothing from elsewhere."""

import hashlib
import io
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.job import Part
from kerfdocket.planning.model import Caution, Plan
from kerfdocket.resources import data_dir
from kerfdocket.sheet import sheet_html, sheet_pdf, write_sheet
from kerfdocket.sheet.render import folder_fetcher, html_to_pdf
from sheet.hand_plan import hand_job, hand_plan, stop, with_findings

pytestmark = pytest.mark.usefixtures("no_renderer_warning")

A4_PT = (595.28, 841.89)  # ISO 216: 210 mm x 297 mm


@pytest.fixture(scope="module")
def hand_pdf() -> bytes:
    return sheet_pdf(hand_plan())


def _read(content: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(content))


def _words(page: pypdf.PageObject) -> str:
    return " ".join(page.extract_text().split())


def _spans(page: pypdf.PageObject) -> list[tuple[str, float, float, float]]:
    """Text runs of a page as (text, x, y, size) in points."""
    found: list[tuple[str, float, float, float]] = []

    def visit(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
            y = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            scale = abs(tm[0] * cm[0] + tm[1] * cm[2])
            found.append((text.strip(), x, y, size * scale))

    page.extract_text(visitor_text=visit)
    return found


def test_front_and_back_on_a4(hand_pdf: bytes) -> None:
    reader = _read(hand_pdf)
    assert len(reader.pages) == 2
    for page in reader.pages:
        assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(
            A4_PT, abs=0.5
        )
    front, back = map(_words, reader.pages)
    assert "What to set" in front
    assert "Cut list" in front
    assert "6.3 mm bore" in front
    assert "The work, in order" in back
    assert "Signature" in back
    assert "The work, in order" not in front
    for number, text in enumerate((front, back), start=1):
        assert f"page {number} of 2" in text
        assert "TEST-001" in text
        assert "The nozzle maker’s own chart comes first" in text
        assert "qualified people come before anything printed here" in text


def test_settings_are_readable_at_arms_length_and_nothing_is_tiny(hand_pdf: bytes) -> None:
    front, back = _read(hand_pdf).pages
    sizes: dict[str, float] = {}
    for page in (front, back):
        for text, _x, _y, size in _spans(page):
            sizes[text] = max(size, sizes.get(text, 0.0))
            if not text.isdigit():  # note marks are raised figures
                assert size >= 7.45, text
    assert sizes["1.8"] >= 35.9
    assert sizes["0.17"] >= 35.9
    assert sizes["1.7"] > 20
    unverified = [size for text, size in sizes.items() if "unverified" in text]
    assert unverified
    assert max(unverified) < 10


def test_only_shipped_fonts_are_used(hand_pdf: bytes) -> None:
    fonts = set()
    for page in _read(hand_pdf).pages:
        for font in page["/Resources"]["/Font"].values():
            fonts.add(str(font.get_object()["/BaseFont"]).partition("+")[2])
    assert fonts
    assert all(name.startswith(("Sheet-Text", "Sheet-Symbols")) for name in fonts), fonts


def test_metadata_come_from_the_plan(hand_pdf: bytes) -> None:
    reader = _read(hand_pdf)
    assert reader.metadata is not None
    assert reader.metadata.title == "TEST-001 Invented plates"
    assert reader.metadata.creator == "Kerfdocket 0.0.0-test"
    assert reader.metadata.get("/CreationDate", "").startswith("D:20261125")
    assert "/ModDate" not in reader.metadata
    undated = hand_plan(
        hand_job().model_copy(update={"about": hand_job().about.model_copy(update={"date": None})})
    )
    other = _read(sheet_pdf(undated))
    assert other.metadata is not None
    assert "/CreationDate" not in other.metadata
    assert other.trailer["/ID"] != reader.trailer["/ID"]


def test_same_plan_same_bytes_in_any_process(hand_pdf: bytes) -> None:
    code = (
        "import hashlib, sys; sys.path[:0] = sys.argv[1:]; from hand_plan import hand_plan; "
        "from kerfdocket.sheet import sheet_pdf; "
        "print(hashlib.sha256(sheet_pdf(hand_plan())).hexdigest())"
    )
    import kerfdocket

    places = [str(Path(__file__).parent), str(Path(kerfdocket.__file__).parents[1])]
    digests = {hashlib.sha256(hand_pdf).hexdigest()}
    for seed in ("1", "4711"):
        done = subprocess.run(
            [sys.executable, "-c", code, *places],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        )
        digests.add(done.stdout.strip())
    assert len(digests) == 1


def test_a_draft_says_so_across_every_page() -> None:
    reader = _read(sheet_pdf(with_findings(hand_plan(), stop())))
    for page in reader.pages:
        assert "DRAFT – NOT FOR CUTTING" in _words(page)
        across = [size for text, _x, _y, size in _spans(page) if text in {"NOT FOR", "CUTTING"}]
        assert len(across) == 2
        assert min(across) > 60
    front = _words(reader.pages[0])
    assert "This invented steel cannot be cut by a flame. Cut it by another process." in front
    assert "A draft is not signed." in _words(reader.pages[-1])
    assert "1.8" in front  # what lies beneath stays text


def test_two_hundred_parts_flow_to_more_pages() -> None:
    job = hand_job()
    parts = tuple(job.parts[0].model_copy(update={"name": f"Part {n:03}"}) for n in range(200))
    reader = _read(sheet_pdf(hand_plan(job.model_copy(update={"parts": parts}))))
    count = len(reader.pages)
    assert count > 4
    whole = ""
    for number, page in enumerate(reader.pages, start=1):
        text = _words(page)
        assert f"page {number} of {count}" in text
        assert "TEST-001" in text
        if "Part 0" in text or "Part 1" in text:
            assert "Cut length, each" in text  # the head is repeated
        whole += text
    assert all(f"Part {n:03}" in whole for n in range(200))
    [total] = [_words(page) for page in reader.pages if "Together" in _words(page)]
    assert "Part 199" in total  # the sum does not stand alone on a page


def _long_plan() -> Plan:
    word = "W" * 120
    note = ("M" * 400 + " ") * 2 + "x" * 198
    job = hand_job()
    about = job.about.model_copy(
        update={
            **dict.fromkeys(("number", "title", "customer", "drawing", "prepared_by"), word),
            "note": note,
        }
    )
    job = job.model_copy(
        update={
            "about": about,
            "plate": job.plate.model_copy(update={"grade": word}),
            "parts": (Part(name=word, cut_length="1234567.12345 mm"), *job.parts),
        }
    )
    plan = hand_plan(job)
    long = plan.cautions[0]
    return replace(
        plan,
        nozzle_name=word,
        nozzle_text=word,
        cautions=(Caution("k", "caution", word, word, word, word, long.trust), *plan.cautions),
        steps=(replace(plan.steps[0], group=word, text=word * 3), *plan.steps),
        supplies=tuple(replace(one, text=word) for one in plan.supplies),
    )


def test_long_words_stay_on_the_paper() -> None:
    from pypdf.generic import ContentStream

    reader = _read(sheet_pdf(_long_plan()))
    widest = 0.0
    for page in reader.pages:
        assert isinstance(page.get_contents(), ContentStream)
        right = float(page.mediabox.width)
        for text, x, _y, size in _spans(page):
            # W is the widest letter, below 1.05 of the size in the shipped fonts
            if set(text) <= {"W"}:
                widest = max(widest, x + len(text) * 0.8 * size)
            assert 0 < x < right
    assert 300 < widest < 595
    text = "".join("".join(page.extract_text().split()) for page in reader.pages)
    assert text.count("W") >= 120 * 8
    assert text.count("M" * 20) > 0


def test_text_of_other_scripts_and_marks_renders() -> None:
    about = hand_job().about.model_copy(
        update={
            "title": "Плита №7 – עברית – ø ≥ ≤ × µ → ☐",
            "note": "{{ x }} <b>&amp;</b> \x00\x1b",
        }
    )
    text = _words(
        _read(sheet_pdf(hand_plan(hand_job().model_copy(update={"about": about})))).pages[0]
    )
    assert "Плита №7" in text
    assert "{{ x }} <b>&amp;</b>" in text


FOLDER = data_dir("sheet_templates")


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/hostname",
        "https://example.org/a.css",
        "http://example.org/a.css",
        "ftp://example.org/a.css",
        "data:text/css,body{}",
        FOLDER.as_uri() + "/../README.md",
        FOLDER.as_uri() + "/traveller/../../pyproject.toml",
        FOLDER.as_uri() + "/traveller/%2e%2e/%2e%2e/pyproject.toml",
        FOLDER.as_uri() + "/traveller/missing.css",
        FOLDER.as_uri() + "/traveller",
        FOLDER.as_uri().replace("file:///", "file://elsewhere/") + "/traveller/sheet.css",
        "traveller/sheet.css",
    ],
)
def test_the_fetcher_refuses(url: str) -> None:
    from weasyprint.urls import FatalURLFetchingError

    with pytest.raises(FatalURLFetchingError):
        folder_fetcher(FOLDER).fetch(url)


def test_the_fetcher_reads_what_belongs_to_the_sheet() -> None:
    response = folder_fetcher(FOLDER).fetch((FOLDER / "traveller" / "sheet.css").as_uri())
    assert b"@page" in response.read()


def test_the_fetcher_follows_no_link_out_of_its_folder(tmp_path: Path) -> None:
    from weasyprint.urls import FatalURLFetchingError

    secret = tmp_path / "secret.css"
    secret.write_text("body {}", encoding="utf-8")
    folder = tmp_path / "templates"
    folder.mkdir()
    (folder / "link.css").symlink_to(secret)
    with pytest.raises(FatalURLFetchingError):
        folder_fetcher(folder).fetch((folder / "link.css").as_uri())


@pytest.mark.parametrize(
    "address",
    ["https://example.org/x.png", "file:///etc/hostname", "../../README.md", "data:,x", "no.png"],
)
def test_a_sheet_that_asks_for_anything_else_is_not_made(address: str) -> None:
    from weasyprint.urls import FatalURLFetchingError

    html = sheet_html(hand_plan()).replace("<header>", f'<header><img src="{address}" alt="">', 1)
    with pytest.raises(FatalURLFetchingError):
        html_to_pdf(html)


def test_writes_wholly_or_not_at_all(tmp_path: Path, hand_pdf: bytes) -> None:
    path = tmp_path / "sheet.pdf"
    write_sheet(hand_plan(), path)
    assert path.read_bytes() == hand_pdf
    with pytest.raises(EnvironmentProblem):
        write_sheet(hand_plan(), tmp_path / "nowhere" / "sheet.pdf")
    assert [one.name for one in tmp_path.iterdir()] == ["sheet.pdf"]


def test_importing_the_sheet_does_not_load_the_renderer() -> None:
    import kerfdocket

    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); import kerfdocket.sheet; "
        "print('weasyprint' in sys.modules)"
    )
    place = str(Path(kerfdocket.__file__).parents[1])
    done = subprocess.run(
        [sys.executable, "-c", code, place], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "False"
