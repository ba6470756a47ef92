"""Work off the GUI thread: one call at a time, and of those that wait only the newest."""

from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing.context import SpawnContext, SpawnProcess
from typing import Any, NamedTuple, Protocol

from PySide6.QtCore import QObject, Qt, Signal

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _
from kerfdocket.processes import end_with_parent

__all__ = ["Crew", "NewestWins", "ProcessCrew", "ThreadCrew"]


class Crew(Protocol):
    """Who does the work."""

    def submit(self, call: Callable[..., Any], *args: Any) -> "Future[Any]":
        """Begin a call."""

    def close(self) -> None:
        """End the work; returns when nothing of it is left."""


class ThreadCrew:
    """One thread of this process."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1)

    def submit(self, call: Callable[..., Any], *args: Any) -> "Future[Any]":
        """Begin a call in the thread."""
        return self._pool.submit(call, *args)

    def close(self) -> None:
        """Wait for the call that runs; those that wait are not made."""
        self._pool.shutdown(wait=True, cancel_futures=True)


class _Context(SpawnContext):
    """Knows the processes that were made by it.

    Asked before and after which processes there are, one would take another thread's for its own.
    """

    def __init__(self) -> None:
        super().__init__()
        self.made: list[SpawnProcess] = []

    def Process(  # type: ignore[override]  # a class there
        self, *args: Any, **options: Any
    ) -> SpawnProcess:
        """Make a process."""
        process = SpawnProcess(*args, **options)
        self.made.append(process)
        return process


class ProcessCrew:
    """One process of its own, so that pure Python work does not make the window stutter.

    It starts with the first call, stays, and starts anew after a crash.
    """

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        # spawn: a fork would copy Qt's threads half.
        self._context = _Context()

    @property
    def workers(self) -> tuple[SpawnProcess, ...]:
        """The process, once it has started."""
        return tuple(self._context.made)

    def submit(self, call: Callable[..., Any], *args: Any) -> "Future[Any]":
        """Begin a call in the process; what it is given and gives back is pickled."""
        try:
            return self._submit(call, *args)
        except BrokenExecutor:  # it died, of a call or while it had nothing to do
            self.close()
            return self._submit(call, *args)

    def _submit(self, call: Callable[..., Any], *args: Any) -> "Future[Any]":
        if self._pool is None:
            self._pool = ProcessPoolExecutor(1, self._context, end_with_parent)
        return self._pool.submit(call, *args)

    def close(self) -> None:
        """End the process at once, whatever it does."""
        pool, self._pool = self._pool, None
        context, self._context = self._context, _Context()
        for worker in context.made:
            if worker.is_alive():
                worker.terminate()
        if pool is not None:
            pool.shutdown(wait=True, cancel_futures=True)


class _Request(NamedTuple):
    ticket: int
    call: Callable[..., Any]
    args: tuple[Any, ...]
    is_second_try: bool = False


class NewestWins(QObject):
    """Hands calls to a crew and their results back to the GUI thread.

    While a call runs, only the newest further request waits; when it comes to that, the result of
    the older one is dropped.

    Signals:
        succeeded: ticket, result.
        failed: ticket, exception.
        crashed: an EnvironmentProblem; the crew died of a call, which is tried once more.
        went_idle: nothing runs and nothing waits.
    """

    succeeded = Signal(int, object)
    failed = Signal(int, object)
    crashed = Signal(object)
    went_idle = Signal()
    _came_back = Signal(object)

    def __init__(self, crew: Crew, name: str, parent: QObject | None = None) -> None:
        """Hand calls to a crew; `name` says what it does, marked for the catalog."""
        super().__init__(parent)
        self._crew = crew
        self._name = name
        self._running: _Request | None = None
        self._waiting: _Request | None = None
        self._is_closed = False
        self._came_back.connect(self._on_came_back, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """True while a call runs or waits."""
        return self._running is not None

    def submit(self, ticket: int, call: Callable[..., Any], *args: Any) -> None:
        """Ask for a call; it replaces one that still waits."""
        if self._is_closed:
            return
        request = _Request(ticket, call, args)
        if self._running is None:
            self._start(request)
        else:
            self._waiting = request

    def drop_waiting(self) -> None:
        """Take back the request that waits."""
        self._waiting = None

    def close(self) -> None:
        """End all work; no signal comes after this."""
        self._is_closed = True
        self._waiting = self._running = None
        self._crew.close()

    def _start(self, request: _Request) -> None:
        self._running = request
        try:
            future = self._crew.submit(request.call, *request.args)
        except Exception as error:  # no process, no memory: said in words
            future = Future()
            future.set_exception(error)
        future.add_done_callback(self._hand_over)

    def _hand_over(self, future: "Future[Any]") -> None:
        """Pass on to the GUI thread; runs in whichever thread ended the call."""
        if not self._is_closed:
            self._came_back.emit(future)

    def _on_came_back(self, future: "Future[Any]") -> None:
        request, waiting = self._running, self._waiting
        if self._is_closed or request is None:
            return
        self._running = self._waiting = None
        error = None if future.cancelled() else future.exception()
        if isinstance(error, BrokenExecutor):
            self._crew_died(request, waiting)
        elif waiting is not None:
            self._start(waiting)
        elif error is not None:
            self.failed.emit(request.ticket, error)
        elif not future.cancelled():
            self.succeeded.emit(request.ticket, future.result())
        if self._running is None and not self._is_closed:
            self.went_idle.emit()

    def _crew_died(self, request: _Request, waiting: _Request | None) -> None:
        # The crew is not closed: by now it may have been made anew, and work for somebody else.
        if waiting is None and not request.is_second_try:
            waiting = request._replace(is_second_try=True)
        if waiting is not None:
            self.crashed.emit(
                EnvironmentProblem(
                    _("{work} stopped unexpectedly; it is started again", work=_(self._name))
                )
            )
            self._start(waiting)
            return
        self.failed.emit(
            request.ticket,
            EnvironmentProblem(
                _(
                    "{work} stopped unexpectedly, twice; it is started again with the next change "
                    "of the form",
                    work=_(self._name),
                )
            ),
        )
