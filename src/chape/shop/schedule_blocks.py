"""Blocks: tasks that cannot be moved apart, placed as one.

Whatever is joined by a link with a limit is laid out as its links allow and then kept so. Where
blocks are whole, so is what is joined by a resource that stays taken from one task to the other:
this loses schedules in which a station waits for hands, and never runs into one station waiting
for another.
"""

from __future__ import annotations

from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from chape.shop.schedule import Link, Problem, Task


@dataclass(frozen=True, slots=True)
class Block:
    """Tasks with their offsets from the block's start and their lengths, s."""

    offsets: dict[str, int]
    lengths: dict[str, int]
    seconds: int
    earliest: int
    fixed: int | None


def blocks_of(problem: Problem, *, loose: bool = False, whole: bool = True) -> tuple[Block, ...]:
    """Return the blocks of a problem, each task in one.

    Args:
        problem: its tasks, links and uses.
        loose: where a task may wait a little after another it waits as long as it may, which
            leaves more room for others between them.
        whole: what shares a resource that stays taken is one block as well.

    Raises:
        CannotMakeError: links contradict one another.
    """
    joined = _Joined(task.name for task in problem.tasks)
    for link in problem.links:
        if link.most is not None:
            joined.join(link.before, link.after)
    for use in problem.uses if whole else ():
        joined.join(use.first, use.last)
    _close_rings(problem, joined)
    groups: dict[str, list[str]] = {}
    for task in problem.tasks:
        groups.setdefault(joined.head(task.name), []).append(task.name)
    inner: dict[str, list[Link]] = {head: [] for head in groups}
    for link in problem.links:
        head = joined.head(link.before)
        if head == joined.head(link.after):
            inner[head].append(link)
    tasks = {task.name: task for task in problem.tasks}
    return tuple(
        _block({name: tasks[name] for name in names}, inner[head], loose=loose)
        for head, names in groups.items()
    )


class _Joined:
    """Names in groups (a forest of parents)."""

    def __init__(self, names: Iterable[str]) -> None:
        self.parent = {name: name for name in names}

    def head(self, name: str) -> str:
        while self.parent[name] != name:
            self.parent[name] = self.parent[self.parent[name]]
            name = self.parent[name]
        return name

    def join(self, one: str, other: str) -> None:
        self.parent[self.head(other)] = self.head(one)


def _close_rings(problem: Problem, joined: _Joined) -> None:
    """Join what lies between two tasks of a block: it comes after the one and before the other."""
    while True:
        before: dict[str, set[str]] = {}
        for link in problem.links:
            one, other = joined.head(link.before), joined.head(link.after)
            if one != other:
                before.setdefault(other, set()).add(one)
        try:
            TopologicalSorter(before).prepare()
        except CycleError as error:
            ring: list[str] = error.args[1]
            for name in ring:
                joined.join(ring[0], name)
        else:
            return


def _block(tasks: dict[str, Task], links: list[Link], *, loose: bool) -> Block:
    """Lay the tasks of one block out as early as its links allow (Bellman and Ford)."""
    names = list(tasks)
    at = dict.fromkeys(names, 0)
    for name, task in tasks.items():
        at[name] = task.earliest if task.fixed is None else task.fixed
    for _ in range(len(names) + 1):
        moved = False
        for link in links:
            end = at[link.before] + tasks[link.before].seconds
            gap = link.most if loose and link.most is not None else link.least
            if end + gap > at[link.after]:
                at[link.after], moved = end + gap, True
            elif link.most is not None and at[link.after] - end > link.most:
                at[link.before] += at[link.after] - end - link.most
                moved = True
        if not moved:
            break
    else:
        raise CannotMakeError(
            f"the limits between {names[0]} and {names[-1]} contradict one another",
            mend="Allow more time between them",
        )
    start = min(at.values())
    fixed = start if any(task.fixed is not None for task in tasks.values()) else None
    wrong = [n for n, task in tasks.items() if task.fixed is not None and at[n] != task.fixed]
    if wrong:
        raise CannotMakeError(
            f"{wrong[0]} cannot start when it does", mend="Allow more time before it"
        )
    end = max(at[name] + task.seconds for name, task in tasks.items())
    offsets = {name: moment - start for name, moment in at.items()}
    lengths = {name: task.seconds for name, task in tasks.items()}
    return Block(offsets, lengths, end - start, start, fixed)
