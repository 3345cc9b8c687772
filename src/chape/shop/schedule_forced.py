"""What no schedule can spare a resource: set-ups that must be made, and time it must stand idle.

**Set-ups.** A resource that is set up for n families needs a set-up for each that it is not set up
for at zero. Where every use of one resource is followed by a use of another after a time that is
always the same, both are used in the same order; each pair of families that occurs then has to be
reached by a change of at least one of the two. With k pairs that differ from what is set up at
zero, x changes of the one and y of the other:

    x >= n_1,  y >= n_2,  x + y >= k

(k + 1 where whatever pair comes first differs in both from what is there).

**Idleness.** Where a task is followed by another on the same resource after a time that is always
the same, the time between them has to be filled by other tasks, or stays idle. Of all these windows
consider the one that closes first: before it closes, nothing has been done that comes after the
closing of another. What is left can fill a part of it at most (a sum of some of the lengths).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

from chape.shop.schedule_blocks import blocks_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from chape.shop.schedule import Changes, Link, Problem, Resource, Use


def least_set_up(problem: Problem, resource: Resource) -> int:
    """Return for how long a resource is taken by set-ups at least: its own, and those it is for."""
    concerned = {
        other.name: _Families.of(problem, other, rules)
        for other in problem.resources
        if (rules := other.changes) is not None
        and (resource.name in rules.needs or other.name == resource.name)
    }
    least = {name: each.usual * each.many for name, each in concerned.items()}
    more = []
    for one, other in combinations(concerned, 2):
        together = _together(problem, concerned[one], concerned[other])
        more.append((together - least[one] - least[other], one, other))
    spent: set[str] = set()
    total = sum(least.values())
    for gain, one, other in sorted(more, reverse=True):
        if gain > 0 and not {one, other} & spent:
            total += gain
            spent |= {one, other}
    return total


def least_idle(problem: Problem, resource: Resource) -> int:
    """Return for how long a resource of capacity 1 stands idle at least, in its open time."""
    mine = [use for use in problem.uses if use.resource == resource.name]
    if resource.capacity != 1 or any(use.first != use.last for use in mine):
        return 0
    windows = _windows(problem, resource.name)
    after = _descendants(problem, [window.closing for window in windows])
    return min((_left_idle(problem, resource, each, after) for each in windows), default=0)


@dataclass(frozen=True, slots=True)
class _Families:
    """A resource with set-ups.

    Attributes:
        name: of the resource.
        uses: those with a family.
        at_start: the family at zero.
        usual: the shortest change.
        many: families that it has to be set up for.
    """

    name: str
    uses: tuple[Use, ...]
    at_start: str | None
    usual: int
    many: int

    @classmethod
    def of(cls, problem: Problem, resource: Resource, rules: Changes) -> _Families:
        uses = tuple(u for u in problem.uses if u.resource == resource.name and u.family)
        families = {use.family for use in uses} - {rules.at_start}
        usual = min([rules.usual, *rules.special.values()])
        return cls(resource.name, uses, rules.at_start, usual, len(families))


def _together(problem: Problem, one: _Families, other: _Families) -> int:
    """Return what the set-ups of two resources take at least, if both are used in one order."""
    seconds = {task.name: task.seconds for task in problem.tasks}
    follows: dict[str, list[Link]] = {}
    for link in problem.links:
        if link.most is not None and link.least == link.most:
            follows.setdefault(link.before, []).append(link)
    second = {use.first: use for use in other.uses}
    pairs, gaps = set(), set()
    for use in one.uses:
        for link in follows.get(use.last, ()):
            # Without a length the two might be used in any order.
            if link.after in second and min(seconds[use.first], seconds[link.after]) > 0:
                pairs.add((use.family, second[link.after].family))
                gaps.add(link.least)
    pairs.discard((one.at_start, other.at_start))
    if len(gaps) != 1 or not pairs:
        return 0
    steps = len(pairs)
    if all(a != one.at_start and b != other.at_start for a, b in pairs):
        steps += 1
    cheap, dear = sorted((one, other), key=lambda each: each.usual)
    return dear.usual * dear.many + cheap.usual * max(cheap.many, steps - dear.many)


@dataclass(frozen=True, slots=True)
class _Window:
    """Between two tasks on a resource, the second a set time after the first.

    Attributes:
        closing: the second task.
        length: of the time between them.
        held: resources of capacity 1 that are taken for all of it.
    """

    closing: str
    length: int
    held: frozenset[str]


def _windows(problem: Problem, resource: str) -> list[_Window]:
    rigid = _Rigid.of(problem)
    on_it = {use.first for use in problem.uses if use.resource == resource}
    single = {each.name for each in problem.resources if each.capacity == 1}
    found = []
    for block in rigid.blocks:
        mine = sorted((offset, name) for name, offset in block.items() if name in on_it)
        for (start, first), (closes, closing) in pairwise(mine):
            opens = start + rigid.seconds[first]
            if closes <= opens:
                continue
            held = {
                use.resource
                for use in problem.uses
                if use.resource in single
                and block.get(use.first, closes) <= opens
                and use.last in block
                and block[use.last] + rigid.seconds[use.last] >= closes
            }
            found.append(_Window(closing, closes - opens, frozenset(held)))
    return found


@dataclass(frozen=True, slots=True)
class _Rigid:
    """Tasks that keep their distance whatever the schedule: offsets in each group, and lengths."""

    blocks: tuple[dict[str, int], ...]
    seconds: dict[str, int]

    @classmethod
    def of(cls, problem: Problem) -> _Rigid:
        links = tuple(link for link in problem.links if link.least == link.most)
        stiff = type(problem)(
            tuple(type(task)(task.name, task.seconds) for task in problem.tasks), links
        )
        blocks = blocks_of(stiff, whole=False)
        seconds = {task.name: task.seconds for task in problem.tasks}
        return cls(tuple(block.offsets for block in blocks), seconds)


def _descendants(problem: Problem, tasks: Iterable[str]) -> set[str]:
    """Return tasks with all that cannot start before them."""
    seconds = {task.name: task.seconds for task in problem.tasks}
    following: dict[str, list[str]] = {name: [] for name in seconds}
    for link in problem.links:
        if link.least + seconds[link.before] >= 0:
            following[link.before].append(link.after)
    found, waiting = set(), list(tasks)
    while waiting:
        task = waiting.pop()
        if task not in found:
            found.add(task)
            waiting += following[task]
    return found


def _left_idle(problem: Problem, resource: Resource, window: _Window, after: set[str]) -> int:
    """Return how much of a window cannot be filled, if it is the first of all to close."""
    seconds = {task.name: task.seconds for task in problem.tasks}
    busy = {use.first for use in problem.uses if use.resource in window.held}
    once = [
        seconds[use.first]
        for use in problem.uses
        if use.resource == resource.name and use.first not in after | busy
    ]
    once += [end - start for start, end in resource.closed]
    often = [
        length
        for other in problem.resources
        if (rules := other.changes) is not None
        and resource.name in (other.name, *rules.needs)
        and not {other.name, *rules.needs} & (window.held - {resource.name})
        for length in (rules.usual, *rules.special.values())
    ]
    return window.length - _fullest(once, often, window.length)


def _fullest(once: Sequence[int], often: Sequence[int], length: int) -> int:
    """Return the greatest sum up to ``length``, of lengths used once and of others used at will."""
    sums = 1
    full = (1 << (length + 1)) - 1
    for each in once:
        # The bits of a number are the sums that can be reached.
        sums |= (sums << each) & full if each <= length else 0
    for each in often:
        for _ in range(length // each if each else 0):
            sums |= (sums << each) & full
    return sums.bit_length() - 1
