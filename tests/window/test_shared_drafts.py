"""Shared drafts in the window: two people on one, and nothing is ever lost."""

import contextlib
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from kerfdocket.archive import (
    Archive,
    draft,
    drafts,
    end_draft,
    hold_draft,
    new_draft,
    open_archive,
    save_draft,
    verify,
)
from kerfdocket.archive.schema import DRAFT
from kerfdocket.job import raw_from_text
from kerfdocket.language import PSEUDO, language_named, set_language
from kerfdocket.window import Services
from kerfdocket.window.draft_list import DraftList
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.person import person, remember_person
from kerfdocket.window.shared_drafts import is_old
from window.conftest import WAIT_MS, Answers, OpenWindow
from window.helpers import type_in

SAMPLE = Path(__file__).parents[2] / "samples" / "base-plates-12mm.toml"


@pytest.fixture
def archive(services: Services) -> Iterator[Archive]:
    """The archive of the windows, looked at from beside them."""
    with contextlib.closing(open_archive(services.archive_place())) as opened:
        yield opened


@pytest.fixture(autouse=True)
def _is_ann(services: Services) -> None:
    remember_person(services.preferences(), "Ann")


def _open_as_ben(open_window: OpenWindow, tmp_path: Path) -> MainWindow:
    file = tmp_path / "ben" / "window.json"
    remember_person(file, "Ben")
    return open_window(preferences=lambda: file)


def _text(archive: Archive, draft_id: int) -> str:
    return archive.content(draft(archive, draft_id).job).decode()


def _save(qtbot: QtBot, window: MainWindow) -> None:
    with qtbot.waitSignal(window.office.drafts.ended, timeout=WAIT_MS):
        window.menus.save_draft.trigger()


def _open(qtbot: QtBot, window: MainWindow, draft_id: int) -> None:
    window.office.drafts.open(draft_id)

    def is_open() -> bool:
        shared = window.document.shared
        return shared is not None and shared.id == draft_id

    qtbot.waitUntil(is_open, timeout=WAIT_MS)


def _until_asked(qtbot: QtBot, answers: Answers, words: str) -> str:
    """Wait for a question and return it."""
    qtbot.waitUntil(lambda: any(words in one for one in answers.asked), timeout=WAIT_MS)
    return next(one for one in answers.asked if words in one)


def _until_held_by(qtbot: QtBot, archive: Archive, draft_id: int, who: str) -> None:
    qtbot.waitUntil(lambda: draft(archive, draft_id).held_by == who, timeout=WAIT_MS)


def test_a_form_with_mistakes_is_shared_and_opened_as_it_stands(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, tmp_path: Path
) -> None:
    window = open_window()
    type_in(qtbot, window, "about.title", "Gussets")
    type_in(qtbot, window, "plate.thickness", "twelve")
    _save(qtbot, window)
    assert window.windowTitle() == "Shared draft 1: Gussets[*] – Kerfdocket"
    assert not window.isWindowModified()
    [made] = drafts(archive)
    assert (made.title, made.version, made.who, made.held_by) == ("Gussets", 1, "Ann", "Ann")
    ben = _open_as_ben(open_window, tmp_path)
    _open(qtbot, ben, 1)
    assert ben.panes.form.field("plate.thickness").text == "twelve"
    assert not ben.isWindowModified()
    assert verify(archive) == ()


def test_saving_again_makes_the_next_version_and_save_does_the_same(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    window = open_window()
    type_in(qtbot, window, "about.title", "Gussets")
    _save(qtbot, window)
    type_in(qtbot, window, "about.title", " and caps")
    assert window.isWindowModified()
    with qtbot.waitSignal(window.office.drafts.ended, timeout=WAIT_MS):
        window.menus.save.trigger()
    assert draft(archive, 1).version == 2
    assert "and caps" in _text(archive, 1)
    assert window.windowTitle() == "Shared draft 1: Gussets and caps[*] – Kerfdocket"
    # What says nothing new is no new version.
    _save(qtbot, window)
    assert draft(archive, 1).version == 2


def test_what_is_typed_while_it_is_saved_stays_unsaved(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    window = open_window()
    type_in(qtbot, window, "about.title", "Gussets")
    go = threading.Event()
    window.desk.ask(lambda _archive: go.wait(), lambda _done: None, pytest.fail)
    window.menus.save_draft.trigger()
    assert not window.menus.save_draft.isEnabled()
    type_in(qtbot, window, "about.title", " and caps")
    with qtbot.waitSignal(window.office.drafts.ended, timeout=WAIT_MS):
        go.set()
    assert window.panes.form.field("about.title").text == "Gussets and caps"
    assert window.isWindowModified()
    assert "caps" not in _text(archive, 1)
    _save(qtbot, window)
    assert "caps" in _text(archive, 1)


def test_a_shared_file_belongs_to_the_draft_and_its_comments_stay(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    content = SAMPLE.read_text().replace("\n", "\r\n").encode()
    path.write_bytes(b"\xef\xbb\xbf" + content)
    window = open_window(path)
    _save(qtbot, window)
    assert _text(archive, 1) == SAMPLE.read_text()
    assert window.document.path is None
    type_in(qtbot, window, "about.title", "s")
    _save(qtbot, window)
    assert path.read_bytes().endswith(content)  # the file stays as it was
    # Saved as a file it belongs to that, and the draft is open here no more.
    answers.path = tmp_path / "other.toml"
    window.menus.save_as.trigger()
    assert window.windowTitle().startswith("other.toml")
    assert window.document.shared is None
    _until_held_by(qtbot, archive, 1, "")


def test_the_second_of_two_is_told_and_nothing_is_lost(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers, tmp_path: Path
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    ann, ben = open_window(), _open_as_ben(open_window, tmp_path)
    _open(qtbot, ann, 1)
    _open(qtbot, ben, 1)
    assert _until_asked(qtbot, answers, "has").startswith("Ann has Shared draft 1: Base plates")
    type_in(qtbot, ann, "about.title", ", Ann")
    type_in(qtbot, ben, "about.title", ", Ben")
    _save(qtbot, ann)
    answers.conflict = "own"
    _save(qtbot, ben)
    question = _until_asked(qtbot, answers, "saved it meanwhile")
    assert "Ann saved it meanwhile, 20" in question
    assert question.endswith("look or keep")
    qtbot.waitUntil(lambda: ben.document.shared.id == 2, timeout=WAIT_MS)
    assert ben.windowTitle().startswith("Shared draft 2: ")
    assert not ben.document.is_changed
    assert ", Ann" in _text(archive, 1)
    assert ", Ben" in _text(archive, 2)
    assert ann.panes.form.field("about.title").text.endswith(", Ann")
    assert verify(archive) == ()


def test_to_look_at_theirs_keeps_mine_first(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    type_in(qtbot, window, "about.title", ", mine")
    theirs = SAMPLE.read_text().replace("12 mm", "14 mm")
    save_draft(archive, 1, 1, theirs, "Base plates", "Ben")
    answers.conflict = "look"
    _save(qtbot, window)
    qtbot.waitUntil(
        lambda: window.panes.form.field("plate.thickness").text == "14 mm", timeout=WAIT_MS
    )
    assert window.document.shared is not None
    assert (window.document.shared.id, window.document.shared.version) == (1, 2)
    assert ", mine" in _text(archive, 2)
    assert not any("unsaved" in one for one in answers.asked)
    _until_held_by(qtbot, archive, 2, "")
    _until_held_by(qtbot, archive, 1, "Ann")


def test_to_go_on_changes_nothing(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    type_in(qtbot, window, "about.title", ", mine")
    save_draft(archive, 1, 1, SAMPLE.read_text(), "Base plates", "Ben")
    _save(qtbot, window)
    _until_asked(qtbot, answers, "saved it meanwhile")
    assert window.isWindowModified()
    assert window.panes.form.field("about.title").text.endswith(", mine")
    assert len(drafts(archive)) == 1


def test_a_draft_that_ended_meanwhile_can_be_kept_as_one_of_its_own(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    type_in(qtbot, window, "about.title", ", mine")
    end_draft(archive, 1, "Ben", "dropped")
    answers.conflict = "own"
    _save(qtbot, window)
    question = _until_asked(qtbot, answers, "was dropped")
    assert question.endswith(" keep")
    qtbot.waitUntil(lambda: window.document.shared.id == 2, timeout=WAIT_MS)
    assert ", mine" in _text(archive, 2)


# Who has it open


def test_it_is_open_for_others_until_the_form_lets_go(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    for title in ("one", "two"):
        new_draft(archive, SAMPLE.read_text(), title, "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    assert draft(archive, 1).held_by == "Ann"
    _open(qtbot, window, 2)
    _until_held_by(qtbot, archive, 1, "")
    assert draft(archive, 2).held_by == "Ann"
    window.menus.new.trigger()
    _until_held_by(qtbot, archive, 2, "")
    _open(qtbot, window, 1)
    assert window.close()
    assert draft(archive, 1).held_by == ""
    assert answers.asked == []


def test_who_does_not_want_to_open_what_another_has_open_does_not(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    hold_draft(archive, 1, "Ben")
    window = open_window()
    answers.open_held = False
    window.office.drafts.open(1)
    question = _until_asked(qtbot, answers, "Ben has")
    assert not question.endswith("(old)")
    assert window.document.shared is None
    assert draft(archive, 1).held_by == "Ben"


def test_what_was_never_closed_is_called_old_and_taken_over(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    hold_draft(archive, 1, "Ben")
    yesterday = (datetime.now(UTC) - timedelta(hours=13)).isoformat(timespec="seconds")
    with archive.engine.begin() as connection:
        connection.execute(DRAFT.update().values(held_at=yesterday))
    window = open_window()
    _open(qtbot, window, 1)
    assert _until_asked(qtbot, answers, "Ben has").endswith("(old)")
    _until_held_by(qtbot, archive, 1, "Ann")


def test_a_day_makes_it_old() -> None:
    now = datetime.now(UTC)
    assert not is_old((now - timedelta(hours=11)).isoformat(timespec="seconds"))
    assert is_old((now - timedelta(hours=13)).isoformat(timespec="seconds"))


def test_restored_after_a_crash_it_still_belongs_to_its_draft(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    window = open_window(autosave_ms=0)
    type_in(qtbot, window, "about.title", "Gussets")
    _save(qtbot, window)
    assert window._autosave is not None
    with qtbot.waitSignal(window._autosave.kept, timeout=WAIT_MS):
        type_in(qtbot, window, "about.title", "x")
    window.shut_down(keep_copy=True)  # as if the process were gone
    second = open_window(autosave_ms=0)
    assert second.windowTitle() == "Shared draft 1: Gussets[*] – Kerfdocket"
    assert second.panes.form.field("about.title").text.startswith("Gussetsx")
    assert second.isWindowModified()
    _until_held_by(qtbot, archive, 1, "Ann")
    _save(qtbot, second)
    assert draft(archive, 1).version == 2


# Leaving


@pytest.mark.parametrize("answer", ["save", "discard", "cancel"])
def test_closing_with_unsaved_changes_asks_and_saves_first(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers, answer: str
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    type_in(qtbot, window, "about.title", "s")
    answers.unsaved = answer
    assert window.close() is (answer == "discard")
    assert answers.asked == ["unsaved Shared draft 1: Base plates"]
    if answer == "save":
        qtbot.waitUntil(lambda: not window.isVisible(), timeout=WAIT_MS)
        assert draft(archive, 1).version == 2
    assert window.isVisible() is (answer == "cancel")
    assert draft(archive, 1).held_by == ("Ann" if answer == "cancel" else "")


def test_a_window_stays_if_its_draft_cannot_be_saved(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    type_in(qtbot, window, "about.title", ", mine")
    save_draft(archive, 1, 1, SAMPLE.read_text(), "Base plates", "Ben")
    answers.unsaved = "save"
    assert not window.close()
    _until_asked(qtbot, answers, "saved it meanwhile")
    assert window.isVisible()
    assert window.isWindowModified()


def test_opening_over_unsaved_work_asks_first_and_holds_nothing_if_refused(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    window = open_window()
    type_in(qtbot, window, "about.title", "mine")
    answers.unsaved = "cancel"
    window.office.drafts.open(1)
    _until_asked(qtbot, answers, "unsaved New job")
    assert window.panes.form.field("about.title").text == "mine"
    _until_held_by(qtbot, archive, 1, "")


# The list


def _listed(qtbot: QtBot, window: MainWindow) -> DraftList:
    window.menus.open_draft.trigger()
    chooser = window.office.drafts.chooser
    assert chooser is not None
    qtbot.waitUntil(lambda: not window.desk.is_busy, timeout=WAIT_MS)
    return chooser


def _row(chooser: DraftList, number: int) -> list[str]:
    item = chooser.tree.topLevelItem(number)
    assert item is not None
    return [item.text(column) for column in range(chooser.tree.columnCount())]


def test_the_list_says_what_there_is_and_opens_it(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    new_draft(archive, "kerfdocket-job = 1\n", "", "Ben")
    hold_draft(archive, 1, "Ben")
    window = open_window()
    chooser = _listed(qtbot, window)
    assert _row(chooser, 0)[:3] == ["2", "no title yet", "1"]
    assert _row(chooser, 0)[4:] == ["Ben", ""]
    assert _row(chooser, 1)[:3] == ["1", "Base plates", "1"]
    assert _row(chooser, 1)[5].startswith("Ben, since 20")
    assert not chooser.state.isVisible()
    qtbot.keyClick(chooser.tree, Qt.Key.Key_Down)
    qtbot.keyClick(chooser.tree, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.document.shared is not None, timeout=WAIT_MS)
    assert window.document.shared.id == 1
    assert window.office.drafts.chooser is None


def test_dropping_is_confirmed_and_keeps_what_the_form_holds(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    chooser = _listed(qtbot, window)
    answers.drop = False
    chooser.drop_button.click()
    assert answers.asked == ["drop Base plates, held by nobody"]
    answers.drop = True
    with qtbot.waitSignal(chooser.dropped, timeout=WAIT_MS):
        chooser.drop_button.click()
    assert draft(archive, 1).ended == "dropped"
    qtbot.waitUntil(lambda: chooser.tree.topLevelItemCount() == 0, timeout=WAIT_MS)
    assert "No draft is shared" in chooser.state.text()
    assert not chooser.open_button.isEnabled()
    assert window.document.shared is None
    assert window.isWindowModified()
    assert window.panes.form.field("about.number").text == "KD-0141"


def test_an_archive_out_of_reach_is_told_and_nothing_is_lost(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    window = open_window(archive_place=lambda: str(tmp_path / "file" / "a.sqlite"))
    type_in(qtbot, window, "about.title", "Gussets")
    _save(qtbot, window)
    assert "was not saved; what was typed is still there" in answers.told[0]
    assert "cannot make" in answers.told[0]
    assert window.isWindowModified()
    assert window.panes.form.field("about.title").text == "Gussets"
    chooser = _listed(qtbot, window)
    assert "The archive cannot be asked." in chooser.state.text()
    chooser.reject()
    (tmp_path / "file").unlink()
    _save(qtbot, window)
    assert not window.isWindowModified()


@pytest.mark.parametrize(
    ("text", "words"), [("about = ", "= "), ("kerfdocket-job = 2\n", "newer program")]
)
def test_what_no_form_can_show_is_told_and_not_held(
    qtbot: QtBot,
    open_window: OpenWindow,
    archive: Archive,
    answers: Answers,
    text: str,
    words: str,
) -> None:
    new_draft(archive, text, "Base plates", "Cal")
    window = open_window()
    window.office.drafts.open(1)
    qtbot.waitUntil(lambda: bool(answers.told), timeout=WAIT_MS)
    assert "cannot be opened" in answers.told[0]
    assert words in answers.told[0]
    assert window.document.shared is None
    assert draft(archive, 1).held_by == ""


# The person, and the language


def test_the_name_is_asked_once_and_can_be_changed(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, answers: Answers, tmp_path: Path
) -> None:
    file = tmp_path / "new" / "window.json"
    window = open_window(preferences=lambda: file)
    type_in(qtbot, window, "about.title", "Gussets")
    answers.person = " "
    _save(qtbot, window)
    assert drafts(archive) == ()  # nobody saves nothing
    answers.person = "Dee Dyer"
    _save(qtbot, window)
    type_in(qtbot, window, "about.title", "s")
    _save(qtbot, window)
    assert len([one for one in answers.asked if one.startswith("who")]) == 2
    assert draft(archive, 1).who == "Dee Dyer"
    answers.person = "Dee Dyer-Dow"
    window.menus.ask_name.trigger()
    assert answers.asked[-1] == "who, perhaps Dee Dyer"
    assert person(file) == "Dee Dyer-Dow"


def test_a_name_in_a_title_is_no_mark_of_what_is_unsaved(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    new_draft(archive, SAMPLE.read_text(), "Plates[*]", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    assert window.windowTitle() == "Shared draft 1: Plates[*][*][*] – Kerfdocket"


def test_another_language_keeps_the_draft(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    text = "kerfdocket-job = 1\n"
    new_draft(archive, text, "", "Cal")
    window = open_window()
    _open(qtbot, window, 1)
    document = window.document
    set_language(language_named("en"))
    window.use_language(language_named("de"))
    assert window.document is document
    assert document.raw == raw_from_text(text, "")
    assert draft(archive, 1).held_by == "Ann"


def test_the_list_fits_a_small_screen_in_long_words(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    set_language(PSEUDO)
    new_draft(archive, SAMPLE.read_text(), "Base plates", "Cal")
    hold_draft(archive, 1, "Ben")
    chooser = _listed(qtbot, open_window())
    assert chooser.width() <= 1366
    assert chooser.height() <= 768
    header = chooser.tree.header()
    for column in range(chooser.tree.columnCount()):
        assert header.sectionSize(column) >= header.sectionSizeHint(column)
