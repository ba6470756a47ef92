"""The plan's own figures, not only the functions below it, against outside references."""

import json
from pathlib import Path

import pytest
from CoolProp.CoolProp import PropsSI

from jobs import SAMPLES
from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference

REFERENCE = load_reference()
VECTORS = json.loads((Path(__file__).parent / "vectors.json").read_text(encoding="utf-8"))
BURNT = [path for path in sorted(SAMPLES.glob("*.toml")) if "refused" not in path.stem]


def choked_kg_s(bore_m, pressure_abs_pa, temperature_k):
    """Real-gas choked flow: the greatest density times speed along an isentrope (CoolProp)."""
    entropy = PropsSI("S", "P", pressure_abs_pa, "T", temperature_k, "Oxygen")
    enthalpy = PropsSI("H", "P", pressure_abs_pa, "T", temperature_k, "Oxygen")
    best = 0.0
    for step in range(400):
        p = pressure_abs_pa * (0.45 + 0.15 * step / 400)
        h = PropsSI("H", "P", p, "S", entropy, "Oxygen")
        best = max(best, PropsSI("D", "P", p, "S", entropy, "Oxygen") * (2 * (enthalpy - h)) ** 0.5)
    return best * 3.141592653589793 / 4 * bore_m**2


@pytest.mark.parametrize("path", BURNT, ids=lambda path: path.stem)
def test_oxygen_flow_of_the_samples_is_that_of_the_bore(path):
    job = load_job(path)
    e = make_plan(job, REFERENCE).estimates
    # 0.7 %: the tolerance of the published bore vectors (topic 1).
    expected = e["setting.discharge_coefficient"].value_si * choked_kg_s(
        e["nozzle.bore"].value_si,
        e["setting.cutting_oxygen_pressure"].value_si + job.site.air_abs_pa,
        job.site.temperature.si,
    )
    assert e["setting.cutting_oxygen_flow"].value_si == pytest.approx(expected, rel=0.007)


@pytest.mark.parametrize("path", BURNT, ids=lambda path: path.stem)
def test_oxygen_on_hand_is_that_of_the_real_gas(path):
    job = load_job(path)
    available = make_plan(job, REFERENCE).estimates["supply.oxygen_available"]
    expected = 0.0
    for cylinder in job.oxygen.cylinders:
        temperature = (cylinder.temperature or job.site.temperature).si

        def density(gauge_pa, at=temperature):
            pressure = gauge_pa + job.site.air_abs_pa
            return PropsSI("D", "P", pressure, "T", at, "Oxygen")

        usable = density(cylinder.gauge.si) - density(job.oxygen.reserve.si)
        expected += cylinder.count * cylinder.coupled * cylinder.capacity.si * usable
    if job.oxygen.comes_from_main:  # a tank's content is stated
        assert job.oxygen.outlet.content is not None
        expected = job.oxygen.outlet.content.si * 1.33664  # CoolProp 8.0.0, 15 °C and 1 bar
    # 0.5 %: the tolerance of the published cylinder vectors (topic 2).
    assert available.value_si == pytest.approx(expected, rel=0.005)


def test_the_vectors_are_all_there():
    topics = {vector["topic"] for vector in VECTORS["vectors"]}
    assert {1, 2, 3, 4, 5, 6} <= topics
    assert len(VECTORS["vectors"]) == 617
