"""What tests let other processes do to an archive."""

from archive.conftest import sheet
from kerfdocket.archive import open_archive


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
