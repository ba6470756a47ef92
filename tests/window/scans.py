"""Scans that are none: a text of lines, a page each, read in another process like a real one."""

import time
from collections.abc import Iterator
from dataclasses import dataclass, field

from kerfdocket.archive import NotReadable
from kerfdocket.planning.page_code import PageCode

__all__ = ["Read", "read_lines", "read_slowly", "scan"]

FIRST = b"scan\n"


@dataclass
class Read:
    """A page as it was read."""

    index: int
    codes: tuple[PageCode, ...] = ()
    fields: dict[str, str] = field(default_factory=dict)
    problem: str = ""


def scan(*pages: str) -> bytes:
    """Make one: each page is the text of its code, or anything else."""
    return FIRST + "\n".join(pages).encode()


def read_lines(content: bytes, name: str) -> Iterator[Read]:
    """Read one; a page `number:revision:side:check` has a code."""
    if not content.startswith(FIRST):
        raise NotReadable(f"{name} is no scan")
    for index, line in enumerate(content.removeprefix(FIRST).decode().split("\n")):
        parts = line.split(":")
        yield Read(index, (PageCode(*parts),) if len(parts) == 4 else ())


def read_slowly(content: bytes, name: str) -> Iterator[Read]:
    """Read one that never comes to its end."""
    for page in read_lines(content, name):
        yield page
        time.sleep(3600)


def die(_content: bytes, _name: str) -> Iterator[Read]:
    """Die as a library in C does."""
    import os

    os._exit(3)
    yield Read(0)
