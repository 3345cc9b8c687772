"""A process kept warm for what the page waits for: its libraries loaded, its last results kept.

It does one thing at a time. Where it ends before its time, or takes too long, it is ended and
begun anew for the next one, and the one it was at is refused in a sentence.
"""

from __future__ import annotations

import os
import sys
import threading
import traceback
from contextlib import suppress
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from chape.bench.defect import DefectError
from chape.bench.problem import RefusedError
from chape.errors import ChapeError
from chape.workers import THREADS, obey_parent

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

Result = TypeVar("Result")

#: Nothing the page waits for takes longer than this, seconds; starting the process is included.
PATIENCE = 60.0

#: The first answer of a process may take so long, seconds: after chape was installed or renewed,
#: its kernels are compiled on the way.
FIRST_PATIENCE = 300.0

#: A process that has grown beyond this is begun anew, bytes.
MOST_MEMORY = 1_500_000_000

BUSY = 503


class Warm:
    """One warm process; begun when it is first asked, or told to begin.

    Args:
        patience: with each answer, seconds.
        first: with the first answer of a process, seconds; never less than ``patience``.
    """

    def __init__(self, patience: float = PATIENCE, first: float = FIRST_PATIENCE) -> None:
        self._patience = patience
        self._first = max(first, patience)
        self._has_answered = False
        self._lock = threading.Lock()
        self._process: SpawnProcess | None = None
        self._connection: Connection | None = None
        self._closed = False

    def ask(self, make: Callable[..., Result], *arguments: Any) -> Result:  # noqa: ANN401 - any work
        """Return what a function of a module returns, called in the process.

        Raises:
            ChapeError: what it raised.
            RefusedError: the process ended, took too long, or is closed.
        """
        with self._lock:
            try:
                done, answer, memory = self._told(make, arguments)
            except (EOFError, ConnectionError):
                # It may have ended while nobody asked; one begun anew gets one try.
                self._end()
                done, answer, memory = self._told_at_last(make, arguments)
            self._has_answered = True
            if memory > MOST_MEMORY:
                self._end()
        if done:
            result: Result = answer
            return result
        raise answer

    def _told(self, make: Callable[..., Result], arguments: tuple[Any, ...]) -> Any:  # noqa: ANN401 - any work
        """Return what the process says: whether it is done, its answer, the memory it took."""
        connection = self._begun()
        patience = self._patience if self._has_answered else self._first
        connection.send((make, arguments))
        if not connection.poll(patience):
            self._end()
            raise RefusedError(
                BUSY,
                f"This took longer than {patience:.0f} s and was given up",
                mend="Try it again",
            )
        return connection.recv()

    def _told_at_last(self, make: Callable[..., Result], arguments: tuple[Any, ...]) -> Any:  # noqa: ANN401 - any work
        try:
            return self._told(make, arguments)
        except (EOFError, ConnectionError):
            self._end()
            raise RefusedError(
                BUSY,
                "What works this out ended before its time, as when memory runs out",
                mend="Try it again",
            ) from None

    def begin(self) -> None:
        """Begin the process, so that the first one to ask need not wait for that."""
        with self._lock, suppress(RefusedError):
            self._begun()

    def close(self) -> None:
        """End the process, and begin no other; what it is at is given up."""
        self._closed = True
        process = self._process
        if process is not None:
            process.kill()
        with self._lock:
            self._end()

    def _begun(self) -> Connection:
        if self._closed:
            raise RefusedError(BUSY, "The bench is being closed")
        if self._connection is not None and self._process is not None and self._process.is_alive():
            return self._connection
        self._end()
        context = get_context("spawn")
        own, other = context.Pipe()
        process = context.Process(target=_serve, args=(other,), daemon=True)
        process.start()
        other.close()
        self._process, self._connection, self._has_answered = process, own, False
        return own

    def _end(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join()
        if self._connection is not None:
            self._connection.close()
        self._process = self._connection = None


def _serve(connection: Connection) -> None:
    """Do what is asked until nobody is left to ask."""
    obey_parent()
    # A glance is so small that sharing it among threads takes longer than it.
    os.environ.update(dict.fromkeys((*THREADS, "NUMBA_NUM_THREADS"), "1"))
    with suppress(EOFError, OSError):
        while True:
            make, arguments = connection.recv()
            try:
                answer = (True, make(*arguments))
            except ChapeError as error:
                answer = (False, error)
            except Exception as error:  # noqa: BLE001 - a defect; it is told as one
                sys.stderr.write("".join(traceback.format_exception(error)))
                answer = (False, DefectError(type(error).__name__))
            connection.send((*answer, _memory()))


def _memory() -> int:
    """Return the most memory this process has had, bytes; 0 where the system does not say."""
    status = Path("/proc/self/status")
    if status.is_file():
        # Not the usual count: that one begins with what the process had that began this one.
        line = next(n for n in status.read_text().splitlines() if n.startswith("VmHWM:"))
        return 1024 * int(line.split()[1])
    if sys.platform == "win32":
        return 0
    import resource  # noqa: PLC0415 - not there on every system

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else 1024 * most
