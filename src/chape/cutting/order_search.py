"""Kernels of the travelling salesman's pass: all sets of few stops, or betterment of many."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from chape.kernels import inner_kernel, kernel

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


@inner_kernel
def _allowed(visited: Integers, ways: Ways, spare: Integers) -> bool:
    """Return whether every stop comes after those it must wait for."""
    at = spare[2]
    if len(ways.before) > 0:
        for n in range(len(visited)):
            at[ways.stop[visited[n]]] = n
    for pair in range(len(ways.before)):
        if at[ways.before[pair, 0]] > at[ways.before[pair, 1]]:
            return False
    return True


@inner_kernel
def _turn(visited: Integers, i: int, j: int, ways: Ways, changed: Integers) -> None:
    """Fill in the sequence with the stretch i..j (both in) taken the other way round."""
    for k in range(len(visited)):
        inside = i <= k <= j
        changed[k] = ways.back[visited[i + j - k]] if inside else visited[k]


@inner_kernel
def _move(visited: Integers, i: int, j: int, p: int, changed: Integers) -> None:
    """Fill in the sequence with the stretch i..j put behind position p (-1 for the front)."""
    n = 0
    for k in range(-1, len(visited)):
        if k >= 0 and (k < i or k > j):
            changed[n] = visited[k]
            n += 1
        if k == p:
            for m in range(i, j + 1):
                changed[n] = visited[m]
                n += 1


@inner_kernel
def _take(visited: Integers, changed: Integers, ways: Ways, spare: Integers) -> bool:
    """Take a changed sequence over where it is allowed; say whether it is."""
    if not _allowed(changed, ways, spare):
        return False
    for k in range(len(visited)):
        visited[k] = changed[k]
    return True


@inner_kernel
def _turn_once(visited: Integers, ways: Ways, spare: Integers) -> bool:
    """Turn every stretch round that makes the way shorter; say whether any does."""
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
                _turn(visited, i, j, ways, spare[0])
                gained = _take(visited, spare[0], ways, spare) or gained
    return gained


@inner_kernel
def _better_place(visited: Integers, i: int, j: int, ends: tuple[int, int], ways: Ways) -> int:
    """Return the position behind which a stretch shortens the way most, -2 where none does.

    Args:
        visited: (n,) ways.
        i: first of the stretch.
        j: its last.
        ends: the ways it begins and ends with where it is put.
        ways: through the stops.
    """
    count, (first, last) = len(visited), ends
    prior = visited[i - 1] if i > 0 else -1
    following = visited[j + 1] if j + 1 < count else -1
    free = ways.step[prior, visited[i]]
    free += ways.step[visited[j], following]
    free -= ways.step[prior, following]
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
    return where


@inner_kernel
def _move_once(visited: Integers, ways: Ways, spare: Integers) -> bool:
    """Move every short stretch to where it makes the way shorter, as it is or turned round."""
    count, gained = len(visited), False
    for size in range(1, min(STRETCH, count - 1) + 1):
        for i in range(count - size + 1):
            for turn in range(2):
                j = i + size - 1
                ends = (visited[i], visited[j])
                if turn:
                    ends = (ways.back[visited[j]], ways.back[visited[i]])
                where = _better_place(visited, i, j, ends, ways)
                if where == -2:
                    continue
                # Turned on its own place first where it is turned at all.
                _turn(visited, i, j if turn else i - 1, ways, spare[1])
                _move(spare[1], i, j, where, spare[0])
                gained = _take(visited, spare[0], ways, spare) or gained
    return gained


@inner_kernel
def _enter_once(visited: Integers, ways: Ways) -> bool:
    """Enter every stop where it makes the way shorter; ``stop`` is in rising order."""
    gained = False
    for i in range(len(visited)):
        prior = visited[i - 1] if i > 0 else -1
        following = visited[i + 1] if i + 1 < len(visited) else -1
        stop, node = ways.stop[visited[i]], visited[i]
        while node > 0 and ways.stop[node - 1] == stop:
            node -= 1
        shortest = ways.step[prior, visited[i]]
        shortest += ways.step[visited[i], following]
        while node < len(ways.stop) and ways.stop[node] == stop:
            total = ways.step[prior, node]
            total += ways.step[node, following]
            if total < shortest - GAIN:
                visited[i], shortest, gained = node, total, True
            node += 1
    return gained


@inner_kernel
def _settle(visited: Integers, ways: Ways, spare: Integers) -> None:
    """Better a sequence until no change helps."""
    again = True
    while again:
        turned = _turn_once(visited, ways, spare)
        moved = _move_once(visited, ways, spare)
        entered = _enter_once(visited, ways)
        again = turned or moved or entered


@inner_kernel
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
    count, draw = len(visited), 1
    best, shaken, spare = visited.copy(), visited.copy(), np.empty((3, count), dtype=np.int64)
    _settle(best, ways, spare)
    shortest = _length(best, ways)
    for _ in range(kicks):
        first, last, between = count, 0, 0
        for _cut in range(3):
            draw = (DRAW_A * draw + DRAW_C) % DRAW_M
            # The high bits are the better ones.
            cut = 1 + (draw >> 8) % (count - 1)
            first, last, between = min(first, cut), max(last, cut), between + cut
        _move(best, first, between - first - last - 1, last - 1, shaken)
        if not _allowed(shaken, ways, spare):
            continue
        _settle(shaken, ways, spare)
        length = _length(shaken, ways)
        if length < shortest - GAIN:
            shortest = length
            best, shaken = shaken, best
    return best
