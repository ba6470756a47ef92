"""Which words are shown in which state; no window is needed for that."""

import dataclasses

import pytest

from kerfdocket.window.document import Issued
from kerfdocket.window.standing import Standing, Words, words_of

# All is well: a job without a stop, and its own sheet.
WELL = Standing(is_job=True, has_sheet=True, is_planned=True, is_drawn=True)
ISSUED = Issued("KD-0142", "A", {}, b"%PDF")
VOID = dataclasses.replace(ISSUED, state="superseded")


def words(**changes: object) -> Words:
    return words_of(dataclasses.replace(WELL, **changes))


def test_a_sheet_of_what_the_form_says_matches_it() -> None:
    assert words() == Words("The sheet matches the form.")


def test_trouble_is_said_at_both_and_before_anything_else() -> None:
    assert words(trouble="no room left", is_job=False) == Words(
        "no room left", "no room left", is_warning=True
    )


def test_an_empty_form_says_where_the_sheet_will_be() -> None:
    assert words_of(Standing()) == Words(
        "The sheet appears here as soon as nothing is needed or to mend."
    )


def test_the_sheet_of_an_earlier_state_is_never_taken_for_the_forms() -> None:
    said = words(is_job=False, is_drawn=False, is_planned=False)
    assert "the last valid state, not what the form says now" in said.sheet
    assert said.results == "Of the last valid state, not what the form says now"
    assert said.is_warning


def test_what_is_said_of_the_results_stays_until_there_is_a_plan() -> None:
    assert words(is_planned=False, is_drawn=False) == Words("Working it out …", results=None)


def test_a_sheet_that_is_being_drawn_does_not_match_yet() -> None:
    assert words(is_drawn=False) == Words("Drawing the sheet …")


@pytest.mark.parametrize("is_drawn", [False, True])
@pytest.mark.parametrize("issued", [None, ISSUED, VOID])
def test_a_stop_is_said_whatever_was_issued(is_drawn: bool, issued: Issued | None) -> None:
    said = words(is_stopped=True, is_drawn=is_drawn, issued=issued, is_as_issued=True)
    assert said.sheet.startswith("DRAFT, NOT FOR CUTTING")
    assert said.sheet.endswith("it matches the form." if is_drawn else "it is being drawn.")
    assert said.results == "DRAFT, NOT FOR CUTTING: the findings say what stops it"
    assert said.is_warning


def test_an_issued_sheet_is_named() -> None:
    said = words(issued=ISSUED, is_as_issued=True)
    assert said == Words("This is KD-0142 A as it was issued.")


def test_nobody_cuts_by_a_sheet_that_was_issued_otherwise() -> None:
    said = words(issued=ISSUED, is_unlike_issued=True, must_not_be_cut_by=True)
    assert "KD-0142 A was issued otherwise" in said.sheet
    assert said.is_warning


@pytest.mark.parametrize("is_as_issued", [False, True])
def test_nobody_cuts_by_a_void_sheet_whatever_it_says(is_as_issued: bool) -> None:
    said = words(
        issued=VOID,
        is_as_issued=is_as_issued,
        is_unlike_issued=not is_as_issued,
        must_not_be_cut_by=True,
    )
    assert said.sheet.startswith("KD-0142 A is superseded: do not cut by this sheet.")
    assert said.is_warning


def test_under_another_number_what_was_issued_is_of_no_matter() -> None:
    assert words(issued=VOID) == words(issued=ISSUED) == Words("The sheet matches the form.")


def test_what_was_issued_is_not_said_of_a_sheet_that_is_not_drawn_yet() -> None:
    said = words(is_drawn=False, issued=ISSUED, is_as_issued=True)
    assert said == Words("Drawing the sheet …")
