"""Says what is wrong with a problem before it is solved, and with a schedule afterwards.

The second part shares no code with the solver or with the insertion that starts it: it looks at
nothing but starts and changes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.errors import CannotMakeError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from chape.shop.schedule import Change, Problem, Resource

#: (start, end, amount)
Busy = tuple[int, int, int]


def refuse_impossible(problem: Problem) -> None:
    """Refuse a problem that names what is not there, or asks for more than there ever is.

    Raises:
        CannotMakeError: what stands in the way.
    """
    tasks = {task.name for task in problem.tasks}
    resources = {resource.name: resource for resource in problem.resources}
    if len(tasks) != len(problem.tasks) or len(resources) != len(problem.resources):
        raise CannotMakeError("two tasks or resources have one name", mend="Name them apart")
    named = {name for link in problem.links for name in (link.before, link.after)}
    named |= {name for use in problem.uses for name in (use.first, use.last)}
    named |= {due.task for due in problem.dues}
    taken = {use.resource for use in problem.uses}
    taken |= {n for r in problem.resources if r.changes is not None for n in r.changes.needs}
    for unknown in sorted(named - tasks) + sorted(taken - set(resources)):
        raise CannotMakeError(f'the plan names "{unknown}", which is not there', mend="Add it")
    for task in problem.tasks:
        if task.seconds < 0:
            raise CannotMakeError(f"{task.name} takes less than no time", mend="Correct it")
    for use in problem.uses:
        capacity = resources[use.resource].capacity
        if not 1 <= use.amount <= capacity:
            raise CannotMakeError(
                f"{use.first} needs {use.amount} of {use.resource}, and there are {capacity}",
                mend="Add one, or ask for less",
            )
    for resource in problem.resources:
        if resource.changes is not None and resource.capacity != 1:
            raise CannotMakeError(
                f"{resource.name} is set up in several places at once", mend="Name each by itself"
            )


def broken_rules(
    problem: Problem, starts: Mapping[str, int], changes: Sequence[Change] = ()
) -> tuple[str, ...]:
    """Return every rule that a schedule breaks, in words; none for a good one."""
    return (
        *_times(problem, starts),
        *_links(problem, starts),
        *_loads(problem, starts, changes),
        *_set_ups(problem, starts, changes),
    )


def _times(problem: Problem, starts: Mapping[str, int]) -> Iterator[str]:
    for task in problem.tasks:
        start = starts.get(task.name)
        if start is None:
            yield f"{task.name} has no start"
        elif start < task.earliest:
            yield f"{task.name} starts at {start}, before {task.earliest}"
        elif task.fixed is not None and start != task.fixed:
            yield f"{task.name} starts at {start}, not at {task.fixed}"


def _links(problem: Problem, starts: Mapping[str, int]) -> Iterator[str]:
    seconds = {task.name: task.seconds for task in problem.tasks}
    for link in problem.links:
        gap = starts[link.after] - starts[link.before] - seconds[link.before]
        if gap < link.least:
            yield f"{link.after} starts {link.least - gap} too early after {link.before}"
        if link.most is not None and gap > link.most:
            yield f"{link.after} starts {gap - link.most} too late after {link.before}"


def _busy(
    problem: Problem, starts: Mapping[str, int], changes: Sequence[Change], resource: Resource
) -> list[Busy]:
    seconds = {task.name: task.seconds for task in problem.tasks}
    busy = [
        (starts[use.first], starts[use.last] + seconds[use.last], use.amount)
        for use in problem.uses
        if use.resource == resource.name
    ]
    needing = {
        each.name
        for each in problem.resources
        if each.changes is not None
        and (resource.name in each.changes.needs or each.name == resource.name)
    }
    busy += [(c.start, c.end, 1) for c in changes if c.resource in needing]
    return [span for span in busy if span[1] > span[0]]


def _loads(problem: Problem, starts: Mapping[str, int], changes: Sequence[Change]) -> Iterator[str]:
    for resource in problem.resources:
        busy = _busy(problem, starts, changes, resource)
        for start, end in resource.closed:
            if any(b < end and e > start for b, e, _ in busy):
                yield f"{resource.name} is used while it is closed at {start}"
        for moment in sorted({start for start, _, _ in busy}):
            load = sum(amount for start, end, amount in busy if start <= moment < end)
            if load > resource.capacity:
                yield f"{resource.name} is used {load} times at {moment}"
                break


def _set_ups(
    problem: Problem, starts: Mapping[str, int], changes: Sequence[Change]
) -> Iterator[str]:
    for resource in problem.resources:
        rules = resource.changes
        if rules is None:
            continue
        uses = [u for u in problem.uses if u.resource == resource.name and u.family is not None]
        events = [(starts[u.first], "use", str(u.family), 0) for u in uses]
        mine = [c for c in changes if c.resource == resource.name]
        events += [(c.start, "change", c.after, c.end - c.start) for c in mine]
        now = rules.at_start
        for moment, kind, family, took in sorted(events, key=lambda event: (event[0], event[1])):
            if kind == "change":
                if took < rules.seconds(now, family):
                    yield f"{resource.name} is changed in {took} at {moment}"
                now = family
            elif rules.seconds(now, family) == 0:
                now = family
            else:
                yield f"{resource.name} is set up for {now} at {moment}, not for {family}"
