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


#: What is known of a block: first start, given start or -1, time to its last end, for how many
#: blocks it waits; then the rows of its uses, of what it ends, of the blocks it comes after and of
#: those that wait for it.
BLOCK = _kind(
    "earliest fixed length waits use_from use_to close_from close_to into_from into_to "
    "after_from after_to"
)

#: Of a use: from ``begin`` to ``end`` after its block's start (-1: it ends with another block), of
#: what family (-1: of any), and where it notes the lanes it took.
USE = _kind("resource begin end amount family taken")

#: Of a use that ends with a block: when, after the block's start.
CLOSE = _kind("use end")

#: Of a block that another comes after: that starts at least ``gap`` after the start of this.
INTO = _kind("block gap")

#: Of a resource: its lanes; whether it is set up, and for what at zero (the last row of the
#: changes); the rows of what a set-up needs, the resource itself first.
RESOURCE = _kind("lane_from lane_to set_up at_start need_from need_to")

#: Of a due: when its task ends after its block's start.
DUE = _kind("block end at weight")


class Numbers(NamedTuple):
    """A problem in blocks.

    Attributes:
        blocks, uses, closes, into, resources, dues: rows as above.
        after: blocks that wait for a block.
        needs: resources that are taken while one is set up.
        change: (resources, families + 1, families) seconds from a family, or from what it is set
            up for at zero (the last row), to another.
        used, spans: (lanes,), (lanes, spans, 2) what is closed.
    """

    blocks: Rows
    uses: Rows
    closes: Rows
    into: Rows
    resources: Rows
    dues: Rows
    after: Whole
    needs: Whole
    change: Whole
    used: Whole
    spans: Whole


class State(NamedTuple):
    """A schedule being built.

    Attributes:
        start: (blocks,) -1 without a place.
        waits: (blocks,) for how many a block still waits.
        used, spans: (lanes,), (lanes, spans, 2) what is taken.
        lanes: the lanes that uses took.
        last, free: (resources,) family of the last use with one, and when it ends.
        changes: (uses, 5) set-ups: resource, from, to, start, end; ``made[0]`` of them.
        tried: lanes that the set-ups of a block took while its place is looked for.
    """

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


def empty_state(n: Numbers) -> State:
    """Return room for a schedule."""
    uses, resources = len(n.uses), len(n.resources)
    # Every use and every set-up of one is a span at most, and so is every closed time.
    most = n.spans.shape[1] + 2 * uses + 2
    return State(
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
    )


@dataclass(frozen=True, slots=True, eq=False)
class Numbering:
    """A problem on its way to numbers.

    Attributes:
        problem: its tasks, links, uses and resources.
        blocks: every block.
        block_of: task -> number of its block.
        uses: of each block, those that begin with it.
        families: of each resource, in the order of their numbers.
    """

    problem: Problem
    blocks: tuple[Block, ...]
    block_of: Mapping[str, int]
    uses: Sequence[Sequence[Use]]
    families: Sequence[Sequence[str]]

    def numbers(self) -> Numbers:
        """Return the numbers."""
        into = self._into()
        closes = self._closes()
        before = [
            {row[0] for row in into[block]} | {row[2] for row in closes[block]}
            for block in range(len(self.blocks))
        ]
        after: list[list[int]] = [[] for _ in self.blocks]
        for other, ones in enumerate(before):
            for one in sorted(ones):
                after[one].append(other)
        places = [_places(each) for each in (self.uses, closes, into, after)]
        blocks = [
            (
                *(block.earliest, -1 if block.fixed is None else block.fixed, block.seconds),
                *(len(before[number]), *(edge for place in places for edge in place[number])),
            )
            for number, block in enumerate(self.blocks)
        ]
        change, resources, needs = self._resources()
        used, spans = self._closed()
        return Numbers(
            blocks=_rows(BLOCK, blocks),
            uses=_rows(USE, self._uses()),
            closes=_rows(CLOSE, (row[:2] for each in closes for row in each)),
            into=_rows(INTO, (row for each in into for row in each)),
            resources=_rows(RESOURCE, resources),
            dues=_rows(DUE, self._dues()),
            after=np.array([row for each in after for row in each], np.int64),
            needs=np.array(needs, np.int64),
            change=change,
            used=used,
            spans=spans,
        )

    def _end(self, name: str) -> int:
        """Return when a task ends after its block's start."""
        block = self.blocks[self.block_of[name]]
        return block.offsets[name] + block.lengths[name]

    def _into(self) -> list[list[tuple[int, int]]]:
        """Return of each block the blocks it comes after, with the gap between the starts."""
        into: list[list[tuple[int, int]]] = [[] for _ in self.blocks]
        for link in self.problem.links:
            one, other = self.block_of[link.before], self.block_of[link.after]
            if one != other:
                offset = self.blocks[other].offsets[link.after]
                into[other].append((one, self._end(link.before) + link.least - offset))
        return into

    def _closes(self) -> list[list[tuple[int, int, int]]]:
        """Return of each block the uses that end with it: number, end, block they began with."""
        closes: list[list[tuple[int, int, int]]] = [[] for _ in self.blocks]
        number = 0
        for block, uses in enumerate(self.uses):
            for use in uses:
                other = self.block_of[use.last]
                if other != block:
                    closes[other].append((number, self._end(use.last), block))
                number += 1
        return closes

    def _uses(self) -> Iterator[tuple[int, ...]]:
        number_of = {r.name: number for number, r in enumerate(self.problem.resources)}
        taken = 0
        for block, uses in enumerate(self.uses):
            for use in uses:
                resource = number_of[use.resource]
                inside = self.block_of[use.last] == block
                family = -1
                if use.family is not None:
                    family = self.families[resource].index(use.family)
                yield (
                    *(resource, self.blocks[block].offsets[use.first]),
                    *(self._end(use.last) if inside else -1, use.amount, family, taken),
                )
                taken += use.amount

    def _dues(self) -> Iterator[tuple[int, ...]]:
        for due in self.problem.dues:
            yield self.block_of[due.task], self._end(due.task), due.at, due.weight

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


def _rows(kind: np.dtype[np.void], rows: Iterable[tuple[int, ...]]) -> Rows:
    return np.array(list(rows), kind)
