"""Kernels over the lattice on which pieces are laid.

Shared by the search: ``clear`` is (k, k, 4, 2 r + 1, 2 r + 1) of whether a piece of kind q, turned
by so many quarters to one of kind p and moved by [x, y] steps in p's own frame, is clear of it;
``free`` is (4 k, nx, ny) of whether a piece of kind n // 4 turned n % 4 quarters may lie at [i, j].
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats

    Bools = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
    Singles = np.ndarray[tuple[int, ...], np.dtype[np.float32]]
    Bytes = np.ndarray[tuple[int, ...], np.dtype[np.uint8]]
    Ints = np.ndarray[tuple[int, ...], np.dtype[np.int64]]


@kernel
def distances_on_lattice(edges: Floats, x: Floats, y: Floats) -> Floats:
    """Return (n, m) distances of points from closed rings; 0 inside.

    Args:
        edges: (s, 4) start and end of each edge of all rings, holes included, mm.
        x: (n,) of the points, mm.
        y: (m,) of the points, mm.
    """
    found = np.empty((len(x), len(y)))
    for i in range(len(x)):
        for j in range(len(y)):
            best = np.inf
            inside = False
            for n in range(len(edges)):
                ax, ay = edges[n, 0] - x[i], edges[n, 1] - y[j]
                bx, by = edges[n, 2] - x[i], edges[n, 3] - y[j]
                if (ay > 0) != (by > 0) and ax + (bx - ax) * ay / (ay - by) > 0:
                    inside = not inside
                dx, dy = bx - ax, by - ay
                length = dx * dx + dy * dy
                along = 0.0 if length == 0 else min(1.0, max(0.0, -(ax * dx + ay * dy) / length))
                px, py = ax + along * dx, ay + along * dy
                best = min(best, px * px + py * py)
            found[i, j] = 0.0 if inside else np.sqrt(best)
    return found


@inner_kernel
def turned_back(turn: int, x: int, y: int) -> tuple[int, int]:
    """Return a displacement in the frame of a piece that is turned by so many quarters."""
    if turn == 0:
        return x, y
    if turn == 1:
        return y, -x
    if turn == 2:
        return -x, -y
    return -y, x


@kernel
def between(table: Singles, one: Ints, other: Ints, most: float) -> float:
    """Return the table's value for two pieces (kind, turn, i, j); ``most`` beyond its reach."""
    reach = table.shape[3] // 2
    x, y = turned_back(one[1], other[2] - one[2], other[3] - one[3])
    if abs(x) > reach or abs(y) > reach:
        return most
    return float(table[one[0], other[0], (other[1] - one[1]) % 4, x + reach, y + reach])


@kernel
def narrow(free: Bools, seen: Bools, piece: Ints, first: Ints) -> None:
    """Take from ``free`` the places that a newly laid piece (kind, turn, i, j) rules out.

    Args:
        free: (4 k, nx, ny), changed in place.
        seen: (k, 4, k, 4, s, s) the table of what is clear, in the blank's frame.
        piece: (kind, turn, i, j).
        first: (4 k, 2) steps (i, j) of each array's first place.
    """
    reach = seen.shape[4] // 2
    for n in range(len(free)):
        table = seen[piece[0], piece[1], n // 4, n % 4]
        i0, j0 = first[n, 0] - piece[2] + reach, first[n, 1] - piece[3] + reach
        low, high = max(0, -j0), min(free.shape[2], len(table) - j0)
        for i in range(max(0, -i0), min(free.shape[1], len(table) - i0)):
            for j in range(low, high):
                free[n, i, j] &= table[i + i0, j + j0]


@kernel
def count_left(free: Bytes, seen: Bytes, piece: Ints, first: Ints, stride: int, left: Ints) -> None:
    """Count the places of each kind that would be left with one more piece laid.

    Args:
        free: as for ``narrow``, as 0 and 1.
        seen: likewise.
        piece: (kind, turn, i, j).
        first: as for ``narrow``.
        stride: only every so many rows are counted.
        left: (k,) is set to the counts.
    """
    reach = seen.shape[4] // 2
    left[:] = 0
    for n in range(len(free)):
        table = seen[piece[0], piece[1], n // 4, n % 4]
        i0, j0 = first[n, 0] - piece[2] + reach, first[n, 1] - piece[3] + reach
        low, high = max(0, -j0), min(free.shape[2], len(table) - j0)
        count = np.int64(0)
        for i in range(0, free.shape[1], stride):
            row = free[n, i]
            if i + i0 < 0 or i + i0 >= len(table):
                for j in range(len(row)):
                    count += row[j]
                continue
            other = table[i + i0]
            for j in range(low):
                count += row[j]
            for j in range(low, high):
                count += row[j] & other[j + j0]
            for j in range(high, len(row)):
                count += row[j]
        left[n // 4] += count


@kernel
def outermost(free: Bools, ways: Floats, found: Ints) -> None:
    """Find the free place that lies furthest each way.

    Args:
        free: (nx, ny) of one kind at one turn.
        ways: (w, 2) weights of i and j.
        found: (w, 2) places [i, j]; -1 where none is free.
    """
    best = np.full(len(ways), -np.inf)
    found[:] = -1
    for i in range(free.shape[0]):
        for j in range(free.shape[1]):
            if free[i, j]:
                for w in range(len(ways)):
                    far = ways[w, 0] * i + ways[w, 1] * j
                    if far > best[w]:
                        best[w] = far
                        found[w, 0], found[w, 1] = i, j
