"""Work shared out among processes: on this machine, or on a cluster when its address is given.

Whatever works is a ``concurrent.futures.Executor``. Results come in the order of the work, never
in the order they finish, so that they do not depend on how many work on them.
"""

from __future__ import annotations

import importlib
import os
import signal
import threading
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import active_children, get_context, parent_process
from typing import TYPE_CHECKING, Any, TypeVar, cast

from chape.errors import CannotMakeError, InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

Result = TypeVar("Result")

#: A cluster that does not answer within this many seconds is not there.
PATIENCE = 10

#: How the linear algebra libraries are told how many threads to use.
THREADS = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

BROKEN = "a working process ended before its time"


@contextmanager
def process_pool(most: int | None = None) -> Iterator[Executor]:
    """Lend processes of this machine, as many as it has cores or ``most``.

    When the work fails or the person interrupts, they are ended, and nobody waits for them.
    """
    before = set(active_children())
    workers = min(most or os.cpu_count() or 1, os.cpu_count() or 1)
    # Processes inherit these as they start: as many as there are cores need one thread each.
    own = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=obey_parent)
    finished = False
    try:
        yield pool
        finished = True
    finally:
        if not finished:
            for process in set(active_children()) - before:
                process.terminate()
        pool.shutdown(cancel_futures=True)
        for name, value in own.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


@contextmanager
def cluster(address: str) -> Iterator[Executor]:
    """Lend a Dask cluster's workers.

    Args:
        address: of its scheduler, "tcp://192.0.2.7:8786".

    Raises:
        InputError: nothing answers there, or the library that talks to it is not installed.
    """
    try:
        distributed = importlib.import_module("distributed")
    except ImportError:
        raise InputError(
            f'the cluster "{address}" cannot be asked: the library "distributed" is not installed',
            mend='Run: pip install "chape[cluster]"',
        ) from None
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TypeError):
        raise InputError(
            f'no cluster answers at "{address}"',
            mend="Start its scheduler, or leave the address out to work on this machine",
        ) from None
    with client:
        yield _Cluster(client)


class _Cluster(Executor):
    """A cluster's workers."""

    def __init__(self, client: Any) -> None:  # noqa: ANN401 - the library is optional
        self._client = client
        self._executor: Executor = client.get_executor(pure=False)

    def submit(
        self, fn: Callable[..., Result], /, *args: object, **kwargs: object
    ) -> Future[Result]:
        return self._executor.submit(fn, *args, **kwargs)

    def lend(self, value: object) -> object:
        """Send a value to every worker, once."""
        return self._client.scatter(value, broadcast=True)


def lent(executor: Executor, value: Result) -> Result:
    """Return a value that many pieces of work need, to be handed to each as an argument.

    A cluster's workers get it once and keep it; processes of this machine get it with the work.
    """
    return cast("Result", executor.lend(value)) if isinstance(executor, _Cluster) else value


@contextmanager
def workers(address: str | None = None) -> Iterator[Executor]:
    """Lend a cluster's workers where an address is given, else this machine's cores."""
    with cluster(address) if address else process_pool() as executor:
        yield executor


def in_order(
    executor: Executor, work: Iterable[tuple[Callable[..., Result], tuple[object, ...]]]
) -> Iterator[Result]:
    """Yield the results of functions and their arguments, in the order they were given.

    The functions must be those of a module, so that another process can call them.

    Raises:
        CannotMakeError: a process ended without a word, as one does that gets no more memory.
    """
    running = [executor.submit(make, *arguments) for make, arguments in work]
    if isinstance(executor, ProcessPoolExecutor):
        # A pool watches over the processes it had before its last piece of work; had it only the
        # first, the death of the second would be seen when the first is done.
        executor.submit(int)
    try:
        for future in running:
            yield future.result()
    except BrokenProcessPool:
        raise CannotMakeError(BROKEN, mend="Free some memory and run again") from None
    finally:
        for future in running:
            future.cancel()


def obey_parent() -> None:
    """Leave Ctrl-C to the process that started this one, and end when it ends, however it does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
