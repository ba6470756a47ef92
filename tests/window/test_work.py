"""The steps with their reasons: all of them, and they follow the form."""

from pytestqt.qtbot import QtBot

from jobs import make_job
from kerfdocket.planning import Plan, make_plan
from kerfdocket.reference import load_reference
from kerfdocket.window.work import WorkDialog
from window.conftest import OpenWindow


def _plan(**changes: object) -> Plan:
    return make_plan(make_job(**changes), load_reference())


def _steps(dialog: WorkDialog) -> list[str]:
    found = []
    for number in range(dialog.tree.topLevelItemCount()):
        group = dialog.tree.topLevelItem(number)
        assert group is not None
        found += [group.child(at).text(0) for at in range(group.childCount())]
    return found


def test_every_step_is_there_in_order_with_its_reason(qtbot: QtBot) -> None:
    dialog = WorkDialog()
    qtbot.addWidget(dialog)
    plan = _plan()
    dialog.show_plan(plan)
    assert _steps(dialog) == [step.text for step in plan.steps]
    flat = iter(plan.steps)
    for number in range(dialog.tree.topLevelItemCount()):
        group = dialog.tree.topLevelItem(number)
        assert group is not None
        for at in range(group.childCount()):
            dialog.tree.setCurrentItem(group.child(at))
            step = next(flat)
            assert dialog.why.text() == f"{step.text}\n\nWhy: {step.why}"


def test_the_chosen_step_stays_chosen(qtbot: QtBot) -> None:
    dialog = WorkDialog()
    qtbot.addWidget(dialog)
    dialog.show_plan(_plan())
    first = dialog.tree.topLevelItem(0)
    assert first is not None
    dialog.tree.setCurrentItem(first.child(1))
    why = dialog.why.text().split("Why: ")[1]
    dialog.show_plan(_plan(plate__thickness="20 mm"))
    assert dialog.why.text().endswith(why)
    dialog.show_plan(None)
    assert "Choose a step" in dialog.why.text()


def test_the_menu_opens_it_once(open_window: OpenWindow) -> None:
    window = open_window()
    window.beside.show_work()
    window.beside.show_work()
    (dialog,) = window.findChildren(WorkDialog)
    assert dialog.isVisible()
