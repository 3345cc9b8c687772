"""Builds a schedule by putting block after block into the first place where it fits.

Which block comes next is a matter of rank: what is due first, then what has the longest way to go
(serial generation scheme; Kolisch 1996 compares the ranks). It is quick, always finds something,
and is what the solver starts from.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.shop.schedule import Change
from chape.shop.schedule_blocks import blocks_of

if TYPE_CHECKING:
    from chape.shop.schedule import Problem, Resource, Use
    from chape.shop.schedule_blocks import Block

#: A block is moved on at most so often before it is given up.
MOST_MOVES = 100_000


class Lanes:
    """What is taken of one resource: each lane holds spans that do not overlap, sorted."""

    def __init__(self, resource: Resource) -> None:
        """Start with what is closed taken in every lane."""
        self.lanes = [list(resource.closed) for _ in range(resource.capacity)]

    def clash(self, start: int, end: int, amount: int) -> int | None:
        """Return a later start to try, None where ``amount`` lanes are free from start to end."""
        later = []
        free = 0
        for lane in self.lanes:
            blocked = self._blocked(lane, start, end)
            if blocked is None:
                free += 1
                if free == amount:
                    return None
            else:
                later.append(blocked)
        return sorted(later)[max(0, amount - free - 1)]

    def take(self, start: int, end: int, amount: int) -> None:
        """Take ``amount`` lanes that are free from start to end."""
        for lane in self.lanes:
            if amount and self._blocked(lane, start, end) is None:
                insort(lane, (start, end))
                amount -= 1

    @staticmethod
    def _blocked(lane: list[tuple[int, int]], start: int, end: int) -> int | None:
        """Return the end of a span that overlaps, None where there is none."""
        place = bisect_right(lane, (start, end))
        for span in lane[max(0, place - 1) : place + 1]:
            if span[0] < end and span[1] > start:
                return span[1]
        return None


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

    def place(self, block: Block, uses: list[Use], earliest: int) -> None:
        """Put a block into the first place from ``earliest`` on where it fits."""
        if block.fixed is not None:
            start = block.fixed
        else:
            start = max(earliest, block.earliest)
            for _ in range(MOST_MOVES):
                later = self._later(block, uses, start)
                if later is None:
                    break
                start = later
            else:
                raise CannotMakeError(
                    f"there is never room for {next(iter(block.offsets))}",
                    mend="Look at the breaks and at what it needs at once",
                )
        self._take(block, uses, start)

    def _spans(self, block: Block, use: Use, start: int) -> tuple[int, int]:
        end = start + block.offsets[use.last] + self.seconds[use.last]
        return start + block.offsets[use.first], end

    def _set_up(self, use: Use, begin: int) -> tuple[int, int, tuple[str, ...]] | None:
        """Return when a resource is changed before a use, and what that needs, if it is."""
        rules = self.rules.get(use.resource)
        if rules is None or use.family is None:
            return None
        took = rules.seconds(self.last[use.resource][0], use.family)
        return (begin - took, begin, (use.resource, *rules.needs)) if took else None

    def _later(self, block: Block, uses: list[Use], start: int) -> int | None:
        """Return a later start to try, None where the block fits."""
        for use in uses:
            begin, end = self._spans(block, use, start)
            spans = [(begin, end, use.resource, use.amount)] if end > begin else []
            if use.resource in self.last and use.family is not None:
                change = self._set_up(use, begin)
                # A resource with set-ups is filled in the order of time only.
                free, from_ = self.last[use.resource][1], begin if change is None else change[0]
                if from_ < free:
                    return start + free - from_
                if change is not None:
                    spans += [(change[0], change[1], need, 1) for need in change[2]]
            for first, last, resource, amount in spans:
                later = self.lanes[resource].clash(first, last, amount)
                if later is not None:
                    return start + later - first
        return self._own_clash(block, uses, start)

    def _own_clash(self, block: Block, uses: list[Use], start: int) -> int | None:
        """Return a later start where a change of set-up would need the block's own hands."""
        changes = [c for u in uses if (c := self._set_up(u, self._spans(block, u, start)[0]))]
        for begin, end, needs in changes:
            for use in uses:
                first, last = self._spans(block, use, start)
                full = self.lanes[use.resource]
                if use.resource in needs and first < end and last > begin and len(full.lanes) == 1:
                    raise CannotMakeError(
                        f"{use.first} needs {use.resource} while it is set up",
                        mend="Let the set-up come before the whole of it",
                    )
        return None

    def _take(self, block: Block, uses: list[Use], start: int) -> None:
        for name, offset in block.offsets.items():
            self.starts[name] = start + offset
        for use in uses:
            begin, end = self._spans(block, use, start)
            change = self._set_up(use, begin)
            if change is not None and use.family is not None:
                for need in change[2]:
                    self.lanes[need].take(change[0], change[1], 1)
                before = self.last[use.resource][0]
                self.changes.append(Change(use.resource, before, use.family, change[0], change[1]))
            if use.resource in self.last and use.family is not None:
                self.last[use.resource] = (use.family, end)
            if end > begin:
                self.lanes[use.resource].take(begin, end, use.amount)


def insert_all(problem: Problem, rank: dict[str, float]) -> Insertion:
    """Return a schedule built block by block; a smaller rank goes first among what can go.

    Raises:
        CannotMakeError: links contradict one another, or a block fits nowhere.
    """
    blocks = blocks_of(problem)
    block_of = {name: number for number, b in enumerate(blocks) for name in b.offsets}
    uses: list[list[Use]] = [[] for _ in blocks]
    for use in problem.uses:
        uses[block_of[use.first]].append(use)
    before: list[set[int]] = [set() for _ in blocks]
    for link in problem.links:
        one, other = block_of[link.before], block_of[link.after]
        if one != other:
            before[other].add(one)
    into: dict[int, list[tuple[str, int, str]]] = {number: [] for number in range(len(blocks))}
    for link in problem.links:
        if block_of[link.before] != block_of[link.after]:
            into[block_of[link.after]].append((link.before, link.least, link.after))
    ranks = [min(rank[name] for name in block.offsets) for block in blocks]
    built = Insertion(problem)
    fixed = sorted(
        (n for n, b in enumerate(blocks) if b.fixed is not None), key=lambda n: blocks[n].earliest
    )
    done: set[int] = set()
    for number in fixed:
        built.place(blocks[number], uses[number], 0)
        done.add(number)
    waiting = set(range(len(blocks))) - done
    while waiting:
        ready = [number for number in waiting if before[number] <= done]
        if not ready:
            raise CannotMakeError("tasks wait for each other in a ring", mend="Break the ring")
        chosen = min(ready, key=lambda number: (ranks[number], number))
        earliest = max(
            (
                built.starts[one] + built.seconds[one] + least - blocks[chosen].offsets[other]
                for one, least, other in into[chosen]
            ),
            default=0,
        )
        built.place(blocks[chosen], uses[chosen], earliest)
        waiting.remove(chosen)
        done.add(chosen)
    return built
