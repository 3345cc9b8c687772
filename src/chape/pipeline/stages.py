"""Runs the stages of a job; each result is kept by what went into it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar, cast

from chape.pipeline.keep import Keep, code_digest, key_of
from chape.workers import in_order, process_pool

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Result = TypeVar("Result")

_GROUND = ("errors.py", "findings.py", "units.py", "tolerances.py", "kernels.py")

#: The packages whose code a stage's result depends on: its own and all below it.
CODE = {
    "knife": (*_GROUND, "field", "catalog", "knife"),
    "sheath": (*_GROUND, "field", "catalog", "knife", "sheath"),
    "forming": (*_GROUND, "field", "catalog", "knife", "sheath", "solve", "forming"),
    "fit": (
        *_GROUND,
        "workers.py",
        "field",
        "catalog",
        "knife",
        "sheath",
        "solve",
        "forming",
        "fit",
    ),
    "tooling": (*_GROUND, "field", "catalog", "knife", "sheath", "tooling"),
    "cutting": (*_GROUND, "field", "catalog", "knife", "sheath", "tooling", "cutting"),
    "documents": (
        *_GROUND,
        *("field", "catalog", "solve", "knife", "sheath", "forming", "fit"),
        *("tooling", "cutting", "documents"),
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
            with process_pool(len(missing)) as executor:
                results = in_order(executor, ((task.make, task.arguments) for task in missing))
                for task, result in zip(missing, results, strict=True):
                    self.keep.put(task.key, result)
                    found[task.key] = result
        return [cast("Result", found[task.key]) for task in tasks]
