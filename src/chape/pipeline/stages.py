"""Runs the stages of a job; each result is kept by what went into it."""

from __future__ import annotations

import os
import signal
import threading
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import active_children, get_context, parent_process
from typing import TYPE_CHECKING, Any, Generic, TypeVar, cast

from chape.errors import CannotMakeError
from chape.pipeline.keep import Keep, code_digest, key_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

Result = TypeVar("Result")

_GROUND = ("errors.py", "findings.py", "units.py", "tolerances.py", "kernels.py")

#: The packages whose code a stage's result depends on: its own and all below it.
CODE = {
    "knife": (*_GROUND, "field", "catalog", "knife"),
    "sheath": (*_GROUND, "field", "catalog", "knife", "sheath"),
    "tooling": (*_GROUND, "field", "catalog", "knife", "sheath", "tooling"),
    "cutting": (*_GROUND, "field", "catalog", "knife", "sheath", "tooling", "cutting"),
    "documents": (
        *_GROUND,
        *("field", "catalog", "knife", "sheath", "tooling", "cutting", "documents"),
    ),
}


@dataclass(frozen=True, slots=True)
class Task(Generic[Result]):
    """One result to be had.

    Attributes:
        key: of the result.
        title: told to the person while it is computed.
        make: a function of a module, so that another process can call it.
        arguments: what it is called with.
    """

    key: str
    title: str
    make: Callable[..., Result]
    arguments: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Stages:
    """Runs stages.

    Attributes:
        keep: where results are kept.
        watch: told the title of each stage that has to be computed.
    """

    keep: Keep
    watch: Callable[[str], None]

    def key(self, layer: str, name: str, *parts: str | bytes) -> str:
        """Return the key of a result of one layer's code."""
        return key_of(layer, name, code_digest(CODE[layer]), *parts)

    def run(self, key: str, title: str, make: Callable[[], Result]) -> Result:
        """Return a stage's result, kept or computed."""
        kept = self.keep.get(key)
        if kept is not None:
            return cast("Result", kept)
        self.watch(title)
        made = make()
        self.keep.put(key, made)
        return made

    def run_all(self, title: str, tasks: Sequence[Task[Result]]) -> list[Result]:
        """Return several results that do not need each other, computed on all cores.

        They come in the order of the tasks; the longest should stand first.
        """
        found = {task.key: self.keep.get(task.key) for task in tasks}
        missing = [task for task in tasks if found[task.key] is None]
        if len(missing) == 1:
            task = missing[0]
            found[task.key] = self.run(task.key, task.title, lambda: task.make(*task.arguments))
        elif missing:
            self.watch(title)
            for task, result in zip(missing, _on_all_cores(missing), strict=True):
                self.keep.put(task.key, result)
                found[task.key] = result
        return [cast("Result", found[task.key]) for task in tasks]


def _on_all_cores(tasks: Sequence[Task[Result]]) -> Iterator[Result]:
    """Yield the results of tasks in their order, each computed in another process.

    Raises:
        CannotMakeError: a process ended without a word, as one does that gets no more memory.
    """
    workers = min(len(tasks), os.cpu_count() or 1)
    with ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=_obey_parent
    ) as pool:
        running = [pool.submit(task.make, *task.arguments) for task in tasks]
        finished = False
        try:
            for future in running:
                yield future.result()
            finished = True
        except BrokenProcessPool:
            raise CannotMakeError(
                "a process that worked on the programs ended before its time",
                mend="Free some memory and run again",
            ) from None
        finally:
            # When one fails or the person interrupts, nobody waits for the others.
            if not finished:
                for process in active_children():
                    process.terminate()


def _obey_parent() -> None:
    """Leave Ctrl-C to the process that started this one, and end when it ends, however it does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
