"""Benchmarks say how fast as a ratio, both sides measured turn by turn in one run."""

import gc
import statistics
import time
from collections.abc import Callable

import pytest

_RATIOS = pytest.StashKey[list[str]]()


@pytest.fixture
def lines(request) -> list[str]:
    """What is printed at the end, for what `ratio` does not measure."""
    return request.config.stash.setdefault(_RATIOS, [])


@pytest.fixture
def ratio(request) -> Callable[..., None]:
    """Measure `ours` against `bare`, taking turns, and print the ratio of the least times.

    Where the disk's answer is most of the time, the least is a stroke of luck: there the median.
    """

    def measure(
        benchmark,
        name: str,
        ours: Callable[[], object],
        bare: Callable[[], object],
        rounds: int,
        aim: str,
        is_median: bool = False,
    ) -> None:
        ours(), bare()  # what is loaded once is not measured
        # A full collection comes every few turns, and always to the same of the two: what one of
        # them left behind would be counted as the other's.
        gc.collect()
        gc.disable()
        request.addfinalizer(gc.enable)
        bare_times: list[float] = []

        def one_turn_of_the_other() -> None:
            start = time.perf_counter()
            bare()
            bare_times.append(time.perf_counter() - start)

        benchmark.pedantic(ours, setup=one_turn_of_the_other, rounds=rounds, iterations=1)
        own, other = benchmark.stats.stats.min, min(bare_times)  # least disturbed by others
        if is_median:
            own, other = benchmark.stats.stats.median, statistics.median(bare_times)
        benchmark.extra_info["ratio"] = own / other
        lines = request.config.stash.setdefault(_RATIOS, [])
        lines.append(
            f"{name}: {own * 1e3:.1f} ms against {other * 1e3:.1f} ms, "
            f"ratio {own / other:.2f} ({aim})"
        )

    return measure


def pytest_terminal_summary(terminalreporter, config):
    lines = config.stash.get(_RATIOS, [])
    if lines:
        terminalreporter.section("ratios")
        for line in lines:
            terminalreporter.line(line)
