"""Kernels of the travelling salesman's pass: all sets of few stops, or betterment of many."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from chape.kernels import kernel

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

#: A way is bettered only by more than this, mm: rounding must settle nothing.
GAIN = 1e-6

#: The longest stretch that is moved elsewhere.
STRETCH = 3

#: Draws of a linear congruential generator: s' = (A s + C) mod 2^31 (from memory).
DRAW_A, DRAW_C, DRAW_M = 1103515245, 12345, 2147483648


class Ways(NamedTuple):
    """Every way through every stop.

    Attributes:
        step: (m + 1, m + 1) from where one ends to where another begins, mm; the last row is
            from the start of the whole, the last column to its end, so that -1 stands for both.
        stop: (m,) the stop it belongs to, in rising order.
        back: (m,) the same way taken the other way round.
        before: (p, 2) stops of which the first must come before the second.
    """

    step: Floats
    stop: Integers
    back: Integers
    before: Integers


@kernel
def _traced(best: Floats, came: Integers, ways: Ways) -> Integers:
    """Return the sequence that led to the shortest whole."""
    whole, width = best.shape
    count = ways.stop[-1] + 1
    last, shortest = 0, np.inf
    for w in range(width):
        total = best[-1, w] + ways.step[w, -1]
        if total < shortest - GAIN:
            last, shortest = w, total
    visited = np.empty(count, dtype=np.int64)
    done = whole - 1
    for n in range(count - 1, -1, -1):
        visited[n] = last
        before = came[done, last]
        done &= ~(1 << ways.stop[last])
        last = before
    return visited


@kernel
def best_of_sets(ways: Ways, needs: Integers) -> Integers:
    """Return the shortest sequence of ways (n,) that visits every stop once.

    Args:
        ways: through the stops; ``before`` is not looked at.
        needs: (n,) bits of the stops that must come before each.
    """
    count, width = len(needs), len(ways.stop)
    whole = 1 << count
    best = np.full((whole, width), np.inf)
    came = np.full((whole, width), -1, dtype=np.int64)
    for w in range(width):
        if needs[ways.stop[w]] == 0:
            best[1 << ways.stop[w], w] = ways.step[-1, w]
    for done in range(1, whole):
        for w in range(width):
            length = best[done, w]
            if np.isinf(length):
                continue
            for v in range(width):
                bit = 1 << ways.stop[v]
                if done & bit or (needs[ways.stop[v]] & ~done):
                    continue
                total = length + ways.step[w, v]
                if total < best[done | bit, v] - GAIN:
                    best[done | bit, v] = total
                    came[done | bit, v] = w
    return _traced(best, came, ways)


@kernel
def _allowed(visited: Integers, ways: Ways) -> bool:
    """Return whether every stop comes after those it must wait for."""
    if len(ways.before) == 0:
        return True
    at = np.empty(len(visited), dtype=np.int64)
    for n in range(len(visited)):
        at[ways.stop[visited[n]]] = n
    late = 0
    for pair in ways.before:
        late += at[pair[0]] > at[pair[1]]
    return late == 0


@kernel
def _turned(visited: Integers, i: int, j: int, ways: Ways) -> Integers:
    """Return the sequence with the stretch i..j (both in) taken the other way round."""
    changed = visited.copy()
    for k in range(i, j + 1):
        changed[k] = ways.back[visited[i + j - k]]
    return changed


@kernel
def _moved(visited: Integers, i: int, j: int, p: int) -> Integers:
    """Return the sequence with the stretch i..j put behind position p (-1 for the front)."""
    changed = np.empty_like(visited)
    n = 0
    if p < 0:
        for k in range(i, j + 1):
            changed[n] = visited[k]
            n += 1
    for k in range(len(visited)):
        if k < i or k > j:
            changed[n] = visited[k]
            n += 1
        if k == p:
            for m in range(i, j + 1):
                changed[n] = visited[m]
                n += 1
    return changed


@kernel
def _turn_once(
    visited: Integers,
    ways: Ways,
) -> tuple[Integers, bool]:
    """Turn every stretch round that makes the way shorter."""
    count, gained = len(visited), False
    for i in range(count):
        prior = visited[i - 1] if i > 0 else -1
        for j in range(i, count):
            following = visited[j + 1] if j + 1 < count else -1
            now = ways.step[prior, visited[i]]
            now += ways.step[visited[j], following]
            new = ways.step[prior, ways.back[visited[j]]]
            new += ways.step[ways.back[visited[i]], following]
            if new < now - GAIN:
                changed = _turned(visited, i, j, ways)
                if _allowed(changed, ways):
                    visited, gained = changed, True
    return visited, gained


@kernel
def _move_once(
    visited: Integers,
    ways: Ways,
) -> tuple[Integers, bool]:
    """Move every short stretch to where it makes the way shorter, as it is or turned round."""
    count, gained = len(visited), False
    for size in range(1, min(STRETCH, count - 1) + 1):
        for i in range(count - size + 1):
            for turn in range(2):
                j = i + size - 1
                prior = visited[i - 1] if i > 0 else -1
                following = visited[j + 1] if j + 1 < count else -1
                first, last = visited[i], visited[j]
                free = ways.step[prior, first]
                free += ways.step[last, following]
                free -= ways.step[prior, following]
                if turn:
                    first, last = ways.back[visited[j]], ways.back[visited[i]]
                best, where = GAIN, -2
                for p in range(-1, count):
                    if i - 1 <= p <= j:
                        continue
                    a = visited[p] if p >= 0 else -1
                    b = visited[p + 1] if p + 1 < count else -1
                    put = ways.step[a, first] + ways.step[last, b]
                    gain = free - put + ways.step[a, b]
                    if gain > best:
                        best, where = gain, p
                if where > -2:
                    source = _turned(visited, i, j, ways) if turn else visited
                    changed = _moved(source, i, j, where)
                    if _allowed(changed, ways):
                        visited, gained = changed, True
    return visited, gained


@kernel
def _enter_once(visited: Integers, ways: Ways) -> tuple[Integers, bool]:
    """Enter every stop where it makes the way shorter; ``stop`` is in rising order."""
    gained = False
    for i in range(len(visited)):
        prior = visited[i - 1] if i > 0 else -1
        following = visited[i + 1] if i + 1 < len(visited) else -1
        first = np.searchsorted(ways.stop, ways.stop[visited[i]])
        shortest = ways.step[prior, visited[i]]
        shortest += ways.step[visited[i], following]
        node = first
        while node < len(ways.stop) and ways.stop[node] == ways.stop[visited[i]]:
            total = ways.step[prior, node]
            total += ways.step[node, following]
            if total < shortest - GAIN:
                visited[i], shortest, gained = node, total, True
            node += 1
    return visited, gained


@kernel
def _settled(
    visited: Integers,
    ways: Ways,
) -> Integers:
    """Better a sequence until no change helps."""
    again = True
    while again:
        visited, turned = _turn_once(visited, ways)
        visited, moved = _move_once(visited, ways)
        visited, entered = _enter_once(visited, ways)
        again = turned or moved or entered
    return visited


@kernel
def _length(visited: Integers, ways: Ways) -> float:
    total = ways.step[-1, visited[0]]
    for n in range(1, len(visited)):
        total += ways.step[visited[n - 1], visited[n]]
    return float(total + ways.step[visited[-1], -1])


@kernel
def bettered(
    visited: Integers,
    ways: Ways,
    kicks: int,
) -> Integers:
    """Return a shorter sequence of ways (n,), by betterment and by swapping two stretches.

    Args:
        visited: (n,) ways, an allowed sequence.
        ways: through the stops.
        kicks: how often it is shaken.
    """
    best = _settled(visited.copy(), ways)
    shortest = _length(best, ways)
    count, draw = len(visited), 1
    for _ in range(kicks):
        cuts = np.empty(3, dtype=np.int64)
        for k in range(3):
            draw = (DRAW_A * draw + DRAW_C) % DRAW_M
            # The high bits are the better ones.
            cuts[k] = 1 + (draw >> 8) % (count - 1)
        cuts.sort()
        a, b, c = cuts
        shaken = np.concatenate((best[:a], best[b:c], best[a:b], best[c:]))
        if not _allowed(shaken, ways):
            continue
        shaken = _settled(shaken, ways)
        length = _length(shaken, ways)
        if length < shortest - GAIN:
            best, shortest = shaken, length
    return best
