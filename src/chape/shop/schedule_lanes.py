"""The lanes of a resource: what is taken of each, as spans that are sorted and apart, compiled.

Spans that touch are one. ``count`` (lanes,) says how many a lane has, ``spans`` (lanes, spans, 2)
when each begins and ends.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from chape.kernels import inner_kernel

Whole: TypeAlias = NDArray[np.int64]
Ranks: TypeAlias = NDArray[np.float64]

#: The end of what is taken for good.
OPEN = 10**9


@inner_kernel
def lane_room(count: Whole, spans: Whole, lane: int, start: int, length: int) -> int:
    """Return the first moment from ``start`` on at which a lane is free for so long."""
    low, high = 0, count[lane]
    while low < high:
        middle = (low + high) // 2
        if spans[lane, middle, 1] <= start:
            low = middle + 1
        else:
            high = middle
    moment = start
    while low < count[lane] and spans[lane, low, 0] < moment + length:
        moment = max(moment, spans[lane, low, 1])
        low += 1
    return moment


@inner_kernel
def room(
    count: Whole, spans: Whole, first: int, last: int, start: int, length: int, amount: int
) -> int:
    """Return when, from ``start`` on, ``amount`` of some lanes are free for so long."""
    if last - first == 1:
        return lane_room(count, spans, first, start, length)
    moment = start
    while True:
        free, soonest = 0, 2 * OPEN
        for lane in range(first, last):
            found = lane_room(count, spans, lane, moment, length)
            if found == moment:
                free += 1
            elif found < soonest:
                soonest = found
        if free >= amount:
            return moment
        moment = soonest


@inner_kernel
def take(count: Whole, spans: Whole, lane: int, start: int, end: int) -> None:
    """Take a lane that is free from start to end."""
    known = count[lane]
    at = known
    while at > 0 and spans[lane, at - 1, 0] >= end:
        at -= 1
    before = at > 0 and spans[lane, at - 1, 1] == start
    after = at < known and spans[lane, at, 0] == end
    if before and after:
        spans[lane, at - 1, 1] = spans[lane, at, 1]
        _remove(count, spans, lane, at)
    elif before:
        spans[lane, at - 1, 1] = end
    elif after:
        spans[lane, at, 0] = start
    else:
        _add(count, spans, lane, at, start, end)


@inner_kernel
def give_back(count: Whole, spans: Whole, lane: int, start: int, end: int) -> None:
    """Free a lane from start to end, which lies within what is taken."""
    at = count[lane] - 1
    while spans[lane, at, 0] > start:
        at -= 1
    left, right = spans[lane, at, 0], spans[lane, at, 1]
    if left < start and end < right:
        spans[lane, at, 1] = start
        _add(count, spans, lane, at + 1, end, right)
    elif left < start:
        spans[lane, at, 1] = start
    elif end < right:
        spans[lane, at, 0] = end
    else:
        _remove(count, spans, lane, at)


@inner_kernel
def _add(count: Whole, spans: Whole, lane: int, at: int, start: int, end: int) -> None:
    for i in range(count[lane], at, -1):
        spans[lane, i, 0] = spans[lane, i - 1, 0]
        spans[lane, i, 1] = spans[lane, i - 1, 1]
    spans[lane, at, 0] = start
    spans[lane, at, 1] = end
    count[lane] += 1


@inner_kernel
def _remove(count: Whole, spans: Whole, lane: int, at: int) -> None:
    for i in range(at, count[lane] - 1):
        spans[lane, i, 0] = spans[lane, i + 1, 0]
        spans[lane, i, 1] = spans[lane, i + 1, 1]
    count[lane] -= 1
