"""Builds a schedule by putting block after block into the first place where it fits.

Which block comes next is a matter of rank: what is due first, then what has the longest way to go
(serial generation scheme; Kolisch 1996 compares the ranks). It is quick, always finds something,
and is what the solver starts from.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError
from chape.shop.schedule import Change
from chape.shop.schedule_blocks import blocks_of
from chape.shop.schedule_kernel import place_all
from chape.shop.schedule_numbers import Numbering, Numbers, empty_state

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.shop.schedule import Problem, Resource, Use
    from chape.shop.schedule_blocks import Block
    from chape.shop.schedule_numbers import State


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """A problem in blocks.

    Attributes:
        problem: as it was.
        blocks: every block, with all that may wait in it waiting as long as it may.
        tight: the same with nothing waiting.
        uses: of each block, those that begin with it.
        families: of each resource, in the order of their numbers.
        numbers: all of it for the compiled code.
    """

    problem: Problem
    blocks: tuple[Block, ...]
    tight: tuple[Block, ...]
    uses: tuple[tuple[Use, ...], ...]
    families: tuple[tuple[str, ...], ...]
    numbers: Numbers


@dataclass(frozen=True, slots=True)
class Insertion:
    """A schedule that was built: when each task starts, and its set-ups."""

    starts: dict[str, int]
    changes: tuple[Change, ...]


def layout_of(problem: Problem, *, whole: bool) -> Layout:
    """Return a problem in blocks, whole or not (``blocks_of``).

    Raises:
        CannotMakeError: links contradict one another.
    """
    tight = blocks_of(problem, loose=False, whole=whole)
    # What has its given start has no choice.
    blocks = tuple(
        close if close.fixed is not None else open_
        for close, open_ in zip(tight, blocks_of(problem, loose=True, whole=whole), strict=True)
    )
    block_of = {name: number for number, b in enumerate(blocks) for name in b.offsets}
    uses: list[list[Use]] = [[] for _ in blocks]
    known: dict[str, dict[str, None]] = {resource.name: {} for resource in problem.resources}
    for use in problem.uses:
        uses[block_of[use.first]].append(use)
        if use.family is not None:
            known[use.resource][use.family] = None
    families = tuple(tuple(each) for each in known.values())
    numbers = Numbering(problem, (blocks, tight), block_of, uses, families).numbers()
    return Layout(problem, blocks, tight, tuple(map(tuple, uses)), families, numbers)


def insert_all(
    layout: Layout,
    ranks: Sequence[float],
    ways: Sequence[int] | None = None,
    holds: Sequence[int] | None = None,
) -> Insertion:
    """Return a schedule built block by block.

    Args:
        layout: the problem.
        ranks: a number for each block; the smaller goes first.
        ways: how each is laid out, 0 loose or 1 tight; None for all loose.
        holds: until when each is kept back; None for not at all.

    Raises:
        CannotMakeError: a block fits nowhere.
    """
    state = empty_state(layout.numbers)
    if ways is not None:
        state.way[:] = ways
    if holds is not None:
        state.hold[:] = holds
    stuck = place_all(layout.numbers, state, np.array(ranks, np.float64))
    if stuck == len(layout.blocks):
        raise CannotMakeError("tasks wait for each other in a ring", mend="Break the ring")
    if stuck >= 0:
        block = layout.blocks[stuck]
        name = next(iter(block.offsets))
        if block.fixed is not None:
            raise CannotMakeError(
                f"{name} cannot start when it does", mend="Allow more time before it"
            )
        raise CannotMakeError(
            f"there is never room for {name}",
            mend="Look at the breaks and at what it needs at once",
        )
    return insertion_of(layout, state)


def insertion_of(layout: Layout, state: State) -> Insertion:
    """Return in words what the compiled code found."""
    pairs = zip(layout.blocks, layout.tight, strict=True)
    chosen = [pair[way] for pair, way in zip(pairs, state.way, strict=True)]
    starts = {
        name: int(at) + offset
        for block, at in zip(chosen, state.start, strict=True)
        for name, offset in block.offsets.items()
    }
    changes = state.changes[: state.made[0]]
    made = []
    for row, before, after, begin, end in changes.tolist():
        resource, known = layout.problem.resources[row], layout.families[row]
        was = known[before] if before < len(known) else _at_start(resource)
        made.append(Change(resource.name, was, known[after], begin, end))
    return Insertion(starts, tuple(sorted(made, key=lambda c: (c.start, c.resource))))


def _at_start(resource: Resource) -> str | None:
    return None if resource.changes is None else resource.changes.at_start
