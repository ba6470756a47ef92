"""A pack's PDF: cover, sheets as they are alone, bookmarks, files, and what becomes of failures."""

import io
import re
from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from jobs import SAMPLES, make_job
from kerfdocket.errors import EnvironmentProblem
from kerfdocket.job import Job, load_job, read_job
from kerfdocket.job.files import raw_from_text
from kerfdocket.language import PSEUDO, speaking
from kerfdocket.planning import make_plan
from kerfdocket.planning.pack import make_pack
from kerfdocket.reference import load_reference
from kerfdocket.sheet import pack as pack_module
from kerfdocket.sheet import sheet_pdf
from kerfdocket.sheet.cover import cover_context, cover_html, cover_pdf
from kerfdocket.sheet.pack import Progress, write_pack
from sheet.sheets import sample_sheet

pytestmark = pytest.mark.usefixtures("no_renderer_warning")

REFERENCE = load_reference()
SAMPLE, REFUSED = SAMPLES / "base-plates-12mm.toml", SAMPLES / "refused-stainless.toml"
PROPANE, AMERICAN = SAMPLES / "winter-yard-30mm.toml", SAMPLES / "ramp-feet-1in.toml"


def _long_job(parts: int) -> Job:
    """A job whose cut list runs over several pages."""
    return make_job(
        about__number="LONG-1",
        parts=[{"name": f"Part {n:03}", "cut_length": "1 m"} for n in range(parts)],
    )


def _given() -> list[Job]:
    return [load_job(REFUSED), load_job(PROPANE), load_job(SAMPLE), _long_job(75), load_job(SAMPLE)]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pack") / "pack.pdf"
    result = write_pack(_given(), path, not_read=["broken.toml"])
    assert result.failed == ()
    return path


def _words(page: pypdf.PageObject) -> str:
    return " ".join(page.extract_text().split())


def _reader(path: Path) -> pypdf.PdfReader:
    return pypdf.PdfReader(path, strict=True)


def _cover(path: Path) -> str:
    pages = (_words(page) for page in _reader(path).pages)
    return " ".join(text for text in pages if "cover, page" in text)


def test_each_job_begins_on_a_front_and_is_where_the_cover_says(made: Path) -> None:
    reader = _reader(made)
    outline = [(one.title, reader.get_destination_page_number(one)) for one in reader.outline]
    assert [title for title, _page in outline] == [
        "Cover: Pack of 5 jobs",
        "KD-0147 Beams cut to charging length",
        "KD-0141 Base plates for the stair tower",
        "LONG-1 test",
        "KD-0141 Base plates for the stair tower",
        "KD-0144 Cover plates for the wash bay (draft)",
    ]
    assert [page % 2 for _title, page in outline] == [0] * 6
    cover = _cover(made)
    texts = [_words(page) for page in reader.pages]
    ends = [page for _title, page in outline[1:]] + [len(texts)]
    odd = 0
    for (title, first), end in zip(outline[1:], ends[1:], strict=True):
        number = title.split()[0]
        count = int(re.search(r"page 1 of (\d+)", texts[first])[1])
        odd += count % 2
        for page in range(count):
            assert f"page {page + 1} of {count}" in texts[first + page]
            assert number in texts[first + page]
        assert texts[first + count : end] == [""] * (count % 2)
        assert f" {first + 1}–{first + count}" in cover
    assert odd > 0  # there is a blank page to be seen
    assert len(texts) % 2 == 0


def test_the_sheets_are_as_they_are_alone(made: Path) -> None:
    reader = _reader(made)
    for path, title in ((SAMPLE, "KD-0141"), (REFUSED, "KD-0144"), (PROPANE, "KD-0147")):
        alone = pypdf.PdfReader(io.BytesIO(sample_sheet(path.stem)))
        [first, *_more] = [
            reader.get_destination_page_number(one)
            for one in reader.outline
            if one.title.startswith(title)
        ]
        for number, page in enumerate(alone.pages):
            bound = reader.pages[first + number]
            assert bound.extract_text() == page.extract_text()
            assert bound.get_contents().get_data() == page.get_contents().get_data()


def test_a_draft_stays_one_and_is_marked_on_the_cover(made: Path) -> None:
    reader = _reader(made)
    drafts = [page for page in reader.pages if "NOT FOR CUTTING" in _words(page)]
    assert len([page for page in drafts if "A draft is not signed" in _words(page)]) == 1
    cover = _cover(made)
    assert "1 draft" in cover
    assert "Job 5 is stopped: a draft at the end of the pack, not for cutting" in cover
    assert "the chromium in it forms a refractory oxide" in cover


def test_the_cover_names_what_is_not_in_the_pack(made: Path) -> None:
    assert "Not in this pack, as no sheet could be made of them: broken.toml." in _cover(made)


def test_the_cover_shows_the_values_of_the_pack(made: Path) -> None:
    cover = _cover(made).replace("\u00a0", " ")
    pack = make_pack(make_plan(job, REFERENCE) for job in _given())
    for gas in pack.gases:
        assert f"{gas.total.estimate.value_text} ({gas.total.estimate.range_text})" in cover
    for need in pack.nozzles:
        assert f"{need.bore.value_text} {need.kind.name}" in cover
    for fetch in pack.cylinders:
        if not fetch.fetch.is_withheld:
            assert fetch.fetch.number_text(fetch.fetch.value) in cover
        for note in fetch.notes:
            assert " ".join(note.split()) in cover
    assert "No order changes the gas less often" in cover
    assert "15 °C, 1 bar absolute · a guide, unverified" in cover
    assert "local rules, the equipment makers’ instructions and qualified people come" in cover


def test_job_files_and_plans_are_carried_under_names_of_their_own(made: Path) -> None:
    carried = _reader(made).attachments
    numbers = ["KD-0144", "KD-0147", "KD-0141", "LONG-1", "KD-0141-2"]
    ends = (".job.toml", ".plan.json")
    assert set(carried) == {f"{number}{end}" for number in numbers for end in ends}
    for number, job in zip(numbers, _given(), strict=True):
        text = carried[f"{number}.job.toml"][0].decode()
        assert read_job(raw_from_text(text, "")) == job


def test_metadata_are_the_pack_s(made: Path) -> None:
    reader = _reader(made)
    root = reader.trailer["/Root"]
    assert reader.metadata.title == "Pack of 5 jobs"
    assert root["/Lang"] == "en"
    xmp = root["/Metadata"].get_data().decode()
    assert 'pdfaid:part="3"' in xmp
    assert 'pdfaid:conformance="A"' in xmp
    assert "Pack of 5 jobs" in xmp


def test_nothing_on_the_cover_is_small_or_coloured(made: Path) -> None:
    reader = _reader(made)
    covers = [page for page in reader.pages if "cover, page" in _words(page)]
    assert covers
    for page in covers:
        sizes: list[float] = []

        def visit(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
            if text.strip():
                sizes.append(size * abs(tm[0] * cm[0] + tm[1] * cm[2]))  # noqa: B023

        page.extract_text(visitor_text=visit)
        assert min(sizes) >= 8.95
        content = page.get_contents().get_data().decode("latin-1")
        colours = re.findall(r"([\d.]+) ([\d.]+) ([\d.]+) (?:sc|scn|SC|SCN|rg|RG)\b", content)
        assert colours
        assert all(red == green == blue for red, green, blue in colours)
        for font in page["/Resources"]["/Font"].values():
            name = str(font.get_object()["/BaseFont"]).partition("+")[2]
            assert name.startswith(("Sheet-Text", "Sheet-Symbols"))


def test_same_jobs_same_bytes_from_one_process_or_two(made: Path, tmp_path: Path) -> None:
    told: list[Progress] = []
    other = tmp_path / "other.pdf"
    write_pack(_given(), other, workers=2, not_read=["broken.toml"], on_progress=told.append)
    assert other.read_bytes() == made.read_bytes()
    assert [one.done for one in told] == [1, 2, 3, 4, 5]
    assert {one.of for one in told} == {5}
    assert sorted(one.index for one in told) == [0, 1, 2, 3, 4]


class TestFailures:
    @pytest.fixture
    def only(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """No sheet can be made of the refused job."""

        def failing(plan: object, shop: object) -> bytes:  # noqa: ARG001
            if plan.job.about.number == "KD-0144":
                raise EnvironmentProblem("invented trouble")
            return sheet_pdf(plan)

        monkeypatch.setattr(pack_module, "sheet_pdf", failing)

    @pytest.mark.usefixtures("only")
    def test_one_that_fails_is_named_and_the_others_are_made(self, tmp_path: Path) -> None:
        path = tmp_path / "pack.pdf"
        result = write_pack([load_job(SAMPLE), load_job(REFUSED), load_job(SAMPLE)], path)
        assert result.failed == ((1, "invented trouble"),)
        assert [job.number for job in result.pack.jobs] == ["KD-0141", "KD-0141"]
        assert [job.given for job in result.pack.jobs] == [0, 1]
        assert "no sheet could be made of them: KD-0144." in _cover(path)
        assert len(_reader(path).attachments) == 4

    @pytest.mark.usefixtures("only")
    def test_where_all_fail_nothing_is_written(self, tmp_path: Path) -> None:
        path = tmp_path / "pack.pdf"
        path.write_bytes(b"an older one")
        result = write_pack([load_job(REFUSED)], path)
        assert result.pack is None
        assert result.failed == ((0, "invented trouble"),)
        assert path.read_bytes() == b"an older one"
        assert [one.name for one in tmp_path.iterdir()] == ["pack.pdf"]

    def test_a_mistake_of_the_program_is_logged_and_costs_one_sheet(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        def failing(_plan: object, shop: object) -> bytes:  # noqa: ARG001
            raise KeyError("oops")

        monkeypatch.setattr(pack_module, "sheet_pdf", failing)
        result = write_pack([load_job(SAMPLE)], tmp_path / "pack.pdf")
        assert result.failed == ((0, "KeyError: 'oops'"),)
        [record] = [one for one in caplog.records if one.name == "kerfdocket.sheet.pack"]
        assert "KD-0141" in record.getMessage()
        assert record.exc_info

    def test_a_process_that_dies_is_said_in_words(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def dying(_futures: object) -> Iterator[object]:
            raise BrokenProcessPool("it died")
            yield

        monkeypatch.setattr(pack_module, "as_completed", dying)
        path = tmp_path / "pack.pdf"
        with pytest.raises(EnvironmentProblem, match="ended unexpectedly"):
            write_pack([load_job(REFUSED), load_job(REFUSED)], path, workers=2)
        assert not path.exists()

    def test_who_is_told_may_end_it(self, tmp_path: Path) -> None:
        def enough(_progress: Progress) -> None:
            raise KeyboardInterrupt

        path = tmp_path / "pack.pdf"
        with pytest.raises(KeyboardInterrupt):
            write_pack([load_job(REFUSED)] * 3, path, on_progress=enough)
        assert not path.exists()

    def test_a_folder_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(EnvironmentProblem):
            write_pack([load_job(REFUSED)], tmp_path / "nowhere" / "pack.pdf")

    def test_no_job_is_refused(self, tmp_path: Path) -> None:
        with pytest.raises(ValueError, match="at least one"):
            write_pack([], tmp_path / "pack.pdf")


class TestCover:
    def test_on_the_paper_and_in_the_units_of_the_first_job(self) -> None:
        pack = make_pack(make_plan(load_job(one), REFERENCE) for one in (AMERICAN, SAMPLE))
        reader = pypdf.PdfReader(io.BytesIO(cover_pdf(pack, [2, 2])))
        size = reader.pages[0].mediabox
        assert (float(size.width), float(size.height)) == pytest.approx((612, 792), abs=0.5)
        text = " ".join(_words(page) for page in reader.pages)
        assert "70 °F, 14.7 psi absolute" in text
        assert "ft³" in text
        assert "Paper: the sheet of job 2 is A4." in text

    def test_a_long_list_moves_the_jobs_on(self) -> None:
        plan = make_plan(load_job(SAMPLE), REFERENCE)
        pack = make_pack([plan] * 60)
        reader = pypdf.PdfReader(io.BytesIO(cover_pdf(pack, [2] * 60)))
        own = len(reader.pages)
        assert own > 2
        first = own + own % 2 + 1
        text = " ".join(_words(page) for page in reader.pages)
        assert f" {first}–{first + 1} " in text
        assert f" {first + 118}–{first + 119} " in text
        assert f"{60 + (own + 1) // 2} sheets of paper" in text
        for page in reader.pages[1:]:
            assert "Pack of 60 jobs" in _words(page)  # the head is on every page

    def test_a_missing_part_is_said_where_the_sum_stands(self) -> None:
        known = make_plan(load_job(SAMPLE), REFERENCE)
        thick = make_job(plate__thickness="300 mm", parts=[{"name": "P", "cut_length": "1 m"}])
        pack = make_pack([known, make_plan(thick, REFERENCE)])
        cover = cover_context(pack, [2, 2], 2)
        assert all(gas.takes.startswith("at least ") for gas in cover.gases)
        assert any("Without job 2: needs what is withheld" in gas.notes[0] for gas in cover.gases)
        assert any(note.startswith("Time on the clock: Without job 2") for note in cover.notes)
        assert cover.facts[0][2].text.startswith("guide at least ")

    def test_an_odd_number_of_pages_is_followed_by_a_front(self) -> None:
        pack = make_pack([make_plan(load_job(REFUSED), REFERENCE)] * 3)
        lines = cover_context(pack, [1, 3, 2], 3).drafts
        assert [line.pages for line in lines] == ["5", "7–9", "11–12"]

    def test_a_confirmed_number_is_an_instruction_and_others_say_that_they_are_not(self) -> None:
        plan = make_plan(load_job(SAMPLE), REFERENCE)
        pack = make_pack([plan])
        fetch = pack.cylinders[0]
        assert fetch.fetch.is_unverified
        firm = replace(
            fetch, fetch=replace(fetch.fetch, basis=replace(fetch.fetch.basis, trust="stated"))
        )
        mixed = replace(pack, cylinders=(firm, fetch))
        lines = cover_context(mixed, [2], 2).cylinders
        assert [line.is_firm for line in lines] == [True, False]
        assert "unverified" not in lines[0].fetch
        assert lines[1].fetch.startswith("guide ")
        assert lines[1].fetch.endswith(", unverified")
        alone = cover_context(replace(pack, cylinders=(fetch,)), [2], 2)
        assert "unverified" in alone.cylinder_aside
        assert "unverified" not in alone.cylinders[0].fetch

    def test_what_a_job_says_is_text(self) -> None:
        job = make_job(about__title="<b>{{ 7 * 7 }}</b>\x1b\u202e", about__number="A&B")
        html = cover_html(cover_context(make_pack([make_plan(job, REFERENCE)]), [2], 2))
        assert "&lt;b&gt;{{ 7 * 7 }}&lt;/b&gt;" in html
        assert "A&amp;B" in html
        assert "\x1b" not in html
        assert "\u202e" not in html

    def test_every_text_is_said_through_the_catalog(self) -> None:
        plans = [make_plan(load_job(path), REFERENCE) for path in (SAMPLE, PROPANE, REFUSED)]
        with speaking(PSEUDO):
            pack = make_pack(plans)
            # What stops a job is the plan's own text.
            jobs = tuple(replace(job, stops=("⟦…⟧",) * len(job.stops)) for job in pack.jobs)
            html = cover_html(cover_context(replace(pack, jobs=jobs), [2] * 3, 2, ["x.toml"]))
        assert f'<html lang="{PSEUDO.code}">' in html
        said = re.sub(r"<style.*?</style>|<[^>]*>", "\n", html, flags=re.DOTALL)
        while "⟦" in said:  # a text may have another in it
            said = re.sub(r"⟦[^⟦⟧]*⟧", "", said)
        for job in jobs:
            for own in (job.number, job.title, job.grade, job.nozzle.name if job.nozzle else ""):
                said = said.replace(own, "")
        # Left are numbers, units, and of the state of gas volumes what is not said here.
        assert set(re.findall(r"[A-Za-z]{4,}", said)) <= {"absolute"}
