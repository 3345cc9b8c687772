"""The search for the one place of a surface on which a body of revolution comes to rest.

Most of the surface under a body cannot touch it. Each point starts from what its neighbour
touched, and then leaves out, without any tolerance, every block of cells and every cell that
cannot hold the tip higher than what was already found.
"""

from __future__ import annotations

from math import floor, inf, sqrt
from typing import TYPE_CHECKING

import numba
import numpy as np

from chape.field.contact_kernels import Cell, Contact, profile_at, reach_at, touch_cell
from chape.kernels import kernel, parallel_kernel

if TYPE_CHECKING:
    from chape.field.body import Shape
    from chape.field.grid import Floats

#: Cells per side of a block whose highest node is kept.
BLOCK = 8

#: Points located one after the other, each starting from the last one's contact. Fixed, so that
#: results do not depend on how many threads share the work.
CHUNK = 512


@kernel
def block_tops(z: Floats) -> Floats:
    """Return the highest node of every block of cells."""
    rows, columns = z.shape[0] - 1, z.shape[1] - 1
    tops = np.full((-(-rows // BLOCK), -(-columns // BLOCK)), -inf)
    for bj in range(tops.shape[0]):
        for j in range(bj * BLOCK, min(rows, (bj + 1) * BLOCK) + 1):
            for bi in range(tops.shape[1]):
                for i in range(bi * BLOCK, min(columns, (bi + 1) * BLOCK) + 1):
                    tops[bj, bi] = max(tops[bj, bi], z[j, i])
    return tops


@kernel
def bend_at(shape: Shape, near: float, far: float) -> float:
    """Return a bound of the profile's curvature, 1/mm, between two distances from the axis."""
    if far <= shape.flat_radius:
        return 0.0
    if far > shape.radius:
        return inf
    if near >= shape.cone_start:
        return shape.cone_slope / near
    # The corner bends most at its far end, along the radius.
    across = min(far, shape.cone_start) - shape.flat_radius
    left = shape.corner_radius**2 - across**2
    if left <= 0:
        return inf
    bend = shape.corner_radius**2 / (left * sqrt(left))
    if far > shape.cone_start:
        bend = max(bend, shape.cone_slope / shape.cone_start)
    return bend


@kernel
def vertex_tip(shape: Shape, x: float, y: float, z: float) -> float:
    """Return the tip's height over one vertex."""
    return z - profile_at(shape, min(sqrt(x * x + y * y), shape.radius))


@kernel
def may_exceed(shape: Shape, cell: Cell, best: float) -> bool:
    """Tell whether a cell can hold the tip above ``best``; never wrongly denies it."""
    top = max(cell.low_left, cell.low_right, cell.high_left, cell.high_right)
    left, low = cell.x, cell.y
    right, high = left + cell.side, low + cell.side
    near_x, near_y = max(0.0, left, -right), max(0.0, low, -high)
    near2 = near_x * near_x + near_y * near_y
    if near2 > shape.radius * shape.radius:
        return False
    near = sqrt(near2)
    if top - profile_at(shape, near) <= best:
        return False
    far_x, far_y = max(-left, right), max(-low, high)
    bend = bend_at(shape, near, sqrt(far_x * far_x + far_y * far_y))
    if bend == inf:
        return True
    tip = max(
        vertex_tip(shape, left, low, cell.low_left),
        vertex_tip(shape, right, low, cell.low_right),
        vertex_tip(shape, left, high, cell.high_left),
        vertex_tip(shape, right, high, cell.high_right),
    )
    # A right triangle of legs h lies within h / sqrt(2) of its longest side's middle, so that a
    # profile of curvature k hangs below its own chords by no more than k h² / 4.
    return tip + 0.25 * bend * cell.side * cell.side > best


@kernel
def touch_place(
    shape: Shape, z: Floats, spacing: float, axis: tuple[float, float], offset: tuple[float, float]
) -> Contact:
    """Return the contact with one place of the surface, of no height off grid or body.

    Args:
        shape: the body.
        z: (ny, nx) heights.
        spacing: side of a cell, mm.
        axis: where the axis stands, in cells from the first node.
        offset: the place, mm from the axis.
    """
    x, y = offset
    r = sqrt(x * x + y * y)
    u, v = axis[0] + x / spacing, axis[1] + y / spacing
    rows, columns = z.shape[0] - 1, z.shape[1] - 1
    if r > shape.radius or not (0 <= u <= columns and 0 <= v <= rows):
        return Contact(-inf, 0.0, 0.0)
    i, j = min(int(u), columns - 1), min(int(v), rows - 1)
    s, t = u - i, v - j
    low, high = z[j, i], z[j + 1, i + 1]
    if s >= t:
        height = low + s * (z[j, i + 1] - low) + t * (high - z[j, i + 1])
    else:
        height = low + t * (z[j + 1, i] - low) + s * (high - z[j + 1, i])
    return Contact(height - profile_at(shape, r), x, y)


@kernel
def touch_block(
    shape: Shape,
    z: Floats,
    spacing: float,
    axis: tuple[float, float],
    cells: tuple[int, int, int, int],
    best: Contact,
) -> Contact:
    """Return the contact with a block of cells, or ``best`` where that is as high.

    Args:
        shape: the body.
        z: (ny, nx) heights.
        spacing: side of a cell, mm.
        axis: where the axis stands, in cells from the first node.
        cells: first column and row, and the column and row after the last.
        best: the highest contact found so far.
    """
    first_i, first_j, end_i, end_j = cells
    for j in range(first_j, end_j):
        for i in range(first_i, end_i):
            low_left, low_right = z[j, i], z[j, i + 1]
            high_left, high_right = z[j + 1, i], z[j + 1, i + 1]
            if max(low_left, low_right, high_left, high_right) <= best.tip:
                continue
            x, y = (i - axis[0]) * spacing, (j - axis[1]) * spacing
            cell = Cell(x, y, spacing, low_left, low_right, high_left, high_right)
            if may_exceed(shape, cell, best.tip):
                at_far_side = i == z.shape[1] - 2 or j == z.shape[0] - 2
                best = touch_cell(shape, cell, 5 if at_far_side else 3, best)
    return best


@kernel
def touch(
    shape: Shape,
    z: Floats,
    tops: Floats,
    spacing: float,
    axis: tuple[float, float],
    best: Contact,
) -> Contact:
    """Return the contact on which the body comes to rest.

    Args:
        shape: the body.
        z: (ny, nx) heights.
        tops: from ``block_tops``.
        spacing: side of a cell, mm.
        axis: where the axis stands, in cells from the first node.
        best: any contact that the surface really offers, the higher the quicker.
    """
    u, v = axis
    reach = shape.radius / spacing
    first_i, end_i = max(0, floor(u - reach)), min(z.shape[1] - 1, floor(u + reach) + 1)
    first_j, end_j = max(0, floor(v - reach)), min(z.shape[0] - 1, floor(v + reach) + 1)
    for bj in range(first_j // BLOCK, (end_j + BLOCK - 1) // BLOCK):
        near_y = max(0.0, bj * BLOCK - v, v - (bj + 1) * BLOCK)
        for bi in range(first_i // BLOCK, (end_i + BLOCK - 1) // BLOCK):
            above = tops[bj, bi] - best.tip
            if above <= 0:
                continue
            near_x = max(0.0, bi * BLOCK - u, u - (bi + 1) * BLOCK)
            # Farther out, the profile has risen by more than the block's top could make good.
            reach = reach_at(shape, above) / spacing
            if near_x * near_x + near_y * near_y > reach * reach:
                continue
            cells = (
                max(first_i, bi * BLOCK, floor(u - reach)),
                max(first_j, bj * BLOCK, floor(v - reach)),
                min(end_i, (bi + 1) * BLOCK, floor(u + reach) + 1),
                min(end_j, (bj + 1) * BLOCK, floor(v + reach) + 1),
            )
            best = touch_block(shape, z, spacing, axis, cells, best)
    return best


@parallel_kernel
def tip_heights(shape: Shape, z: Floats, spacing: float, places: Floats) -> Floats:
    """Return how low the tip may go at each place.

    Args:
        shape: the body.
        z: (ny, nx) heights, at least 2 by 2.
        spacing: distance of neighbouring nodes, mm.
        places: (n, 2) in cells from the first node; neighbours in the list should be near each
            other, for each starts from what the last one touched.

    Returns:
        (n,) heights; minus infinity where the body touches nothing.
    """
    tops = block_tops(z)
    heights = np.empty(places.shape[0])
    for chunk in numba.prange(-(-places.shape[0] // CHUNK)):
        last = Contact(-inf, 0.0, 0.0)
        for n in range(chunk * CHUNK, min(places.shape[0], (chunk + 1) * CHUNK)):
            axis = (places[n, 0], places[n, 1])
            best = touch_place(shape, z, spacing, axis, (0.0, 0.0))
            again = touch_place(shape, z, spacing, axis, (last.x, last.y))
            last = touch(shape, z, tops, spacing, axis, again if again.tip > best.tip else best)
            heights[n] = last.tip
    return heights
