"""A bound on how early everything can be done, from heads, loads and tails.

The head of a task is the longest way to its start, its tail the longest way from its end to the
last end, both over the links alone. A set of tasks that share a resource cannot be done before

    least head + (sum of their loads / capacity, in open time) + least tail

(Carlier and Pinson's bound for one machine, here for sets given by a least head and a least tail.)
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from chape.shop.schedule_forced import least_idle, least_set_up

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from chape.shop.schedule import Problem, Resource

#: Of heads and of tails, so many are tried as thresholds.
MOST_THRESHOLDS = 60


def least_finish(problem: Problem) -> int:
    """Return a time before which no schedule of the problem is finished."""
    heads, tails = _heads(problem), _tails(problem)
    longest = max((heads[t.name] + t.seconds + tails[t.name] for t in problem.tasks), default=0)
    return max([longest, *(_of(problem, r, heads, tails) for r in problem.resources)])


def least_lateness(problem: Problem) -> int:
    """Return how late the dues are at least, whatever the schedule.

    Each by its own head; or, for every resource, all together. Whatever has to be done for several
    dues, the set-up of a family as well, is shared out among them: to have met k dues takes at
    least the k least shares, and matching these times with the dues in order of theirs is the least
    late of all matchings (as Chu's bound of 1992 does for one machine).
    """
    heads = _heads(problem)
    seconds = {task.name: task.seconds for task in problem.tasks}
    single = sum(
        due.weight * max(0, heads[due.task] + seconds[due.task] - due.at) for due in problem.dues
    )
    return max([single, *(_lateness_of(problem, resource) for resource in problem.resources)])


def _lateness_of(problem: Problem, resource: Resource) -> int:
    if not problem.dues:
        return 0
    seconds = {task.name: task.seconds for task in problem.tasks}
    served = _dues_of(problem)
    shares = [0.0] * len(problem.dues)
    for took, needing in _set_ups_for(problem, resource, served):
        for due in needing:
            shares[due] += took / len(needing)
    for use in problem.uses:
        dues = served.get(use.first, ())
        if use.resource == resource.name and use.first == use.last:
            for due in dues:
                shares[due] += use.amount * seconds[use.first] / len(dues)
    weight = min(due.weight for due in problem.dues)
    late, spent = 0, 0.0
    for share, at in zip(sorted(shares), sorted(due.at for due in problem.dues), strict=True):
        spent += share
        # Sums of shares are inexact by far less than this.
        least = ceil(spent / resource.capacity - 1e-6)
        late += max(0, after_open_time(0, least, resource.closed) - at)
    return weight * late


def _set_ups_for(
    problem: Problem, resource: Resource, served: Mapping[str, Sequence[int]]
) -> Iterator[tuple[int, set[int]]]:
    """Yield the set-ups that take a resource, one for each family: how long, and for which dues."""
    for other in problem.resources:
        rules = other.changes
        if rules is None or resource.name not in (other.name, *rules.needs):
            continue
        least = min([rules.usual, *rules.special.values()])
        families: dict[str, set[int]] = {}
        for use in problem.uses:
            if use.resource == other.name and use.family not in (None, rules.at_start):
                families.setdefault(str(use.family), set()).update(served.get(use.first, ()))
        yield from ((least, dues) for dues in families.values() if dues)


def _dues_of(problem: Problem) -> dict[str, list[int]]:
    """Return task -> numbers of the dues that cannot be met before it is done."""
    before: dict[str, list[str]] = {task.name: [] for task in problem.tasks}
    for link in problem.links:
        if link.least >= 0:
            before[link.after].append(link.before)
    found: dict[str, list[int]] = {}
    for number, due in enumerate(problem.dues):
        seen, waiting = {due.task}, [due.task]
        while waiting:
            task = waiting.pop()
            found.setdefault(task, []).append(number)
            fresh = set(before[task]) - seen
            seen |= fresh
            waiting += fresh
    return found


def after_open_time(start: int, seconds: int, closed: Sequence[tuple[int, int]]) -> int:
    """Return when ``seconds`` of open time have passed from ``start`` on.

    >>> after_open_time(0, 10, [(4, 6)])
    12
    """
    now, left = start, seconds
    for begin, end in closed:
        if end <= now:
            continue
        if now + left <= begin:
            break
        left -= max(0, begin - now)
        now = end
    return now + left


def _heads(problem: Problem) -> dict[str, int]:
    """Return task -> its earliest start over the links."""
    seconds = {task.name: task.seconds for task in problem.tasks}
    heads = {
        task.name: task.earliest if task.fixed is None else task.fixed for task in problem.tasks
    }
    for _ in problem.tasks:
        moved = False
        for link in problem.links:
            reached = heads[link.before] + seconds[link.before] + link.least
            if reached > heads[link.after]:
                heads[link.after], moved = reached, True
            if link.most is not None:
                back = heads[link.after] - link.most - seconds[link.before]
                if back > heads[link.before]:
                    heads[link.before], moved = back, True
        if not moved:
            break
    return heads


def _tails(problem: Problem) -> dict[str, int]:
    """Return task -> the longest way from its end to the last end, over the links."""
    seconds = {task.name: task.seconds for task in problem.tasks}
    tails = dict.fromkeys(seconds, 0)
    for _ in problem.tasks:
        moved = False
        for link in problem.links:
            reached = link.least + seconds[link.after] + tails[link.after]
            if reached > tails[link.before]:
                tails[link.before], moved = reached, True
        if not moved:
            break
    return tails


def _of(problem: Problem, resource: Resource, heads: dict[str, int], tails: dict[str, int]) -> int:
    seconds = {task.name: task.seconds for task in problem.tasks}
    following = _following(problem)
    loads = []
    for use in problem.uses:
        if use.resource != resource.name:
            continue
        # Between two tasks a resource is taken at least for the longest way from one to the other.
        took = _span(use.first, use.last, seconds, following)
        loads.append((heads[use.first], tails[use.last], took * use.amount))
    if not loads:
        return 0
    best = 0
    for head in _thresholds([load[0] for load in loads]):
        kept = [load for load in loads if load[0] >= head]
        for tail in _thresholds([load[1] for load in kept]):
            work = sum(load[2] for load in kept if load[1] >= tail)
            done = after_open_time(head, -(-work // resource.capacity), resource.closed)
            best = max(best, done + tail)
    return max(best, _with_changes(problem, resource, loads))


def _thresholds(values: Sequence[int]) -> list[int]:
    distinct = sorted(set(values))
    step = -(-len(distinct) // MOST_THRESHOLDS)
    return distinct[::step]


def _following(problem: Problem) -> dict[str, list[tuple[str, int]]]:
    following: dict[str, list[tuple[str, int]]] = {task.name: [] for task in problem.tasks}
    for link in problem.links:
        following[link.before].append((link.after, link.least))
    return following


def _span(
    first: str, last: str, seconds: dict[str, int], following: dict[str, list[tuple[str, int]]]
) -> int:
    """Return the longest way over the links from the start of one task to the end of another."""
    if first == last:
        return seconds[first]
    reached = {first: seconds[first]}
    waiting = [first]
    for _ in range(len(seconds) ** 2):
        if not waiting:
            break
        task = waiting.pop()
        for after, least in following[task]:
            end = reached[task] + least + seconds[after]
            if end > reached.get(after, -1):
                reached[after] = end
                waiting.append(after)
    return max(0, reached.get(last, 0))


def _with_changes(
    problem: Problem, resource: Resource, loads: Sequence[tuple[int, int, int]]
) -> int:
    """Return the bound of all that takes a resource, with what no schedule can spare it."""
    work = sum(load for _, _, load in loads)
    work += least_set_up(problem, resource) + least_idle(problem, resource)
    return after_open_time(0, -(-work // resource.capacity), resource.closed)
