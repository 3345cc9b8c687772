"""The fewest pieces of stock from which all that is wanted can be cut.

A *pattern* says how many of each item one piece of stock gives. Every piece of stock is cut by some
pattern, and the fewest pieces are the solution of a whole-number programme over the patterns. Its
relaxation to fractions, rounded up, is a bound: no plan of any kind from the same patterns needs
fewer (P. C. Gilmore and R. E. Gomory, 1961, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import LinearConstraint, linprog, milp

from chape.errors import CannotMakeError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from chape.field.grid import Floats

Pattern = tuple[int, ...]

#: Nodes of the whole-number programme's tree, at most: work is counted, not timed.
NODES = 20_000

#: Rounds of making patterns.
ROUNDS = 500

#: Worths nearer than this are the same.
SAME = 1e-7


@dataclass(frozen=True, slots=True)
class CutPlan:
    """How often each pattern is cut.

    Attributes:
        patterns: how many of each item a piece of stock gives.
        times: how many pieces of stock are cut so.
        bound: fewer pieces of stock than this cannot do, by any patterns that may be cut.
    """

    patterns: tuple[Pattern, ...]
    times: tuple[int, ...]
    bound: int

    @property
    def pieces(self) -> int:
        """Pieces of stock in all."""
        return sum(self.times)

    @property
    def optimal(self) -> bool:
        """Whether it is proved that no plan needs fewer."""
        return self.pieces == self.bound


def fewest(
    demand: Sequence[int],
    best_pattern: Callable[[Floats], tuple[Pattern, float]],
    more_patterns: Callable[[Sequence[int]], Sequence[Pattern]] = lambda _: (),
) -> CutPlan:
    """Return a plan that cuts at least what is wanted from few pieces of stock.

    Patterns are made one after the other, each the one that the plan in fractions would gain most
    by, until none gains anything: the bound then holds for every pattern there is.

    Args:
        demand: how many of each item are wanted, each at least 1.
        best_pattern: returns the pattern of greatest worth for given worths (n,) of the items, and
            a worth no pattern exceeds.
        more_patterns: returns further patterns that suit a demand: asked for the whole one, and
            for what the whole part of the plan in fractions leaves.

    Raises:
        CannotMakeError: an item cannot be cut from the stock at all.
    """
    patterns = _single_patterns(demand, best_pattern)
    wanted = np.array(demand, dtype=np.float64)
    bound, used = 0.0, np.zeros(len(patterns))
    for _ in range(ROUNDS):
        table = np.array(patterns, dtype=np.float64).T
        relaxed = linprog(np.ones(len(patterns)), A_ub=-table, b_ub=-wanted, method="highs")
        used = np.asarray(relaxed.x, dtype=np.float64)
        worth = np.maximum(0.0, -relaxed.ineqlin.marginals)
        pattern, most = best_pattern(worth)
        # Worths scaled until no pattern is worth more than one piece of stock: a bound by duality.
        bound = max(bound, float(worth @ wanted) / max(1.0, most))
        if most <= 1 + SAME or pattern in patterns:
            break
        patterns.append(pattern)
    table = np.array(patterns[: len(used)], dtype=np.float64).T
    rest = np.maximum(0.0, wanted - table @ np.floor(used + SAME))
    for left in (list(demand), [round(float(number)) for number in rest]):
        patterns += more_patterns(left)
    return fewest_of(list(dict.fromkeys(patterns)), demand, ceil(bound - 1e-6))


def _single_patterns(
    demand: Sequence[int], best_pattern: Callable[[Floats], tuple[Pattern, float]]
) -> list[Pattern]:
    """Return for each item the pattern that gives most of it."""
    found: dict[Pattern, None] = {}
    for n in range(len(demand)):
        only = np.zeros(len(demand))
        only[n] = 1.0
        pattern, _ = best_pattern(only)
        if pattern[n] == 0:
            raise CannotMakeError(
                f"item {n + 1} cannot be cut from the stock at all", mend="Use larger stock"
            )
        found[pattern] = None
    return list(found)


def fewest_of(patterns: Sequence[Pattern], demand: Sequence[int], bound: int) -> CutPlan:
    """Return the plan of fewest pieces of stock that uses given patterns alone.

    Args:
        patterns: that may be cut; together they give every item.
        demand: how many of each item are wanted.
        bound: fewer pieces than this are known not to do.
    """
    table = np.array(patterns, dtype=np.float64).T
    answer = milp(
        np.ones(len(patterns)),
        integrality=np.ones(len(patterns), dtype=np.int64),
        constraints=LinearConstraint(table, lb=np.array(demand, dtype=np.float64)),
        options={"node_limit": NODES, "mip_rel_gap": 0.0},
    )
    if answer.x is None:
        raise AssertionError("patterns that give every item always make a plan")
    times = [round(float(number)) for number in answer.x]
    used = [(p, n) for p, n in zip(patterns, times, strict=True) if n]
    used.sort(key=lambda each: (-each[1], each[0]))
    return CutPlan(tuple(p for p, _ in used), tuple(n for _, n in used), bound)


def full_patterns(lengths: Sequence[int], stock: int, most: int = 20_000) -> list[Pattern]:
    """Return every pattern along a length to which nothing more can be added, up to ``most``."""
    found: list[Pattern] = []

    def add(n: int, left: int, counts: tuple[int, ...]) -> None:
        if len(found) >= most:
            return
        if n == len(lengths):
            if all(length > left for length in lengths):
                found.append(counts)
            return
        for count in range(left // lengths[n], -1, -1):
            add(n + 1, left - count * lengths[n], (*counts, count))

    add(0, stock, ())
    return found


def best_length_pattern(
    lengths: Sequence[int], stock: int
) -> Callable[[Floats], tuple[Pattern, float]]:
    """Return the function that finds the pattern of greatest worth along one length.

    A knapsack by dynamic programming over whole units, exact.

    Args:
        lengths: of the items, whole units, saw kerf included.
        stock: length of a piece of stock, one kerf added.
    """

    def best(worths: Floats) -> tuple[Pattern, float]:
        value = np.zeros(stock + 1)
        choice = np.full(stock + 1, -1)
        for at in range(1, stock + 1):
            value[at] = value[at - 1]
            for n, length in enumerate(lengths):
                if length <= at and value[at - length] + worths[n] > value[at] + 1e-12:
                    value[at], choice[at] = value[at - length] + worths[n], n
        counts = [0] * len(lengths)
        at = stock
        while at > 0:
            if choice[at] < 0:
                at -= 1
            else:
                counts[choice[at]] += 1
                at -= lengths[choice[at]]
        return tuple(counts), float(value[stock])

    return best
