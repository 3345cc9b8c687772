"""A problem in blocks as rows of numbers, for the compiled code."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from chape.shop.schedule import Problem, Use
    from chape.shop.schedule_blocks import Block
    from chape.shop.schedule_lanes import Whole

#: Rows of one of the kinds below.
Rows: TypeAlias = NDArray[np.void]


def _kind(names: str) -> np.dtype[np.void]:
    return np.dtype([(name, np.int64) for name in names.split()])


#: What is known of a block: its given start or -1, for how many blocks it waits; then the rows of
#: its uses, of what it ends, of the blocks it comes after and of those that wait for it.
BLOCK = _kind(
    "fixed waits use_from use_to close_from close_to into_from into_to after_from after_to"
)

#: Of a use: of what family (-1: of any), and where it notes the lanes it took.
USE = _kind("resource amount family taken")

#: Of a resource: its lanes; whether it is set up, and for what at zero (the last row of the
#: changes); the rows of what a set-up needs, the resource itself first.
RESOURCE = _kind("lane_from lane_to set_up at_start need_from need_to")

DUE = _kind("block at weight")


class Numbers(NamedTuple):
    """A problem in blocks, each of which can be laid out in two ways: loose (0) and tight (1).

    Attributes:
        blocks, uses, resources, dues: rows as above.
        earliest, length: (blocks, 2) first start, and time to the last end, of each way.
        use_at: (uses, 2, 2) of each way, begin and end after its block's start; the end is -1 where
            it ends with another block.
        close, close_at: (closes,), (closes, 2) uses that end with a block, and when.
        into, into_at: (into,), (into, 2, 2) blocks that one comes after, and the least gap from
            start to start, by the way of the one before and of the one after.
        due_at: (dues, 2) when a due's task ends after its block's start.
        after: blocks that wait for a block.
        needs: resources that are taken while one is set up.
        change: (resources, families + 1, families) seconds from a family, or from what it is set
            up for at zero (the last row), to another.
        used, spans: (lanes,), (lanes, spans, 2) what is closed.
    """

    blocks: Rows
    uses: Rows
    resources: Rows
    dues: Rows
    earliest: Whole
    length: Whole
    use_at: Whole
    close: Whole
    close_at: Whole
    into: Whole
    into_at: Whole
    due_at: Whole
    after: Whole
    needs: Whole
    change: Whole
    used: Whole
    spans: Whole


class State(NamedTuple):
    """A schedule being built.

    Attributes:
        way, hold: (blocks,) how each block is laid out, and until when it is kept back; given.
        start: (blocks,) -1 without a place.
        waits: (blocks,) for how many a block still waits.
        used, spans: (lanes,), (lanes, spans, 2) what is taken.
        lanes: the lanes that uses took.
        last, free: (resources,) family of the last use with one, and when it ends.
        changes: (uses, 5) set-ups: resource, from, to, start, end; ``made[0]`` of them.
        tried: lanes that the set-ups of a block took while its place is looked for.
        ready, held: room for the blocks that can go, and for those held back; ``tally`` of each.
    """

    way: Whole
    hold: Whole
    start: Whole
    waits: Whole
    used: Whole
    spans: Whole
    lanes: Whole
    last: Whole
    free: Whole
    changes: Whole
    made: Whole
    tried: Whole
    ready: Whole
    held: Whole
    tally: Whole


def empty_state(n: Numbers) -> State:
    """Return room for a schedule."""
    uses, resources = len(n.uses), len(n.resources)
    # Every use and every set-up of one is a span at most, and so is every closed time.
    most = n.spans.shape[1] + 2 * uses + 2
    return State(
        way=np.zeros(len(n.blocks), np.int64),
        hold=np.zeros(len(n.blocks), np.int64),
        start=np.zeros(len(n.blocks), np.int64),
        waits=np.zeros(len(n.blocks), np.int64),
        used=np.zeros(len(n.used), np.int64),
        spans=np.zeros((len(n.used), most, 2), np.int64),
        lanes=np.zeros(int(n.uses["amount"].sum()), np.int64),
        last=np.zeros(resources, np.int64),
        free=np.zeros(resources, np.int64),
        changes=np.zeros((uses + 1, 5), np.int64),
        made=np.zeros(1, np.int64),
        tried=np.zeros(len(n.needs) * (uses + 1), np.int64),
        ready=np.zeros(len(n.blocks), np.int64),
        held=np.zeros(2 * len(n.blocks), np.int64),
        tally=np.zeros(2, np.int64),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Numbering:
    """A problem on its way to numbers.

    Attributes:
        problem: its tasks, links, uses and resources.
        ways: every block, laid out loosely and tightly.
        block_of: task -> number of its block.
        uses: of each block, those that begin with it.
        families: of each resource, in the order of their numbers.
    """

    problem: Problem
    ways: tuple[tuple[Block, ...], tuple[Block, ...]]
    block_of: Mapping[str, int]
    uses: Sequence[Sequence[Use]]
    families: Sequence[Sequence[str]]

    def numbers(self) -> Numbers:
        """Return the numbers."""
        loose, tight = self.ways
        into, closes = self._into(), self._closes()
        before = [
            {row[0] for row in into[block]} | {row[2] for row in closes[block]}
            for block in range(len(loose))
        ]
        after: list[list[int]] = [[] for _ in loose]
        for other, ones in enumerate(before):
            for one in sorted(ones):
                after[one].append(other)
        places = [_places(each) for each in (self.uses, closes, into, after)]
        blocks = [
            (
                *(-1 if block.fixed is None else block.fixed, len(before[number])),
                *(edge for place in places for edge in place[number]),
            )
            for number, block in enumerate(loose)
        ]
        pairs = list(zip(loose, tight, strict=True))
        change, resources, needs = self._resources()
        used, spans = self._closed()
        dues = self.problem.dues
        return Numbers(
            blocks=_rows(BLOCK, blocks),
            uses=_rows(USE, self._uses()),
            resources=_rows(RESOURCE, resources),
            dues=_rows(DUE, ((self.block_of[due.task], due.at, due.weight) for due in dues)),
            earliest=_whole([[way.earliest for way in pair] for pair in pairs], 2),
            length=_whole([[way.seconds for way in pair] for pair in pairs], 2),
            use_at=_whole(self._use_at(), 2, 2),
            close=_whole([row[0] for each in closes for row in each]),
            close_at=_whole([row[1] for each in closes for row in each], 2),
            into=_whole([row[0] for each in into for row in each]),
            into_at=_whole([row[1] for each in into for row in each], 2, 2),
            due_at=_whole([self._ends(due.task) for due in dues], 2),
            after=_whole([row for each in after for row in each]),
            needs=_whole(needs),
            change=change,
            used=used,
            spans=spans,
        )

    def _ends(self, name: str) -> list[int]:
        """Return when a task ends after its block's start, in each way."""
        blocks = [way[self.block_of[name]] for way in self.ways]
        return [block.offsets[name] + block.lengths[name] for block in blocks]

    def _begins(self, name: str) -> list[int]:
        return [way[self.block_of[name]].offsets[name] for way in self.ways]

    def _into(self) -> list[list[tuple[int, list[list[int]]]]]:
        """Return of each block the blocks it comes after, with the gaps between the starts."""
        into: list[list[tuple[int, list[list[int]]]]] = [[] for _ in self.ways[0]]
        for link in self.problem.links:
            one, other = self.block_of[link.before], self.block_of[link.after]
            if one != other:
                gaps = [
                    [end + link.least - begin for begin in self._begins(link.after)]
                    for end in self._ends(link.before)
                ]
                into[other].append((one, gaps))
        return into

    def _closes(self) -> list[list[tuple[int, list[int], int]]]:
        """Return of each block the uses that end with it: number, ends, block they began with."""
        closes: list[list[tuple[int, list[int], int]]] = [[] for _ in self.ways[0]]
        number = 0
        for block, uses in enumerate(self.uses):
            for use in uses:
                other = self.block_of[use.last]
                if other != block:
                    closes[other].append((number, self._ends(use.last), block))
                number += 1
        return closes

    def _uses(self) -> Iterator[tuple[int, ...]]:
        number_of = {r.name: number for number, r in enumerate(self.problem.resources)}
        taken = 0
        for uses in self.uses:
            for use in uses:
                resource = number_of[use.resource]
                family = -1
                if use.family is not None:
                    family = self.families[resource].index(use.family)
                yield resource, use.amount, family, taken
                taken += use.amount

    def _use_at(self) -> list[list[tuple[int, int]]]:
        """Return of each use, and each way of its block, where it begins and ends."""
        found = []
        for block, uses in enumerate(self.uses):
            for use in uses:
                inside = self.block_of[use.last] == block
                ends = self._ends(use.last) if inside else [-1, -1]
                found.append(list(zip(self._begins(use.first), ends, strict=True)))
        return found

    def _resources(self) -> tuple[Whole, list[tuple[int, ...]], list[int]]:
        """Return the changes, the rows of the resources and what their set-ups need."""
        resources = self.problem.resources
        number_of = {resource.name: number for number, resource in enumerate(resources)}
        most = max([1, *map(len, self.families)])
        change = np.zeros((len(resources), most + 1, most), np.int64)
        rows: list[tuple[int, ...]] = []
        needs: list[int] = []
        lanes = 0
        for number, resource in enumerate(resources):
            rules, known = resource.changes, self.families[number]
            began = len(needs)
            if rules is not None:
                for after, family in enumerate(known):
                    change[number, most, after] = rules.seconds(rules.at_start, family)
                    for before, other in enumerate(known):
                        change[number, before, after] = rules.seconds(other, family)
                needs += dict.fromkeys([number, *(number_of[need] for need in rules.needs)])
            rows.append(
                (lanes, lanes + resource.capacity, rules is not None, most, began, len(needs))
            )
            lanes += resource.capacity
        return change, rows, needs

    def _closed(self) -> tuple[Whole, Whole]:
        resources = self.problem.resources
        lanes = [resource.closed for resource in resources for _ in range(resource.capacity)]
        spans = np.zeros((len(lanes), max([1, *map(len, lanes)]), 2), np.int64)
        for lane, closed in enumerate(lanes):
            for number, span in enumerate(closed):
                spans[lane, number] = span
        return np.array([len(closed) for closed in lanes], np.int64), spans


def _places(lists: Sequence[Sequence[object]]) -> list[tuple[int, int]]:
    """Return where each of some lists begins and ends when they are laid end to end."""
    ends = [0, *accumulate(map(len, lists))]
    return list(pairwise(ends))


def _whole(values: Sequence[object], *shape: int) -> Whole:
    """Return whole numbers, one row for each value; the shape of a row where there may be none."""
    return np.array(values, np.int64).reshape(-1, *shape)


def _rows(kind: np.dtype[np.void], rows: Iterable[tuple[int, ...]]) -> Rows:
    return np.array(list(rows), kind)
