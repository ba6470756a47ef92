"""Many jobs' sheets in one PDF with a cover, made in several processes at once."""

import logging
import pickle
import re
import signal
import tempfile
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor, as_completed
from contextlib import closing
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path

from kerfdocket.errors import EnvironmentProblem, KerfdocketError
from kerfdocket.job import CARRIED_NAME, Job
from kerfdocket.language import Language, _, language_named, speaking
from kerfdocket.planning import make_plan
from kerfdocket.planning.pack import Pack, make_pack
from kerfdocket.processes import end_with_parent
from kerfdocket.reference import Reference, load_reference
from kerfdocket.sheet.binding import Binder, take_apart
from kerfdocket.sheet.cover import cover_pdf, pack_title
from kerfdocket.sheet.render import sheet_pdf
from kerfdocket.sheet.shop import Shop
from kerfdocket.storage import write_atomically

__all__ = ["MOST_WORKERS", "PackResult", "Progress", "write_pack"]

MOST_WORKERS = 61  # of a process pool, on Windows
_PLAN_NAME = "plan.json"  # as a sheet carries it
_NO_NAME = re.compile(r"[^A-Za-z0-9._-]+")
_LONGEST_NAME = 60

_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Progress:
    """How far a pack is.

    Attributes:
        done: sheets that are made, or could not be.
        of: sheets in all.
        index: of the job whose sheet was made last, as given.
    """

    done: int
    of: int
    index: int


@dataclass(frozen=True)
class PackResult:
    """What became of a pack.

    Attributes:
        pack: the jobs that are in it; None where no sheet could be made and nothing is written.
        failed: index of each job that no sheet could be made of, as given, and why.
    """

    pack: Pack | None
    failed: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class _Task:
    """A sheet to make, handed to another process."""

    index: int
    job: Job
    language: str
    names: dict[str, str]
    leaf: Path
    shop: Shop | None


def write_pack(
    jobs: Sequence[Job],
    path: Path,
    *,
    workers: int = 1,
    language: Language | None = None,
    shop: Shop | None = None,
    not_read: Sequence[str] = (),
    on_progress: Callable[[Progress], None] | None = None,
) -> PackResult:
    """Write a pack to `path`, wholly or not at all; the same bytes for the same jobs.

    Until the bound file is put in its place, what is held at once does not grow with the number of
    sheets: each waits in a temporary file until it is bound.

    Args:
        jobs: as given; the pack brings them into its own order.
        path: the PDF to write.
        workers: processes that make sheets at the same time; with 1 this one does.
        language: of cover and sheets; None leaves each sheet the job's own, the cover the first's.
        shop: what the shop adds to each sheet.
        not_read: names of job files that could not be read; the cover says that they are missing.
        on_progress: called for each sheet that is made; what it raises ends the work.

    Returns:
        What is in it, and of which jobs no sheet could be made.

    Raises:
        ValueError: there is no job.
        EnvironmentProblem: it cannot be written there, or a process ended unexpectedly.
    """
    if not jobs:
        raise ValueError("a pack needs at least one job")
    names = _file_names(jobs)
    failed: list[tuple[int, str]] = []
    leaves: dict[int, tuple[Path, int]] = {}
    with tempfile.TemporaryDirectory(prefix="kerfdocket-pack-") as folder:
        tasks = [
            _Task(
                index,
                job,
                (language or language_named(job.language)).code,
                {CARRIED_NAME: f"{name}.job.toml", _PLAN_NAME: f"{name}.{_PLAN_NAME}"},
                Path(folder) / f"{index}.leaf",
                shop,
            )
            for index, (job, name) in enumerate(zip(jobs, names, strict=True))
        ]
        with closing(_made(tasks, min(workers, len(tasks), MOST_WORKERS))) as all_made:
            for task, made in all_made:
                if isinstance(made, int):
                    leaves[task.index] = task.leaf, made
                else:
                    failed.append((task.index, made))
                if on_progress is not None:
                    on_progress(Progress(len(leaves) + len(failed), len(tasks), task.index))
        failed.sort()
        if not leaves:
            return PackResult(None, tuple(failed))
        missing = [*not_read, *(jobs[index].about.number for index, _why in failed)]
        with speaking(language or language_named(jobs[0].language)):
            kept = sorted(leaves)
            pack = make_pack(make_plan(jobs[index], _reference()) for index in kept)
            bound = Path(folder) / "pack.pdf"
            _bind(pack, [leaves[kept[job.given]] for job in pack.jobs], missing, bound)
        write_atomically(path, bound.read_bytes())
    return PackResult(pack, tuple(failed))


def _bind(
    pack: Pack, leaves: Sequence[tuple[Path, int]], missing: Sequence[str], target: Path
) -> None:
    with target.open("wb") as file:
        binder = Binder(file)
        for path, _sides in leaves:
            # Written by a process of our own, into a folder that nobody else may enter.
            binder.bind(pickle.loads(path.read_bytes()))
        cover = cover_pdf(pack, [sides for _path, sides in leaves], missing)
        titles = [_("Cover: {title}", title=pack_title(pack))]
        for job in pack.jobs:
            title = f"{job.number} {job.title}"
            titles.append(_("{title} (draft)", title=title) if job.is_draft else title)
        binder.finish(take_apart(cover, 0, is_cover=True), titles)


def _made(tasks: Sequence[_Task], workers: int) -> Generator[tuple[_Task, int | str], None, None]:
    """Make the sheets; yield each task when it is done, with its pages or why there are none."""
    if workers <= 1:
        for task in tasks:
            yield task, _tried(task)
        return
    # spawn: whoever asks may have threads, which a fork would copy half.
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _begin)
    try:
        futures = {pool.submit(_tried, task): task for task in tasks}
        for future in as_completed(futures):
            yield futures[future], future.result()
    except BrokenExecutor as error:
        raise EnvironmentProblem(
            _(
                "a process that makes sheets ended unexpectedly; try again with fewer of them at "
                "once"
            )
        ) from error
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin() -> None:
    """Make ready for the first sheet; runs in the other process."""
    end_with_parent()
    # Whoever presses Ctrl-C tells the parent, too, which then lets this one end.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    import weasyprint  # type: ignore[import-untyped]  # noqa: F401


def _tried(task: _Task) -> int | str:
    """Make a sheet and return its pages; what goes wrong with one must not cost the others."""
    try:
        return _make(task)
    except KerfdocketError as error:
        return str(error)
    except Exception as error:  # a mistake of the program, told in full to who has to find it
        _log.exception("no sheet of job %s", task.job.about.number)
        return f"{type(error).__name__}: {error}"


def _make(task: _Task) -> int:
    with speaking(language_named(task.language)):
        content = sheet_pdf(make_plan(task.job, _reference()), shop=task.shop)
    leaf = take_apart(content, task.index + 1, task.names)
    task.leaf.write_bytes(pickle.dumps(leaf))
    return leaf.sides


@cache
def _reference() -> Reference:
    return load_reference()


def _file_names(jobs: Sequence[Job]) -> list[str]:
    """A name for the files of each job, by its number; no two alike on any system."""
    names: list[str] = []
    taken: set[str] = set()
    for job in jobs:
        plain = _NO_NAME.sub("_", job.about.number)[:_LONGEST_NAME].strip("._") or "job"
        name, more = plain, 1
        while name.lower() in taken:
            more += 1
            name = f"{plain}-{more}"
        taken.add(name.lower())
        names.append(name)
    return names
