"""Bores and pressures against the printed tables, and the boundaries that had to be decided."""

import pytest

from kerfdocket.reference import load_reference

REFERENCE = load_reference()
KGF_CM2 = 98_066.5  # Pa, exact


def system(mixing="nozzle", fuel="acetylene"):
    found = REFERENCE.nozzle_system(mixing, fuel)
    assert found is not None
    return found


def chosen(thickness_mm, mixing="nozzle", fuel="acetylene"):
    nozzle = REFERENCE.nozzle_for(system(mixing, fuel), thickness_mm / 1e3)
    return None if nozzle is None else nozzle.key


# National Instructional Media Institute (Government of India), CITS Welder Trade Practical,
# Exercise 04, Table 1, p. 24: bore [mm], thickness [mm], cutting oxygen [kgf/cm2].
PRINTED = [
    (0.8, 3, 6, 1.0, 1.4),
    (1.2, 6, 19, 1.4, 2.1),
    (1.6, 19, 100, 2.1, 4.2),
    (2.0, 100, 150, 4.2, 4.6),
    (2.4, 150, 200, 4.6, 4.9),
    (2.8, 200, 250, 4.9, 5.5),
    (3.2, 250, 300, 5.5, 5.6),
]


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row[0]} mm")
def test_printed_row(row):
    bore, thin, thick, low, high = row
    nozzle = REFERENCE.nozzle(f"A-N-{bore:.1f}")
    assert nozzle.bore_m == pytest.approx(bore / 1e3)
    for thickness, at in ((thin, low), (thick, high)):
        ends = nozzle.cutting_oxygen_gauge_pa(thickness / 1e3)
        assert ends == pytest.approx((low * KGF_CM2, at * KGF_CM2, high * KGF_CM2))
    assert nozzle.trust == "published"
    assert "National Instructional Media Institute" in nozzle.source


@pytest.mark.parametrize(
    ("thickness_mm", "key"),
    [
        (2.9, None),
        (3, "A-N-0.8"),
        (6, "A-N-0.8"),  # the source's own exercise, and Carvill 5.11.5
        (6.001, "A-N-1.2"),
        (10, "A-N-1.2"),  # worked example, p. 28
        (18.999, "A-N-1.2"),
        (19, "A-N-1.6"),
        (99.999, "A-N-1.6"),
        (100, "A-N-2.0"),
        (150, "A-N-2.0"),
        (200, "A-N-2.4"),
        (250, "A-N-2.8"),
        (300, "A-N-3.2"),
        (300.1, None),
        (400, None),
    ],
)
def test_boundaries(thickness_mm, key):
    assert chosen(thickness_mm) == key


def test_every_thickness_has_exactly_one_nozzle():
    nozzles = REFERENCE.nozzles(system())
    for tenth in range(30, 3001):
        covering = [nozzle.key for nozzle in nozzles if nozzle.covers(tenth / 1e4)]
        assert len(covering) == 1, f"{tenth / 10} mm: {covering}"


def test_worked_example_10_mm():
    # Same book, p. 28: 10 mm plate, 1.2 mm bore, 1.6 kgf/cm2 (1.57 bar) oxygen, printed to 0.1.
    low, value, high = REFERENCE.nozzle("A-N-1.2").cutting_oxygen_gauge_pa(0.010)
    assert value / KGF_CM2 == pytest.approx(1.6, abs=0.05)
    assert value == pytest.approx(1.57e5, abs=0.05 * KGF_CM2)
    assert low < value < high


def test_exercise_6_mm():
    # Same book, another exercise: 6 mm, 0.8 mm bore, 1.4 kgf/cm2 (1.37 bar).
    nozzle = REFERENCE.nozzle_for(system(), 0.006)
    assert nozzle.key == "A-N-0.8"
    assert nozzle.cutting_oxygen_gauge_pa(0.006)[1] == pytest.approx(1.37e5, abs=500.0)


def test_pressure_outside_the_row_is_refused():
    with pytest.raises(ValueError, match="thickness_m"):
        REFERENCE.nozzle("A-N-1.2").cutting_oxygen_gauge_pa(0.025)


@pytest.mark.parametrize(("fuel", "letter"), [("propane", "P"), ("natural gas", "M")])
def test_other_fuels_use_the_bores_without_a_published_claim(fuel, letter):
    for mixing, kind in (("nozzle", "N"), ("torch", "T")):
        assert chosen(40, mixing, fuel) == f"{letter}-{kind}-1.6"
        assert REFERENCE.nozzle(f"{letter}-{kind}-1.6").trust == "from memory"


@pytest.mark.parametrize("fuel", ["propane", "natural gas"])
def test_no_injector_without_a_source(fuel):
    assert REFERENCE.nozzle_system("injector", fuel) is None
    assert REFERENCE.fuel_pressure(fuel, "injector") is None


def test_unknown_nozzle_is_none():
    assert REFERENCE.nozzle("A-N-9.9") is None


def test_keys_are_unique():
    keys = [
        nozzle.key for row in REFERENCE.nozzle_tables.systems for nozzle in REFERENCE.nozzles(row)
    ]
    assert len(set(keys)) == len(keys) == 6 * 7 + 10


# JB/T 6970 and GB 5110 as recalled: torch class, bore [mm], oxygen [MPa], oxygen [m3/h].
@pytest.mark.parametrize(
    ("key", "torch", "mpa", "oxygen"),
    [
        ("A-I-0.7", 30, 0.2, (0.8, 0.8)),
        ("A-I-1.6", 100, 0.5, (5.5, 7.3)),
        ("A-I-3.0", 300, 1.0, (19.0, 26.0)),
    ],
)
def test_injector_rows(key, torch, mpa, oxygen):
    nozzle = REFERENCE.nozzle(key)
    assert nozzle.pressure_at == "regulator"
    assert nozzle.trust == "from memory"
    assert nozzle.torch_class_m == pytest.approx(torch / 1e3)
    assert nozzle.oxygen_gauge_pa == pytest.approx((mpa * 1e6, mpa * 1e6))
    # The table's m3 at 15 °C and 1.013 bar is 1.01325 m3 at 15 °C and 1 bar.
    assert nozzle.oxygen_flow_m3_s == pytest.approx(tuple(q * 1.01325 / 3600 for q in oxygen))


@pytest.mark.parametrize(
    ("thickness_mm", "key"),
    [
        (10, "A-I-0.9"),
        (20, "A-I-1.1"),
        (30, "A-I-1.1"),
        (30.1, "A-I-1.0"),
        (60, "A-I-1.6"),
        (100, "A-I-1.6"),
        (100.1, "A-I-1.8"),
        (300, "A-I-3.0"),
        (301, None),
    ],
)
def test_injector_takes_the_smallest_torch(thickness_mm, key):
    assert chosen(thickness_mm, "injector") == key


def test_acetylene_pressure():
    # Same book, p. 28: 0.15 kgf/cm2 = 0.147 bar; Carvill 5.11.5 prints 0.14 to 0.21 bar.
    pressure = REFERENCE.fuel_pressure("acetylene")
    assert pressure.value == pytest.approx(0.15 * KGF_CM2, rel=0.002)
    assert pressure.low < 0.14e5
    assert pressure.high == pytest.approx(0.21e5)
    assert pressure.trust == "published"
    assert REFERENCE.fuel_pressure("propane").trust == "common practice, no source"
