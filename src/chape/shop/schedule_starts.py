"""Schedules to begin with: blocks inserted in a few likely orders.

What is due first goes first, or what has the longest way to go, or what is listed first; and, for
each resource that has to be set up, the same with one family after the other in every order.
"""

from __future__ import annotations

from itertools import islice, permutations, product
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.shop.schedule_insert import insert_all, layout_of
from chape.shop.schedule_search import schedule_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from chape.shop.schedule import Problem, Schedule
    from chape.shop.schedule_insert import Layout

#: Schedules to begin with, at most.
MOST_STARTS = 6

#: Orders of families that are tried for one resource: all of four.
MOST_ORDERS = 24


def starts_of(
    problem: Problem, bound: int, like: Mapping[str, int]
) -> tuple[Layout, tuple[Schedule, ...]]:
    """Return a layout to search in, and schedules to begin with, the cheapest first.

    No two of them first set up the same things in the same order; the one with the least to set
    up is among them.

    Args:
        problem: what to schedule.
        bound: no schedule costs less.
        like: starts of an older schedule, whose order is tried as well.

    Raises:
        CannotMakeError: nothing can be inserted.
    """
    whole = layout_of(problem, whole=True)
    loose = layout_of(problem, whole=False)
    usual = [_of_blocks(loose, rank) for rank in _ranks(problem, like)]
    found = []
    for ranks in (*usual, *_by_family(loose, usual)):
        try:
            found.append(schedule_of(loose, insert_all(loose, ranks), bound))
        except CannotMakeError:
            # Stations may wait for each other where blocks are not whole; whole ones never do.
            continue
    for rank in _ranks(problem, like):
        built = insert_all(whole, _of_blocks(whole, rank), [1] * len(whole.blocks))
        found.append(schedule_of(whole, built, bound))
    found.sort(key=lambda schedule: schedule.cost)
    least = min(found, key=lambda schedule: (_set_up(schedule), schedule.cost))
    unlike: dict[tuple[tuple[str, str], ...], Schedule] = {}
    for schedule in (found[0], least, *found):
        unlike.setdefault(_order(schedule), schedule)
    chosen = list(unlike.values())[:MOST_STARTS]
    return loose, tuple(sorted(chosen, key=lambda schedule: schedule.cost))


def _order(schedule: Schedule) -> tuple[tuple[str, str], ...]:
    """Return what is set up, in the order in which it is set up first."""
    return tuple(dict.fromkeys((c.resource, c.after) for c in schedule.changes))


def _set_up(schedule: Schedule) -> int:
    return sum(change.end - change.start for change in schedule.changes)


def _ranks(problem: Problem, like: Mapping[str, int]) -> Iterator[dict[str, float]]:
    """Yield orders to try: an older one, by due and way to go, by way to go, as listed."""
    ahead = {task.name: float(task.seconds) for task in problem.tasks}
    due = dict.fromkeys(ahead, float("inf"))
    due |= {each.task: float(each.at) for each in problem.dues}
    seconds = {task.name: task.seconds for task in problem.tasks}
    for _ in problem.tasks:
        moved = False
        for link in problem.links:
            way = seconds[link.before] + link.least + ahead[link.after]
            if way > ahead[link.before]:
                ahead[link.before], moved = way, True
            if due[link.after] < due[link.before]:
                due[link.before], moved = due[link.after], True
        if not moved:
            break
    if like:
        # What is new comes where what it waits for, or what waits for it, has its place.
        yield {name: float(like.get(name, 0)) for name in ahead}
    longest = 1.0 + max(ahead.values(), default=0.0)
    latest = 1.0 + max((d for d in due.values() if d < float("inf")), default=0.0)
    yield {name: min(due[name], latest) - ahead[name] / longest for name in ahead}
    yield {name: -ahead[name] for name in ahead}
    yield {name: float(number) for number, name in enumerate(ahead)}


def _of_blocks(layout: Layout, rank: Mapping[str, float]) -> list[float]:
    """Return places in the order of ranks: 0 for the block that goes first."""
    ranks = [min(rank[name] for name in block.offsets) for block in layout.blocks]
    places = [0.0] * len(ranks)
    for place, block in enumerate(sorted(range(len(ranks)), key=ranks.__getitem__)):
        places[block] = float(place)
    return places


def _by_family(layout: Layout, usual: Sequence[Sequence[float]]) -> Iterator[list[float]]:
    for number, known in enumerate(layout.families):
        if len(known) < 2 or layout.problem.resources[number].changes is None:
            continue
        family = _inherited(layout, number)
        orders = islice(permutations(range(len(known))), MOST_ORDERS)
        for order, ranks in product(orders, usual):
            turn = {each: place for place, each in enumerate(order)}
            yield [
                turn.get(each, 0) * len(ranks) + rank
                for each, rank in zip(family, ranks, strict=True)
            ]


def _inherited(layout: Layout, resource: int) -> list[int]:
    """Return of each block the family it needs a resource set up for, -1 for any.

    What comes before or after such a block, and has no family itself, goes with it.
    """
    n = layout.numbers
    family = [-1] * len(n.blocks)
    pairs = []
    for number, block in enumerate(n.blocks):
        for use in n.uses[block["use_from"] : block["use_to"]]:
            if use["resource"] == resource and use["family"] >= 0:
                family[number] = int(use["family"])
        pairs += [(number, int(b)) for b in n.after[block["after_from"] : block["after_to"]]]
    moved = True
    while moved:
        moved = False
        for pair in pairs:
            for one, other in (pair, pair[::-1]):
                if family[one] >= 0 and family[other] < 0:
                    family[other], moved = family[one], True
    return family
