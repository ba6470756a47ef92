"""The list of all values: each opens its basis, and it follows the form."""

from pytestqt.qtbot import QtBot

from jobs import make_job
from kerfdocket.planning import Plan, make_plan
from kerfdocket.reference import load_reference
from kerfdocket.window.values import ValuesDialog, _children
from window.conftest import WAIT_MS, OpenWindow
from window.helpers import fill_in


def _plan(**changes: object) -> Plan:
    return make_plan(make_job(**changes), load_reference())


def _shown(dialog: ValuesDialog) -> list[str]:
    return [
        str(item.text(0))
        for top in dialog._stages()
        if not top.isHidden()
        for item in _children(top)
        if not item.isHidden()
    ]


def test_every_value_of_the_plan_is_there(qtbot: QtBot) -> None:
    dialog = ValuesDialog()
    qtbot.addWidget(dialog)
    plan = _plan()
    dialog.show_plan(plan)
    assert _shown(dialog) == [estimate.label for estimate in plan.estimates.values()]


def test_each_opens_its_basis(qtbot: QtBot) -> None:
    dialog = ValuesDialog()
    qtbot.addWidget(dialog)
    plan = _plan()
    dialog.show_plan(plan)
    assert "Choose a value" in dialog.basis.toPlainText()
    for estimate in plan.estimates.values():
        dialog.choose(estimate.key)
        text = " ".join(dialog.basis.toPlainText().split())
        assert " ".join(estimate.basis.text.split()) in text
        assert " ".join(estimate.basis.source.split()) in text
        for name, amount in estimate.basis.inputs:
            assert name in text
            assert " ".join(amount.split()) in text


def test_only_what_a_chart_says_is_to_be_taken_from_one(qtbot: QtBot) -> None:
    dialog = ValuesDialog()
    qtbot.addWidget(dialog)
    plan = _plan()
    dialog.show_plan(plan)
    on_chart = ("nozzle.", "setting.", "line.", "cut.speed", "cut.kerf", "cut.start", "cut.pierce")
    seen = set()
    for estimate in plan.estimates.values():
        dialog.choose(estimate.key)
        text = " ".join(dialog.basis.toPlainText().split())
        is_on_chart = estimate.key.startswith(on_chart)
        assert ("nozzle's own chart." in text) == (estimate.is_unverified and is_on_chart)
        assert ("A guide only: it rests on something that no source was opened for." in text) == (
            estimate.is_unverified and not is_on_chart
        )
        seen |= {is_on_chart} if estimate.is_unverified else set()
    assert seen == {True, False}


def test_the_chosen_one_stays_chosen_when_the_plan_changes(qtbot: QtBot) -> None:
    dialog = ValuesDialog()
    qtbot.addWidget(dialog)
    dialog.show_plan(_plan())
    dialog.choose("use.oxygen_cutting")
    before = dialog.basis.toPlainText()
    dialog.show_plan(_plan(units="US customary"))
    assert dialog.chosen_key == "use.oxygen_cutting"
    assert "ft³" in dialog.basis.toPlainText()
    assert dialog.basis.toPlainText() != before
    dialog.show_plan(None)
    assert "Choose a value" in dialog.basis.toPlainText()


def test_search_leaves_what_fits(qtbot: QtBot) -> None:
    dialog = ValuesDialog()
    qtbot.addWidget(dialog)
    dialog.show_plan(_plan())
    dialog.search.setText("leak oxygen")
    assert _shown(dialog) == [
        "Oxygen that may leak",
        "Smallest oxygen leak its gauge shows",
        "Oxygen leak by the standing test",
    ]
    dialog.search.clear()
    assert len(_shown(dialog)) > 60


def test_the_menu_opens_it_and_it_follows_the_form(qtbot: QtBot, open_window: OpenWindow) -> None:
    window = open_window()
    window.beside.show_values()
    (dialog,) = window.findChildren(ValuesDialog)
    assert dialog.isVisible()
    assert _shown(dialog) == []
    dialog.close()
    with qtbot.waitSignal(window.follow_up.planned, timeout=WAIT_MS):
        fill_in(qtbot, window)
    assert _shown(dialog)
    window.beside.show_values()
    assert window.findChildren(ValuesDialog) == [dialog]
    dialog.choose("setting.cutting_oxygen_pressure")
    with qtbot.waitSignal(window.follow_up.planned, timeout=WAIT_MS):
        window.panes.form.edited.emit("plate.thickness", "14 mm")
    assert "14 mm" in dialog.basis.toPlainText()
