"""Improves a schedule by putting its blocks in again in other orders (``schedule_moves``).

Two walks go side by side, so that two cores are used. At first each of some orders is walked from
for a while, and the two that came furthest are gone on with. A few times the worse of them goes on
from the better.
What they find does not depend on how many threads they share, unless their time runs out.
"""

from __future__ import annotations

import time
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import numpy as np

from chape.shop.schedule import Schedule, finish_of, lateness_of
from chape.shop.schedule_insert import insert_all
from chape.shop.schedule_moves import Alike, Walk, anneal
from chape.shop.schedule_numbers import empty_state

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.shop.schedule import Effort
    from chape.shop.schedule_insert import Insertion, Layout
    from chape.shop.schedule_lanes import Whole

#: What is accepted over the present cost at first and at last, as a share of it.
HOT, COLD = 0.0004, 0.00003

#: This share of the way goes into finding the two orders to go on with.
TRIED = 0.2

#: The walks wait for each other and look at the clock so often.
STAGES = 40

#: From this share of the time on, time counts where it is further than the rounds.
SHORT = 0.5

#: After these shares of the way the worse walk goes on from the better.
MEET = (0.4, 0.6, 0.8, 0.9)

#: Rounds of one walk in a second, of a problem of so many tasks: what they manage on a slow core.
ROUNDS, TASKS = 3000, 700


def improve(layout: Layout, begun: Sequence[Schedule], effort: Effort) -> Schedule:
    """Return the best schedule that two walks find.

    Args:
        layout: the problem in blocks.
        begun: schedules of it.
        effort: how long to search; ``rounds`` of each walk, None for as many as its seconds allow.
    """
    rounds = effort.rounds
    if rounds is None:
        rounds = round(effort.seconds * ROUNDS * TASKS / max(1, len(layout.problem.tasks)))
    walks = [_walk(layout, schedule) for schedule in (*begun, *begun)[: max(2, len(begun))]]
    best, bound = min(begun, key=lambda schedule: schedule.cost), begun[0].bound
    alike = Alike(_kinds(layout), *_families(layout), _slack(layout), _busiest(layout))
    rooms = [empty_state(layout.numbers) for _ in walks]
    stages = max(1, min(STAGES, rounds))
    done = following = 0.0

    def stride(number: int) -> None:
        walk = walks[number]
        first, last = (walk.costs[1] * HOT * (COLD / HOT) ** each for each in (done, following))
        dice = np.random.default_rng((effort.seed, stage, number))
        heat = float(first), float(last)
        share = -(-2 * rounds // (stages * len(walks)))
        anneal(layout.numbers, rooms[number], walk, alike, share, heat, dice)

    # Nothing moves with no rounds, but the code gets compiled.
    anneal(layout.numbers, rooms[0], walks[0], alike, 0, (1.0, 1.0), np.random.default_rng(0))
    begin = time.monotonic()
    with ThreadPoolExecutor(min(2, effort.workers)) as pool:
        for stage in range(stages):
            cost = min(walk.costs[1] for walk in walks)
            now = time.monotonic()
            if now >= begin + effort.seconds or cost - bound <= effort.gap * cost:
                break
            # Where time gets short, it is time that cools.
            spent = (now - begin) / effort.seconds
            done = stage / stages if spent < SHORT else max(stage / stages, spent)
            following = min(1.0, done + 1 / stages)
            list(pool.map(stride, range(len(walks))))
            if len(walks) > 2 and following > TRIED:
                walks = sorted(walks, key=lambda walk: float(walk.costs[1]))[:2]
            _meet(walks, done, following)
    found = min(walks, key=lambda walk: float(walk.costs[1]))
    if found.costs[1] < best.cost:
        ways, holds = found.best_ways.tolist(), found.best_holds.tolist()
        best = schedule_of(layout, insert_all(layout, list(found.best), ways, holds), bound)
    return best


def schedule_of(layout: Layout, built: Insertion, bound: int) -> Schedule:
    """Return what an insertion came to, with a bound that is known."""
    finish = finish_of(layout.problem, built.starts)
    late = lateness_of(layout.problem, built.starts)
    return Schedule(built.starts, built.changes, finish, late, bound, finish + late <= bound)


def _walk(layout: Layout, schedule: Schedule) -> Walk:
    keys = np.array(
        [min(schedule.starts[name] for name in block.offsets) for block in layout.blocks],
        np.float64,
    )
    costs = np.array([schedule.cost, schedule.cost, schedule.finish], np.float64)
    # What it stands at is known once a first order was accepted.
    gaps = np.zeros((empty_state(layout.numbers).spans.shape[1] + 1, 2), np.int64)
    ways = np.array(_ways(layout, schedule), np.int64)
    holds = np.zeros_like(ways)
    return Walk(keys, keys.copy(), ways, ways.copy(), holds, holds.copy(), costs, gaps)


def _ways(layout: Layout, schedule: Schedule) -> list[int]:
    """Return the way each block is laid out in a schedule, or the nearest to it: 0 or 1."""
    ways = []
    for loose, tight in zip(layout.blocks, layout.tight, strict=True):
        first = min(schedule.starts[name] for name in loose.offsets)
        off = [
            sum(abs(schedule.starts[name] - first - at) for name, at in way.offsets.items())
            for way in (loose, tight)
        ]
        ways.append(int(off[1] < off[0]))
    return ways


def _slack(layout: Layout) -> Whole:
    """Return the blocks that can be laid out in two ways."""
    pairs = zip(layout.blocks, layout.tight, strict=True)
    found = [number for number, (one, other) in enumerate(pairs) if one.offsets != other.offsets]
    return np.array(found, np.int64)


def _meet(walks: Sequence[Walk], done: float, following: float) -> None:
    if any(done < share <= following for share in MEET):
        better, worse = sorted(walks, key=lambda walk: walk.costs[1])
        worse.keys[:] = better.best
        worse.ways[:] = better.best_ways
        worse.holds[:] = better.best_holds
        worse.costs[0] = better.costs[1]
        worse.costs[2] = better.costs[2]
        worse.gaps[:] = better.gaps


def _kinds(layout: Layout) -> Whole:
    """Return a number for each block, the same for those that take and free the same resources."""
    n = layout.numbers
    known: dict[tuple[tuple[int, ...], ...], int] = {}
    kinds = []
    for block in n.blocks:
        uses = n.uses["resource"][block["use_from"] : block["use_to"]]
        ends = n.close[block["close_from"] : block["close_to"]]
        sign = (tuple(uses.tolist()), tuple(n.uses["resource"][ends].tolist()))
        kinds.append(known.setdefault(sign, len(known)))
    return np.array(kinds, np.int64)


def _families(layout: Layout) -> tuple[Whole, Whole]:
    """Return the blocks of each family that a resource is set up for, where they are several."""
    found: dict[tuple[str, str], list[int]] = {}
    for number, uses in enumerate(layout.uses):
        for use in uses:
            if use.family is not None:
                found.setdefault((use.resource, use.family), []).append(number)
    several = [blocks for blocks in found.values() if len(blocks) > 1]
    edges = np.cumsum([0, *map(len, several)]).astype(np.int64)
    return edges, np.array([block for blocks in several for block in blocks], np.int64)


def _busiest(layout: Layout) -> tuple[int, int]:
    """Return the lanes that have most to do: a resource's first, and the one after its last."""
    problem, n = layout.problem, layout.numbers
    seconds = {task.name: task.seconds for task in problem.tasks}
    load = {resource.name: 0.0 for resource in problem.resources}
    for use in problem.uses:
        if use.first == use.last:
            load[use.resource] += use.amount * seconds[use.first]
    each = [load[resource.name] / resource.capacity for resource in problem.resources]
    row = n.resources[each.index(max(each))]
    return int(row["lane_from"]), int(row["lane_to"])
