"""Every table loads, keeps its shape, and a damaged one is refused."""

import csv
import shutil
from pathlib import Path
from typing import get_args

import pytest

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.reference import TableError, Trust, load_reference
from kerfdocket.reference.table import _NO_PUBLICATION, Range, Tables, to_mm, weakest
from kerfdocket.resources import data_dir

TABLES = sorted(
    str(path.relative_to(data_dir("tables")).with_suffix(""))
    for path in data_dir("tables").glob("*/*.csv")
)

# Rows, one column and its sum: a slip of the finger in a table shows here.
TRIPWIRES = [
    ("gases/gases", 4, "density_kg_m3", 4.976084),
    ("gases/viscosity", 4, "viscosity_pa_s", 4.89e-5),
    ("gases/flammability", 3, "upper_limit_percent", 105.6),
    ("gases/flames", 3, "stoichiometric_ratio", 9.5),
    ("gases/flame_kinds", 9, "ratio_value", 20.065),
    ("gases/flame_equilibrium", 107, "ratio", 207.62),
    ("gases/flame_equilibrium", 107, "temperature_k", 300643.0),
    ("gases/flame_temperatures", 3, "temperature_c", 8570.0),
    ("nozzles/cutting_bores", 7, "cutting_oxygen_high_kgf_cm2", 28.3),
    ("nozzles/injector_acetylene", 10, "oxygen_high_m3_h", 87.4),
    ("nozzles/fuel_pressures", 7, "pressure_value_bar", 1.441),
    ("cutting/speed_and_flow", 15, "oxygen_low_m3_h", 93.72),
    ("cutting/carvill", 6, "speed_mm_min", 1620.0),
    ("cutting/kerf", 9, "kerf_mm", 15.7),
    ("cutting/start_times", 5, "time_high_s", 97.0),
    ("cutting/purity", 5, "value_percent", 297.5),
    ("cutting/mode", 3, "place_in_range", 1.5),
    ("steels/compositions", 39, "carbon_percent", 9.72),
    ("steels/carbon_equivalents", 22, "cev_percent", 11.32),
    ("steels/limits", 12, "limit_percent", 56.25),
    ("steels/hardness_limits", 3, "hardness_max_hv10", 1280.0),
    ("plates/thickness_tolerance", 36, "upper_mm", 65.2),
    ("quality/perpendicularity", 5, "slope_mm_per_mm", 0.075),
    ("quality/roughness", 4, "constant_um", 230.0),
    ("quality/measuring_inset", 10, "inset_mm", 31.5),
    ("quality/limit_deviations", 26, "from_1000_below_2000_mm", 65.1),
    ("equipment/regulator_classes", 10, "outlet_bar", 62.3),
    ("equipment/regulator_classes", 10, "flow_m3_h", 153.5),
    ("hoses/bores", 8, "bore_mm", 81.8),
    ("hoses/duty", 3, "pressure_max_mpa", 3.15),
    ("supply/acetylene_pressure", 7, "pressure_bar", 145.5),
    ("supply/propane_cylinders", 2, "steel_mass_kg", 47.0),
    ("supply/propane_withdrawal", 3, "continuous_kg_h", 1.1),
    ("protection/filter_shades", 9, "shade_low", 42.0),
]


@pytest.fixture
def copied(tmp_path):
    """Return a copy of the tables that a test may damage."""
    folder = tmp_path / "tables"
    shutil.copytree(data_dir("tables"), folder)
    return folder


def rows_of(name: str) -> list[dict[str, str]]:
    with (data_dir("tables") / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def replace(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1, f"{old!r} is not in {path.name}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_what_stands_for_a_publication_can_be_said():
    titles = {load_reference().sources[key].citation for key in ("derived", "common-practice")}
    titles.add(load_reference().sources["memory"].citation)
    assert titles == set(_NO_PUBLICATION)


def test_every_table_in_the_folder_is_read():
    assert sorted(table.name for table in load_reference().tables) == TABLES


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_source_and_trust(name):
    for row in rows_of(name):
        assert row["source"]
        assert row["trust"] in get_args(Trust)


def test_every_source_is_used():
    used = {
        key.strip() for name in TABLES for row in rows_of(name) for key in row["source"].split(";")
    }
    assert used == set(load_reference().sources)


@pytest.mark.parametrize("name", TABLES)
def test_only_sourceless_keys_stand_with_common_practice(name):
    for row in rows_of(name):
        if row["source"] == "common-practice":
            assert row["trust"] == "common practice, no source"
        if row["source"] == "memory":
            assert row["trust"] == "from memory"


@pytest.mark.parametrize(("name", "count", "column", "total"), TRIPWIRES, ids=lambda v: str(v))
def test_table_keeps_its_shape(name, count, column, total):
    rows = rows_of(name)
    assert len(rows) == count
    assert sum(float(row[column]) for row in rows if row[column]) == pytest.approx(total, rel=1e-9)


@pytest.mark.parametrize("name", TABLES)
def test_axis_rises_within_its_group(name):
    description = next(t.description for t in load_reference().tables if t.name == name)
    if description.axis is None:
        assert description.axis_within == ()
        return
    groups: dict[tuple[str, ...], list[float]] = {}
    for row in rows_of(name):
        group = tuple(row[column] for column in description.axis_within)
        groups.setdefault(group, []).append(float(row[description.axis]))
    for values in groups.values():
        assert values == sorted(set(values))


def test_loading_twice_gives_the_same_object():
    assert load_reference() is load_reference()


def test_a_whole_copy_loads(copied):
    assert len(load_reference(copied).tables) == len(TABLES)


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        ("cutting/carvill.csv", "bore_mm", "bore_cm", "unknown column"),
        ("cutting/carvill.csv", "bore_mm", "thickness_mm", "appears twice"),
        ("cutting/carvill.csv", "6,0.8", "6,0.8,9", "cells under"),
        ("cutting/carvill.csv", "13,1.2", "6,1.2", "twice"),
        ("cutting/carvill.csv", "13,1.2", "5,1.2", "must rise strictly"),
        ("cutting/carvill.csv", "carvill,published", "nobody,published", "not in sources.toml"),
        ("cutting/carvill.csv", "carvill,published", "carvill,certain", "trust"),
        ("cutting/carvill.csv", "13,1.2", "13,inf", "finite"),
        ("cutting/carvill.csv", "13,1.2", "13,wide", "number"),
        ("cutting/carvill.csv", "13,1.2", "13,", "required"),
        ("cutting/carvill.toml", "bore_mm =", "bore_x =", "differ"),
        ("cutting/carvill.toml", "title =", "titel =", "title"),
        ("cutting/carvill.toml", "title =", "title", "line 1"),
        ("cutting/speed_and_flow.csv", "0.42,1.27", "1.42,1.27", "must rise"),
        ("cutting/start_times_thin.csv", "3,20,", "3,18,", "must end where"),
        ("nozzles/cutting_bores.csv", "1.2,6,19", "1.2,7,19", "gap or overlap"),
        ("nozzles/systems.csv", "A-N", "A-X", "gas letter and mixing"),
        ("steels/grades.csv", "1.0044;S275;", "1.0038;S275;", "two grades"),
        ("steels/compositions.csv", "A992,", "A993,", "not in steels/grades"),
        ("steels/compositions.csv", "S235JR,40,", "S235JR,,,", "cells under"),
        ("gases/viscosity.csv", "propane", "propan", "missing"),
        ("gases/flame_kinds.csv", "acetylene,reducing", "acetylene,neutral", "twice"),
        ("gases/flame_kinds.csv", "propane,reducing", "propan,reducing", "must have reducing"),
        ("gases/flame_kinds.csv", "0.85,0.9,0.95", "0.85,0.9,1.05", "do not overlap"),
        ("gases/flame_kinds.csv", "0.85,0.9,0.95", "0.95,0.9,0.85", "must rise"),
        ("gases/flame_equilibrium.csv", "acetylene,1.05,", "acetylene,1.15,", "must rise strictly"),
        ("gases/flame_equilibrium.csv", "propane,5,", "propane,4.9,", "must go from the neutral"),
        ("gases/flame_equilibrium.csv", "acetylene,1,", "acetylen,1,", "must go from the neutral"),
        ("gases/flame_equilibrium.csv", ",cools,", ",cold,", "air"),
        ("equipment/regulator_classes.csv", "oxygen,1,4,", "oxygen,1,1,", "must rise strictly"),
        ("hazards/hazards.csv", "no-oil,always", "no-oil,sometimes", "must be among"),
        ("hazards/signs.csv", "W041,warning", "W041,mandatory", "must be of kind"),
        ("hazards/signs.csv", "W041,warning", "W41,warning", "pattern"),
        ("hazards/signs.csv", ",confined,,", ",,,", "must name a caution"),
        ("equipment/protective.csv", ",always,", ",often,", "must be among"),
        ("supply/acetylene_limits.csv", "pressure europe,1.5,,", "pressure europe,1.5,9,", "kind"),
        ("sources.toml", 'title = "derived"', 'titel = "derived"', "title"),
    ],
)
def test_a_damaged_table_is_refused(copied, name, old, new, message):
    replace(copied / name, old, new)
    with pytest.raises(TableError, match=message):
        load_reference(copied)


def test_a_missing_or_binary_table_is_refused(copied):
    (copied / "cutting/carvill.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TableError, match="cannot be read"):
        load_reference(copied)
    (copied / "cutting/carvill.csv").unlink()
    with pytest.raises(TableError, match="cannot be read"):
        load_reference(copied)


def test_an_empty_table_is_refused(copied):
    (copied / "cutting/carvill.csv").write_text("", encoding="utf-8")
    with pytest.raises(TableError, match="at least one row"):
        load_reference(copied)


def test_a_table_error_is_a_problem_of_the_installation(tmp_path):
    with pytest.raises(EnvironmentProblem):
        Tables(tmp_path)


def test_weakest_trust():
    assert weakest("published", "from memory", "derived") == "from memory"
    assert weakest("derived", "published, second-hand") == "derived"


def test_length_is_free_of_binary_rounding():
    assert to_mm(0.0063 * 10) == 63.0
    for bad in (0.0, -0.001, float("nan"), float("inf")):
        with pytest.raises(ValueError, match="length_m"):
            to_mm(bad)


def test_a_range_must_rise():
    with pytest.raises(ValueError, match="rising"):
        Range(2.0, 1.0, 3.0, "derived", "derived")
    with pytest.raises(ValueError, match="factor"):
        Range(1.0, 2.0, 3.0, "derived", "derived").scaled(0.0)
    assert Range(1.0, 2.0, 3.0, "derived", "derived").scaled(2.0).high == 6.0
