"""Gases against the library that their numbers came from; supply and equipment limits."""

import pytest
from CoolProp.CoolProp import PropsSI

from kerfdocket.reference import load_reference

REFERENCE = load_reference()
IN_COOLPROP = [("oxygen", "Oxygen"), ("propane", "n-Propane"), ("natural gas", "Methane")]
STATE = ("T", 288.15, "P", 100_000.0)


@pytest.mark.parametrize(("name", "fluid"), IN_COOLPROP)
def test_density_against_coolprop(name, fluid):
    expected = PropsSI("D", *STATE, fluid)
    density = REFERENCE.gas(name).properties.density_reference_kg_m3
    assert density == pytest.approx(expected, rel=2e-6)


@pytest.mark.parametrize(("name", "fluid"), IN_COOLPROP)
def test_heat_capacity_ratio_against_coolprop(name, fluid):
    cp0 = PropsSI("CP0MOLAR", *STATE, fluid)
    expected = cp0 / (cp0 - 8.314462618)
    ratio = REFERENCE.gas(name).properties.heat_capacity_ratio
    assert ratio == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("name", "fluid"), IN_COOLPROP)
def test_molar_mass_against_coolprop(name, fluid):
    expected = PropsSI("M", fluid)
    assert REFERENCE.gas(name).properties.molar_mass_kg_mol == pytest.approx(expected, rel=2e-6)


@pytest.mark.parametrize(("name", "fluid"), IN_COOLPROP)
def test_recalled_viscosity_is_near_coolprop(name, fluid):
    expected = PropsSI("V", *STATE, fluid)
    assert REFERENCE.gas(name).properties.viscosity_pa_s == pytest.approx(expected, rel=0.04)


# ISO 10225 and ISO 3821 as recalled; thread hand from TC 9-237.
@pytest.mark.parametrize(
    ("name", "letter", "colour", "hand"),
    [
        ("oxygen", "O", "blue", "right"),
        ("acetylene", "A", "red", "left"),
        ("propane", "P", "orange", "left"),
        ("natural gas", "M", "orange", "left"),
    ],
)
def test_marks(name, letter, colour, hand):
    gas = REFERENCE.gas(name)
    assert (gas.letter, gas.hose_colour, gas.thread_hand) == (letter, colour, hand)
    assert gas.trust == "from memory"
    assert gas.properties_trust == "derived"


def test_heavier_than_air():
    # MIL-HDBK-1027/1B: propane 1.52; piping manual: acetylene 0.91, methane 0.55.
    assert REFERENCE.gas("propane").heavier_than_air is True
    assert REFERENCE.gas("acetylene").heavier_than_air is False
    assert REFERENCE.gas("natural gas").heavier_than_air is False
    assert REFERENCE.gas("oxygen").heavier_than_air is None


def test_explosive_range():
    # MIL-HDBK-1027/1B: propane 2.15 to 9.6 % in air.
    limits = REFERENCE.gas("propane").flammability
    assert (limits.lower_limit_percent, limits.upper_limit_percent) == (2.15, 9.6)
    assert limits.trust == "published"


@pytest.mark.parametrize("fuel", ["acetylene", "propane", "natural gas"])
def test_flame_ratios_follow_from_the_molecule(fuel):
    flame, gas = REFERENCE.flame(fuel), REFERENCE.gas(fuel).properties
    assert flame.neutral.value == gas.carbon / 2
    assert flame.stoichiometric.value == gas.carbon + gas.hydrogen / 4
    assert flame.neutral.value <= flame.workshop.low
    assert flame.workshop.high < flame.stoichiometric.value
    assert flame.trust == ("published" if fuel == "acetylene" else "from memory")


@pytest.mark.parametrize("fuel", ["acetylene", "propane", "natural gas"])
def test_kinds_of_flame_go_from_little_to_much_oxygen(fuel):
    flame = REFERENCE.flame(fuel)
    assert list(flame.kinds) == ["reducing", "neutral", "oxidising"]
    assert [kind.name for kind in flame.kinds.values()] == list(flame.kinds)
    assert flame.kinds["neutral"].ratio == flame.workshop
    assert flame.kinds["oxidising"].ratio.high <= flame.stoichiometric.value
    assert all(kind.look and kind.effect for kind in flame.kinds.values())


def test_acetylene_flames_are_those_of_the_ordnance_text():
    # US Army, OD0017, pp. 116-117: neutral 1.04 to 1.14, oxidising 1.7 to 1.15, reducing
    # 0.85 to 0.95; the value in the middle is ours.
    kinds = REFERENCE.flame("acetylene").kinds
    printed = {"reducing": (0.85, 0.95), "neutral": (1.04, 1.14), "oxidising": (1.15, 1.7)}
    for name, (low, high) in printed.items():
        ratio = kinds[name].ratio
        assert (ratio.low, ratio.high, ratio.trust) == (low, high, "published")
        assert ratio.value == pytest.approx((low + high) / 2)
        assert "OD0017" in ratio.source


def test_flame_temperature_is_kelvin():
    # Course text, second-hand: acetylene 3160 °C.
    assert REFERENCE.flame("acetylene").temperature.value == pytest.approx(3433.15)


@pytest.mark.parametrize("fuel", ["acetylene", "propane", "natural gas"])
def test_equilibrium_temperature_of_the_flames_in_use(fuel):
    flame = REFERENCE.flame(fuel)
    kinds = [flame.kinds[name].ratio for name in ("neutral", "oxidising")]
    ratios = [end for ratio in kinds for end in (ratio.low, ratio.value, ratio.high)]
    for ratio in (*ratios, flame.stoichiometric.value):
        figure = REFERENCE.flame_temperature(fuel, ratio)
        # Bracket: between the least and the greatest of cantera 3.2.0 over these flames.
        assert 2980 < figure.value < 3440
        assert figure.trust == "derived"
        assert "cantera 3.2.0" in figure.source
        assert figure.note.startswith("adiabatic, at equilibrium with dissociation")
        assert figure.note.endswith("without air: an upper bound")


def test_equilibrium_temperature_between_two_rows():
    # The rows: acetylene at 1.1 and at 1.2.
    left, right = (REFERENCE.flame_temperature("acetylene", ratio).value for ratio in (1.1, 1.2))
    quarter = REFERENCE.flame_temperature("acetylene", 1.125).value
    assert quarter == pytest.approx(left + (right - left) / 4)
    assert REFERENCE.flame_temperature("acetylene", 1.1 + 1e-12).value == pytest.approx(left)


@pytest.mark.parametrize(
    ("fuel", "ratio"),
    [
        ("acetylene", 0.99),
        ("acetylene", 2.51),
        ("propane", 1.49),
        ("propane", 5.01),
        ("natural gas", 0.49),
        ("natural gas", 2.01),
        ("propane", 0.0),
        ("propane", -1.0),
        ("propane", float("inf")),
        ("propane", float("nan")),
    ],
)
def test_no_equilibrium_temperature_outside_the_table(fuel, ratio):
    assert REFERENCE.flame_temperature(fuel, ratio) is None


def test_equilibrium_temperature_keeps_its_ends():
    for fuel, rows in REFERENCE.gases.equilibria.items():
        for row in (rows[0], rows[-1]):
            for ratio in (row.ratio * (1 - 1e-13), row.ratio, row.ratio * (1 + 1e-13)):
                figure = REFERENCE.flame_temperature(fuel, ratio)
                assert figure.value == pytest.approx(row.temperature_k, abs=1e-6)


def test_short_of_oxygen_the_equilibrium_temperature_is_no_upper_bound():
    # With cantera: air makes propane hotter at 2.65 and cools it at 2.8.
    for ratio in (1.5, 2.65, 2.7, 2.799):
        assert "no upper bound" in REFERENCE.flame_temperature("propane", ratio).note
    for ratio in (2.8, 2.9, 5.0):
        assert REFERENCE.flame_temperature("propane", ratio).note.endswith(": an upper bound")


def test_equilibrium_temperature_of_an_unknown_fuel_is_refused():
    with pytest.raises(ValueError, match=r"fuel='oxygen' must be one of .*'natural gas'"):
        REFERENCE.flame_temperature("oxygen", 1.0)


def test_hose_colours_by_region():
    # ISO 3821 as recalled; TC 9-237.
    europe = {gas: REFERENCE.hose_colour(gas, "Europe") for gas in REFERENCE.gases.gases}
    usa = {gas: REFERENCE.hose_colour(gas, "USA") for gas in REFERENCE.gases.gases}
    assert [europe[gas].text for gas in ("oxygen", "propane")] == ["blue", "orange"]
    assert [usa[gas].text for gas in ("oxygen", "propane")] == ["green", "red"]
    assert {colour.trust for colour in europe.values()} == {"from memory"}
    assert {colour.trust for colour in usa.values()} == {"published"}
    assert "TC 9-237" in usa["natural gas"].source
    with pytest.raises(ValueError, match="region='moon'"):
        REFERENCE.hose_colour("oxygen", "moon")
    with pytest.raises(ValueError, match="gas='air'"):
        REFERENCE.hose_colour("air", "Europe")


def test_unknown_gas_is_refused():
    with pytest.raises(ValueError, match="gas='air'"):
        REFERENCE.gas("air")
    with pytest.raises(ValueError, match="fuel='oxygen'"):
        REFERENCE.flame("oxygen")


def test_acetylene_limits():
    # 29 CFR 1910.253(a)(2): 15 psi gauge (103 kPa). EN and EIGA as recalled: 1.5 bar.
    usa = REFERENCE.acetylene_limit_gauge_pa("usa")
    assert usa.value == pytest.approx(103e3, rel=0.005)
    assert usa.trust == "published"
    europe = REFERENCE.acetylene_limit_gauge_pa()
    assert (europe.value, europe.trust) == (1.5e5, "from memory")
    # CGA G-1 as recalled: a fifteenth and a tenth of the contents in an hour.
    assert REFERENCE.acetylene_withdrawal_per_s().value * 3600 == pytest.approx(1 / 15)
    assert REFERENCE.acetylene_withdrawal_per_s("intermittent").value * 3600 == pytest.approx(0.1)
    with pytest.raises(ValueError, match="rule"):
        REFERENCE.acetylene_limit_gauge_pa("moon")


def test_acetylene_cylinder_pressure():
    # Training text, second-hand: 19 bar at 20 °C, 15.5 bar at 10 °C.
    assert REFERENCE.acetylene_cylinder_gauge_pa(293.15).value == pytest.approx(19e5)
    assert REFERENCE.acetylene_cylinder_gauge_pa(288.15).value == pytest.approx(17.25e5)
    assert REFERENCE.acetylene_cylinder_gauge_pa(262.15) is None
    assert REFERENCE.acetylene_cylinder_gauge_pa(324.15) is None


def test_hoses():
    # ISO 3821:2019, scope: 2 MPa, 1 MPa, acetylene not above 0.15 MPa.
    assert REFERENCE.hose_limit_gauge_pa("normal").value == 2e6
    assert REFERENCE.hose_limit_gauge_pa("light").value == 1e6
    assert REFERENCE.hose_limit_gauge_pa("acetylene").value == pytest.approx(1.5e5)
    assert 0.0063 in REFERENCE.hose_bores_m()
    with pytest.raises(ValueError, match="duty"):
        REFERENCE.hose_limit_gauge_pa("heavy")


def test_propane_cylinders():
    assert REFERENCE.propane_cylinder(11.0).diameter_m == 0.3
    assert REFERENCE.propane_cylinder(33.3).steel_mass_kg == 35
    assert REFERENCE.propane_cylinder(20.0) is None
    assert REFERENCE.propane_cylinder(11.0).trust == "common practice, no source"


def test_arrestor_letters():
    # ISO 5175-1:2017, scope.
    assert {row.letters for row in REFERENCE.equipment.arrestors} == {"NV", "FA", "TV", "PV"}
    # The plain words are ours.
    assert REFERENCE.arrestor_function("FA").name == "flame arrestor"
    assert "Shuts the gas off" in REFERENCE.arrestor_function("TV").meaning
    with pytest.raises(ValueError, match="letters='XX'"):
        REFERENCE.arrestor_function("XX")


@pytest.mark.parametrize(
    ("gas", "rated_class", "bar", "m3_h"),
    # ISO 2503, from memory.
    [("oxygen", "3", 10, 30), ("acetylene", "2", 1.5, 5), ("propane", "1", 4, 5)],
)
def test_regulator_classes(gas, rated_class, bar, m3_h):
    rated = REFERENCE.regulator_class(gas, rated_class)
    assert rated.outlet_gauge_pa == pytest.approx(bar * 1e5)
    assert rated.flow_m3_s * 3600 == pytest.approx(m3_h)
    assert rated.trust == "from memory"
    assert "ISO 2503" in rated.source


def test_an_unknown_regulator_class_has_no_rating():
    assert REFERENCE.regulator_class("acetylene", "0") is None
    assert REFERENCE.regulator_class("natural gas", "1") is None
    with pytest.raises(ValueError, match="gas='air'"):
        REFERENCE.regulator_class("air", "1")
