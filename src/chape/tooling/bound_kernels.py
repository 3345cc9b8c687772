"""Kernels of the proof that so many pieces do not go on a blank.

Cells are numbered; a set of them is an array of 64-bit words, one bit for each cell. ``pairs``
(n, w) holds for each cell the set of those that can be taken together with it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats

    Counts = np.ndarray[tuple[int, ...], np.dtype[np.int32]]
    Ints = np.ndarray[tuple[int, ...], np.dtype[np.int64]]
    Words = np.ndarray[tuple[int, ...], np.dtype[np.uint64]]

#: What a search can say of a set of cells.
IMPOSSIBLE, POSSIBLE, GIVEN_UP = 0, 1, 2


@kernel
def pairs_of_cells(turns: Ints, boxes: Floats, sums: Counts, step: float) -> Words:
    """Return which cells can be taken together: (n, w) words.

    Two can where at least one displacement between a point of one and a point of the other is not
    known to be forbidden.

    Args:
        turns: (n,) quarter turns of the piece in each cell.
        boxes: (n, 4) x_min, y_min, x_max, y_max of where its origin lies, mm.
        sums: (4, 4, s + 1, s + 1) for the turns of two pieces, how many displacements of the
            lattice below [x, y] are not forbidden; beyond the lattice none is.
        step: of that lattice, mm.
    """
    n = len(turns)
    reach = (sums.shape[2] - 2) // 2
    found = np.zeros((n, (n + 63) // 64), dtype=np.uint64)
    one = np.uint64(1)
    for p in range(n):
        for q in range(p):
            # Each point of the lattice stands for the square around it.
            x0 = int(np.floor((boxes[q, 0] - boxes[p, 2]) / step + 0.5 - 1e-6)) + reach
            y0 = int(np.floor((boxes[q, 1] - boxes[p, 3]) / step + 0.5 - 1e-6)) + reach
            x1 = int(np.ceil((boxes[q, 2] - boxes[p, 0]) / step - 0.5 + 1e-6)) + reach + 1
            y1 = int(np.ceil((boxes[q, 3] - boxes[p, 1]) / step - 0.5 + 1e-6)) + reach + 1
            side = sums.shape[2]
            if x0 >= 0 and y0 >= 0 and x1 < side and y1 < side:
                below = sums[turns[p], turns[q]]
                if below[x1, y1] - below[x0, y1] - below[x1, y0] + below[x0, y0] == 0:
                    continue
            found[p, q // 64] |= one << np.uint64(q % 64)
            found[q, p // 64] |= one << np.uint64(p % 64)
    return found


@kernel
def lowest(word: np.uint64) -> int:
    """Return the place of the lowest bit that is set in a word; 0 where none is."""
    low = word & (~word + np.uint64(1))
    place = 0
    if low & np.uint64(0xFFFFFFFF00000000):
        place += 32
    if low & np.uint64(0xFFFF0000FFFF0000):
        place += 16
    if low & np.uint64(0xFF00FF00FF00FF00):
        place += 8
    if low & np.uint64(0xF0F0F0F0F0F0F0F0):
        place += 4
    if low & np.uint64(0xCCCCCCCCCCCCCCCC):
        place += 2
    if low & np.uint64(0xAAAAAAAAAAAAAAAA):
        place += 1
    return place


@inner_kernel
def beyond_groups(
    cells: Words, pairs: Words, groups: int, work: Ints, open_: Words, left: Words
) -> None:
    """Fill in the cells left over when so many groups are taken away; ``open_`` is for scratch.

    No two cells of a group can be taken together, so a choice has at most one of each, and one
    that is larger than the number of groups has a cell of those left over.
    """
    words = len(cells)
    one = np.uint64(1)
    for w in range(words):
        left[w] = cells[w]
    for _ in range(groups):
        for w in range(words):
            open_[w] = left[w]
        for w in range(words):
            while open_[w]:
                place = lowest(open_[w])
                bit = one << np.uint64(place)
                left[w] &= ~bit
                open_[w] &= ~bit
                for x in range(w, words):
                    open_[x] &= ~pairs[64 * w + place, x]
                work[0] += words - w
        work[0] += words


@kernel
def can_be_taken(cells: Words, pairs: Words, wanted: int, work: Ints, limit: int) -> int:
    """Say whether so many of the cells can be taken, every two of them together.

    Args:
        cells: (w,) the set.
        pairs: of all cells.
        wanted: at least 1.
        work: (1,) words looked at so far; counted on.
        limit: of that number.

    Returns:
        IMPOSSIBLE, POSSIBLE, or GIVEN_UP where the limit was reached.
    """
    words = len(cells)
    one = np.uint64(1)
    sets = np.zeros((wanted + 1, words), dtype=np.uint64)
    tried = np.zeros((wanted + 1, words), dtype=np.uint64)
    open_ = np.empty(words, dtype=np.uint64)
    for x in range(words):
        sets[wanted, x] = cells[x]
    beyond_groups(cells, pairs, wanted - 1, work, open_, tried[wanted])
    need = wanted
    while need <= wanted:
        if work[0] > limit:
            return GIVEN_UP
        w = 0
        while w < words and not tried[need, w]:
            w += 1
        work[0] += words
        if w == words:
            need += 1
            continue
        if need == 1:
            return POSSIBLE
        place = lowest(tried[need, w])
        bit = one << np.uint64(place)
        tried[need, w] &= ~bit
        sets[need, w] &= ~bit
        for x in range(words):
            sets[need - 1, x] = sets[need, x] & pairs[64 * w + place, x]
        need -= 1
        beyond_groups(sets[need], pairs, need - 1, work, open_, tried[need])
    return IMPOSSIBLE


@kernel
def cells_in_use(
    pairs: Words, alike: Ints, wanted: int, work: Ints, limit: int, each: int
) -> Words:
    """Return the cells that may hold one of so many pieces; none where they do not go.

    Args:
        pairs: of all cells.
        alike: (g, n) cells that each becomes when the blank is turned onto itself: where none of
            the pieces lies in a cell, none does in these.
        wanted: how many pieces, at least 2.
        work: (1,) words looked at so far; counted on.
        limit: of that number; cells not looked at by then may be in use.
        each: words looked at for one cell.
    """
    n, words = pairs.shape
    one = np.uint64(1)
    cells, with_it = np.zeros(words, dtype=np.uint64), np.zeros(words, dtype=np.uint64)
    for c in range(n):
        cells[c // 64] |= one << np.uint64(c % 64)
    done = np.zeros(n, dtype=np.bool_)
    for c in range(n):
        if done[c]:
            continue
        if work[0] > limit:
            break
        for w in range(words):
            with_it[w] = cells[w] & pairs[c, w]
        most = min(limit, work[0] + each)
        in_use = can_be_taken(with_it, pairs, wanted - 1, work, most) != IMPOSSIBLE
        for turn in range(len(alike)):
            other = alike[turn, c]
            done[other] = True
            if not in_use:
                cells[other // 64] &= ~(one << np.uint64(other % 64))
    return cells
