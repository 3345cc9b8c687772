"""Moves blocks about in the order of insertion, and keeps what makes the schedule better, compiled.

The order is a number for each block, at first its start. Each round changes some of the numbers
and inserts all blocks anew (random keys; Bean 1994). A little worse is accepted with a chance that
sinks with how much worse it is and as the search cools (annealing; Kirkpatrick, Gelatt and Vecchi
1983).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from chape.kernels import inner_kernel, kernel
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
        slack: blocks that can be laid out in two ways.
        busiest: the lanes that have most to do: the first, and the one after the last.
    """

    kinds: Whole
    edges: Whole
    families: Whole
    slack: Whole
    busiest: tuple[int, int]


class Walk(NamedTuple):
    """Where a search has come to.

    Attributes:
        keys, best: (blocks,) the present order, and the best one so far.
        ways, best_ways: (blocks,) how each block is laid out in them.
        holds, best_holds: (blocks,) until when each is kept back in them.
        costs: (3,) of the present order, less what it has free before a closing; of the best;
            and the present finish.
        gaps: (spans + 1, 2) in the present order, when the busiest lane falls idle and for how
            long; how often in the first row.
    """

    keys: Ranks
    best: Ranks
    ways: Whole
    best_ways: Whole
    holds: Whole
    best_holds: Whole
    costs: Ranks
    gaps: Whole


#: Which move comes how often: a gap filled, one block moved, two of a kind swapped, some shifted,
#: a stretch of time shaken, kinds shifted; the rest gathers or moves what needs the same set-up.
OFTEN = (0.2, 0.32, 0.45, 0.6, 0.7, 0.8, 0.92)

#: A shift is at least so many seconds, and at most such a share of the finish.
LEAST_SHIFT, MOST_SHIFT = 20.0, 0.2

#: Share of the blocks that are shifted at once, and of a family that is gathered.
SOME, MOST = 0.02, 0.85

#: Share of the moves that lay out a block the other way as well.
TURNED = 0.15

#: Share of the moves that keep a block back as well; how often one that is met is let go instead;
#: how near to a gap it starts, s; for how long it is kept back at most, s.
KEPT, RELEASED, NEAR, LONGEST = 0.15, 0.5, 400.0, 600.0

#: What each second counts for which the busiest lanes are free just before they close. Seconds
#: that are saved before a break gain nothing until there are enough of them for another task; this
#: draws them together.
SAVED = 0.5

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
        # Written as loops: to copy a slice, the compiler takes as long as for all the rest.
        for block in range(len(tried)):
            tried[block] = walk.keys[block]
            s.way[block], s.hold[block] = walk.ways[block], walk.holds[block]
        if len(alike.slack) and dice.random() < TURNED:
            _turn(n, s, walk, alike, dice)
        if dice.random() < KEPT:
            _keep_back(s, walk, dice)
        _move(n, walk, tried, alike, dice)
        if place_all(n, s, tried) >= 0:
            continue
        finish, late = cost_of(n, s)
        cost = float(finish + late)
        shown = cost - SAVED * _before_closing(n, s, alike.busiest, finish)
        more = shown - walk.costs[0]
        if more > 0 and dice.random() >= np.exp(-more / present):
            continue
        walk.costs[0], walk.costs[2] = shown, finish
        for block in range(len(tried)):
            walk.keys[block] = s.start[block]
            walk.ways[block], walk.holds[block] = s.way[block], s.hold[block]
        _note_gaps(s, walk, alike.busiest[0])
        if cost < walk.costs[1]:
            walk.costs[1] = cost
            for block in range(len(tried)):
                # The very order it was built in: in the order of its starts it may come out worse.
                walk.best[block] = tried[block]
                walk.best_ways[block], walk.best_holds[block] = s.way[block], s.hold[block]


@inner_kernel
def _before_closing(n: Numbers, s: State, lanes: tuple[int, int], finish: int) -> float:
    """Return for how long a lane is free just before it closes, at all closings before the finish.

    Args:
        n: the problem.
        s: a schedule of it.
        lanes: to look at: the first, and the one after the last; the mean of them counts.
        finish: of the schedule.
    """
    free = 0
    for lane in range(lanes[0], lanes[1]):
        i = 0
        for closing in range(n.used[lane]):
            begin = n.spans[lane, closing, 0]
            if begin >= finish:
                break
            while s.spans[lane, i, 1] <= begin:
                i += 1
            # A span that touches the closed time has grown together with it.
            if s.spans[lane, i, 0] == begin:
                free += begin - (s.spans[lane, i - 1, 1] if i else 0)
    return free / (lanes[1] - lanes[0])


@inner_kernel
def _note_gaps(s: State, walk: Walk, lane: int) -> None:
    count = s.used[lane]
    walk.gaps[0, 0] = count
    for i in range(count):
        end = s.spans[lane, i, 1]
        walk.gaps[i + 1, 0] = end
        walk.gaps[i + 1, 1] = s.spans[lane, i + 1, 0] - end if i + 1 < count else 0


@inner_kernel
def _gap(walk: Walk, dice: Generator) -> int:
    """Return when the busiest lane falls idle, of two such moments the one for longer; -1 never."""
    count = walk.gaps[0, 0]
    if count < 1:
        return -1
    one, other = 1 + _one_of(count, dice), 1 + _one_of(count, dice)
    longer = one if walk.gaps[one, 1] > walk.gaps[other, 1] else other
    return int(walk.gaps[longer, 0])


@inner_kernel
def _move(n: Numbers, walk: Walk, tried: Ranks, alike: Alike, dice: Generator) -> None:
    keys, finish = walk.keys, walk.costs[2]
    what = dice.random()
    if what < OFTEN[0]:
        _fill(walk, tried, dice)
    elif what < OFTEN[1]:
        _fill_better(n, walk, tried, dice)
    elif what < OFTEN[2]:
        _shift(tried, _one_of(len(keys), dice), _shift_length(finish, dice), dice)
    elif what < OFTEN[3]:
        _swap(tried, alike.kinds, dice)
    elif what < OFTEN[4]:
        length = _shift_length(finish, dice)
        for block in range(len(keys)):
            if dice.random() < SOME:
                _shift(tried, block, length, dice)
    elif what < OFTEN[5]:
        _shake(keys, tried, finish, dice)
    elif what < OFTEN[6] or len(alike.edges) < 2:
        _shift_kinds(tried, alike.kinds, finish, dice)
    else:
        _gather(keys, tried, alike, dice)


@inner_kernel
def _turn(n: Numbers, s: State, walk: Walk, alike: Alike, dice: Generator) -> None:
    """Lay out a block the other way: one in which the busiest lane falls idle, if it is found."""
    chosen = alike.slack[_one_of(len(alike.slack), dice)]
    gap = _gap(walk, dice)
    for i in range(len(alike.slack)):
        block = alike.slack[i]
        start = walk.keys[block]
        if start < gap < start + n.length[block, s.way[block]]:
            chosen = block
    s.way[chosen] = 1 - s.way[chosen]


@inner_kernel
def _keep_back(s: State, walk: Walk, dice: Generator) -> None:
    """Keep a block back that starts about when the busiest lane falls idle, or no longer do.

    This makes room for a set-up that would come after it otherwise.
    """
    chosen = _one_of(len(s.hold), dice)
    gap = _gap(walk, dice)
    for _ in range(TRIES):
        block = _one_of(len(s.hold), dice)
        if s.hold[block] > 0 and dice.random() < RELEASED:
            s.hold[block] = 0
            return
        if abs(walk.keys[block] - gap) < NEAR:
            chosen = block
            break
    s.hold[chosen] = int(walk.keys[chosen] + _between(5.0, LONGEST, dice))


@inner_kernel
def _shake(keys: Ranks, tried: Ranks, finish: float, dice: Generator) -> None:
    """Shift all blocks of a stretch of time."""
    middle, half = finish * dice.random(), finish * _between(0.005, 0.1, dice)
    length = half * (0.05 + 0.55 * dice.random())
    for block in range(len(keys)):
        if abs(keys[block] - middle) < half:
            _shift(tried, block, length, dice)


@inner_kernel
def _fill(walk: Walk, tried: Ranks, dice: Generator) -> None:
    """Have a later block come where the busiest lane falls idle."""
    gap = _gap(walk, dice)
    for _ in range(TRIES):
        block = _one_of(len(tried), dice)
        if tried[block] > gap:
            tried[block] = gap - 0.5
            return


@inner_kernel
def _fill_better(n: Numbers, walk: Walk, tried: Ranks, dice: Generator) -> None:
    """Swap what ends as the busiest lane falls idle for something later that is a little longer."""
    count = walk.gaps[0, 0]
    if count < 1:
        return
    row = 1 + _one_of(count, dice)
    gap, free = walk.gaps[row, 0], walk.gaps[row, 1]
    for one in range(len(tried)):
        took = n.length[one, walk.ways[one]]
        if walk.keys[one] + took != gap:
            continue
        for _ in range(TRIES):
            other = _one_of(len(tried), dice)
            longer = n.length[other, walk.ways[other]] - took
            if walk.keys[other] > gap and 0 < longer <= free:
                tried[one], tried[other] = tried[other], tried[one]
                return
        return


@inner_kernel
def _one_of(count: int, dice: Generator) -> int:
    return int(dice.random() * count)


@inner_kernel
def _between(least: float, most: float, dice: Generator) -> float:
    """Return something between two sizes, each order of size as likely."""
    return float(least * (most / least) ** dice.random())


@inner_kernel
def _shift_length(finish: float, dice: Generator) -> float:
    return _between(LEAST_SHIFT, max(2 * LEAST_SHIFT, MOST_SHIFT * finish), dice)


@inner_kernel
def _shift(tried: Ranks, block: int, length: float, dice: Generator) -> None:
    """Shift a block by about so much, this way or that."""
    # Three dice together are near enough a bell.
    tried[block] += length * (2 * (dice.random() + dice.random() + dice.random()) - 3)


@inner_kernel
def _swap(tried: Ranks, kinds: Whole, dice: Generator) -> None:
    one = _one_of(len(tried), dice)
    for _ in range(TRIES):
        other = _one_of(len(tried), dice)
        if other != one and kinds[other] == kinds[one]:
            tried[one], tried[other] = tried[other], tried[one]
            return


@inner_kernel
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


@inner_kernel
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
