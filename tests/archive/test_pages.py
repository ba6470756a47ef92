"""Pages that come back: to their traveller, or to the tray, never lost."""

from dataclasses import dataclass, field

import pytest

from archive.conftest import sheet
from archive.forms import filled_page
from kerfdocket.archive import (
    BOTH,
    Archive,
    NotPossible,
    actuals_of,
    keep_pages,
    match_page,
    pages_called,
    pages_of,
    put_page_back,
    record_actuals,
    set_aside,
    set_page_aside,
    tray,
    verify,
)
from kerfdocket.archive.keeping import stats
from kerfdocket.planning.page_code import PageCode


@dataclass
class Read:
    """A page as it was read."""

    index: int
    codes: tuple[PageCode, ...] = ()
    fields: dict[str, str] = field(default_factory=dict)
    problem: str = ""


def code(number: str = "KD-1", side: str = "F", check: str = "AAAAAAAAAA") -> PageCode:
    return PageCode(number, "A", side, check)


@pytest.fixture
def used(archive: Archive) -> Archive:
    for number, check in (("KD-1", "AAAAAAAAAA"), ("KD-2", "BBBBBBBBBB")):
        archive.issue(number, sheet(number, check=check), "Foreman")
    return archive


def test_both_sides_come_back(used: Archive) -> None:
    taken = keep_pages(
        used, b"scan", "scan.pdf", [Read(0, (code(),)), Read(1, (code(side="B"),))], "C"
    )
    assert [(one.page.number, one.page.side, one.page.how) for one in taken.pages] == [
        ("KD-1", "F", "code"),
        ("KD-1", "B", "code"),
    ]
    assert used.revisions("KD-1")[0].state == "returned"
    assert [one.page for one in taken.pages] == list(pages_of(used, "KD-1"))
    assert used.content(taken.file) == b"scan"
    assert tray(used) == ()
    assert [one.what for one in used.events("KD-1")] == [
        "issued",
        "page taken",
        "returned",
        "page taken",
    ]
    assert verify(used) == ()


@pytest.mark.parametrize(
    ("codes", "said"),
    [
        ((), "no code could be read"),
        ((code("KD-7"),), "KD-7 A, which this archive did not issue"),
        ((code(check="CCCCCCCCCC"),), "not the check value of the sheet that was issued"),
    ],
)
def test_what_cannot_be_matched_waits_in_the_tray(
    used: Archive, codes: tuple[PageCode, ...], said: str
) -> None:
    taken = keep_pages(used, b"scan", "scan.pdf", [Read(0, codes)], "C")
    assert taken.pages[0].traveller is None
    assert said in taken.pages[0].page.reason
    assert tray(used) == (taken.pages[0].page,)
    assert used.content(taken.file) == b"scan"
    assert [one.state for one in used.travellers()] == ["issued", "issued"]
    assert verify(used) == ()


def test_two_sheets_on_one_page_are_with_both(used: Archive) -> None:
    both = code(), code("KD-2", check="BBBBBBBBBB")
    taken = keep_pages(used, b"scan", "a3.png", [Read(0, both, {"remarks": "whose?"})], "C")
    assert [one.page.number for one in taken.pages] == ["KD-1", "KD-2"]
    # Whose fields they were cannot be said.
    assert actuals_of(used, "KD-1", "A") == {}
    assert verify(used) == ()


def test_front_and_back_side_by_side_are_both_sides(used: Archive) -> None:
    """As on a scan of A3: there is one page, and the sheet is whole."""
    both = code(side="B"), code(side="F"), code("KD-2", check="BBBBBBBBBB")
    read = [Read(0, both[:2], {"remarks": "Slag hung on."}), Read(1, both)]
    taken = keep_pages(used, b"scan", "a3.pdf", read, "C")
    assert [(one.page.number, one.page.side) for one in taken.pages] == [
        ("KD-1", BOTH),
        ("KD-1", BOTH),
        ("KD-2", "F"),
    ]
    assert actuals_of(used, "KD-1", "A") == {"remarks": "Slag hung on."}
    found = stats(used)
    assert (found.complete, found.in_part) == (1, 1)
    assert verify(used) == ()


def test_both_sides_matched_by_hand(used: Archive) -> None:
    file = keep_pages(used, b"scan", "a3.png", [Read(0)], "C").file
    assert match_page(used, file, 0, "KD-1", "A", "C", BOTH).page.side == BOTH
    assert stats(used).complete == 1
    assert verify(used) == ()


def test_a_filled_form_brings_its_values(used: Archive) -> None:
    values = {"oxygen_before": "150 bar", "cutter_name": "M. Quay", "remarks": "Slag hung on."}
    taken = keep_pages(used, b"form", "f.pdf", [Read(0, (code(side="B"),), values)], "C")
    assert taken.pages[0].values == 3
    assert actuals_of(used, "KD-1", "A") == values
    assert used.revisions("KD-1")[0].cutter == "M. Quay"
    assert verify(used) == ()


def test_the_same_file_again_changes_nothing(used: Archive) -> None:
    first = keep_pages(used, b"scan", "scan.pdf", [Read(0, (code(),)), Read(1)], "C")
    before = used.events()
    again = keep_pages(used, b"scan", "copy of scan.pdf", [Read(0, (code(),)), Read(1)], "D")
    assert again.is_known
    assert [one.page for one in again.pages] == [one.page for one in first.pages]
    assert used.events() == before


def test_a_scan_of_a_superseded_sheet_says_so(used: Archive) -> None:
    used.move("KD-1", "on the floor", "F")
    used.reissue("KD-1", "B", sheet("new", check="DDDDDDDDDD"), "F", "plate is thicker")
    taken = keep_pages(used, b"old", "old.png", [Read(0, (code(),))], "C")
    assert "KD-1 A is superseded" in taken.pages[0].warning
    assert [one.state for one in used.revisions("KD-1")] == ["superseded", "issued"]
    assert pages_of(used, "KD-1")[0].revision == "A"
    assert verify(used) == ()


def test_a_scan_of_a_withdrawn_sheet_says_so(used: Archive) -> None:
    used.move("KD-1", "withdrawn", "F", "wrong plate")
    taken = keep_pages(used, b"old", "old.png", [Read(0, (code(),))], "C")
    assert "nothing should have been cut by it" in taken.pages[0].warning
    assert used.revisions("KD-1")[0].state == "withdrawn"
    assert verify(used) == ()


def test_a_late_page_of_a_closed_one_is_kept(used: Archive) -> None:
    used.move("KD-1", "returned", "F")
    used.move("KD-1", "closed", "F")
    keep_pages(used, b"late", "late.png", [Read(0, (code(),))], "C")
    assert used.revisions("KD-1")[0].state == "closed"
    assert len(pages_of(used, "KD-1")) == 1
    assert verify(used) == ()


def test_matched_by_hand(used: Archive) -> None:
    torn = filled_page(cutter_name="M. Quay")
    taken = keep_pages(used, torn, "torn.pdf", [Read(0), Read(1)], "C")
    matched = match_page(used, taken.file, 0, "KD-2", "A", "Clerk", "B")
    assert matched.values == 1
    assert (matched.page.number, matched.page.how, matched.page.side) == ("KD-2", "hand", "B")
    assert matched.page.reason == ""
    assert [one.page for one in tray(used)] == [1]
    assert used.revisions("KD-2")[0].state == "returned"
    assert used.revisions("KD-2")[0].cutter == "M. Quay"
    with pytest.raises(NotPossible, match="not in the tray"):
        match_page(used, taken.file, 0, "KD-1", "A", "Clerk")
    with pytest.raises(NotPossible, match="KD-2 has no revision C; there are A"):
        match_page(used, taken.file, 1, "KD-2", "C", "Clerk")
    with pytest.raises(NotPossible, match="never issued"):
        match_page(used, taken.file, 1, "KD-9", "A", "Clerk")
    assert verify(used) == ()


def test_set_aside_for_a_reason_and_kept(used: Archive) -> None:
    taken = keep_pages(used, b"blank", "blank.png", [Read(0)], "C")
    with pytest.raises(NotPossible, match="for a reason"):
        set_page_aside(used, taken.file, 0, "Clerk", " ")
    kept = set_page_aside(used, taken.file, 0, "Clerk", "a blank page")
    assert (kept.is_set_aside, kept.reason) == (True, "a blank page")
    assert tray(used) == ()
    assert used.content(taken.file) == b"blank"
    assert verify(used) == ()


def test_values_by_hand_follow_each_other(used: Archive) -> None:
    record_actuals(used, "KD-1", "A", {"oxygen_after": "95", "remarks": "first"}, "Clerk")
    changed = record_actuals(
        used, "KD-1", "A", {"oxygen_after": "96", "remarks": "first", "begun": ""}, "Clerk"
    )
    assert changed == {"oxygen_after": "96"}
    record_actuals(used, "KD-1", "A", {"remarks": ""}, "Clerk")
    assert actuals_of(used, "KD-1", "A") == {"oxygen_after": "96"}
    assert [one.what for one in used.events("KD-1")] == ["issued"] + ["recorded"] * 3
    with pytest.raises(NotPossible, match="KD-1 B was never issued"):
        record_actuals(used, "KD-1", "B", {"remarks": "x"}, "Clerk")
    used.move("KD-1", "returned", "F")
    used.move("KD-1", "closed", "F")
    with pytest.raises(NotPossible, match="closed"):
        record_actuals(used, "KD-1", "A", {"remarks": "x"}, "Clerk")
    assert verify(used) == ()


def test_a_page_with_the_wrong_traveller_goes_back_and_takes_along_what_it_brought(
    used: Archive,
) -> None:
    record_actuals(used, "KD-2", "A", {"oxygen_after": "90 bar", "remarks": "dross"}, "F")
    torn = filled_page(cutter_name="M. Quay", oxygen_after="40 bar", remarks="clean")
    file = keep_pages(used, torn, "torn.pdf", [Read(0)], "C").file
    match_page(used, file, 0, "KD-2", "A", "Clerk", "B")
    # Put right by hand meanwhile: that stays.
    record_actuals(used, "KD-2", "A", {"remarks": "some dross"}, "F")
    with pytest.raises(NotPossible, match="for a reason"):
        put_page_back(used, file, 0, "KD-2", "A", "Clerk", " ")
    with pytest.raises(NotPossible, match="not there any more"):
        put_page_back(used, file, 0, "KD-1", "A", "Clerk", "it is of KD-1")
    done = put_page_back(used, file, 0, "KD-2", "A", "Clerk", "it is of KD-1")
    assert done.values == {"cutter_name": "", "oxygen_after": "90 bar"}
    assert (done.page, done.page.reason) == (tray(used)[0], "it is of KD-1")
    assert actuals_of(used, "KD-2", "A") == {"oxygen_after": "90 bar", "remarks": "some dross"}
    assert used.revisions("KD-2")[0].cutter == ""
    assert pages_of(used, "KD-2") == ()
    assert verify(used) == ()
    with pytest.raises(NotPossible, match="not there any more"):
        put_page_back(used, file, 0, "", "", "Clerk", "again")
    # It was taken for back by it, and is not.
    assert used.move("KD-2", "on the floor", "F", "it was another one").state == "on the floor"
    assert match_page(used, file, 0, "KD-1", "A", "Clerk", "B").values == 3
    assert "page put back" in {one.what for one in used.events("KD-2")}
    assert verify(used) == ()


def test_a_page_that_was_set_aside_by_mistake(used: Archive) -> None:
    file = keep_pages(used, b"blank", "blank.png", [Read(0)], "C").file
    set_page_aside(used, file, 0, "Clerk", "a blank page")
    assert set_aside(used) == pages_called(used, file[:12], 0)
    done = put_page_back(used, file, 0, "", "", "Clerk", "something is written on it")
    assert (done.traveller, done.values) == (None, {})
    assert (set_aside(used), tray(used)) == ((), (done.page,))
    assert verify(used) == ()


def test_two_sheets_on_one_page_go_back_one_after_the_other(used: Archive) -> None:
    both = (code(), code("KD-2", check="BBBBBBBBBB"))
    file = keep_pages(used, b"both", "both.png", [Read(0, both)], "C").file
    put_page_back(used, file, 0, "KD-1", "A", "Clerk", "only its margin")
    with pytest.raises(NotPossible, match="another sheet of this page"):
        put_page_back(used, file, 0, "KD-2", "A", "Clerk", "only its margin")
    with pytest.raises(NotPossible, match="KD-2 A has this page already"):
        match_page(used, file, 0, "KD-2", "A", "Clerk")
    assert [one.number for one in pages_called(used, file, 0)] == ["", "KD-2"]
    assert verify(used) == ()


def test_a_closed_one_is_put_right_for_a_reason_only(used: Archive) -> None:
    record_actuals(used, "KD-1", "A", {"oxygen_after": "95 bar"}, "F")
    used.move("KD-1", "returned", "F")
    used.move("KD-1", "closed", "F")
    with pytest.raises(NotPossible, match="for a reason"):
        record_actuals(used, "KD-1", "A", {"oxygen_after": "59 bar"}, "F")
    late = {"oxygen_after": "40 bar", "cutter_name": "M. Quay"}
    taken = keep_pages(used, b"late", "late.pdf", [Read(0, (code(),), late)], "C")
    # What was signed stays as it was; what nobody had entered is added.
    assert actuals_of(used, "KD-1", "A") == {"cutter_name": "M. Quay", "oxygen_after": "95 bar"}
    assert "signed with stays; the page says something else of oxygen_after" in (
        taken.pages[0].warning
    )
    record_actuals(used, "KD-1", "A", {"oxygen_after": "59 bar"}, "F", "figures turned round")
    assert actuals_of(used, "KD-1", "A")["oxygen_after"] == "59 bar"
    assert '"reason":"figures turned round"' in used.events("KD-1")[-1].details
    assert verify(used) == ()


def test_what_is_no_letter_is_marked_in_files_and_refused_from_hands(used: Archive) -> None:
    half, none = "\udcff", "\0"
    fields = {f"own_{half}": f"a{none}b", "remarks": half}
    name = f"scan{half}.pdf"
    taken = keep_pages(used, b"odd", name, [Read(0, (code(),), fields)], "C")
    keep_pages(used, b"strange", "s.png", [Read(0, (code(f"KD{none}"),))], "C")
    assert "KD\ufffd A" in tray(used)[0].reason
    assert taken.pages[0].page.name == taken.name == "scan\ufffd.pdf"
    assert actuals_of(used, "KD-1", "A") == {"own_\ufffd": "a\ufffdb", "remarks": "\ufffd"}
    for bad in (half, none):
        with pytest.raises(NotPossible, match="no letter"):
            record_actuals(used, "KD-1", "A", {"remarks": bad}, "F")
        with pytest.raises(NotPossible, match="no letter"):
            used.move("KD-1", "closed", bad)
        assert used.revisions(f"KD{bad}") == pages_of(used, f"KD{bad}") == ()
    assert verify(used) == ()


def test_what_is_too_long_by_hand_is_refused_and_not_cut(used: Archive) -> None:
    for values in ({"remarks": "x" * 4001}, {"own_" + "x" * 77: "1"}):
        with pytest.raises(NotPossible, match="4000 letters can be kept, and 80"):
            record_actuals(used, "KD-1", "A", values, "F")
