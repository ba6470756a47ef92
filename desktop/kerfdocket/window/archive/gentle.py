"""One process a call, that can be asked to give up and then clears up behind itself."""

import _thread
import contextlib
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from queue import Empty, SimpleQueue
from typing import Any, Protocol

from kerfdocket.errors import EnvironmentProblem
from kerfdocket.language import _
from kerfdocket.window.newest import Crew

__all__ = ["GentleCrew", "GivenUp", "StoppableCrew"]

# How long a call may take to clear up before its process is ended all the same. [s]
_PATIENCE_S = 10.0


class GivenUp(Exception):
    """The call was asked to give up, and did."""


class StoppableCrew(Crew, Protocol):
    """Who does work that can be given up."""

    def stop(self) -> None:
        """Ask the call that runs to give up; returns at once, its future raises `GivenUp`."""


class GentleCrew:
    """Makes each call in a process of its own, which ends with it.

    A process that is only killed leaves behind what it was writing. So it is asked first: the call
    is interrupted as by Ctrl+C, its `finally` blocks run, and only one that takes too long is
    killed. The same happens when this process is gone.
    """

    def __init__(self) -> None:
        self._process: BaseProcess | None = None
        self._stop: Connection | None = None
        self._listener: threading.Thread | None = None
        self._is_stopped = False

    def submit(self, call: Callable[..., Any], *args: Any) -> "Future[Any]":
        """Begin a call, once the one before is over; what it is given and gives back is pickled."""
        self._settle()
        # spawn: a fork would copy Qt's threads half.
        context = multiprocessing.get_context("spawn")
        answers, their_answers = context.Pipe(duplex=False)
        their_stop, stop = context.Pipe(duplex=False)
        process = context.Process(
            target=_serve, args=(their_answers, their_stop, call, args), name="keeping", daemon=True
        )
        try:
            process.start()
        except BaseException:
            answers.close()
            stop.close()
            raise
        finally:
            # What is open here, too, would never come to its end.
            their_answers.close()
            their_stop.close()
        future: Future[Any] = Future()
        self._process, self._stop, self._is_stopped = process, stop, False
        self._listener = threading.Thread(
            target=self._listen, args=(answers, process, future), name="keeping", daemon=True
        )
        self._listener.start()
        return future

    def _listen(self, answers: Connection, process: BaseProcess, future: "Future[Any]") -> None:
        error: BaseException | None = None
        value: Any = None
        try:
            value, error = answers.recv()
        except EOFError:
            error = EnvironmentProblem(_("the work stopped unexpectedly; nothing came of it"))
        except Exception as unreadable:  # what came cannot be put together here
            error = unreadable
        answers.close()
        process.join()
        if self._is_stopped and isinstance(error, EnvironmentProblem):
            error = GivenUp()  # it had to be killed
        if error is not None:
            future.set_exception(error)
        else:
            future.set_result(value)

    def stop(self) -> None:
        """Ask the call that runs to give up; returns at once, its future raises `GivenUp`."""
        stop, self._stop = self._stop, None
        if stop is not None:
            self._is_stopped = True
            stop.close()

    def _settle(self) -> None:
        """Wait for the process; it is over, or was asked to give up."""
        if self._listener is not None and self._process is not None:
            # Only the listener waits for the process: two that do so take it from each other.
            self._listener.join(_PATIENCE_S)
            if self._listener.is_alive():
                self._process.kill()
                self._listener.join()
        if self._stop is not None:
            self._stop.close()
        self._process = self._stop = self._listener = None

    def close(self) -> None:
        """Give up what runs; returns when nothing of it is left."""
        self.stop()
        self._settle()


def _serve(
    answers: Connection, stop: Connection, call: Callable[..., Any], args: tuple[Any, ...]
) -> None:
    """Make one call and send what it returns, or raises."""
    # Where it is ignored, as in a process begun in the background, nothing could be interrupted.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    over = _Over()
    sys.unraisablehook = over.notice
    value: Any = None
    error: BaseException | None = None
    try:
        threading.Thread(target=_wait_for_stop, args=(stop, over), daemon=True).start()
        value = call(*args)
        over.come()
    except KeyboardInterrupt:
        if value is None:
            error = GivenUp()
    except Exception as raised:
        error = raised
    over.come()
    with contextlib.suppress(BrokenPipeError):  # nobody is there any more
        answers.send((value, error))


class _Over:
    """Whether a call is over; then it is interrupted no more."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._is_over = False
        # True: it is over. False: an interrupt was lost.
        self._news: SimpleQueue[bool] = SimpleQueue()
        self._tell = sys.unraisablehook

    def come(self) -> None:
        """Let it be over."""
        with self._lock:
            self._is_over = True
        self._news.put(True)

    def notice(self, unraisable: "sys.UnraisableHookArgs") -> None:
        """Note that an interrupt was lost, as it came while an object was cleared away.

        What is raised there ends nothing: Python tells this hook, and the call goes on.
        """
        if issubclass(unraisable.exc_type, KeyboardInterrupt):
            self._news.put(False)
        else:
            self._tell(unraisable)

    def interrupt(self) -> bool:
        """Interrupt the call; returns False if it took too long to end then.

        Once, and again only where that was lost: else it would meet the call as it clears up.
        """
        until = time.monotonic() + _PATIENCE_S
        while True:
            with self._lock:
                if self._is_over:
                    return True
                _thread.interrupt_main()
            try:
                if self._news.get(timeout=max(until - time.monotonic(), 0.0)):
                    return True
            except Empty:
                return False


def _wait_for_stop(stop: Connection, over: _Over) -> None:
    """Interrupt the call when the other end is closed, as it also is when its process is gone."""
    with contextlib.suppress(EOFError, OSError):
        stop.recv()
    if not over.interrupt():
        os._exit(1)
