"""Nothing runs out of its place in any language, and the sign-off stays whole and in company."""

from dataclasses import replace
from typing import Any

import pytest
from fontTools.ttLib import TTFont

from jobs import SAMPLES
from kerfdocket.job import load_job
from kerfdocket.language import ENGLISH, LANGUAGES, PSEUDO, Language, speaking
from kerfdocket.language._catalogs import catalog_path
from kerfdocket.planning import make_plan
from kerfdocket.resources import data_dir
from kerfdocket.sheet import sheet_html
from kerfdocket.sheet.context import traveller_context
from kerfdocket.sheet.figure import Figure
from kerfdocket.sheet.render import _lay_out
from sheet.boxes import laid_out, misplaced, sections, words
from sheet.hand_plan import hand_plan
from sheet.sheets import reference, sample_plan

ALL = sorted(path.stem for path in SAMPLES.glob("*.toml"))
# One at its ease, one with a picture and four cylinders, a draft.
SOME = ["base-plates-12mm", "winter-yard-30mm", "refused-stainless"]
# The most on them: heating oxygen of its own, preheat.
FULLEST = ["press-bed-120mm", "shaft-blocks-c45-60mm"]
LANGUAGES_HERE = [
    language
    for language in (*LANGUAGES, PSEUDO)
    if language in (ENGLISH, PSEUDO) or catalog_path(language.code).exists()
]
FONT = TTFont(data_dir("sheet_templates") / "fonts" / "AtkinsonHyperlegibleNext-Regular.ttf")
# The pseudo-language has the longest texts: what bears it bears the others.
SHEETS = [
    *((sample, "A4", PSEUDO) for sample in ALL),
    *((sample, "Letter", PSEUDO) for sample in FULLEST),
    *(
        (sample, paper, language)
        for language in LANGUAGES_HERE
        if language is not PSEUDO
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


_LABEL_SIZE = 2.9  # millimetres, as the template draws it


def _wide(text: str) -> float:
    """How wide a text of a picture is in the sheet's own font. [mm]"""
    names, em = FONT.getBestCmap(), FONT["head"].unitsPerEm
    letters = (FONT["hmtx"][names[ord(letter)]][0] for letter in text if ord(letter) in names)
    return sum(letters) * _LABEL_SIZE / em


def _cut_off(figure: Figure) -> list[str]:
    """Return the words of a picture that its edge cuts."""
    cut = []
    for one in figure.labels:
        before = {"start": 0.0, "middle": 0.5, "end": 1.0}[one.anchor] * _wide(one.text)
        if one.x - before < 0.0 or one.x - before + _wide(one.text) > figure.width:
            cut.append(one.text)
    return cut


# Not the pseudo-language: it makes three words of one, for which a picture has no room.
@pytest.mark.parametrize("language", LANGUAGES_HERE[:-1], ids=lambda one: one.code)
@pytest.mark.parametrize("sample", ["winter-yard-30mm", "ramp-feet-1in"])
def test_no_word_of_a_picture_is_cut_off(sample: str, language: Language) -> None:
    with speaking(language):
        plan = make_plan(load_job(SAMPLES / f"{sample}.toml"), reference())
        figure = traveller_context(plan).front.figure
    assert figure is not None
    assert len(figure.labels) > 4
    assert _cut_off(figure) == []
    words = tuple(replace(one, text=one.text * 9) for one in figure.labels)
    assert _cut_off(replace(figure, labels=words))


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
