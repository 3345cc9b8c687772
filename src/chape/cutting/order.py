"""The order separate places are visited in: a travelling salesman's way between cuts.

Few stops are ordered exactly, by dynamic programming over sets (Held and Karp, 1962). More are
taken each next to the last, then bettered by turning stretches round (2-opt) and by moving short
ones elsewhere (or-opt), and shaken a fixed number of times by the same draws, so that the same
stops give the same way on every machine. Lengths are those of the straight way in the plane, mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.order_search import Ways, best_of_sets, bettered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.cutting.order_search import Floats, Integers

#: So many stops are ordered exactly: beyond, the sets are too many.
EXACT = 9

#: Work spent on shaking, in pairs of stops looked at.
SHAKES = 4_000_000

#: Coming in at the wrong end counts for so much, mm: it is never chosen.
WRONG_WAY = 1e6

#: And no more shakes than this.
MOST_SHAKES = 400


@dataclass(frozen=True, slots=True, eq=False)
class Stop:
    """One thing to visit.

    Attributes:
        places: (k, 2) where the cutter may come in, mm.
        through: it comes in at one of the two places and leaves at the other; else it leaves
            where it came in.
        forward: it comes in at the first of the two alone.
    """

    places: Floats
    through: bool = False
    forward: bool = False


@dataclass(frozen=True, slots=True)
class Route:
    """Stops in the order they are best visited in.

    Attributes:
        visits: (stop, place) indices: where each is entered.
        length: way between the stops, mm.
        as_given: the same in the order the stops were given in, each entered at its first place.
    """

    visits: tuple[tuple[int, int], ...]
    length: float
    as_given: float

    @property
    def saved(self) -> float:
        """How much shorter than as given, mm."""
        return self.as_given - self.length


def shortest_route(
    stops: Sequence[Stop],
    start: tuple[float, float],
    *,
    end: tuple[float, float] | None = None,
    after: Sequence[tuple[int, int]] = (),
) -> Route:
    """Return a short way from ``start`` through all stops.

    Args:
        stops: what is visited, each once.
        start: where the cutter comes from, mm.
        end: where it goes at last (``start`` for a round trip); None lets it end anywhere.
        after: pairs (first, then) of stops that must keep this order.

    Raises:
        ValueError: a place is not finite, or ``after`` runs in a ring.
    """
    if not stops:
        return Route((), 0.0, 0.0)
    ways = _ways(stops, start, end, after)
    first = np.searchsorted(ways.stop, np.arange(len(stops)))
    allowed = _allowed_as_given(ways)
    if len(stops) <= EXACT:
        found = _exact(ways)
    else:
        kicks = min(MOST_SHAKES, SHAKES // len(stops) ** 2)
        found = bettered(_nearest(ways), ways, kicks)
    # Never worse than as given, whatever the search made of it.
    if _length(ways, allowed) < _length(ways, found) - 1e-9:
        found = allowed
    visits = tuple((int(ways.stop[n]), int(n - first[ways.stop[n]])) for n in found)
    return Route(visits, _length(ways, found), _length(ways, first))


def _ways(
    stops: Sequence[Stop],
    start: tuple[float, float],
    end: tuple[float, float] | None,
    after: Sequence[tuple[int, int]],
) -> Ways:
    """Return every way through every stop, one after the other."""
    counts = np.array([len(stop.places) for stop in stops])
    stop = np.repeat(np.arange(len(stops)), counts).astype(np.int64)
    entry = np.vstack([np.asarray(stop.places, np.float64) for stop in stops])
    back = np.arange(len(entry), dtype=np.int64)
    for n, first in enumerate(np.cumsum(counts) - counts):
        if stops[n].through:
            back[[first, first + 1]] = [first + 1, first]
    begins = np.vstack([entry, [start if end is None else end]])
    leaves = np.vstack([entry[back], [start]])
    if not (np.isfinite(begins).all() and np.isfinite(leaves).all()):
        raise ValueError("a stop, the start or the end has a place that is no number")
    step = np.hypot(*(begins[None, :] - leaves[:, None]).transpose(2, 0, 1))
    if end is None:
        step[:, -1] = 0.0
    barred = [first + 1 for n, first in enumerate(np.cumsum(counts) - counts) if stops[n].forward]
    step[:, barred] += WRONG_WAY
    before = np.array(list(after), dtype=np.int64).reshape(-1, 2)
    return Ways(step, stop, back, before)


def _length(ways: Ways, visited: Integers) -> float:
    """Return the way between the stops, mm."""
    return float(ways.step[np.append(-1, visited), np.append(visited, -1)].sum())


def _waiting(ways: Ways) -> Integers:
    """Return how many others each stop must wait for."""
    return np.bincount(ways.before[:, 1], minlength=int(ways.stop[-1]) + 1)


def _allowed_as_given(ways: Ways) -> Integers:
    """Return the first way of each stop as given, but for stops that must wait for others."""
    waiting, first = _waiting(ways), np.searchsorted(ways.stop, np.arange(ways.stop[-1] + 1))
    left, taken = list(range(len(waiting))), []
    while left:
        free = next((n for n in left if waiting[n] == 0), None)
        if free is None:
            raise ValueError("the stops that must come after others run in a ring")
        left.remove(free)
        taken.append(first[free])
        np.subtract.at(waiting, ways.before[ways.before[:, 0] == free, 1], 1)
    return np.array(taken, dtype=np.int64)


def _nearest(ways: Ways) -> Integers:
    """Return each way the nearest of those that may be taken now."""
    waiting = _waiting(ways)
    done = np.zeros(len(waiting), dtype=bool)
    here, taken = -1, []
    for _ in range(len(waiting)):
        away = ways.step[here, :-1].copy()
        away[(done | (waiting > 0))[ways.stop]] = np.inf
        # Rounded, so that equal distances are settled by number on every machine.
        node = int(np.argmin(np.round(away, 6)))
        taken.append(node)
        done[ways.stop[node]] = True
        np.subtract.at(waiting, ways.before[ways.before[:, 0] == ways.stop[node], 1], 1)
        here = node
    return np.array(taken, dtype=np.int64)


def _exact(ways: Ways) -> Integers:
    needs = np.zeros(int(ways.stop[-1]) + 1, dtype=np.int64)
    for first, then in ways.before:
        needs[then] |= 1 << int(first)
    return best_of_sets(ways, needs)
