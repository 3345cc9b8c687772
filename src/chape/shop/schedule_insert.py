"""Builds a schedule by putting block after block into the first place where it fits.

Which block comes next is a matter of rank: what is due first, then what has the longest way to go
(serial generation scheme; Kolisch 1996 compares the ranks). It is quick, always finds something,
and is what the solver starts from.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.shop.schedule import Change
from chape.shop.schedule_blocks import blocks_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.shop.schedule import Problem, Resource, Use
    from chape.shop.schedule_blocks import Block

#: The end of a use whose last task has not been placed yet.
OPEN = 10**9

#: So many spans of a lane are looked at in one go.
AHEAD = 40

#: A block is moved on at most so often before it is given up.
MOST_MOVES = 100_000


class Lanes:
    """What is taken of one resource: each lane holds spans that do not overlap, sorted."""

    def __init__(self, resource: Resource) -> None:
        """Start with what is closed taken in every lane."""
        self.lanes = [list(resource.closed) for _ in range(resource.capacity)]

    def room(self, start: int, length: int, amount: int) -> int:
        """Return the first moment from ``start`` on that has ``amount`` lanes free for so long."""
        if len(self.lanes) == 1:
            return self._room(self.lanes[0], start, length)
        while True:
            free = sorted(self._room(lane, start, length) for lane in self.lanes)
            if free[amount - 1] == start:
                return start
            start = free[amount - 1]

    def take(self, start: int, end: int, amount: int) -> None:
        """Take ``amount`` lanes that are free from start to end."""
        for lane in self.lanes:
            if amount and self._room(lane, start, end - start) == start:
                insort(lane, (start, end))
                amount -= 1

    def give_back(self, start: int, end: int, amount: int) -> None:
        """Undo a ``take``."""
        for lane in reversed(self.lanes):
            if amount and (start, end) in lane:
                lane.remove((start, end))
                amount -= 1

    @staticmethod
    def _room(lane: list[tuple[int, int]], start: int, length: int) -> int:
        place = bisect_right(lane, (start, OPEN))
        if place and lane[place - 1][1] > start:
            start = lane[place - 1][1]
        for begin, end in lane[place : place + AHEAD]:
            if begin >= start + length:
                return start
            start = max(start, end)
        return start if place + AHEAD >= len(lane) else Lanes._room(lane, start, length)


class Insertion:
    """A schedule being built."""

    def __init__(self, problem: Problem) -> None:
        """Start with nothing placed."""
        self.problem = problem
        self.starts: dict[str, int] = {}
        self.changes: list[Change] = []
        self.seconds = {task.name: task.seconds for task in problem.tasks}
        self.lanes = {resource.name: Lanes(resource) for resource in problem.resources}
        self.rules = {r.name: r.changes for r in problem.resources if r.changes is not None}
        self.last: dict[str, tuple[str | None, int]] = {
            name: (rules.at_start, 0) for name, rules in self.rules.items()
        }

    def fit(
        self, block: Block, uses: tuple[Use, ...], earliest: int
    ) -> tuple[int, list[Change]] | None:
        """Return the first start from ``earliest`` on where a block fits, and its set-ups.

        None where something it needs is taken until a task ends that has no place yet.

        Raises:
            CannotMakeError: it never fits.
        """
        start = max(earliest, block.earliest) if block.fixed is None else block.fixed
        for _ in range(MOST_MOVES):
            later = self._later(block, uses, start)
            if later is None:
                if not self._needs_change(uses):
                    return start, []
                late, changes = self._set_up(block, uses, start)
                later = start + late if late else self._later(block, uses, start)
                for change in changes:
                    for need in (change.resource, *self.rules[change.resource].needs):
                        self.lanes[need].give_back(change.start, change.end, 1)
                if later is None:
                    return start, changes
            if block.fixed is not None:
                raise CannotMakeError(
                    f"{next(iter(block.offsets))} cannot start when it does",
                    mend="Allow more time before it",
                )
            if later > OPEN // 2:
                return None
            start = later
        raise CannotMakeError(
            f"there is never room for {next(iter(block.offsets))}",
            mend="Look at the breaks and at what it needs at once",
        )

    def put(self, block: Block, uses: tuple[Use, ...], start: int, changes: list[Change]) -> None:
        """Put a block where it was found to fit."""
        self._take(block, uses, start)
        for change in changes:
            for need in (change.resource, *self.rules[change.resource].needs):
                self.lanes[need].take(change.start, change.end, 1)
        for name, offset in block.offsets.items():
            self.starts[name] = start + offset
        self.changes += changes
        for use in uses:
            if use.resource in self.last and use.family is not None:
                self.last[use.resource] = (use.family, self._span(block, use, start)[1])

    def close(self, use: Use) -> None:
        """Say when a use ends that was open."""
        begin, end = self.starts[use.first], self.starts[use.last] + self.seconds[use.last]
        self.lanes[use.resource].give_back(begin, OPEN, use.amount)
        self.lanes[use.resource].take(begin, end, use.amount)
        if use.resource in self.last and use.family is not None:
            self.last[use.resource] = (use.family, end)

    def _needs_change(self, uses: tuple[Use, ...]) -> bool:
        return any(
            use.family is not None
            and use.resource in self.last
            and self.rules[use.resource].seconds(self.last[use.resource][0], use.family) > 0
            for use in uses
        )

    def _span(self, block: Block, use: Use, start: int) -> tuple[int, int]:
        begin = start + block.offsets[use.first]
        if use.last not in block.offsets:
            return begin, OPEN
        return begin, start + block.offsets[use.last] + self.seconds[use.last]

    def _later(self, block: Block, uses: tuple[Use, ...], start: int) -> int | None:
        """Return a later start to try, None where nothing clashes but, perhaps, set-ups."""
        for use in uses:
            begin, end = self._span(block, use, start)
            if use.resource in self.last and use.family is not None:
                # A resource with set-ups is filled in the order of time only.
                before, free = self.last[use.resource]
                free += self.rules[use.resource].seconds(before, use.family)
                if begin < free:
                    return start + free - begin
            if end > begin:
                later = self.lanes[use.resource].room(begin, end - begin, use.amount)
                if later > begin:
                    return start + later - begin
        return None

    def _take(self, block: Block, uses: tuple[Use, ...], start: int) -> None:
        for use in uses:
            begin, end = self._span(block, use, start)
            if end > begin:
                self.lanes[use.resource].take(begin, end, use.amount)

    def _set_up(self, block: Block, uses: tuple[Use, ...], start: int) -> tuple[int, list[Change]]:
        """Take time for the block's set-ups, each as early as can be.

        Returns:
            How many seconds too late the last of them is, and those that were taken.
        """
        made: list[Change] = []
        for use in uses:
            if use.resource not in self.last or use.family is None:
                continue
            before, free = self.last[use.resource]
            rules = self.rules[use.resource]
            took = rules.seconds(before, use.family)
            if not took:
                continue
            needs = (use.resource, *rules.needs)
            begin = self._free_at(needs, free, took)
            for need in needs:
                self.lanes[need].take(begin, begin + took, 1)
            made.append(Change(use.resource, before, use.family, begin, begin + took))
            late = begin + took - self._span(block, use, start)[0]
            if late > 0:
                return late, made
        return 0, made

    def _free_at(self, needs: tuple[str, ...], earliest: int, took: int) -> int:
        """Return the first moment from which all that is needed is free for so long."""
        start = earliest
        for _ in range(MOST_MOVES):
            later = max(self.lanes[need].room(start, took, 1) for need in needs)
            if later == start:
                return start
            start = later
        raise CannotMakeError(
            f"there is never room to set up {needs[0]}", mend="Look at the breaks"
        )


@dataclass(frozen=True, slots=True)
class Layout:
    """A problem in blocks.

    Attributes:
        problem: as it was.
        blocks: every block.
        uses: of each block, by its first task.
        closes: of each block, the uses that end with it and began with another.
        into: of each block, the links that lead to it: task before, least gap, task after.
        after: of each block, the blocks that wait for it.
        waits: of each block, for how many it waits.
    """

    problem: Problem
    blocks: tuple[Block, ...]
    uses: tuple[tuple[Use, ...], ...]
    closes: tuple[tuple[Use, ...], ...]
    into: tuple[tuple[tuple[str, int, str], ...], ...]
    after: tuple[tuple[int, ...], ...]
    waits: tuple[int, ...]


def layout_of(problem: Problem, *, loose: bool, whole: bool) -> Layout:
    """Return a problem in blocks of a kind (``blocks_of``).

    Raises:
        CannotMakeError: links contradict one another.
    """
    blocks = blocks_of(problem, loose=loose, whole=whole)
    number_of = {name: number for number, b in enumerate(blocks) for name in b.offsets}
    uses: list[list[Use]] = [[] for _ in blocks]
    closes: list[list[Use]] = [[] for _ in blocks]
    into: list[list[tuple[str, int, str]]] = [[] for _ in blocks]
    before: list[set[int]] = [set() for _ in blocks]
    for use in problem.uses:
        one, other = number_of[use.first], number_of[use.last]
        uses[one].append(use)
        if one != other:
            closes[other].append(use)
            before[other].add(one)
    for link in problem.links:
        one, other = number_of[link.before], number_of[link.after]
        if one != other:
            into[other].append((link.before, link.least, link.after))
            before[other].add(one)
    after: list[list[int]] = [[] for _ in blocks]
    for other, ones in enumerate(before):
        for one in sorted(ones):
            after[one].append(other)
    return Layout(
        problem,
        blocks,
        tuple(map(tuple, uses)),
        tuple(map(tuple, closes)),
        tuple(map(tuple, into)),
        tuple(map(tuple, after)),
        tuple(map(len, before)),
    )


class _Turns:
    """Whose turn it is, while a layout is put together."""

    def __init__(self, layout: Layout, ranks: Sequence[float], *, soonest: bool) -> None:
        self.soonest = soonest
        self.layout = layout
        self.built = Insertion(layout.problem)
        self.ranks = ranks
        self.waits = list(layout.waits)
        self.ready: list[tuple[int, float, int]] = []
        #: Blocks that need something with an open end: they wait until one closes.
        self.held: list[int] = []

    def run(self) -> Insertion:
        layout, built = self.layout, self.built
        for number, block in enumerate(layout.blocks):
            if block.fixed is not None:
                found = built.fit(block, layout.uses[number], 0)
                if found is None:
                    raise CannotMakeError(
                        f"{next(iter(block.offsets))} cannot start when it does",
                        mend="Allow more time before it",
                    )
                built.put(block, layout.uses[number], *found)
        for number, count in enumerate(layout.waits):
            if not count:
                self._release(number)
        while self.ready:
            guess, _, number = heappop(self.ready)
            found = built.fit(layout.blocks[number], layout.uses[number], self._earliest(number))
            if found is None:
                self.held.append(number)
            elif self.soonest and found[0] > guess:
                # What was put in meanwhile stands in its way; another may start sooner now.
                self._queue(number, found[0])
            else:
                built.put(layout.blocks[number], layout.uses[number], *found)
                self._follow(number)
        if len(built.starts) < len(layout.problem.tasks):
            raise CannotMakeError("tasks wait for each other in a ring", mend="Break the ring")
        return built

    def _release(self, number: int) -> None:
        if self.layout.blocks[number].fixed is None:
            self._queue(number, self._earliest(number))
        else:
            self._follow(number)

    def _queue(self, number: int, start: int) -> None:
        first = start if self.soonest else 0
        heappush(self.ready, (first, self.ranks[number], number))

    def _follow(self, number: int) -> None:
        for use in self.layout.closes[number]:
            self.built.close(use)
            for each in self.held:
                self._queue(each, self._earliest(each))
            self.held = []
        for each in self.layout.after[number]:
            self.waits[each] -= 1
            if not self.waits[each]:
                self._release(each)

    def _earliest(self, number: int) -> int:
        offsets = self.layout.blocks[number].offsets
        starts, seconds = self.built.starts, self.built.seconds
        return max(
            (
                starts[one] + seconds[one] + least - offsets[other]
                for one, least, other in self.layout.into[number]
            ),
            default=0,
        )


def insert_all(layout: Layout, ranks: Sequence[float], *, soonest: bool) -> Insertion:
    """Return a schedule built block by block.

    Args:
        layout: the problem.
        ranks: a number for each block; the smaller goes first.
        soonest: of the blocks that can go, the one that can start soonest goes first, and the rank
            counts among equals only.

    Raises:
        CannotMakeError: a block fits nowhere.
    """
    return _Turns(layout, ranks, soonest=soonest).run()
