"""Kernels that lay pieces one after the other, and take some up again.

``blocked`` is (4 k, nx, ny): by how many laid pieces a piece of kind n // 4 turned n % 4 quarters
is kept from [i, j]; 1 more where it would not lie on the blank. Pieces are rows (kind, turn, i, j),
the steps (i, j) counted over the whole blank; ``first`` (4 k, 2) says at which each map starts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import inner_kernel, kernel
from chape.tooling.lattice_kernels import turned_back

if TYPE_CHECKING:
    Bools = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
    Bytes = np.ndarray[tuple[int, ...], np.dtype[np.uint8]]
    Ints = np.ndarray[tuple[int, ...], np.dtype[np.int64]]


@kernel
def block(blocked: Bytes, clear: Bools, windows: Ints, piece: Ints, first: Ints, by: int) -> None:
    """Block (``by`` = 1) the places a piece rules out, or free them again (``by`` = -1).

    Args:
        blocked: changed in place.
        clear: (k, k, 4, s, s) the table, as for ``lattice_kernels``.
        piece: (kind, turn, i, j).
        first: where each map starts.
        by: 1 or -1.
        windows: (k, k, 4, 4) least and greatest displacement (x, y) that is not clear, in the
            frame of the first piece.
    """
    reach = clear.shape[3] // 2
    kind, turn = piece[0], piece[1]
    for n in range(len(blocked)):
        relative = (n % 4 - turn) % 4
        table = clear[kind, n // 4, relative]
        window = windows[kind, n // 4, relative]
        low_x, low_y, high_x, high_y = window[0], window[1], window[2], window[3]
        if turn == 1:
            low_x, low_y, high_x, high_y = -high_y, low_x, -low_y, high_x
        elif turn == 2:
            low_x, low_y, high_x, high_y = -high_x, -high_y, -low_x, -low_y
        elif turn == 3:
            low_x, low_y, high_x, high_y = low_y, -high_x, high_y, -low_x
        from_i, from_j = first[n, 0] - piece[2], first[n, 1] - piece[3]
        for i in range(max(0, low_x - from_i), min(blocked.shape[1], high_x + 1 - from_i)):
            for j in range(max(0, low_y - from_j), min(blocked.shape[2], high_y + 1 - from_j)):
                x, y = turned_back(turn, i + from_i, j + from_j)
                if not table[x + reach, y + reach]:
                    blocked[n, i, j] += by


@inner_kernel
def nearest_place(blocked: Bytes, n: int, way: int, place: Ints) -> bool:
    """Find the free place of one map that lies furthest one way; False where none is free.

    Args:
        blocked: the maps.
        n: which map.
        way: bit 0: along y first and then x; bit 1: from high x; bit 2: from high y.
        place: (2,) is set to [i, j].
    """
    nx, ny = blocked.shape[1], blocked.shape[2]
    outer, inner = (ny, nx) if way & 1 else (nx, ny)
    for a in range(outer):
        for b in range(inner):
            i, j = (b, a) if way & 1 else (a, b)
            place[0] = nx - 1 - i if way & 2 else i
            place[1] = ny - 1 - j if way & 4 else j
            if not blocked[n, place[0], place[1]]:
                return True
    return False


@inner_kernel
def next_in_row(blocked: Bytes, n: int, way: int, deepest: int, place: Ints) -> bool:
    """Find the free place nearest to a row's start, no deeper than so many steps; else False.

    Args:
        blocked: the maps.
        n: which map.
        way: as in ``nearest_place``; the row runs along the axis that comes second.
        place: (2,) is set to [i, j].
        deepest: places are counted along the first axis up to this one.
    """
    nx, ny = blocked.shape[1], blocked.shape[2]
    outer, inner = (nx, ny) if way & 1 else (ny, nx)
    for a in range(outer):
        for b in range(min(deepest + 1, inner)):
            i, j = (a, b) if way & 1 else (b, a)
            place[0] = nx - 1 - i if way & 2 else i
            place[1] = ny - 1 - j if way & 4 else j
            if not blocked[n, place[0], place[1]]:
                return True
    return False


@inner_kernel
def near_side(blocked: Bytes, first: Ints, boxes: Ints, way: int, n: int) -> int:
    """Return how far the near side of a piece in a map's first place is along the first axis."""
    axis = way & 1
    if way & (2 << axis):
        return -int(blocked.shape[1 + axis] - 1 + first[n, axis] + boxes[n, 2 + axis])
    return int(first[n, axis] + boxes[n, axis])


@kernel
def fill(  # noqa: C901, PLR0913, PLR0917 - a kernel takes bare arrays, and one loop is one
    blocked: Bytes, clear: Bools, windows: Ints, first: Ints, boxes: Ints,
    left: Ints, allowed: Bools, way: int, slack: int, laid: Ints, count: int,
) -> int:  # fmt: skip
    """Lay pieces in rows until none is left or none fits; return how many lie then.

    A row starts as near as it goes; what follows lies next to it along the row, its near side no
    more than ``slack`` steps beyond the first one's. Of the kinds and turns allowed at a step the
    one is laid whose far side comes least far.

    Args:
        blocked: the maps, changed in place.
        clear: the table.
        windows: as for ``block``.
        first: where each map starts.
        boxes: (4 k, 4) x_min, y_min, x_max, y_max of each kind and turn, in steps.
        left: (k,) pieces still to lay, counted down.
        allowed: (steps, 4 k), used round and round.
        way: as in ``nearest_place``.
        slack: steps; less than 0 for no rows: each piece as near as it goes.
        laid: (m, 4) pieces, filled from ``count`` on.
        count: how many lie already.
    """
    place = np.empty(2, dtype=np.int64)
    step, stuck, level = 0, 0, 0
    in_row = False
    while left.sum() > 0 and stuck < len(allowed):
        best, best_near = np.inf, 0
        for n in range(len(blocked)):
            if left[n // 4] == 0 or not allowed[step % len(allowed), n]:
                continue
            near = near_side(blocked, first, boxes, way, n)
            if in_row:
                found = next_in_row(blocked, n, way, level + slack - near, place)
            else:
                found = nearest_place(blocked, n, way, place)
            if not found:
                continue
            i, j = place[0] + first[n, 0], place[1] + first[n, 1]
            far_x = -(i + boxes[n, 0]) if way & 2 else i + boxes[n, 2]
            far_y = -(j + boxes[n, 1]) if way & 4 else j + boxes[n, 3]
            row_first = (way & 1 == 1) != in_row
            far = far_y + 1e-4 * far_x if row_first else far_x + 1e-4 * far_y
            if far < best:
                best = far
                if way & 1:
                    best_near = -(j + boxes[n, 3]) if way & 4 else j + boxes[n, 1]
                else:
                    best_near = -(i + boxes[n, 2]) if way & 2 else i + boxes[n, 0]
                laid[count, 0], laid[count, 1], laid[count, 2], laid[count, 3] = n // 4, n % 4, i, j
        if best == np.inf and in_row:
            in_row = False
            continue
        step += 1
        if best == np.inf:
            stuck += 1
            continue
        stuck = 0
        if not in_row and slack >= 0:
            in_row, level = True, best_near
        block(blocked, clear, windows, laid[count], first, 1)
        left[laid[count, 0]] -= 1
        count += 1
    return count
