"""Oxygen by the fall of a gauge against the real gas of CoolProp, called here and now.

CoolProp's oxygen is the equation of state of Schmidt and Wagner, Fluid Phase Equilibria 19 (1985)
175-200.
"""

import pytest
from CoolProp.CoolProp import PropsSI

from jobs import make_job
from kerfdocket.planning import make_plan
from kerfdocket.planning.actuals import planned_of, read_actuals
from kerfdocket.planning.actuals.used import oxygen_used
from kerfdocket.reference import load_reference

REFERENCE = load_reference()
OXYGEN = REFERENCE.gas("oxygen").properties
AIR_PA = 101_325.0


def _used_m3(capacity_l: float, before: float, after: float, celsius: float) -> float:
    cylinder = {
        "capacity": f"{capacity_l} L",
        "gauge": "200 bar",
        "temperature": f"{celsius} °C",
    }
    planned = planned_of(make_plan(make_job(oxygen__cylinders=[cylinder]), REFERENCE))
    texts = {"oxygen_before": f"{before} bar", "oxygen_after": f"{after} bar"}
    used = oxygen_used(planned, read_actuals(planned.job, texts), OXYGEN)
    assert used.mass_kg is not None
    return OXYGEN.volume_m3(used.mass_kg.value)


@pytest.mark.parametrize("celsius", [-15.0, 0.0, 15.0, 35.0])
@pytest.mark.parametrize(
    ("capacity_l", "before", "after"),
    [(50.0, 200.0, 190.0), (50.0, 200.0, 20.0), (20.0, 150.0, 80.0), (10.0, 60.0, 10.0)],
)
def test_agrees_with_the_real_gas(
    capacity_l: float, before: float, after: float, celsius: float
) -> None:
    kelvin = celsius + 273.15
    density_before, density_after = (
        PropsSI("D", "P", gauge * 1e5 + AIR_PA, "T", kelvin, "Oxygen") for gauge in (before, after)
    )
    reference = PropsSI("D", "P", 1e5, "T", 288.15, "Oxygen")
    wanted = capacity_l / 1e3 * (density_before - density_after) / reference
    # The compressibility is fitted within 0.35 % of a content; the difference of two contents that
    # are nearly alike carries the doubt of both. Found: 1.3 % at the most, 0.5 % from 50 bar on.
    is_small = before - after < 50.0
    found = _used_m3(capacity_l, before, after, celsius)
    assert found == pytest.approx(wanted, rel=0.015 if is_small else 0.006)
