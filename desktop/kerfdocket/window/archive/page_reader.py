"""Pages of a scan, read in a process of its own: that ends at once when it is no longer wanted."""

import multiprocessing
from collections.abc import Callable, Iterable, Iterator
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import TYPE_CHECKING, Any

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _, current_language, language_named, speaking
from kerfdocket.processes import end_with_parent

if TYPE_CHECKING:
    from kerfdocket.archive.intake import ReadPage

__all__ = ["PageReader", "Stopped", "read_scan"]

Read = Callable[[bytes, str], Iterable[Any]]
_LOOK_S = 0.1  # how often it is asked whether a page is still wanted


class Stopped(Exception):
    """Nobody wants the pages any more."""


def read_scan(content: bytes, name: str) -> "Iterable[ReadPage]":
    """Read the pages of a scan or form; see `kerfdocket.archive.intake.read_file`."""
    from kerfdocket.archive.intake import read_file

    return read_file(content, name)


def _serve(connection: Connection, read: Read) -> None:
    """Read what is sent, page by page; what cannot be read is sent back as an error."""
    end_with_parent()
    while True:
        try:
            name, language = connection.recv()
            content = connection.recv_bytes()
        except EOFError:
            return
        try:
            # The process begins in English, whatever the window speaks.
            with speaking(language_named(language)):
                for page in read(content, name):
                    connection.send(page)
            connection.send(None)
        except Exception as error:
            connection.send(error)


class PageReader:
    """Reads pages beside the program: reading is pure Python in part and would make it stutter."""

    def __init__(self, read: Read = read_scan) -> None:
        """Read with `read`, which must be picklable."""
        self._read = read
        self._process: BaseProcess | None = None
        self._connection: Connection | None = None

    def read(
        self, content: bytes, name: str, is_wanted: Callable[[], bool]
    ) -> "Iterator[ReadPage]":
        """Yield the pages of a file.

        Args:
            content: the file.
            name: of the file.
            is_wanted: asked again and again; False ends it at once.

        Raises:
            Stopped: it is no longer wanted.
            NotReadable: it is no scan and no form.
            EnvironmentProblem: the process died of it.
        """
        connection = self._begun()
        is_done = False
        try:
            connection.send((name, current_language().code))
            connection.send_bytes(content)
            while True:
                while not connection.poll(_LOOK_S):
                    if not is_wanted():
                        raise Stopped
                page = connection.recv()
                if page is None or isinstance(page, Exception):
                    is_done = True
                if page is None:
                    return
                if isinstance(page, Exception):
                    raise page
                yield page
                if not is_wanted():
                    raise Stopped
        except (EOFError, OSError) as error:
            raise EnvironmentProblem(
                _("{file} could not be read: reading it stopped unexpectedly", file=name)
            ) from error
        finally:
            if not is_done:
                self.close()  # pages of a file that nobody wants must not come with the next one

    def _begun(self) -> Connection:
        if self._connection is not None and self._process is not None and self._process.is_alive():
            return self._connection
        self.close()
        # spawn: a fork would copy Qt's threads half.
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, self._read), name="reading scans")
        process.start()
        theirs.close()
        self._process, self._connection = process, ours
        return ours

    def close(self) -> None:
        """End the process, whatever it does."""
        process, self._process = self._process, None
        connection, self._connection = self._connection, None
        if connection is not None:
            connection.close()
        if process is not None:
            process.terminate()
            process.join()
