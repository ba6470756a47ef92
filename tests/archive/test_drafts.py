"""Drafts that two people prepare: nothing is lost, and the second is told."""

import pytest

from archive.conftest import sheet
from kerfdocket.archive import (
    Archive,
    ChangedMeanwhile,
    NotPossible,
    draft,
    drafts,
    end_draft,
    hold_draft,
    issue_draft,
    new_draft,
    reissue_draft,
    release_draft,
    save_draft,
    verify,
)


def test_saved_and_saved_again(archive: Archive) -> None:
    first = new_draft(archive, "one", "Gussets", "Ann")
    assert (first.id, first.version, first.who, first.ended) == (1, 1, "Ann", "")
    second = save_draft(archive, 1, 1, "two", "Gussets", "Ben")
    assert (second.version, second.who) == (2, "Ben")
    assert archive.content(second.job) == b"two"
    assert archive.content(first.job) == b"one"
    assert new_draft(archive, "other", "Caps", "Ann").id == 2
    assert [one.id for one in drafts(archive)] == [2, 1]
    assert verify(archive) == ()


def test_the_second_is_told_and_nothing_is_lost(archive: Archive) -> None:
    new_draft(archive, "one", "Gussets", "Ann")
    save_draft(archive, 1, 1, "Ann's", "Gussets", "Ann")
    with pytest.raises(ChangedMeanwhile, match="Ann saved draft 1 meanwhile"):
        save_draft(archive, 1, 1, "Ben's", "Gussets", "Ben")
    assert archive.content(draft(archive, 1).job) == b"Ann's"
    # Ben keeps his beside it.
    assert archive.content(new_draft(archive, "Ben's", "Gussets", "Ben").job) == b"Ben's"
    assert verify(archive) == ()


def test_who_opens_it_second_sees_who_has_it(archive: Archive) -> None:
    new_draft(archive, "one", "Gussets", "Ann")
    assert hold_draft(archive, 1, "Ann").held_by == ""
    assert hold_draft(archive, 1, "Ben").held_by == "Ann"
    release_draft(archive, 1, "Ben")
    assert draft(archive, 1).held_by == "Ann"
    release_draft(archive, 1, "Ann")
    assert draft(archive, 1).held_by == ""
    assert verify(archive) == ()


def test_issued_it_is_a_draft_no_more(archive: Archive) -> None:
    made = new_draft(archive, "one", "Gussets", "Ann")
    archive.issue("KD-1", sheet(), "Ann")
    with pytest.raises(NotPossible, match="issued before"):
        issue_draft(archive, made, "KD-1", sheet(), "Ann")
    assert draft(archive, 1).ended == ""
    issue_draft(archive, made, "KD-2", sheet(), "Ann")
    ended = draft(archive, 1)
    assert (ended.ended, ended.number) == ("issued", "KD-2")
    assert drafts(archive) == ()
    assert drafts(archive, with_ended=True) == (ended,)
    with pytest.raises(NotPossible, match="draft 1 was issued as KD-2"):
        save_draft(archive, 1, 1, "late", "Gussets", "Ben")
    assert archive.events("KD-2")[0].what == "issued"
    assert verify(archive) == ()


def test_a_draft_that_someone_changed_is_not_issued(archive: Archive) -> None:
    made = new_draft(archive, "one", "Gussets", "Ann")
    save_draft(archive, 1, 1, "two", "Gussets", "Ben")
    with pytest.raises(ChangedMeanwhile, match="Ben saved draft 1"):
        issue_draft(archive, made, "KD-1", sheet(), "Ann")
    assert archive.travellers() == ()


def test_issued_anew_it_is_a_draft_no_more(archive: Archive) -> None:
    archive.issue("KD-1", sheet(), "Ann")
    made = new_draft(archive, "one", "Gussets", "Ann")
    stale = made
    made = save_draft(archive, made.id, 1, "two", "Gussets", "Ben")
    with pytest.raises(ChangedMeanwhile, match="Ben saved draft 1"):
        reissue_draft(archive, stale, "KD-1", "B", sheet("second"), "Ann", "thicker plate")
    with pytest.raises(NotPossible, match="for a reason"):
        reissue_draft(archive, made, "KD-1", "B", sheet("second"), "Ann", " ")
    with pytest.raises(NotPossible, match="A is the last one now"):
        reissue_draft(archive, made, "KD-1", "C", sheet("second"), "Ann", "thicker plate")
    assert [one.state for one in archive.revisions("KD-1")] == ["issued"]
    assert draft(archive, 1).ended == ""
    kept = reissue_draft(archive, made, "KD-1", "B", sheet("second"), "Ann", "thicker plate")
    assert (kept.revision, kept.reason) == ("B", "thicker plate")
    assert (draft(archive, 1).ended, draft(archive, 1).number) == ("issued", "KD-1")
    assert verify(archive) == ()


def test_dropped_and_unknown_ones(archive: Archive) -> None:
    new_draft(archive, "one", "Gussets", "Ann")
    end_draft(archive, 1, "Ann", "dropped")
    with pytest.raises(NotPossible, match="draft 1 was dropped"):
        save_draft(archive, 1, 1, "two", "Gussets", "Ann")
    with pytest.raises(NotPossible, match="no draft 9"):
        draft(archive, 9)
    assert verify(archive) == ()
