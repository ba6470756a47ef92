"""The command that makes a pack: several jobs in one PDF with a cover."""

import argparse
import os
import shutil
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from kerfdocket.command.codes import BAD_INPUT, GOOD, STOPPED
from kerfdocket.errors import InputError, KerfdocketError
from kerfdocket.job import Job, load_job
from kerfdocket.language import LANGUAGES, Language, _, language_named, speaking
from kerfdocket.planning import make_plan
from kerfdocket.reference import load_reference
from kerfdocket.storage import BOM, write_atomically

if TYPE_CHECKING:
    from kerfdocket.planning.pack import Pack
    from kerfdocket.sheet import Shop
    from kerfdocket.sheet.pack import Progress

__all__ = ["add_pack_arguments", "run_pack"]

_WIDEST = 40  # of the bar, in letters


def add_pack_arguments(pack: argparse.ArgumentParser) -> None:
    """Let the command take what it needs, but for what the command `sheet` takes, too."""
    pack.add_argument(
        "jobs", nargs="+", type=Path, metavar=_("JOB"), help=_("job files, or sheets' PDFs")
    )
    pack.add_argument(
        "--pick-list",
        type=Path,
        metavar=_("FILE.csv"),
        help=_("write gas, cylinders and nozzles to fetch as CSV, too"),
    )
    pack.add_argument(
        "--jobs",
        dest="workers",
        type=_workers,
        metavar="N",
        default=os.cpu_count() or 1,
        help=_("sheets to make at the same time; as many as there are processors if not given"),
    )
    pack.add_argument("--quiet", action="store_true", help=_("do not tell how far it is"))


def _workers(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) < 1:
        raise argparse.ArgumentTypeError(
            _("{text} is not accepted; give a whole number from 1", text=repr(text))
        )
    return int(text)


def run_pack(
    given: argparse.Namespace,
    units: str | None,
    errors: TextIO,
    language: Language | None = None,
    shop: "Shop | None" = None,
) -> int:
    """Make a pack of what can be read.

    Args:
        given: what `add_pack_arguments` takes.
        units: of all jobs, as a job states them; None leaves each its own.
        errors: where messages go.
        language: of cover and sheets; None leaves each sheet its own.
        shop: what the shop adds to each sheet.

    Returns:
        The exit code: bad input if any job is not in the pack, else stopped if any is a draft.

    Raises:
        InputError: a file to write is one of the jobs, or one of them is written twice.
        EnvironmentProblem: it cannot be written there.
    """
    # The renderer takes a second to load; only who makes sheets waits for it.
    from kerfdocket.sheet.pack import write_pack

    _refuse_clashes(given)
    changes = {"units": units} if units is not None else {}
    if language in LANGUAGES:
        changes["language"] = language.code  # the job that a sheet carries says it, too
    jobs, paths, not_read = _read(given.jobs, changes, errors)
    if not jobs:
        print(_("Nothing is written: no job could be read."), file=errors)
        return BAD_INPUT
    teller = None if given.quiet else _teller([job.about.number for job in jobs], errors)
    try:
        result = write_pack(
            jobs,
            given.output,
            workers=given.workers,
            language=language,
            shop=shop,
            not_read=[path.name for path in not_read],
            on_progress=teller,
        )
    except KeyboardInterrupt:
        # A pack may take minutes: whoever ends it wants no traceback.
        print("\n" + _("Ended before the pack was whole; nothing is written."), file=errors)
        return BAD_INPUT
    for index, reason in result.failed:
        print(
            _("{file}: no sheet could be made: {reason}", file=paths[index], reason=reason),
            file=errors,
        )
    if result.pack is None:
        print(_("Nothing is written: no sheet could be made."), file=errors)
        return BAD_INPUT
    if given.pick_list is not None:
        _write_pick_list(result.pack, given.pick_list)
    failed = dict(result.failed)
    kept = [index for index in range(len(jobs)) if index not in failed]
    for job in result.pack.drafts:
        file = paths[kept[job.given]]
        # Whoever gives the command may speak another language than the pack.
        plan = make_plan(jobs[kept[job.given]], load_reference())
        for stop in (one.text for one in plan.findings if one.severity == "stop"):
            print(
                _("{file}: a draft, not for cutting: {reason}", file=file, reason=stop),
                file=errors,
            )
    if not_read or result.failed:
        return BAD_INPUT
    return STOPPED if result.pack.drafts else GOOD


def _refuse_clashes(given: argparse.Namespace) -> None:
    read = {path.resolve() for path in given.jobs}
    written = [path for path in (given.output, given.pick_list) if path is not None]
    for path in written:
        if path.resolve() in read:
            raise InputError(_("{file} is one of the jobs; give another file to write", file=path))
    if len({path.resolve() for path in written}) < len(written):
        raise InputError(
            _("pack and pick list must be two files, not both {file}", file=written[0])
        )
    for path in written:
        # Told before the work, which may take minutes, and not after half of it is written.
        if not path.resolve().parent.is_dir():
            raise InputError(_("cannot write {file}: its folder is not there", file=path))


def _read(
    paths: Sequence[Path], changes: dict[str, str], errors: TextIO
) -> tuple[list[Job], list[Path], list[Path]]:
    """Return the jobs that can be read and their files, and the files that cannot."""
    jobs, read, not_read = [], [], []
    for path in paths:
        try:
            job = load_job(path)
        except KerfdocketError as error:
            print(error, file=errors)
            not_read.append(path)
            continue
        jobs.append(job.model_copy(update=changes))
        read.append(path)
    return jobs, read, not_read


def _write_pick_list(pack: "Pack", path: Path) -> None:
    from kerfdocket.planning.pack import pick_list_csv

    with speaking(language_named(pack.language)):
        text = pick_list_csv(pack)
    write_atomically(path, (BOM + text).encode())


def _teller(numbers: Sequence[str], errors: TextIO) -> "Callable[[Progress], None]":
    """Return what tells how far it is: a bar on a terminal, else a line for each sheet."""
    if not errors.isatty():
        return lambda progress: print(_line(progress, numbers), file=errors, flush=True)
    begun = time.monotonic()

    def draw(progress: "Progress") -> None:
        width = shutil.get_terminal_size().columns - 1
        text = _line(progress, numbers)
        if left := _left(progress, time.monotonic() - begun):
            text = f"{text}, {left}"
        size = max(min(width - len(text) - 3, _WIDEST), 0)
        filled = size * progress.done // progress.of
        bar = f"[{'#' * filled}{'.' * (size - filled)}] " if size else ""
        # What is longer than the line would leave a copy of itself on each one.
        errors.write("\r" + f"{bar}{text}"[:width].ljust(width))
        if progress.done == progress.of:
            errors.write("\n")
        errors.flush()

    return draw


def _line(progress: "Progress", numbers: Sequence[str]) -> str:
    return _(
        "{done} of {all}: {job}",
        done=progress.done,
        all=progress.of,
        job=numbers[progress.index],
    )


def _left(progress: "Progress", taken_s: float) -> str:
    """How long it will take at the speed so far; empty at the end."""
    left_s = taken_s / progress.done * (progress.of - progress.done)
    if left_s <= 0.0:
        return ""
    if left_s < 90.0:
        return _("about {seconds} s left", seconds=round(left_s))
    return _("about {minutes} min left", minutes=round(left_s / 60.0))
