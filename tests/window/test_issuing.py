"""Issuing in the window: what is asked, what is kept, what is shown, and what goes wrong."""

import contextlib
import dataclasses
import functools
import getpass
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialogButtonBox
from pytestqt.qtbot import QtBot

from archive.conftest import sheet
from kerfdocket.archive import Archive, draft, drafts, new_draft, open_archive, save_draft, verify
from kerfdocket.job import load_job_text, raw_from_text
from kerfdocket.language import language_named
from kerfdocket.window import Services, default_services
from kerfdocket.window.issue_dialog import IssueDialog
from kerfdocket.window.main_window import MainWindow
from kerfdocket.window.person import person
from window import fakes
from window.conftest import WAIT_MS, Answers, OpenWindow
from window.helpers import clear, fill_in, type_in

SAMPLE = Path(__file__).parents[2] / "samples" / "base-plates-12mm.toml"


@pytest.fixture
def archive(services: Services) -> Iterator[Archive]:
    """The archive of the window, looked at from beside it."""
    with contextlib.closing(open_archive(services.archive_place())) as opened:
        yield opened


def _wait_until_current(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)


def _ask(qtbot: QtBot, window: MainWindow) -> IssueDialog:
    """Press Issue in the menu and wait for what the archive says."""
    qtbot.waitUntil(window.menus.issue.isEnabled, timeout=WAIT_MS)
    window.menus.issue.trigger()
    dialog = window.office.issuing.dialog
    assert dialog is not None
    qtbot.waitUntil(lambda: dialog.known is not None or dialog.news.isVisible(), timeout=WAIT_MS)
    return dialog


def _issue(qtbot: QtBot, window: MainWindow, reason: str = "") -> None:
    """Issue what the form holds, with the keyboard, and wait until that is over."""
    dialog = _ask(qtbot, window)
    if reason:
        qtbot.keyClicks(dialog.reason, reason)
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        qtbot.keyClick(dialog.who, Qt.Key.Key_Return)


def test_a_series_becomes_a_number_and_the_sheet_that_is_kept_is_shown(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, services: Services
) -> None:
    window = open_window()
    fill_in(qtbot, window)
    clear(qtbot, window, "about.number")
    type_in(qtbot, window, "about.number", "KD-????")
    dialog = _ask(qtbot, window)
    assert dialog.number.text() == "the next one of the series KD-????"
    assert dialog.revision.text() == "A, the first one"
    assert not dialog.reason.isVisible()
    dialog.who.setText("  ")
    assert not dialog.issue_button.isEnabled()
    assert "who issues it" in dialog.needed.text()
    dialog.who.setText("Ann Archer")
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.issue_button.click()
    assert window.statusBar().currentMessage() == "KD-0001 A issued"
    assert window.panes.form.field("about.number").text == "KD-0001"
    _wait_until_current(qtbot, window)
    [kept] = archive.travellers()
    assert (kept.number, kept.revision) == ("KD-0001", "A")
    assert window.panes.sheet.pdf == archive.content(kept.pdf)
    assert window.panes.state == "This is KD-0001 A as it was issued."
    # The archive has all that the form says: nothing is left to be saved.
    assert not window.document.is_changed
    assert window.windowTitle() == "KD-0001 A[*] – Kerfdocket"
    assert archive.events("KD-0001")[-1].who == "Ann Archer"
    assert person(services.preferences()) == "Ann Archer"
    said = load_job_text(archive.content(kept.job).decode(), "")
    assert said.about.number == "KD-0001"


def test_what_is_printed_is_what_was_issued(
    qtbot: QtBot,
    open_window: OpenWindow,
    archive: Archive,
    answers: Answers,
    printed: list[bytes],
) -> None:
    window = open_window(SAMPLE)
    assert not window.menus.print_issued.isEnabled()
    _issue(qtbot, window)
    _wait_until_current(qtbot, window)
    window.menus.print_sheet.trigger()
    issued = archive.content(archive.travellers()[0].pdf)
    assert printed == [issued]
    # Another number would be another sheet; what was issued can be had all the same.
    type_in(qtbot, window, "plate.thickness", "0")
    clear(qtbot, window, "plate.thickness")
    type_in(qtbot, window, "plate.thickness", "14 mm")
    _wait_until_current(qtbot, window)
    assert "KD-0141 A was issued otherwise" in window.panes.state
    # Two that differ must not bear one name on the floor.
    window.menus.print_sheet.trigger()
    assert answers.asked == ["issue KD-0141 A instead"]
    assert printed == [issued]
    assert window.office.issuing.dialog is None
    window.menus.print_issued.trigger()
    assert printed[1] == issued
    answers.instead = True
    window.menus.print_sheet.trigger()
    dialog = window.office.issuing.dialog
    assert dialog is not None
    dialog.reject()
    # As it was again, it is what was issued again.
    clear(qtbot, window, "plate.thickness")
    type_in(qtbot, window, "plate.thickness", "12 mm")
    _wait_until_current(qtbot, window)
    assert window.panes.sheet.pdf == issued


def test_a_file_is_changed_by_a_number_only_where_it_says_another(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(SAMPLE.read_bytes())
    window = open_window(path)
    _issue(qtbot, window)
    assert not window.document.is_changed  # it said KD-0141, and an A is understood
    assert window.windowTitle().startswith("job.toml")
    _issue(qtbot, window, "thicker plate")
    assert window.document.value("about.revision") == "B"
    assert window.panes.form.field("about.revision").text == "B"
    assert window.isWindowModified()  # the file does not say so yet
    assert window.files.save()
    assert raw_from_text(path.read_text(), "")["about"]["revision"] == "B"


def test_issued_anew_with_a_reason(qtbot: QtBot, open_window: OpenWindow, archive: Archive) -> None:
    archive.issue("KD-0141", sheet(), "Ben")
    archive.move("KD-0141", "on the floor", "Cal")
    window = open_window(SAMPLE)
    dialog = _ask(qtbot, window)
    assert dialog.revision.text() == "B, after A"
    assert (
        "KD-0141 A was issued before; it is now on the floor, as Cal said on 20"
        in dialog.news.text()
    )
    assert "Take its paper back" in dialog.news.text()
    assert dialog.reason.isVisible()
    assert not dialog.issue_button.isEnabled()
    assert "the reason" in dialog.needed.text()
    dialog.reject()
    _issue(qtbot, window, "thicker plate")
    first, second = archive.revisions("KD-0141")
    assert (first.state, second.state, second.reason) == ("superseded", "issued", "thicker plate")
    assert window.statusBar().currentMessage() == "KD-0141 B issued"
    assert verify(archive) == ()
    # Once more, of which the form says nothing new; it can be done all the same.
    dialog = _ask(qtbot, window)
    assert "Nothing in the job has changed since KD-0141 B" in dialog.news.text()
    assert dialog.news.isVisible()
    dialog.reject()
    clear(qtbot, window, "plate.thickness")
    type_in(qtbot, window, "plate.thickness", "14 mm")
    _wait_until_current(qtbot, window)
    dialog = _ask(qtbot, window)
    assert "has changed" not in dialog.news.text()
    dialog.reject()
    clear(qtbot, window, "plate.thickness")
    type_in(qtbot, window, "plate.thickness", "12 mm")
    _wait_until_current(qtbot, window)
    _issue(qtbot, window, "the paper was lost")
    assert [one.revision for one in archive.revisions("KD-0141")] == ["A", "B", "C"]


def test_a_closed_one_says_why_not(qtbot: QtBot, open_window: OpenWindow, archive: Archive) -> None:
    archive.issue("KD-0141", sheet(), "Ben")
    archive.move("KD-0141", "returned", "Ben")
    archive.move("KD-0141", "closed", "Ben")
    window = open_window(SAMPLE)
    dialog = _ask(qtbot, window)
    assert "done and signed" in dialog.news.text()
    assert "another number" in dialog.news.text()
    assert not dialog.what_happens.isVisible()
    assert not dialog.issue_button.isEnabled()
    assert not dialog.reason.isVisible()


def test_only_a_current_sheet_without_a_stop_can_be_issued(
    qtbot: QtBot, open_window: OpenWindow
) -> None:
    window = open_window()
    assert not window.menus.issue.isEnabled()
    fill_in(qtbot, window)
    qtbot.waitUntil(window.menus.issue.isEnabled, timeout=WAIT_MS)
    type_in(qtbot, window, "plate.grade", " stainless")
    assert not window.menus.issue.isEnabled()
    _wait_until_current(qtbot, window)
    assert not window.menus.issue.isEnabled()
    window.issue()
    assert window.office.issuing.dialog is None


def test_what_is_typed_while_it_is_issued_is_not_in_the_sheet_and_not_lost(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, tmp_path: Path
) -> None:
    window = open_window(issue=functools.partial(fakes.issue_when_told, tmp_path))
    fill_in(qtbot, window)
    clear(qtbot, window, "about.number")
    type_in(qtbot, window, "about.number", "KD-????")
    dialog = _ask(qtbot, window)
    dialog.issue_button.click()
    qtbot.waitUntil((tmp_path / "issuing").exists, timeout=WAIT_MS)
    assert not window.menus.issue.isEnabled()
    assert window.office._doing.text() == "Issuing KD-???? …"
    assert window.office._doing.isVisible()
    type_in(qtbot, window, "about.title", " and caps")
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        (tmp_path / "go").touch()
    assert not window.office._doing.isVisible()
    [kept] = archive.travellers()
    assert kept.facts["title"] == "Test plate"
    assert window.panes.form.field("about.title").text == "Test plate and caps"
    assert window.panes.form.field("about.number").text == "KD-0001"
    assert "KD-0001 A issued, without what was typed meanwhile" in (
        window.statusBar().currentMessage()
    )
    assert window.isWindowModified()
    _wait_until_current(qtbot, window)
    assert "KD-0001 A was issued otherwise" in window.panes.state
    assert window.panes.sheet.pdf != archive.content(kept.pdf)


def test_a_number_that_is_typed_meanwhile_stays(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    window = open_window(issue=functools.partial(fakes.issue_when_told, tmp_path))
    fill_in(qtbot, window)
    _ask(qtbot, window).issue_button.click()
    qtbot.waitUntil((tmp_path / "issuing").exists, timeout=WAIT_MS)
    type_in(qtbot, window, "about.number", "99")
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        (tmp_path / "go").touch()
    assert window.panes.form.field("about.number").text == "T-199"
    assert window.document.value("about.number") == "T-199"
    assert window.document.issued is not None
    assert window.document.issued.name == "T-1 A"


def test_to_close_waits_until_it_is_issued(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window(issue=functools.partial(fakes.issue_when_told, tmp_path))
    fill_in(qtbot, window)
    _ask(qtbot, window).issue_button.click()
    qtbot.waitUntil((tmp_path / "issuing").exists, timeout=WAIT_MS)
    assert not window.close()
    assert window.isVisible()
    assert answers.asked == []
    assert not window.close()  # asked once more, the person may give up to wait
    assert answers.asked == ["wait: Issuing T-1 …"]
    (tmp_path / "go").touch()
    qtbot.waitUntil(lambda: not window.isVisible(), timeout=WAIT_MS)
    # Nothing is unsaved, so nothing else was asked.
    assert answers.asked == ["wait: Issuing T-1 …"]


def test_a_person_who_does_not_wait_may_go(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    window = open_window(issue=functools.partial(fakes.issue_when_told, tmp_path))
    fill_in(qtbot, window)
    _ask(qtbot, window).issue_button.click()
    qtbot.waitUntil((tmp_path / "issuing").exists, timeout=WAIT_MS)
    assert not window.close()
    answers.wait, answers.unsaved = False, "discard"
    assert window.close()
    assert answers.asked == ["wait: Issuing T-1 …", "unsaved New job"]


# What goes wrong


def test_an_archive_out_of_reach_is_told_in_the_dialog(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    # No server listens there.
    places = ["postgresql://127.0.0.1:1/none", str(tmp_path / "other.sqlite")]
    open_archive(places[1]).close()
    window = open_window(archive_place=lambda: places[0])
    fill_in(qtbot, window)
    dialog = _ask(qtbot, window)
    assert "The archive cannot be asked." in dialog.news.text()
    assert "cannot be opened" in dialog.news.text()
    assert not dialog.issue_button.isEnabled()
    dialog.reject()
    assert not answers.told
    assert window.panes.form.field("about.number").text == "T-1"
    # It is tried again with the next question.
    del places[0]
    assert "A, the first one" in _ask(qtbot, window).revision.text()


def test_an_archive_that_is_not_there_is_made_by_issuing_and_that_is_said_before(
    qtbot: QtBot, open_window: OpenWindow, tmp_path: Path
) -> None:
    place = tmp_path / "disk" / "a.sqlite"
    window = open_window(SAMPLE, archive_place=lambda: str(place))
    dialog = _ask(qtbot, window)
    assert f"There is no archive at {place}: this makes a new one" in dialog.news.text()
    assert not place.parent.exists()
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.issue_button.click()
    with contextlib.closing(open_archive(place, may_be_made=False)) as made:
        assert [one.number for one in made.travellers()] == ["KD-0141"]
    dialog = _ask(qtbot, window)
    assert "There is no archive" not in dialog.news.text()


def test_a_number_that_is_taken_meanwhile_is_told(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, archive: Archive
) -> None:
    window = open_window(SAMPLE)
    dialog = _ask(qtbot, window)
    archive.issue("KD-0141", sheet(), "Ben")
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.issue_button.click()
    [told] = answers.told
    assert "was not issued" in told
    assert "KD-0141 was issued before" in told
    assert len(archive.travellers()) == 1
    assert window.document.issued is None
    assert window.menus.issue.isEnabled()


def test_a_revision_that_someone_else_issued_meanwhile_is_not_superseded_unseen(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, archive: Archive
) -> None:
    archive.issue("KD-0141", sheet(), "Ben")
    window = open_window(SAMPLE)
    dialog = _ask(qtbot, window)
    archive.reissue("KD-0141", "B", sheet("second"), "Ben", "other edges")
    qtbot.keyClicks(dialog.reason, "thicker plate")
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.issue_button.click()
    assert "B is the last one now" in answers.told[0]
    assert [one.state for one in archive.revisions("KD-0141")] == ["superseded", "issued"]


def test_a_process_that_dies_is_told_and_nothing_is_issued_twice(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, archive: Archive
) -> None:
    window = open_window(issue=fakes.issue_and_die)
    fill_in(qtbot, window)
    clear(qtbot, window, "about.number")
    type_in(qtbot, window, "about.number", "KD-????")
    _issue(qtbot, window)
    assert "look there before it is issued again" in answers.told[0]
    assert len(archive.travellers()) == 1
    # The process starts anew for the next sheet.
    type_in(qtbot, window, "about.title", "s")
    _wait_until_current(qtbot, window)


def test_a_fault_is_told_as_one(qtbot: QtBot, open_window: OpenWindow, answers: Answers) -> None:
    window = open_window(issue=fakes.stumble)
    fill_in(qtbot, window)
    _issue(qtbot, window)
    assert [str(bug) for bug in answers.bugs] == ["an invented fault"]
    assert window.menus.issue.isEnabled()


def test_it_is_issued_where_it_was_asked_though_another_archive_is_chosen_meanwhile(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, services: Services, tmp_path: Path
) -> None:
    places = [services.archive_place(), str(tmp_path / "other.sqlite")]
    window = open_window(SAMPLE, archive_place=lambda: places[0])
    qtbot.waitUntil(window.menus.issue.isEnabled, timeout=WAIT_MS)
    go_on = threading.Event()
    window.desk.ask(lambda _archive: go_on.wait(WAIT_MS / 1000), bool, bool)
    window.menus.issue.trigger()
    dialog = window.office.issuing.dialog
    assert dialog is not None
    del places[0]
    window.desk.look_elsewhere()
    go_on.set()
    qtbot.waitUntil(lambda: dialog.known is not None, timeout=WAIT_MS)
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.issue_button.click()
    assert [one.number for one in archive.travellers()] == ["KD-0141"]


# From a shared draft


def test_issuing_a_shared_draft_ends_it(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    made = new_draft(archive, SAMPLE.read_text(), "Base plates", "Ben")
    window = open_window()
    window.office.drafts.open(made.id)
    qtbot.waitUntil(lambda: window.document.shared is not None, timeout=WAIT_MS)
    dialog = _ask(qtbot, window)
    assert "Shared draft 1 ends with this." in dialog.what_happens.text()
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.issue_button.click()
    assert (draft(archive, 1).ended, draft(archive, 1).number) == ("issued", "KD-0141")
    assert window.document.shared is None
    assert not window.document.is_changed
    assert window.windowTitle().startswith("KD-0141 A")
    assert verify(archive) == ()


def test_a_draft_that_is_saved_while_it_is_issued_does_not_become_another(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, tmp_path: Path
) -> None:
    made = new_draft(archive, SAMPLE.read_text(), "Base plates", "Ben")
    window = open_window(issue=functools.partial(fakes.issue_when_told, tmp_path))
    window.office.drafts.open(made.id)
    qtbot.waitUntil(lambda: window.document.shared is not None, timeout=WAIT_MS)
    _ask(qtbot, window).issue_button.click()
    qtbot.waitUntil((tmp_path / "issuing").exists, timeout=WAIT_MS)
    type_in(qtbot, window, "about.title", ", typed meanwhile")
    window.menus.save.trigger()
    assert "as soon as the archive has answered" in window.statusBar().currentMessage()
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        (tmp_path / "go").touch()
    assert not window.office.is_busy
    assert [one.ended for one in drafts(archive, with_ended=True)] == ["issued"]
    assert window.isWindowModified()


def test_a_draft_that_someone_saved_meanwhile_is_not_issued(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, archive: Archive
) -> None:
    made = new_draft(archive, SAMPLE.read_text(), "Base plates", "Ben")
    window = open_window()
    window.office.drafts.open(made.id)
    qtbot.waitUntil(lambda: window.document.shared is not None, timeout=WAIT_MS)
    dialog = _ask(qtbot, window)
    save_draft(archive, 1, 1, SAMPLE.read_text() + "# more\n", "Base plates", "Ben")
    with qtbot.waitSignal(window.office.issuing.ended, timeout=WAIT_MS):
        dialog.issue_button.click()
    asked = "Shared draft 1: Base plates: Ben saved it meanwhile"
    qtbot.waitUntil(lambda: len(answers.asked) == 2, timeout=WAIT_MS)
    assert answers.asked[0] == f"who, perhaps {getpass.getuser()}"
    assert answers.asked[1].startswith(asked)
    assert archive.travellers() == ()
    # Pressed again, it is asked before anything else.
    answers.asked.clear()
    window.menus.issue.trigger()
    qtbot.waitUntil(lambda: bool(answers.asked), timeout=WAIT_MS)
    assert answers.asked[-1].startswith(asked)
    assert window.office.issuing.dialog is None


def test_a_draft_that_was_issued_meanwhile_is_told_before_its_work_is_issued_twice(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    from kerfdocket.archive import issue_draft

    made = new_draft(archive, SAMPLE.read_text(), "Base plates", "Ben")
    window = open_window()
    window.office.drafts.open(made.id)
    qtbot.waitUntil(lambda: window.document.shared is not None, timeout=WAIT_MS)
    issue_draft(archive, made, "KD-9", sheet(), "Ben")
    dialog = _ask(qtbot, window)
    assert "Shared draft 1 was issued as KD-9 meanwhile" in dialog.news.text()
    assert "ends with this" not in dialog.what_happens.text()


# Said and seen


@pytest.mark.parametrize("code", ["de", "en-XA"])
def test_all_of_the_dialog_fits_a_small_screen(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive, code: str
) -> None:
    from kerfdocket.language import PSEUDO, set_language

    set_language(PSEUDO if code == "en-XA" else language_named(code))
    archive.issue("KD-0141", sheet(), "Ben")
    archive.move("KD-0141", "on the floor", "Cal")
    window = open_window(SAMPLE)
    dialog = _ask(qtbot, window)
    assert dialog.width() <= 1366
    assert dialog.height() <= 768
    dialog.who.clear()
    for label in (dialog.news, dialog.what_happens, dialog.needed):
        qtbot.waitUntil(
            lambda label=label: label.height() >= label.heightForWidth(label.width()),
            timeout=WAIT_MS,
        )


def test_the_dialog_is_used_with_the_keyboard(
    qtbot: QtBot, open_window: OpenWindow, archive: Archive
) -> None:
    archive.issue("KD-0141", sheet(), "Ben")
    window = open_window(SAMPLE)
    dialog = _ask(qtbot, window)
    dialog.activateWindow()
    assert dialog.focusWidget() is dialog.reason
    qtbot.keyClicks(dialog.reason, "thicker plate")
    qtbot.keyClick(dialog.reason, Qt.Key.Key_Tab)
    assert dialog.focusWidget() is dialog.fillable
    qtbot.keyClick(dialog.fillable, Qt.Key.Key_Space)
    assert dialog.fillable.isChecked()
    buttons = dialog.findChild(QDialogButtonBox)
    assert buttons is not None
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    assert window.office.issuing.dialog is None


def test_another_language_keeps_what_was_issued(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    fill_in(qtbot, window)
    _issue(qtbot, window)
    _wait_until_current(qtbot, window)
    document, pdf = window.document, window.panes.sheet.pdf
    window.use_language(language_named("de"))
    _wait_until_current(qtbot, window)
    assert window.document is document  # nothing is unsaved, yet it is no new job
    assert window.panes.sheet.pdf == pdf
    assert "language" not in document.raw


# The real thing


def test_the_sheet_that_is_shown_is_in_the_archive_bit_for_bit(
    qtbot: QtBot, answers: Answers, tmp_path: Path
) -> None:
    place = str(tmp_path / "a.sqlite")
    services = dataclasses.replace(
        default_services(),
        draft_folder=lambda: tmp_path / "drafts",
        preferences=lambda: tmp_path / "window.json",
        archive_place=lambda: place,
    )
    window = MainWindow(services, SAMPLE, answers, debounce_ms=0)
    window.resize(1366, 768)
    try:
        window.show()
        _issue(qtbot, window)
        _wait_until_current(qtbot, window)
        with contextlib.closing(open_archive(place)) as archive:
            [kept] = archive.travellers()
            assert kept.number == "KD-0141"
            assert window.panes.sheet.pdf == archive.content(kept.pdf)
            type_in(qtbot, window, "about.title", ", second lot")
            _issue(qtbot, window, "four more")
            _wait_until_current(qtbot, window)
            assert window.panes.state == "This is KD-0141 B as it was issued."
            kept = archive.revisions("KD-0141")[-1]
            assert (kept.revision, kept.reason) == ("B", "four more")
            assert window.panes.sheet.pdf == archive.content(kept.pdf)
            assert verify(archive) == ()
        assert not answers.told
        assert not answers.bugs
    finally:
        window.shut_down()
        window.hide()
        window.deleteLater()
