"""Improves a schedule by putting its blocks in again in other orders.

The order is a number for each block, at first its start. Each round shifts some of the numbers at
random - those of one kind of block, of a few, or of a stretch of time - or gathers what needs the
same set-up, and inserts all blocks anew (random keys; Bean 1994). A little worse is accepted at
first, less and less later (threshold accepting; Dueck and Scheuer 1990). Shifting whole kinds is
what fills the hands' gaps best: it decides what is kept back to fill them with.
"""

from __future__ import annotations

import time
from random import Random
from typing import TYPE_CHECKING

from chape.shop.schedule import Schedule, finish_of, lateness_of
from chape.shop.schedule_insert import insert_all

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from chape.shop.schedule import Effort
    from chape.shop.schedule_insert import Insertion, Layout

#: Standard deviations of the shifts, as shares of the finish.
SHIFTS = (0.0015, 0.005, 0.015, 0.05, 0.15)

#: What is accepted over the present cost at first, as a share of it.
ACCEPTED = 0.006

#: Share of the rounds that gather a family.
GATHERED = 0.05

#: Share of a family that is gathered.
MOST = 0.8

#: Share of kinds, and of single blocks, that one round shifts.
KINDS, BLOCKS = 0.3, 0.05


def improve(layout: Layout, best: Schedule, effort: Effort) -> Schedule:
    """Return the best schedule of ``effort.rounds`` rounds, or of those that fit into its time."""
    began = time.monotonic()
    dice = Random(effort.seed)  # noqa: S311 - no secret
    kinds, families = _kinds(layout), _families(layout)
    keys = _starts(layout, best.starts)
    now = best.cost
    for number in range(effort.rounds):
        if best.gap <= effort.gap or time.monotonic() - began > effort.seconds:
            break
        if families and dice.random() < GATHERED:
            order = _gathered(keys, dice.choice(families), dice)
        else:
            order = _shifted(keys, kinds, best.finish, dice)
        tried = insert_all(layout, order, soonest=False)
        found = schedule_of(layout, tried, best.bound)
        allowed = ACCEPTED * best.cost * (1 - number / effort.rounds)
        if found.cost <= now + allowed:
            now, keys = found.cost, _starts(layout, found.starts)
        if found.cost < best.cost:
            best = found
    return best


def schedule_of(layout: Layout, built: Insertion, bound: int) -> Schedule:
    """Return what an insertion came to, with a bound that is known."""
    finish = finish_of(layout.problem, built.starts)
    late = lateness_of(layout.problem, built.starts)
    changes = tuple(sorted(built.changes, key=lambda change: (change.start, change.resource)))
    return Schedule(built.starts, changes, finish, late, bound, finish + late <= bound)


def _kinds(layout: Layout) -> list[int]:
    """Return a number for each block, the same for those that take and free the same resources."""
    signs = [
        (tuple(sorted(use.resource for use in uses)), tuple(sorted(u.resource for u in closes)))
        for uses, closes in zip(layout.uses, layout.closes, strict=True)
    ]
    numbers = {sign: number for number, sign in enumerate(dict.fromkeys(signs))}
    return [numbers[sign] for sign in signs]


def _families(layout: Layout) -> list[list[int]]:
    """Return the blocks of each family that a resource is set up for, where they are several."""
    found: dict[tuple[str, str], list[int]] = {}
    for number, uses in enumerate(layout.uses):
        for use in uses:
            if use.family is not None:
                found.setdefault((use.resource, use.family), []).append(number)
    return [blocks for blocks in found.values() if len(blocks) > 1]


def _gathered(keys: Sequence[float], family: Sequence[int], dice: Random) -> list[float]:
    """Put the blocks of a family, or most of them, next to one another, around one of them."""
    middle, nearness = keys[dice.choice(family)], dice.choice((0.001, 0.05, 0.3))
    order = list(keys)
    for block in family:
        if dice.random() < MOST:
            order[block] = middle + nearness * (keys[block] - middle)
    return order


def _starts(layout: Layout, starts: Mapping[str, int]) -> list[float]:
    return [float(min(starts[name] for name in block.offsets)) for block in layout.blocks]


def _shifted(keys: Sequence[float], kinds: Sequence[int], finish: int, dice: Random) -> list[float]:
    spread = dice.choice(SHIFTS) * finish
    what = dice.random()
    if what < 0.25:
        return [key + (dice.gauss(0, spread) if dice.random() < BLOCKS else 0.0) for key in keys]
    middle, half = dice.uniform(0, finish), finish * dice.choice((0.04, 0.08, 0.2, 2.0))
    if what < 0.4:
        return [key + (dice.gauss(0, spread) if abs(key - middle) < half else 0.0) for key in keys]
    shifts = [
        dice.gauss(0, spread) if dice.random() < KINDS else 0.0 for _ in range(max(kinds) + 1)
    ]
    return [
        key + (shifts[kind] if abs(key - middle) < half else 0.0)
        for key, kind in zip(keys, kinds, strict=True)
    ]
