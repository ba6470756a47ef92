"""What is read out of a sheet comes in the order of the work: by the tree, not by the places."""

from io import BytesIO

import pikepdf
import pytest

from kerfdocket.planning import Plan
from kerfdocket.sheet.context import traveller_context
from sheet.reading import Reading
from sheet.sheets import sample_plan, sample_sheet


def _tight(text: str) -> str:
    return "".join(text.split())


def _misplaced(content: bytes, wanted: list[str]) -> list[str]:
    """Return what is not read out after what stands before it in `wanted`."""
    reading = Reading(content)
    assert reading.tree is not None
    heard, place, missing = _tight(reading.text(reading.tree)), 0, []
    for one in wanted:
        found = heard.find(_tight(one), place)
        if found < 0:
            missing.append(one)
        else:
            place = found + len(_tight(one))
    return missing


def _wanted(plan: Plan) -> list[str]:
    sheet = traveller_context(plan)
    front, back = sheet.front, sheet.back
    wanted = [sheet.number, sheet.title, *(f"{one.label} {one.text}" for one in front.facts)]
    wanted += [one.text for one in (*front.stops, *front.warnings)] + [front.note]
    wanted += ["Plate", front.thickness, front.grade, *(one.text for one in front.plate)]
    wanted += ["What to fit", *(f"{one.label} {one.text}" for one in front.fit)]
    wanted += ["Wear and have at hand", *front.protections]
    wanted += ["What to set", *(one.title for one in front.blocks), "At the regulator"]
    wanted += ["At the torch", "Flow", *(one.label for one in front.rates)]
    wanted += ["Gas and cylinders", *(one.gas for one in front.gases)]
    for block in front.change_overs:
        wanted += [block.gas, *(one.names for one in block.rows)]
    wanted += ["Cut list", *(one.part for one in front.cuts), *sheet.foot.split(". ")]
    wanted += ["At once, when it goes wrong"] if back.emergencies else []
    wanted += [f"{one.title}. {one.remedy}" for one in back.emergencies]
    wanted += ["Beware", *(one.title for one in back.cautions)] if back.cautions else []
    for group in back.steps:
        wanted += [group.title, *group.steps]
    wanted += ["Check the finished cut", *(f"{one.label}" for one in back.checks)]
    wanted += [] if sheet.is_draft else ["Begun", "Ended", "Remarks", "Cutter", "Supervisor"]
    return [*wanted, "Sources"]


@pytest.mark.parametrize(
    "sample", ["base-plates-12mm", "ramp-feet-1in", "winter-yard-30mm", "refused-stainless"]
)
def test_it_is_read_out_in_the_order_of_the_work(sample: str) -> None:
    plan = sample_plan(sample)
    assert plan.is_stopped or len([*plan.steps]) > 20
    assert _misplaced(sample_sheet(sample), _wanted(plan)) == []


def test_a_draft_says_first_of_all_that_nothing_is_cut() -> None:
    reading = Reading(sample_sheet("refused-stainless"))
    assert reading.tree is not None
    assert _tight(reading.text(reading.tree)).startswith("NOTFORCUTTING")


def _swapped(content: bytes, heading: str) -> bytes:
    """The file with the section of a heading and the one before it in the other order."""
    reading = Reading(content)
    section = next(
        up
        for one in reading.elements
        if one.type in {"/H2", "/H3"} and reading.text(one).startswith(heading)
        for up in one.above
        if up.type == "/Sect"
    )
    assert section.parent is not None
    kids = section.parent.object.K
    place = [kid.objgen for kid in kids].index(section.object.objgen)
    kids[place - 1], kids[place] = kids[place], kids[place - 1]
    made = BytesIO()
    reading.pdf.save(made)
    return made.getvalue()


@pytest.mark.parametrize(
    "heading", ["Gas and cylinders", "Assemble", "Light", "Check the finished cut"]
)
def test_another_order_is_noticed(heading: str) -> None:
    sample = "base-plates-12mm"
    assert _misplaced(_swapped(sample_sheet(sample), heading), _wanted(sample_plan(sample)))


def test_a_step_that_is_lost_is_noticed() -> None:
    pdf = pikepdf.open(BytesIO(sample_sheet("base-plates-12mm")))
    lists = [
        one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/L"
    ]
    del lists[-1].K[-1]
    made = BytesIO()
    pdf.save(made)
    plan = sample_plan("base-plates-12mm")
    assert _misplaced(made.getvalue(), _wanted(plan)) == [plan.steps[-1].text]
