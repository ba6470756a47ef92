"""The window's values: gas says at what state it is, wherever a value stands alone."""

import pytest
from pytestqt.qtbot import QtBot

from jobs import make_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.window.results import ResultsPane, basis_html
from kerfdocket.window.values import ValuesDialog


@pytest.mark.parametrize(
    ("units", "state"),
    [("metric", "15 °C, 1 bar absolute"), ("US customary", "70 °F, 14.7 psi absolute")],
)
def test_gas_says_at_what_state_it_is(qtbot: QtBot, units: str, state: str) -> None:
    plan = make_plan(make_job(units=units), load_reference())
    pane, values = ResultsPane(), ValuesDialog()
    qtbot.addWidget(pane)
    qtbot.addWidget(values)
    for _again in range(2):
        pane.show_plan(plan)
        values.show_plan(plan)
    assert f"gas at {state}," in pane.tiles["use.oxygen"].accessibleName()
    assert state not in pane.tiles["nozzle.bore"].accessibleName()
    assert values.tree.headerItem().text(1) == f"Amount, gas at {state}"
    assert f"at {state}</h3>" in basis_html(plan.estimates["use.oxygen"])
    assert state not in basis_html(plan.estimates["nozzle.bore"])
    pane.show_plan(None)
    assert "gas at" not in pane.tiles["use.oxygen"].accessibleName()
