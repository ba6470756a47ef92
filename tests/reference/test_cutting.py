"""Speed, flow, kerf and start times against the printed tables and at their edges."""

import math

import pytest

from kerfdocket.reference import load_reference

REFERENCE = load_reference()
MODES = ("hand", "tractor", "machine")


# AWS Welding Handbook as recalled: thickness [mm], speed [mm/min], oxygen [m3/h], the last at
# 15 °C and 1.013 bar.
@pytest.mark.parametrize(
    ("thickness", "speed", "oxygen"),
    [
        (3.2, (406, 813), (0.42, 1.27)),
        (25.4, (229, 457), (3.11, 4.53)),
        (101.6, (102, 254), (6.80, 10.19)),
        (304.8, (51, 102), (20.39, 24.07)),
    ],
)
def test_printed_rows_come_back(thickness, speed, oxygen):
    found = REFERENCE.speed(thickness / 1e3, "hand")
    assert (found.low * 6e4, found.high * 6e4) == pytest.approx(speed)
    assert "American Welding Society" in found.source
    flow = REFERENCE.oxygen_flow_range(thickness / 1e3)
    # 1.354364 kg/m3: oxygen at 15 °C and 1.01325 bar, CoolProp 8.0.0 HEOS.
    assert flow.low * 3600 / 1.354364 == pytest.approx(oxygen[0], rel=1e-4)
    assert flow.high * 3600 / 1.354364 == pytest.approx(oxygen[1], rel=1e-4)
    assert flow.value == pytest.approx((flow.low + flow.high) / 2)
    assert flow.trust == "from memory"


# The same table at 1 in: m3/h; densities at 15 °C, 1.01325 bar from CoolProp 8.0.0 (acetylene:
# chemicals 1.5.2, Tsonopoulos).
@pytest.mark.parametrize(
    ("fuel", "flow", "density"),
    [
        ("acetylene", (0.20, 0.40), 1.10919),
        ("propane", (0.17, 0.51), 1.899231),
        ("natural gas", (0.51, 0.99), 0.679834),
    ],
)
def test_fuel_flow(fuel, flow, density):
    found = REFERENCE.fuel_flow(fuel, 0.0254)
    assert found.low * 3600 / density == pytest.approx(flow[0], rel=5e-4)
    assert found.high * 3600 / density == pytest.approx(flow[1], rel=5e-4)


def test_between_rows_it_is_linear_in_log_thickness():
    # by hand: half way in the logarithm between 25.4 and 38.1 mm
    middle = math.sqrt(25.4 * 38.1) / 1e3
    found = REFERENCE.speed(middle, "machine")
    assert found.low * 6e4 == pytest.approx((229 + 152) / 2, rel=1e-6)
    assert found.high * 6e4 == pytest.approx((457 + 356) / 2, rel=1e-6)


@pytest.mark.parametrize("mode", MODES)
def test_mode_places_the_value(mode):
    place = {"hand": 0.25, "tractor": 0.5, "machine": 0.75}[mode]
    found = REFERENCE.speed(0.012, mode)
    assert (found.value - found.low) / (found.high - found.low) == pytest.approx(place)
    assert found.trust == "common practice, no source"


def test_thin_plate_may_use_the_first_row_and_says_so():
    assert REFERENCE.speed(0.003, "hand").low == REFERENCE.speed(0.0032, "hand").low
    assert "stands for 3 mm" in REFERENCE.speed(0.003, "hand").note
    assert "stands for 3 mm" in REFERENCE.oxygen_flow_range(0.003).note


@pytest.mark.parametrize("thickness", [0.0029, 0.305, 0.4])
def test_outside_the_table_there_is_no_value_but_a_reason(thickness):
    assert REFERENCE.speed(thickness, "hand") is None
    assert REFERENCE.oxygen_flow_range(thickness) is None
    assert REFERENCE.fuel_flow("propane", thickness) is None
    for topic in ("speed", "oxygen_flow", "fuel_flow"):
        assert "no source" in REFERENCE.why_none(topic, thickness)


def test_unknown_words_are_refused():
    with pytest.raises(ValueError, match="mode='foot'"):
        REFERENCE.speed(0.01, "foot")
    with pytest.raises(ValueError, match="fuel='air'"):
        REFERENCE.fuel_flow("air", 0.01)
    with pytest.raises(ValueError, match="topic='colour'"):
        REFERENCE.why_none("colour", 0.01)


# Carvill, Mechanical Engineer's Data Handbook, 5.11.5: thickness, bore, oxygen, speed.
@pytest.mark.parametrize(
    ("thickness", "bore", "oxygen", "speed"),
    [(6, 0.8, 1.8, 430), (13, 1.2, 2.1, 360), (25, 1.6, 2.8, 280), (100, 2.0, 3.2, 150)],
)
def test_carvill(thickness, bore, oxygen, speed):
    row = next(row for row in REFERENCE.cutting.carvill if row.thickness_mm == thickness)
    assert (row.bore_mm, row.cutting_oxygen_bar, row.speed_mm_min) == (bore, oxygen, speed)
    assert row.trust == "published"


@pytest.mark.parametrize("row", REFERENCE.cutting.carvill, ids=lambda row: f"{row.thickness_mm} mm")
def test_published_speeds_lie_in_the_recalled_range(row):
    found = REFERENCE.speed(row.thickness_mm / 1e3, "hand")
    assert found.low <= row.speed_mm_min / 6e4 <= found.high


# German trade table books as recalled: thickness and kerf [mm].
@pytest.mark.parametrize(
    ("thickness", "low", "kerf", "high"),
    [
        (5, 0.8, 1.5, 1.8),
        (10, 0.8, 1.5, 1.8),
        (10.1, 1.5, 1.8, 2.0),
        (25, 1.5, 1.8, 2.0),
        (25.1, 1.8, 2.0, 3.2),
        (35, 1.8, 2.0, 3.2),
    ],
)
def test_kerf_in_the_table(thickness, low, kerf, high):
    found = REFERENCE.kerf(thickness / 1e3, 0.0008)
    millimetres = (found.low * 1e3, found.value * 1e3, found.high * 1e3)
    assert millimetres == pytest.approx((low, kerf, high))
    assert found.trust == "from memory"


def test_kerf_above_the_table_ends_at_the_published_bound():
    # Early 20th-century texts: at most 3.2 mm to 230 mm.
    assert REFERENCE.kerf(0.230, 0.002).value == pytest.approx(0.0032)
    found = REFERENCE.kerf(math.sqrt(35 * 230) / 1e3, 0.002)
    assert found.value == pytest.approx(0.0026, rel=1e-5)
    assert "unverified" in found.note
    assert REFERENCE.kerf(0.1, 0.0028).high == pytest.approx(1.5 * 0.0028)
    assert REFERENCE.kerf(0.231, 0.0028) is None
    assert "230" in REFERENCE.why_none("kerf", 0.231)


@pytest.mark.parametrize("bore", [0.0008, 0.0016, 0.0024, 0.0032])
@pytest.mark.parametrize("thickness", [0.003, 0.01, 0.025, 0.035, 0.0351, 0.1, 0.23])
def test_kerf_is_never_narrower_than_the_bore(thickness, bore):
    found = REFERENCE.kerf(thickness, bore)
    assert found.low <= found.value <= found.high
    assert found.value >= bore


def test_kerf_never_narrows_with_thickness():
    values = [REFERENCE.kerf(t / 1e3, 0.0012).value for t in range(3, 231)]
    assert values == sorted(values)


# Chinese welding textbook as recalled, edge start, oxy-acetylene: s.
@pytest.mark.parametrize(
    ("thickness", "low", "high"), [(20, 6, 7), (50, 9, 10), (200, 30, 35), (125, 20, 22.5)]
)
def test_start_time(thickness, low, high):
    found = REFERENCE.start_time(thickness / 1e3)
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.value == pytest.approx((low + high) / 2)


def test_start_time_ends():
    thin = REFERENCE.start_time(0.0199)
    assert (thin.low, thin.value, thin.high) == (0, 5, 7)
    assert thin.trust == "common practice, no source"
    assert REFERENCE.start_time(0.201) is None
    assert "200" in REFERENCE.why_none("start_time", 0.201)
    assert REFERENCE.start_time(0.0029) is None


def test_factors():
    # USSR norms ENiR E22-1-41: 1.07 (rail R50) to 1.20 (R65), mean 1.10.
    factor = REFERENCE.propane_time_factor
    assert (factor.low, factor.value, factor.high) == (1.07, 1.10, 1.20)
    pierce = REFERENCE.pierce_factor
    assert (pierce.low, pierce.value, pierce.high) == (1, 2, 3)
    assert pierce.trust == "common practice, no source"


def test_purity():
    # Course text after a welding handbook: -15 %; another: -25 % speed for 1 % less purity.
    slope = REFERENCE.purity_rule("speed for each percent less")
    assert (slope.value_low_percent, slope.value_high_percent) == (-25, -15)
    assert REFERENCE.purity_rule("wanted").value_percent == 99.5
    assert REFERENCE.purity_rule("not practical").value_percent == 98
    assert REFERENCE.purity_rule("stops").value_percent == 95
    with pytest.raises(ValueError, match="rule"):
        REFERENCE.purity_rule("none")
