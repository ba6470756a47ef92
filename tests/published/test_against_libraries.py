"""The formulas against CoolProp, fluids and chemicals, called here and now."""

import math

import fluids
import pytest
from chemicals import MW, Pc, Tc, omega
from chemicals.vapor_pressure import Psat_data_WagnerMcGarry, Wagner_original
from chemicals.virial import BVirial_Tsonopoulos
from CoolProp.CoolProp import PropsSI
from scipy.optimize import minimize_scalar

from gas_values import ACETYLENE, GASES, OXYGEN
from kerfdocket.physics.air import AIR
from kerfdocket.physics.cylinder import oxygen_mass_kg
from kerfdocket.physics.gas import GAS_CONSTANT_J_MOL_K
from kerfdocket.physics.hose import (
    friction_factor,
    hose_outlet_gauge_pa,
    hose_tail_loss_coefficient,
)
from kerfdocket.physics.kerf import oxygen_demand_kg_m
from kerfdocket.physics.leak import leak_rate_kg_s
from kerfdocket.physics.orifice import bore_flow_kg_s, linear_compressibility
from kerfdocket.physics.propane import (
    Liquid,
    latent_heat_j_kg,
    liquid_density_kg_m3,
    vapour_pressure_abs_pa,
)

_AIR_PA = 101325.0


@pytest.mark.parametrize("celsius", [15.0, -20.0])
def test_oxygen_content(celsius: float) -> None:
    temperature = celsius + 273.15
    density = PropsSI("D", "P", 200e5 + _AIR_PA, "T", temperature, "Oxygen")
    ours = oxygen_mass_kg(0.050, 200e5, _AIR_PA, temperature, OXYGEN)
    assert ours == pytest.approx(0.050 * density, rel=0.0035)  # the stated accuracy of the fit


def _real_flux(fluid: str, gauge: float, temperature: float) -> float:
    """Largest mass flux on the isentrope between the bore and the open air. [kg/(m2 s)]"""
    p0 = gauge + _AIR_PA
    entropy = PropsSI("S", "P", p0, "T", temperature, fluid)
    enthalpy = PropsSI("H", "P", p0, "T", temperature, fluid)

    def flux(pressure: float) -> float:
        drop = enthalpy - PropsSI("H", "P", pressure, "S", entropy, fluid)
        density = PropsSI("D", "P", pressure, "S", entropy, fluid)
        return float(density * math.sqrt(max(0.0, 2.0 * drop)))

    best = minimize_scalar(
        lambda pressure: -flux(pressure), bounds=(_AIR_PA, p0 * 0.999), method="bounded"
    )
    return max(-float(best.fun), flux(_AIR_PA))


@pytest.mark.parametrize(
    ("name", "gauge", "celsius"),
    [
        ("oxygen", 2e5, 15.0),
        ("oxygen", 5e5, -20.0),
        ("oxygen", 10e5, 40.0),
        ("propane", 0.3e5, 15.0),
        ("propane", 1.5e5, 15.0),
        ("methane", 0.3e5, 15.0),
        ("methane", 1.5e5, 15.0),
        ("hydrogen", 0.5e5, 15.0),
    ],
)
def test_bore_flow(name: str, gauge: float, celsius: float) -> None:
    temperature = celsius + 273.15
    area = 0.25 * math.pi * 1e-6
    real = area * _real_flux(name.capitalize(), gauge, temperature)
    ours = bore_flow_kg_s(GASES[name], 1e-3, gauge, _AIR_PA, temperature)
    assert ours == pytest.approx(real, rel=0.007)  # the stated accuracy


@pytest.mark.parametrize(
    ("name", "gauge", "cubic_metres_h", "bore", "length"),
    [
        ("oxygen", 5e5, 6.0, 0.0063, 20.0),
        ("oxygen", 5e5, 10.0, 0.0063, 20.0),
        ("oxygen", 8e5, 25.0, 0.010, 40.0),
        ("propane", 0.5e5, 1.0, 0.0063, 20.0),
        ("propane", 1.5e5, 2.0, 0.0080, 40.0),
    ],
)
def test_hose_loss(
    name: str, gauge: float, cubic_metres_h: float, bore: float, length: float
) -> None:
    gas = GASES[name]
    flow = gas.mass_kg(cubic_metres_h / 3600.0)
    inlet = gauge + _AIR_PA
    reynolds = 4.0 * flow / (math.pi * bore * gas.viscosity_pa_s)
    # fluids documents the average density here, but its algebra needs the density at the inlet.
    density = PropsSI("D", "P", inlet, "T", 288.15, name.capitalize())
    outlet = fluids.isothermal_gas(
        rho=density,
        fd=fluids.friction_factor(Re=reynolds, eD=1e-5 / bore),
        P1=inlet,
        L=length,
        D=bore,
        m=flow,
    )
    ours = hose_outlet_gauge_pa(gas, gauge, _AIR_PA, flow, bore, length, 288.15)
    loss = inlet - outlet
    assert gauge - ours == pytest.approx(loss, rel=0.06, abs=300.0)


@pytest.mark.parametrize("reynolds", [500.0, 2000.0, 4000.0, 2e4, 1e5, 1e6])
@pytest.mark.parametrize("roughness", [0.0, 1e-3, 1e-2])
def test_friction_factor(reynolds: float, roughness: float) -> None:
    colebrook = fluids.friction_factor(Re=reynolds, eD=roughness)
    assert friction_factor(reynolds, roughness) == pytest.approx(colebrook, rel=0.02)


_TAILS = [0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0]


@pytest.mark.parametrize("ratio", _TAILS)
def test_hose_tail(ratio: float) -> None:
    contraction = fluids.contraction_sharp(Di1=1.0, Di2=ratio, method="Crane")
    expansion = fluids.diffuser_sharp(Di1=ratio, Di2=1.0)
    on_hose = fluids.change_K_basis(K1=contraction + expansion, D1=ratio, D2=1.0)
    assert hose_tail_loss_coefficient(ratio) == pytest.approx(on_hose, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("ratio", _TAILS)
def test_hose_tail_with_another_contraction(ratio: float) -> None:
    # Rennels' contraction, the default of fluids: what the docstring says of the difference.
    contraction = fluids.contraction_sharp(Di1=1.0, Di2=ratio, method="Rennels")
    expansion = fluids.diffuser_sharp(Di1=ratio, Di2=1.0)
    on_hose = fluids.change_K_basis(K1=contraction + expansion, D1=ratio, D2=1.0)
    ours = hose_tail_loss_coefficient(ratio)
    if ratio < 0.9:
        assert ours <= on_hose <= 1.19 * ours
    else:
        assert on_hose == pytest.approx(ours, abs=0.02)


@pytest.mark.parametrize("share", [step / 16 for step in range(17)])
@pytest.mark.parametrize(
    ("liquid", "fluid", "lowest", "stated"),
    [
        ("propane", "Propane", -30.0, 0.0017),
        ("propylene", "Propylene", -30.0, 0.0019),
        ("n-butane", "n-Butane", -30.0, 0.0007),
        ("propyne", "Propyne", 0.0, 0.003),
    ],
)
def test_vapour_pressure(
    liquid: Liquid, fluid: str, lowest: float, stated: float, share: float
) -> None:
    temperature = lowest + share * (50.0 - lowest) + 273.15
    pressure = PropsSI("P", "T", temperature, "Q", 0, fluid)
    assert vapour_pressure_abs_pa(temperature, liquid) == pytest.approx(pressure, rel=stated)


def test_propyne_begins_where_the_equation_of_state_does() -> None:
    assert PropsSI("Tmin", "Propyne") == pytest.approx(273.15, abs=0.2)
    with pytest.raises(ValueError, match=r"^temperature_k=.*accepted is 273.15 to 323.15 K"):
        vapour_pressure_abs_pa(272.0, "propyne")


@pytest.mark.parametrize(
    ("celsius", "least", "most"),
    [
        (0, 0.030, 0.032),
        (10, 0.015, 0.017),
        (20, 0.0, 0.01),
        (25, 0.0, 0.01),
        (30, -0.01, 0.0),
        (40, -0.01, 0.0),
        (50, -0.01, 0.0),
    ],
)
def test_propyne_beside_the_wagner_equation(celsius: int, least: float, most: float) -> None:
    # McGarry's constants as chemicals holds them: what the docstring says of the difference.
    row = Psat_data_WagnerMcGarry.loc["74-99-7"]
    temperature = celsius + 273.15
    constants = (float(row[name]) for name in ("Tc", "Pc", "A", "B", "C", "D"))
    published = Wagner_original(temperature, *constants)
    difference = vapour_pressure_abs_pa(temperature, "propyne") / published - 1.0
    assert least <= difference <= most


@pytest.mark.parametrize("celsius", [-40, -25, -10, 0, 15, 30, 50])
def test_propane_liquid(celsius: int) -> None:
    temperature = celsius + 273.15
    vapour, liquid = (PropsSI("H", "T", temperature, "Q", q, "Propane") for q in (1, 0))
    assert latent_heat_j_kg(temperature) == pytest.approx(vapour - liquid, rel=0.001)
    density = PropsSI("D", "T", temperature, "Q", 0, "Propane")
    assert liquid_density_kg_m3(temperature) == pytest.approx(density, rel=0.0005)


@pytest.mark.parametrize("name", sorted(set(GASES) - {"acetylene"}))
def test_gas_values(name: str) -> None:
    values = GASES[name]
    fluid = values.name.capitalize()
    density = PropsSI("D", "P", 1e5, "T", 288.15, fluid)
    assert values.density_reference_kg_m3 == pytest.approx(density, rel=1e-5)
    assert values.molar_mass_kg_mol == pytest.approx(PropsSI("M", fluid), rel=1e-4)
    ideal = PropsSI("CP0MASS", "P", 1e5, "T", 288.15, fluid)
    ratio = ideal / (ideal - values.specific_gas_constant_j_kg_k)
    assert values.heat_capacity_ratio == pytest.approx(ratio, rel=1e-4)


def test_acetylene_density() -> None:
    # Critical point and acentric factor of acetylene as chemicals 1.5.2 holds them.
    number = "74-86-2"
    second = BVirial_Tsonopoulos(288.15, Tc(number), Pc(number), omega(number))
    z = 1.0 + second * 1e5 / (GAS_CONSTANT_J_MOL_K * 288.15)
    density = 1e5 * ACETYLENE.molar_mass_kg_mol / (z * GAS_CONSTANT_J_MOL_K * 288.15)
    assert ACETYLENE.density_reference_kg_m3 == pytest.approx(density, rel=1e-4)


def test_oxygen_of_the_oxides() -> None:
    iron, oxygen = MW("7439-89-6"), MW("7782-44-7")
    assert oxygen_demand_kg_m(1.0, "FeO") == pytest.approx(0.5 * oxygen / iron, rel=1e-4)
    assert oxygen_demand_kg_m(1.0, "Fe3O4") == pytest.approx(2.0 / 3.0 * oxygen / iron, rel=1e-4)
    assert oxygen_demand_kg_m(1.0, "Fe2O3") == pytest.approx(0.75 * oxygen / iron, rel=1e-4)


@pytest.mark.parametrize("name", ["oxygen", "nitrogen", "propane"])
def test_leak(name: str) -> None:
    values = GASES[name]
    fluid, start, end = values.name.capitalize(), 2.5e5, 2.4e5
    one, two = (PropsSI("D", "P", p, "T", 293.15, fluid) for p in (start, end))
    ours = leak_rate_kg_s(values, 5e-4, start, 293.15, end, 293.15, 600.0)
    assert ours == pytest.approx(5e-4 * (one - two) / 600.0, rel=0.01)


def test_air() -> None:
    density = PropsSI("D", "P", 1e5, "T", 288.15, "Air")
    assert AIR.density_reference_kg_m3 == pytest.approx(density, rel=2e-5)
    assert AIR.molar_mass_kg_mol == pytest.approx(PropsSI("M", "Air"), rel=1e-4)
    ideal = PropsSI("CP0MASS", "P", 1e5, "T", 288.15, "Air")
    ratio = ideal / (ideal - AIR.specific_gas_constant_j_kg_k)
    assert AIR.heat_capacity_ratio == pytest.approx(ratio, rel=1e-4)
    viscosity = PropsSI("V", "P", 1e5, "T", 288.15, "Air")
    assert AIR.viscosity_pa_s == pytest.approx(viscosity, rel=1e-3)


@pytest.mark.parametrize("gauge", [0.0, 1e5, 5e5, 10e5])
def test_air_compressibility(gauge: float) -> None:
    real = PropsSI("Z", "P", gauge + _AIR_PA, "T", 288.15, "Air")
    assert linear_compressibility(AIR, gauge + _AIR_PA) == pytest.approx(real, rel=5e-4)
