"""Moves blocks about in the order of insertion, and keeps what makes the schedule better, compiled.

The order is a number for each block, at first its start. Each round changes some of the numbers
and inserts all blocks anew (random keys; Bean 1994). A little worse is accepted with a chance that
sinks with how much worse it is and as the search cools (annealing; Kirkpatrick, Gelatt and Vecchi
1983).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from chape.kernels import kernel
from chape.shop.schedule_kernel import cost_of, place_all

if TYPE_CHECKING:
    from numpy.random import Generator

    from chape.shop.schedule_lanes import Ranks, Whole
    from chape.shop.schedule_numbers import Numbers, State


class Alike(NamedTuple):
    """Which blocks belong together.

    Attributes:
        kinds: (blocks,) the same for blocks that take and free the same resources.
        edges, families: blocks that need the same set-up, family after family of two or more, and
            where each begins.
        busiest: the lane that has most to do.
    """

    kinds: Whole
    edges: Whole
    families: Whole
    busiest: int


class Walk(NamedTuple):
    """Where a search has come to.

    Attributes:
        keys, best: (blocks,) the present order, and the best one so far.
        costs: (3,) of the present order, of the best, and the present finish.
        gaps: (spans + 1,) in the present order, when the busiest lane falls idle; how often first.
    """

    keys: Ranks
    best: Ranks
    costs: Ranks
    gaps: Whole


#: Which move comes how often: a gap filled, one block moved, two of a kind swapped, some shifted,
#: a stretch of time shaken, kinds shifted; the rest gathers or moves what needs the same set-up.
OFTEN = (0.3, 0.45, 0.6, 0.7, 0.8, 0.92)

#: A shift is at least so many seconds, and at most such a share of the finish.
LEAST_SHIFT, MOST_SHIFT = 20.0, 0.2

#: Share of the blocks that are shifted at once, and of a family that is gathered.
SOME, MOST = 0.02, 0.85

#: So often another block of the same kind, or a later one, is looked for.
TRIES = 200


@kernel
def anneal(
    n: Numbers,
    s: State,
    walk: Walk,
    alike: Alike,
    rounds: int,
    heat: tuple[float, float],
    dice: Generator,
) -> None:
    """Try so many other orders, and keep what is better, or worse by chance.

    Args:
        n: the problem.
        s: room for a schedule of it.
        walk: where to go on from; changed.
        alike: its blocks.
        rounds: orders to try.
        heat: at first and at last; a schedule that costs so much more is accepted with a chance
            of 37 %.
        dice: numbers by chance.
    """
    tried = walk.keys.copy()
    for number in range(rounds):
        present = heat[0] * (heat[1] / heat[0]) ** (number / rounds)
        tried[:] = walk.keys
        _move(walk, tried, alike, dice)
        if place_all(n, s, tried) >= 0:
            continue
        finish, late = cost_of(n, s)
        cost = float(finish + late)
        more = cost - walk.costs[0]
        if more > 0 and dice.random() >= np.exp(-more / present):
            continue
        walk.costs[0], walk.costs[2] = cost, finish
        for block in range(len(tried)):
            walk.keys[block] = s.start[block]
        walk.gaps[0] = s.used[alike.busiest]
        for i in range(walk.gaps[0]):
            walk.gaps[i + 1] = s.spans[alike.busiest, i, 1]
        if cost < walk.costs[1]:
            walk.costs[1] = cost
            walk.best[:] = walk.keys


@kernel
def _move(walk: Walk, tried: Ranks, alike: Alike, dice: Generator) -> None:
    keys, finish = walk.keys, walk.costs[2]
    what = dice.random()
    if what < OFTEN[0]:
        _fill(walk, tried, dice)
    elif what < OFTEN[1]:
        _shift(tried, _one_of(len(keys), dice), _shift_length(finish, dice), dice)
    elif what < OFTEN[2]:
        _swap(tried, alike.kinds, dice)
    elif what < OFTEN[3]:
        length = _shift_length(finish, dice)
        for block in range(len(keys)):
            if dice.random() < SOME:
                _shift(tried, block, length, dice)
    elif what < OFTEN[4]:
        _shake(keys, tried, finish, dice)
    elif what < OFTEN[5] or len(alike.edges) < 2:
        _shift_kinds(tried, alike.kinds, finish, dice)
    else:
        _gather(keys, tried, alike, dice)


@kernel
def _shake(keys: Ranks, tried: Ranks, finish: float, dice: Generator) -> None:
    """Shift all blocks of a stretch of time."""
    middle, half = finish * dice.random(), finish * _between(0.005, 0.1, dice)
    length = half * (0.05 + 0.55 * dice.random())
    for block in range(len(keys)):
        if abs(keys[block] - middle) < half:
            _shift(tried, block, length, dice)


@kernel
def _fill(walk: Walk, tried: Ranks, dice: Generator) -> None:
    """Have a later block come where the busiest lane falls idle."""
    if walk.gaps[0] < 1:
        return
    gap = walk.gaps[1 + _one_of(walk.gaps[0], dice)]
    for _ in range(TRIES):
        block = _one_of(len(tried), dice)
        if tried[block] > gap:
            tried[block] = gap - 0.5
            return


@kernel
def _one_of(count: int, dice: Generator) -> int:
    return int(dice.random() * count)


@kernel
def _between(least: float, most: float, dice: Generator) -> float:
    """Return something between two sizes, each order of size as likely."""
    return float(least * (most / least) ** dice.random())


@kernel
def _shift_length(finish: float, dice: Generator) -> float:
    return _between(LEAST_SHIFT, max(2 * LEAST_SHIFT, MOST_SHIFT * finish), dice)


@kernel
def _shift(tried: Ranks, block: int, length: float, dice: Generator) -> None:
    """Shift a block by about so much, this way or that."""
    # Three dice together are near enough a bell.
    tried[block] += length * (2 * (dice.random() + dice.random() + dice.random()) - 3)


@kernel
def _swap(tried: Ranks, kinds: Whole, dice: Generator) -> None:
    one = _one_of(len(tried), dice)
    for _ in range(TRIES):
        other = _one_of(len(tried), dice)
        if other != one and kinds[other] == kinds[one]:
            tried[one], tried[other] = tried[other], tried[one]
            return


@kernel
def _shift_kinds(tried: Ranks, kinds: Whole, finish: float, dice: Generator) -> None:
    """Shift one kind of block, or two, over a stretch of time.

    This decides what is kept back to fill the hands' gaps with.
    """
    middle, half = finish * dice.random(), finish * _between(0.02, 2.0, dice)
    first, second = kinds[_one_of(len(kinds), dice)], kinds[_one_of(len(kinds), dice)]
    length = _shift_length(finish, dice)
    one, other = length * (2 * dice.random() - 1), length * (2 * dice.random() - 1)
    if dice.random() < 0.6:
        other = 0.0
    for block in range(len(kinds)):
        if abs(tried[block] - middle) < half:
            if kinds[block] == first:
                tried[block] += one
            elif kinds[block] == second:
                tried[block] += other


@kernel
def _gather(keys: Ranks, tried: Ranks, alike: Alike, dice: Generator) -> None:
    """Draw a family, or most of it, together: around one of it, or to before one of another."""
    edges, blocks = alike.edges, alike.families
    group = _one_of(len(edges) - 1, dice)
    first, last = edges[group], edges[group + 1]
    here = keys[blocks[first + _one_of(last - first, dice)]]
    there, share = here, MOST
    if dice.random() < 0.5:
        there, share = keys[blocks[_one_of(len(blocks), dice)]], 1.0
        for i in range(first, last):
            here = min(here, keys[blocks[i]])
    nearness = _between(0.001, 1.0, dice)
    for i in range(first, last):
        if dice.random() < share:
            tried[blocks[i]] = there + nearness * (keys[blocks[i]] - here)
