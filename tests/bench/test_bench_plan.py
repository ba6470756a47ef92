"""How long a plan takes, against reading its file."""

from jobs import SAMPLES
from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference

SAMPLE = SAMPLES / "base-plates-12mm.toml"


def test_plan_against_reading_its_job_file(benchmark, ratio):
    reference, job = load_reference(), load_job(SAMPLE)
    ratio(
        benchmark,
        "plan against reading its job file",
        ours=lambda: make_plan(job, reference),
        bare=lambda: load_job(SAMPLE),
        rounds=100,
        aim="for information",
    )
