"""What a second process is worth to a pack, and what more sheets cost in memory."""

import subprocess
import sys
import time

from jobs import SAMPLES
from kerfdocket.job import load_job
from kerfdocket.sheet.pack import write_pack

SAMPLE = SAMPLES / "base-plates-12mm.toml"
SHEETS = 100

_PEAK = """
import sys
from pathlib import Path
from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import pack, sheet_pdf

jobs = [load_job(Path(name)) for name in sys.argv[3:]]
ready = {job.about.number: sheet_pdf(make_plan(job, load_reference())) for job in jobs}
pack.sheet_pdf = lambda plan: ready[plan.job.about.number]
given = [jobs[index % len(jobs)] for index in range(int(sys.argv[1]))]
pack.write_pack(given, Path(sys.argv[2]))
# Not getrusage: to that the peak of whoever started this process counts, too.
print(Path("/proc/self/status").read_text().partition("VmHWM:")[2].split()[0])
"""


def test_two_processes_against_one(benchmark, lines, tmp_path):
    jobs = [load_job(SAMPLE)] * SHEETS

    def taken_s(workers):
        start = time.perf_counter()
        write_pack(jobs, tmp_path / f"{workers}.pdf", workers=workers)
        return time.perf_counter() - start

    one = taken_s(1)
    two = benchmark.pedantic(taken_s, args=(2,))
    assert (tmp_path / "1.pdf").read_bytes() == (tmp_path / "2.pdf").read_bytes()
    benchmark.extra_info["ratio"] = one / two
    lines.append(
        f"pack of {SHEETS} sheets, one process against two: {one:.1f} s against {two:.1f} s, "
        f"ratio {one / two:.2f} (aim over 1.60)"
    )


def test_ten_times_the_sheets(benchmark, lines, tmp_path):
    names = [str(SAMPLE), str(SAMPLES / "winter-yard-30mm.toml")]

    def peak_mb(count):
        done = subprocess.run(
            [sys.executable, "-c", _PEAK, str(count), str(tmp_path / "pack.pdf"), *names],
            capture_output=True,
            text=True,
            check=True,
        )
        return int(done.stdout) * 1024 / 1e6

    few = peak_mb(30)
    many = benchmark.pedantic(peak_mb, args=(300,))
    benchmark.extra_info["ratio"] = many / few
    lines.append(
        f"peak memory of 300 sheets in a pack against 30, each laid out once and then bound many "
        f"times: {many:.0f} MB against {few:.0f} MB, ratio {many / few:.2f} (aim under 1.50)"
    )
