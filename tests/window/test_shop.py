"""The shop's folder, chosen in the window and remembered for it and the commands."""

import functools
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QTimer
from pytestqt.qtbot import QtBot

from kerfdocket.job import load_job
from kerfdocket.sheet import load_shop, own_shop_folder, set_own_shop_folder
from kerfdocket.window import Services, default_services
from kerfdocket.window.main_window import MainWindow
from window import fakes
from window.conftest import WAIT_MS, Answers, OpenWindow

SHOP = Path(__file__).parents[2] / "samples" / "shop"


def test_it_is_checked_remembered_and_taken_back(open_window: OpenWindow, answers: Answers) -> None:
    window = open_window()
    answers.path = SHOP
    window.menus.choose_shop.trigger()
    assert answers.asked == [f"shop's folder from {Path.home().name}"]
    assert "Lower Quay Plate Shop" in window.statusBar().currentMessage()
    assert own_shop_folder() == SHOP
    window.menus.no_shop.trigger()
    assert own_shop_folder() is None


def test_one_that_cannot_be_used_is_told_and_changes_nothing(
    open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    set_own_shop_folder(SHOP)
    window = open_window()
    answers.path = tmp_path
    window.menus.choose_shop.trigger()
    assert "cannot be used" in answers.told[0]
    assert "shop.toml" in answers.told[0]
    assert own_shop_folder() == SHOP


def test_it_can_be_taken_back_before_the_form_is_there(
    qtbot: QtBot, services: Services, answers: Answers
) -> None:
    set_own_shop_folder(SHOP)
    window = MainWindow(services, None, answers)
    qtbot.addWidget(window)
    window.menus.no_shop.trigger()
    assert window.statusBar().currentMessage() == "Sheets are plain."
    assert own_shop_folder() is None
    window.shut_down()


def test_to_choose_none_changes_nothing(open_window: OpenWindow, answers: Answers) -> None:
    set_own_shop_folder(SHOP)
    window = open_window()
    answers.path = None
    window.menus.choose_shop.trigger()
    assert own_shop_folder() == SHOP


def test_the_sheet_is_the_shops(tmp_path: Path) -> None:
    services = default_services()
    plan = services.plan(load_job(SHOP.parent / "base-plates-12mm.toml"))
    (tmp_path / "plain.pdf").write_bytes(services.sheet(plan))
    services.set_shop_folder(SHOP)
    (tmp_path / "own.pdf").write_bytes(services.sheet(plan))
    plain, own = (
        pypdf.PdfReader(tmp_path / name).pages[0].extract_text()
        for name in ("plain.pdf", "own.pdf")
    )
    name = load_shop(SHOP).name
    assert name not in plain
    assert name in own


def test_a_shown_sheet_is_drawn_anew(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers
) -> None:
    window = open_window(SHOP.parent / "base-plates-12mm.toml")
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)
    answers.path = SHOP
    window.menus.choose_shop.trigger()
    assert not window.follow_up.is_current
    with qtbot.waitSignal(window.follow_up.sheet_drawn, timeout=WAIT_MS):
        pass
    assert window.follow_up.is_current


def test_one_that_was_being_drawn_is_no_sheet_of_the_shop(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    gate = tmp_path / "gate"
    gate.mkdir()
    window = open_window(
        SHOP.parent / "base-plates-12mm.toml",
        sheet=functools.partial(fakes.make_sheet_when_told, gate),
    )
    qtbot.waitUntil((gate / "begun").exists, timeout=WAIT_MS)
    pause = window.follow_up.findChild(QTimer)
    pause.setInterval(2**30)  # the next one is not even asked for before this one comes
    answers.path = SHOP
    window.menus.choose_shop.trigger()
    with qtbot.waitSignal(window.follow_up.sheet_drawn, timeout=WAIT_MS):
        (gate / "go").touch()
    assert not window.follow_up.is_current
    pause.start(0)
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)


def test_why_no_sheet_could_be_drawn_is_gone_once_one_is(
    qtbot: QtBot, open_window: OpenWindow, answers: Answers, tmp_path: Path
) -> None:
    mark = tmp_path / "mark"
    mark.touch()
    window = open_window(
        SHOP.parent / "base-plates-12mm.toml", sheet=functools.partial(fakes.refuse_while, mark)
    )
    qtbot.waitUntil(lambda: "could not be drawn" in window.panes.state, timeout=WAIT_MS)
    mark.unlink()
    answers.path = SHOP
    window.menus.choose_shop.trigger()
    qtbot.waitUntil(lambda: window.follow_up.is_current, timeout=WAIT_MS)
    assert "could not be drawn" not in window.panes.state


@pytest.mark.parametrize("content", [b"", b"\xff\xfe"])
def test_a_spoilt_choice_is_no_reason_not_to_print(tmp_path: Path, content: bytes) -> None:
    folder = tmp_path / "config" / "kerfdocket"
    folder.mkdir(parents=True)
    (folder / "shop-folder").write_bytes(content)
    assert own_shop_folder() is None
