"""Nothing runs out of its place in any language, and the sign-off stays whole and in company."""

from typing import Any

import pytest

from jobs import SAMPLES
from kerfdocket.job import load_job
from kerfdocket.language import ENGLISH, LANGUAGES, PSEUDO, Language, speaking
from kerfdocket.language._catalogs import catalog_path
from kerfdocket.planning import make_plan
from kerfdocket.sheet import sheet_html
from kerfdocket.sheet.render import _lay_out
from sheet.boxes import laid_out, misplaced, sections, words
from sheet.hand_plan import hand_plan
from sheet.sheets import reference, sample_plan

ALL = sorted(path.stem for path in SAMPLES.glob("*.toml"))
# One at its ease, one with a picture and four cylinders, a draft.
SOME = ["base-plates-12mm", "winter-yard-30mm", "refused-stainless"]
# The most on them: heating oxygen of its own, US units, preheat.
FULLEST = ["press-bed-120mm", "ramp-feet-1in", "shaft-blocks-c45-60mm", "winter-yard-30mm"]
# The pseudo-language has the longest texts: what bears it bears the others.
SHEETS = [
    *((sample, "A4", PSEUDO) for sample in ALL),
    *((sample, "Letter", PSEUDO) for sample in FULLEST),
    *(
        (sample, paper, language)
        for language in LANGUAGES
        if language is ENGLISH or catalog_path(language.code).exists()
        for paper in ("A4", "Letter")
        for sample in SOME
    ),
]


def _document(sample: str, paper: str, language: Language) -> Any:
    with speaking(language):
        job = load_job(SAMPLES / f"{sample}.toml").model_copy(update={"paper": paper})
        return laid_out(make_plan(job, reference()))


def _parted(document: Any) -> list[str]:
    """Return what is wrong with the place of the sign-off."""
    found = sections(document, "signoff")
    if len(found) != 1:
        return [f"the sign-off is in {len(found)} places"]
    page, box = found[0]
    said = []
    own = [one for one in words(document) if one.page == page]
    before = [
        one for one in own if not one.is_in("signoff") and not one.is_in("fine") and _is_flow(one)
    ]
    if not any(one.bottom <= box.position_y for one in before):
        said.append("the sign-off begins a page")
    edge = box.border_box_y() + box.border_height()
    low = document.pages[page]._page_box
    if edge > low.content_box_y() + low.height + 1.0:
        said.append("the sign-off runs out of its page")
    return said


def _is_flow(word: Any) -> bool:
    return all(type(box).__name__ != "MarginBox" for box in word.inside)


@pytest.mark.parametrize(
    ("sample", "paper", "language"), SHEETS, ids=lambda one: getattr(one, "code", one)
)
def test_all_text_keeps_to_its_place(sample: str, paper: str, language: Language) -> None:
    document = _document(sample, paper, language)
    assert len(words(document)) > 200
    assert misplaced(document) == []
    assert _parted(document) == []


def test_a_sheet_to_fill_in_keeps_to_its_place() -> None:
    document = laid_out(sample_plan("base-plates-12mm"), is_fillable=True)
    assert len(sections(document, "field")) == 21
    assert misplaced(document) == []


# That the test can fail: a sheet with one rule of its style changed.
_SPOILT = {
    ".title { white-space: nowrap; font-size: 90pt }": "beside the page's text",
    ".regulator .number { font-size: 190pt !important }": "beside its cell",
    "header .facts { width: 30mm } .facts td { white-space: nowrap }": "beside its cell",
    ".running-foot { max-height: 3mm }": "below its cell or frame",
    ".blank { height: 2mm }": "below its cell or frame",
    ".checks { margin-top: -12mm }": "lies over",
    ".steps li { margin-bottom: -3mm }": "lies over",
    "header .code { position: relative; left: -150mm }": "lies over 'code'",
}


def _spoilt(style: str) -> Any:
    return _lay_out(sheet_html(hand_plan()).replace("</head>", f"<style>{style}</style></head>"))


@pytest.mark.parametrize(("style", "said"), _SPOILT.items(), ids=[str(n) for n in range(8)])
def test_what_is_out_of_place_is_seen(style: str, said: str) -> None:
    assert any(said in one for one in misplaced(_spoilt(style)))


@pytest.mark.parametrize(
    ("style", "said"),
    [
        (".signoff { break-before: page }", "begins a page"),
        (".signoff { break-inside: auto } .signoff td { height: 60mm }", "in 2 places"),
        (".signoff { height: 400mm }", "runs out"),
        (".signoff { display: none }", "in 0 places"),
    ],
    ids=["alone", "parted", "too high", "missing"],
)
def test_a_sign_off_out_of_place_is_seen(style: str, said: str) -> None:
    assert any(said in one for one in _parted(_spoilt(style)))


def test_as_it_is_nothing_is_seen() -> None:
    document = _spoilt("")
    assert misplaced(document) == []
    assert _parted(document) == []
