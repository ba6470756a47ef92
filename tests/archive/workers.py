"""What tests let other processes do to an archive."""

import os
import random
import resource
import signal
import tempfile
from pathlib import Path

from archive.conftest import sheet
from archive.test_pages import Read, code
from kerfdocket.archive import ArchiveProblem, keep_pages, open_archive, verify
from kerfdocket.archive.find import Wanted, find, rows

_NOBODY = 65534


def issue_some(place: str, worker: int, count: int) -> None:
    archive = open_archive(place)
    for at in range(count):
        number = archive.reserve("KD-????", f"worker {worker}")
        archive.issue(number, sheet(f"{worker}-{at}"), f"worker {worker}")
    archive.close()


def issue_for_ever(place: str, told: str) -> None:
    """Issue sheet after sheet; write each number down once it is said to be kept."""
    archive = open_archive(place)
    at = 0
    with open(told, "a", buffering=1) as file:  # noqa: PTH123  # line by line, as it is killed
        while True:
            at += 1
            number = archive.reserve("KD-??????", "worker")
            archive.issue(number, sheet(f"{number} " + "x" * 50_000), "worker")
            file.write(f"{number}\n")


def take_for_ever(place: str, told: str, seed: int) -> None:
    """Take file after file of `KD-1`; write each digest down once it is said to be kept."""
    archive, chance = open_archive(place), random.Random(seed)
    with open(told, "a", buffering=1) as file:  # noqa: PTH123  # line by line, as it is killed
        while True:
            content = chance.randbytes(60_000)
            values = {"remarks": str(chance.random())}
            read = [Read(0, (code(side="F"),), values), Read(1, (code(side="B"),)), Read(2)]
            taken = keep_pages(archive, content, "scan.pdf", read, "worker")
            file.write(f"{taken.file}\n")


def issue_on_full_disk(place: str, answer: str) -> None:
    """Issue until no byte more can be written; no file may grow beyond what it has and 200 kB."""
    largest = max(one.stat().st_size for one in Path(place).parent.iterdir())
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest + 200_000, resource.RLIM_INFINITY))
    archive = open_archive(place)
    kept = []
    try:
        for at in range(100):
            text = os.urandom(20_000).hex()
            archive.issue(f"W-{at}", sheet(text), "Foreman")
            kept.append(f"W-{at}")
    except ArchiveProblem as error:
        Path(answer).write_text("\n".join([str(error), *kept]))


def work_as_nobody(place: str, answer: str) -> None:
    """Read all that can be read, and issue, as a user who may read the file and not write it."""
    # What is loaded late is loaded now: nobody else may read the libraries.
    with tempfile.TemporaryDirectory() as folder:
        _read_and_issue(f"{folder}/a.sqlite")
    if os.getuid() == 0:
        os.setgid(_NOBODY)
        os.setuid(_NOBODY)
    Path(answer).write_text("\n".join(_read_and_issue(place)))


def _read_and_issue(place: str) -> list[str]:
    try:
        archive = open_archive(place)
    except ArchiveProblem as error:
        return [str(error)]
    said = [one.number for one in archive.travellers()]
    said += [archive.content(one.pdf).decode() for one in archive.travellers()]
    said += [one.number for one in rows(archive, find(archive, Wanted(text="base plates")))]
    said.append(f"{len(archive.events())} events")
    said.append(f"{len(verify(archive))} faults")
    try:
        archive.issue("W-1", sheet(), "Foreman")
    except ArchiveProblem as error:
        said.append(str(error))
    archive.close()
    return said
