"""Grades, plate tolerances and the limits of ISO 9013."""

import pytest

from kerfdocket.reference import load_reference

REFERENCE = load_reference()


# EN 10025-2:2004, Table 2 (copy of BS EN): highest carbon by thickness.
@pytest.mark.parametrize(
    ("grade", "thickness", "carbon"),
    [
        ("S235JR", 16, 0.17),
        ("S235JR", 40, 0.17),
        ("S235JR", 41, 0.20),
        ("S275JR", 60, 0.22),
        ("S355JR", 12, 0.24),
        ("S355J2", 40, 0.20),
        ("S355J2", 60, 0.22),
    ],
)
def test_carbon_by_thickness(grade, thickness, carbon):
    found = REFERENCE.grade(grade, thickness / 1e3)
    assert found.maximum_percent["carbon"] == carbon
    assert found.composition_trust == "published"


# EN 10025-2:2004, highest CEV, read second-hand.
@pytest.mark.parametrize(
    ("grade", "thickness", "cev"),
    [("S355J2", 30, 0.45), ("S355J2", 31, 0.47), ("S355J2", 200, 0.49), ("S275JR", 150, 0.42)],
)
def test_cev_by_thickness(grade, thickness, cev):
    found = REFERENCE.grade(grade, thickness / 1e3)
    assert found.cev_max_percent == cev
    assert found.cev_trust == "published, second-hand"


def test_cev_ends_with_its_table():
    found = REFERENCE.grade("S355J2", 0.260)
    assert found.cev_max_percent is None
    assert "ends below 260 mm" in found.note


# ASTM A36/A36M, second-hand: highest carbon by thickness in inches.
@pytest.mark.parametrize(
    ("inches", "carbon", "manganese"),
    [(0.75, 0.25, None), (1.5, 0.25, 1.20), (2.5, 0.26, 1.20), (4, 0.27, 1.20), (5, 0.29, 1.20)],
)
def test_inch_grades(inches, carbon, manganese):
    found = REFERENCE.grade("A36", inches * 0.0254)
    assert found.maximum_percent["carbon"] == carbon
    assert found.maximum_percent.get("manganese") == manganese


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("s355j2", "S355J2"),
        (" S355 J2 + N ", "S355J2"),
        ("S355J2+N", "S355J2"),
        ("1.0503", "C45"),
        ("c 45", "C45"),
        ("astm a572 grade 50", "A572 Gr 50"),
        ("A516-70", "A516 Gr 70"),
        ("S355", "S355JR"),
    ],
)
def test_names(text, name):
    assert REFERENCE.grade(text, 0.02).name == name


@pytest.mark.parametrize("text", ["", "S999", "unobtainium", "S355J2X"])
def test_unknown_grade_is_none(text):
    assert REFERENCE.grade(text, 0.02) is None


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("1.4301", "stainless"),
        ("304", "stainless"),
        ("AISI 316L", "stainless"),
        ("Stainless Steel", "stainless"),
        ("cast iron", "cast iron"),
        ("EN-GJL-250", "cast iron"),
        ("aluminium", "non-ferrous"),
        ("copper", "non-ferrous"),
    ],
)
def test_what_cannot_be_cut_says_why(text, family):
    found = REFERENCE.grade(text, 0.02)
    assert not found.cuttable
    assert found.family == family
    assert len(found.reason) > 40
    assert found.trust == "from memory"
    assert found.maximum_percent == {}
    assert found.composition is None


def test_what_can_be_cut_has_a_composition_and_no_reason():
    for name in REFERENCE.grade_names():
        found = REFERENCE.grade(name, 0.02)
        assert found.cuttable == (found.composition is not None)
        assert found.cuttable == (found.reason == "")


def test_composition_goes_to_the_formulas():
    # EN ISO 683-1 C45, second-hand: C 0.42-0.50, Mn 0.50-0.80, Cr, Ni 0.40, Mo 0.10.
    steel = REFERENCE.grade("C45", 0.06).composition
    assert (steel.carbon, steel.manganese, steel.chromium, steel.nickel) == (0.5, 0.8, 0.4, 0.4)


def test_grade_names_put_cuttable_ones_first():
    cuttable = [REFERENCE.grade(name, 0.02).cuttable for name in REFERENCE.grade_names()]
    assert cuttable == sorted(cuttable, reverse=True)


def test_limits():
    # Polish welding textbook, 11.2, p. 221.
    found = {(row.element, row.kind): row.limit_percent for row in REFERENCE.steels.limits}
    assert found["carbon", "no difficulty up to"] == 0.4
    assert found["chromium", "very hard above"] == 5
    assert found["manganese", "impossible above"] == 14


# EN 10029:2010 as recalled: class, nominal, lower, upper [mm].
@pytest.mark.parametrize(
    ("tolerance_class", "nominal", "lower", "upper"),
    [
        ("A", 3, -0.3, 0.7),
        ("A", 12, -0.5, 0.9),
        ("B", 15, -0.3, 1.3),
        ("C", 25, 0.0, 2.0),
        ("D", 100, -1.6, 1.6),
        ("A", 400, -1.3, 3.5),
    ],
)
def test_thickness_tolerance(tolerance_class, nominal, lower, upper):
    found = REFERENCE.thickness_tolerance(nominal / 1e3, tolerance_class)
    assert (found.lower_m * 1e3, found.upper_m * 1e3) == pytest.approx((lower, upper))
    assert found.trust == "from memory"


def test_thickness_tolerance_outside_its_table():
    assert REFERENCE.thickness_tolerance(0.0029, "A") is None
    assert REFERENCE.thickness_tolerance(0.401, "A") is None
    with pytest.raises(ValueError, match="tolerance_class='E'"):
        REFERENCE.thickness_tolerance(0.01, "E")


# ISO 9013 as recalled: u [mm] at 10, 25, 50 and 100 mm, formula values printed beside it.
@pytest.mark.parametrize(
    ("quality_range", "values"),
    [
        (1, (0.08, 0.125, 0.20, 0.35)),
        (2, (0.22, 0.325, 0.50, 0.85)),
        (3, (0.50, 0.65, 0.90, 1.40)),
        (4, (1.00, 1.30, 1.80, 2.80)),
        (5, (1.55, 2.075, 2.95, 4.70)),
    ],
)
def test_perpendicularity(quality_range, values):
    for thickness, value in zip((10, 25, 50, 100), values, strict=True):
        found = REFERENCE.perpendicularity_limit_m(quality_range, thickness / 1e3)
        assert found.value * 1e3 == pytest.approx(value)
        assert found.trust == "from memory"


# ISO 9013 as recalled: Rz5 [µm] at 10, 25, 50 and 100 mm.
@pytest.mark.parametrize(
    ("quality_range", "values"),
    [
        (1, (16, 25, 40, 70)),
        (2, (48, 60, 80, 120)),
        (3, (82, 100, 130, 190)),
        (4, (128, 155, 200, 290)),
    ],
)
def test_roughness(quality_range, values):
    for thickness, value in zip((10, 25, 50, 100), values, strict=True):
        found = REFERENCE.roughness_limit_m(quality_range, thickness / 1e3)
        assert found.value * 1e6 == pytest.approx(value)


# ISO 9013, limit deviations (second-hand; class 2 over 20 mm from memory): class, a, dimension, ±.
@pytest.mark.parametrize(
    ("tolerance_class", "thickness", "dimension", "value", "trust"),
    [
        (1, 1, 2.9, 0.075, "published, second-hand"),
        (1, 25, 1000, 1.10, "published, second-hand"),
        (2, 12, 500, 2.3, "published, second-hand"),
        (2, 20, 125, 1.9, "published, second-hand"),
        (2, 20.1, 125, 1.9, "from memory"),
        (2, 50, 2000, 4.2, "from memory"),
        (2, 120, 35, 3.3, "from memory"),
        (2, 300, 7999, 8.6, "from memory"),
    ],
)
def test_size_deviation(tolerance_class, thickness, dimension, value, trust):
    found = REFERENCE.size_deviation_m(tolerance_class, thickness / 1e3, dimension / 1e3)
    assert found.value * 1e3 == pytest.approx(value)
    assert found.trust == trust


def test_size_deviation_where_the_standard_gives_none():
    assert REFERENCE.size_deviation_m(2, 0.012, 0.002) is None
    assert REFERENCE.size_deviation_m(2, 0.001, 5.0) is None
    assert REFERENCE.size_deviation_m(2, 0.012, 8.0) is None
    assert REFERENCE.size_deviation_m(2, 0.301, 1.0) is None


def test_quality_outside_its_scope():
    # ISO 9013:2017, scope: flame cuts 3 to 300 mm.
    for thickness in (0.0029, 0.301):
        assert REFERENCE.perpendicularity_limit_m(4, thickness) is None
        assert REFERENCE.roughness_limit_m(4, thickness) is None
    with pytest.raises(ValueError, match="quality_range=6"):
        REFERENCE.perpendicularity_limit_m(6, 0.01)
    with pytest.raises(ValueError, match="quality_range=5"):
        REFERENCE.roughness_limit_m(5, 0.01)
    with pytest.raises(ValueError, match="tolerance_class=3"):
        REFERENCE.size_deviation_m(3, 0.01, 1.0)


@pytest.mark.parametrize(
    ("thickness", "inset"), [(3, 0.1), (12, 1), (40, 1.5), (100, 2), (300, 10)]
)
def test_measuring_inset(thickness, inset):
    # ISO 9013 as recalled.
    assert REFERENCE.measuring_inset_m(thickness / 1e3).value * 1e3 == pytest.approx(inset)
