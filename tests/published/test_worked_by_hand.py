"""A few cases that can be followed with pencil and table."""

import pytest

from gas_values import OXYGEN
from kerfdocket.physics.cylinder import oxygen_mass_kg
from kerfdocket.physics.hose import torch_gauge_pa

_AIR_PA = 101325.0


def test_six_bar_at_the_regulator_leaves_4_94_bar_at_the_torch() -> None:
    # 6.3 mm x 20 m, bore 2.0 mm, Cd 1. Reference: fluids 1.3.1 isothermal_gas (inlet density)
    # coupled with CoolProp 8.0.0 choked flow gives 4.935 bar gauge and 16.878 kg/h. Ours stays
    # within 0.4 %.
    torch, flow = torch_gauge_pa(OXYGEN, 6.0e5, _AIR_PA, 0.0063, 20.0, 0.0020, 288.15)
    assert torch / 1e5 == pytest.approx(4.935, rel=0.004)
    assert flow * 3600.0 == pytest.approx(16.878, rel=0.004)


def test_choked_flow_by_the_compact_formula() -> None:
    # By hand: 0.70678 kg/(h mm² bar) x (1.0 mm)² x 6.01325 bar = 4.2500 kg/h, times 1/sqrt(Z)
    # with Z = 1 - 0.00075 x 6.01325.
    torch, flow = torch_gauge_pa(OXYGEN, 5.0e5, _AIR_PA, 0.05, 0.0, 0.001, 288.15)
    assert torch == pytest.approx(5.0e5, rel=1e-9)
    assert flow * 3600.0 == pytest.approx(4.2500 * 1.002263, rel=1e-4)


@pytest.mark.parametrize(("celsius", "cubic_metres"), [(15.0, 10.7835), (-20.0, 13.3403)])
def test_content_of_a_50_litre_cylinder_at_200_bar(celsius: float, cubic_metres: float) -> None:
    # CoolProp 8.0.0, at 15 °C and 1 bar absolute (10.78 and 13.34 m3 on paper); the fit is good to
    # 0.35 %. Volume times pressure would say 10.0 both times.
    mass = oxygen_mass_kg(0.050, 200.0e5, _AIR_PA, celsius + 273.15, OXYGEN)
    assert OXYGEN.volume_m3(mass) == pytest.approx(cubic_metres, rel=0.0035)
