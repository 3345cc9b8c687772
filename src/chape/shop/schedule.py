"""Schedules: when each task starts, so that all is done as early, and as little late, as can be.

A general job shop with links between tasks, resources of any capacity, stations that stay taken
from one task to another, and changes of set-up that need hands. The shop's day is one such problem,
the classic problems of the literature are others, and all go through the same solver.

Times are whole seconds (or whatever unit the problem counts in) from the schedule's zero.

What is minimised is ``finish + weight × lateness``: finish is the end of the last task, lateness
the sum over all dues of how much too late they are.

A few schedules are built by insertion. With few tasks CP-SAT goes on from the best of them; with
many, two walks look for better orders of insertion. The proved bound is worked out from heads,
loads and tails, from set-ups that must be made, and from time that must stand idle. Whatever
schedule comes out is checked rule by rule by code that knows nothing of the solver.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Task:
    """Something that takes a time.

    Attributes:
        name: told apart by it.
        seconds: how long it takes, 0 or more.
        earliest: it cannot start before.
        fixed: it starts just then; None leaves it free.
    """

    name: str
    seconds: int
    earliest: int = 0
    fixed: int | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """One task starts between ``least`` and ``most`` after the end of another.

    ``least`` = ``most`` = 0 lets nothing wait: the second starts as the first ends. ``most`` None
    sets no limit. A negative ``least`` lets them overlap.
    """

    before: str
    after: str
    least: int = 0
    most: int | None = None


@dataclass(frozen=True, slots=True)
class Use:
    """A resource is taken from the start of one task to the end of another, or of the same.

    Attributes:
        resource: its name.
        first, last: tasks; what runs between them is not the resource's business.
        amount: how much of it.
        family: what it must be set up for; None where it does not matter.
    """

    resource: str
    first: str
    last: str
    amount: int = 1
    family: str | None = None


@dataclass(frozen=True, slots=True)
class Changes:
    """What it takes to set a resource up for another family.

    Attributes:
        usual: time of a change from any family to another one.
        special: (from, to) -> time, where it differs.
        needs: resources that are taken, one of each, while it is changed.
        at_start: the family it is set up for at zero; None for none.
    """

    usual: int
    special: Mapping[tuple[str, str], int] = field(default_factory=dict)
    needs: tuple[str, ...] = ()
    at_start: str | None = None

    def seconds(self, before: str | None, after: str | None) -> int:
        """Return how long it takes from one family to another."""
        if after is None or before == after:
            return 0
        if before is None:
            return self.usual
        return self.special.get((before, after), self.usual)


@dataclass(frozen=True, slots=True)
class Resource:
    """Hands, a station, a machine.

    Attributes:
        name: told apart by it.
        capacity: how much of it there is.
        closed: (from, to) in which it cannot be used, sorted and apart.
        changes: of set-up; only where the capacity is 1.
    """

    name: str
    capacity: int = 1
    closed: tuple[tuple[int, int], ...] = ()
    changes: Changes | None = None


@dataclass(frozen=True, slots=True)
class Due:
    """A task should have ended by a time; each second later counts ``weight`` seconds."""

    task: str
    at: int
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything a schedule has to obey."""

    tasks: tuple[Task, ...]
    links: tuple[Link, ...] = ()
    uses: tuple[Use, ...] = ()
    resources: tuple[Resource, ...] = ()
    dues: tuple[Due, ...] = ()

    def horizon(self) -> int:
        """Return a time by which everything can be done one after another."""
        longest = sum(task.seconds for task in self.tasks)
        longest += sum(max(0, link.least) for link in self.links)
        for resource in self.resources:
            changes = resource.changes
            if changes is not None:
                most = max([changes.usual, *changes.special.values()])
                longest += most * sum(use.resource == resource.name for use in self.uses)
        last = max([0, *(task.earliest for task in self.tasks)])
        last = max([last, *(task.fixed + task.seconds for task in self.tasks if task.fixed)])
        ends = [end for resource in self.resources for _, end in resource.closed]
        shut = sum(end - start for resource in self.resources for start, end in resource.closed)
        # What does not fit before a closed time waits for its end, at worst once for each.
        return last + max([0, *ends]) + longest + shut + 1


@dataclass(frozen=True, slots=True)
class Change:
    """A change of set-up in a schedule."""

    resource: str
    before: str | None
    after: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Schedule:
    """When everything starts.

    Attributes:
        starts: task -> start.
        changes: of set-up, in order.
        finish: end of the last task.
        lateness: weighted sum over the dues.
        bound: no schedule has a smaller ``finish + lateness``; proved.
        proved: this one is as good as any.
        seconds: the search took.
    """

    starts: Mapping[str, int]
    changes: tuple[Change, ...]
    finish: int
    lateness: int
    bound: int
    proved: bool
    seconds: float = 0.0

    @property
    def cost(self) -> int:
        """What is minimised."""
        return self.finish + self.lateness

    @property
    def gap(self) -> float:
        """How much better any schedule could be, as a share of this one's cost."""
        return 0.0 if self.cost == 0 else (self.cost - self.bound) / self.cost


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to search.

    Attributes:
        seconds: at most.
        workers: threads of the solver.
        gap: a schedule this near its bound is good enough.
        seed: of the dice.
        rounds: orders of insertion that each walk tries, where there are many tasks; None for as
            many as the seconds allow on a slow core, so that the same comes out on any.
    """

    seconds: float = 10.0
    workers: int = 2
    gap: float = 0.0
    seed: int = 1
    rounds: int | None = None


def finish_of(problem: Problem, starts: Mapping[str, int]) -> int:
    """Return when the last task ends."""
    return max((starts[task.name] + task.seconds for task in problem.tasks), default=0)


def lateness_of(problem: Problem, starts: Mapping[str, int]) -> int:
    """Return the weighted sum of how much too late the dues are."""
    seconds = {task.name: task.seconds for task in problem.tasks}
    return sum(
        due.weight * max(0, starts[due.task] + seconds[due.task] - due.at) for due in problem.dues
    )
