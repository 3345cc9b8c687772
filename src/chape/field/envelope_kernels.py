"""The search for the one place of a surface on which a body of revolution comes to rest.

Most of the surface under a body cannot touch it. Each point starts from what its neighbour
touched, and then leaves out, without any tolerance, every block of cells and every cell that
cannot hold the tip higher than what was already found.
"""

from __future__ import annotations

from math import floor, inf, sqrt
from typing import TYPE_CHECKING, NamedTuple

import numba
import numpy as np

from chape.field.contact_kernels import (
    Cell,
    Contact,
    facet_touch,
    profile_at,
    reach_at,
    slope_at,
    touch_cell,
)
from chape.kernels import inner_kernel, kernel, parallel_kernel

if TYPE_CHECKING:
    from chape.field.body import Shape
    from chape.field.grid import Floats

#: Cells per side of a block that is left out or looked at as a whole, and blocks of a group.
BLOCK = 4
GROUP = 4

#: Points located one after the other, each starting from the last one's contact. Fixed, so that
#: results do not depend on how many threads share the work.
CHUNK = 512


class Plane(NamedTuple):
    """A plane that nothing of a square reaches above.

    Attributes:
        x, y: the square's middle, mm from the body's axis.
        half: half its side, mm.
        height: the plane's height over the middle, mm.
        by_x, by_y: its slopes.
    """

    x: float
    y: float
    half: float
    height: float
    by_x: float
    by_y: float


@kernel
def block_planes(z: Floats, spacing: float) -> Floats:
    """Return (rows, columns, 4): highest node, plane's height over the middle, its two slopes."""
    rows, columns = z.shape[0] - 1, z.shape[1] - 1
    planes = np.empty((-(-rows // BLOCK), -(-columns // BLOCK), 4))
    for bj in range(planes.shape[0]):
        low, high = bj * BLOCK, min(rows, (bj + 1) * BLOCK)
        for bi in range(planes.shape[1]):
            left, right = bi * BLOCK, min(columns, (bi + 1) * BLOCK)
            first, last = z[low, left], z[high, right]
            across = 0.5 * (z[low, right] - first + last - z[high, left]) / (right - left)
            along = 0.5 * (z[high, left] - first + last - z[low, right]) / (high - low)
            top = height = -inf
            for j in range(low, high + 1):
                for i in range(left, right + 1):
                    top = max(top, z[j, i])
                    from_middle_i = i - left - 0.5 * BLOCK
                    from_middle_j = j - low - 0.5 * BLOCK
                    height = max(height, z[j, i] - across * from_middle_i - along * from_middle_j)
            planes[bj, bi, 0], planes[bj, bi, 1] = top, height
            planes[bj, bi, 2], planes[bj, bi, 3] = across / spacing, along / spacing
    return planes


@kernel
def group_tops(planes: Floats) -> Floats:
    """Return the highest node of each group of blocks."""
    rows, columns = planes.shape[0], planes.shape[1]
    tops = np.full((-(-rows // GROUP), -(-columns // GROUP)), -inf)
    for bj in range(rows):
        for bi in range(columns):
            tops[bj // GROUP, bi // GROUP] = max(tops[bj // GROUP, bi // GROUP], planes[bj, bi, 0])
    return tops


@inner_kernel
def plane_over(cell: Cell) -> Plane:
    """Return a plane that nothing of a cell reaches above."""
    across = 0.5 * (cell.low_right - cell.low_left + cell.high_right - cell.high_left)
    along = 0.5 * (cell.high_left - cell.low_left + cell.high_right - cell.low_right)
    height = max(
        max(cell.low_left + 0.5 * along, cell.high_left - 0.5 * along) + 0.5 * across,
        max(cell.low_right + 0.5 * along, cell.high_right - 0.5 * along) - 0.5 * across,
    )
    half = 0.5 * cell.side
    slopes = across / cell.side, along / cell.side
    return Plane(cell.x + half, cell.y + half, half, height, slopes[0], slopes[1])


@inner_kernel
def may_exceed(shape: Shape, plane: Plane, best: float) -> bool:
    """Tell whether a square under a plane can hold the tip above ``best``.

    Never wrongly denies it. The profile is convex, so that it lies above its own tangent at any
    distance ``r0`` from the axis, and above the plane through that tangent; plane less plane is
    highest in a corner of the square. The tangent is taken where it runs beside the surface, or
    as near to that as the square allows, so that little is given away.
    """
    out = sqrt(plane.x * plane.x + plane.y * plane.y)
    diagonal = plane.half * sqrt(2.0)
    near = max(0.0, out - diagonal)
    if near >= shape.radius:
        return False
    out_x, out_y = (plane.x / out, plane.y / out) if out > 0 else (0.0, 0.0)
    steep = max(0.0, plane.by_x * out_x + plane.by_y * out_y)
    r0 = facet_touch(shape, steep)
    if r0 < near or r0 > out + diagonal:
        r0 = near if r0 < near else out + diagonal
        steep = slope_at(shape, r0)
        if steep == inf:
            return True
    beside = abs(plane.by_x - steep * out_x) + abs(plane.by_y - steep * out_y)
    tangent = profile_at(shape, r0) + steep * (out - r0)
    return plane.height - tangent + beside * plane.half > best


@inner_kernel
def clears(shape: Shape, rise: float, near2: float) -> bool:
    """Tell whether a body stands ``rise`` above its tip, or more, from some distance on.

    A cheap bound, free of roots: it says no where it is not sure.

    Args:
        shape: the body.
        rise: mm, above 0.
        near2: square of the distance, mm².
    """
    if rise < shape.cone_base:
        left = shape.corner_radius - rise
        return shape.flat_radius == 0 and near2 > shape.corner_radius**2 - left * left
    if shape.cone_start >= shape.radius:
        return False
    reach = shape.cone_start + (rise - shape.cone_base) / shape.cone_slope
    return near2 > reach * reach


@inner_kernel
def nearest2(x: float, y: float, side: float) -> float:
    """Return the square of the axis' distance from a square whose lower left corner is given."""
    near_x, near_y = max(0.0, x, -x - side), max(0.0, y, -y - side)
    return near_x * near_x + near_y * near_y


@inner_kernel
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


@inner_kernel
def touch_cells(
    shape: Shape,
    z: Floats,
    spacing: float,
    axis: tuple[float, float],
    cells: tuple[int, int, int, int],
    best: Contact,
) -> Contact:
    """Return the contact with some cells, or ``best`` where that is as high.

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
            above = max(low_left, low_right, high_left, high_right) - best.tip
            if above <= 0:
                continue
            x, y = (i - axis[0]) * spacing, (j - axis[1]) * spacing
            if clears(shape, above, nearest2(x, y, spacing)):
                continue
            cell = Cell(x, y, spacing, low_left, low_right, high_left, high_right)
            if may_exceed(shape, plane_over(cell), best.tip):
                at_far_side = i == z.shape[1] - 2 or j == z.shape[0] - 2
                best = touch_cell(shape, cell, 5 if at_far_side else 3, best)
    return best


@inner_kernel
def block_may_exceed(
    shape: Shape, plane: Floats, side: float, corner: tuple[float, float], best: float
) -> bool:
    """Tell whether a block can hold the tip above ``best``; never wrongly denies it.

    Args:
        shape: the body.
        plane: (4,) of the block, from ``block_planes``.
        side: of the block, mm.
        corner: its lower left, mm from the axis.
        best: mm.
    """
    x, y = corner
    above = plane[0] - best
    if above <= 0 or clears(shape, above, nearest2(x, y, side)):
        return False
    half = 0.5 * side
    return may_exceed(shape, Plane(x + half, y + half, half, plane[1], plane[2], plane[3]), best)


@inner_kernel
def touch_group(
    shape: Shape,
    z: Floats,
    planes: Floats,
    spacing: float,
    axis: tuple[float, float],
    blocks: tuple[int, int, int, int],
    cells: tuple[int, int, int, int],
    best: Contact,
) -> Contact:
    """Return the contact with a group of blocks, or ``best`` where that is as high.

    Args:
        shape: the body.
        z: (ny, nx) heights.
        planes: from ``block_planes``.
        spacing: side of a cell, mm.
        axis: where the axis stands, in cells from the first node.
        blocks: first column and row, and the column and row after the last.
        cells: first column and row under the body, and the column and row after the last.
        best: the highest contact found so far.
    """
    u, v = axis
    for bj in range(blocks[1], blocks[3]):
        for bi in range(blocks[0], blocks[2]):
            corner = ((bi * BLOCK - u) * spacing, (bj * BLOCK - v) * spacing)
            if block_may_exceed(shape, planes[bj, bi], BLOCK * spacing, corner, best.tip):
                reach = reach_at(shape, planes[bj, bi, 0] - best.tip) / spacing
                within = (
                    max(cells[0], bi * BLOCK, floor(u - reach)),
                    max(cells[1], bj * BLOCK, floor(v - reach)),
                    min(cells[2], (bi + 1) * BLOCK, floor(u + reach) + 1),
                    min(cells[3], (bj + 1) * BLOCK, floor(v + reach) + 1),
                )
                best = touch_cells(shape, z, spacing, axis, within, best)
    return best


@inner_kernel
def touch(
    shape: Shape,
    z: Floats,
    planes: Floats,
    tops: Floats,
    spacing: float,
    axis: tuple[float, float],
    best: Contact,
) -> Contact:
    """Return the contact on which the body comes to rest.

    Args:
        shape: the body.
        z: (ny, nx) heights.
        planes: from ``block_planes``.
        tops: from ``group_tops``.
        spacing: side of a cell, mm.
        axis: where the axis stands, in cells from the first node.
        best: any contact that the surface really offers, the higher the quicker.
    """
    u, v = axis
    reach, side = shape.radius / spacing, BLOCK * GROUP
    first_i, first_j = max(0, floor(u - reach)), max(0, floor(v - reach))
    end_i = min(z.shape[1] - 1, floor(u + reach) + 1)
    end_j = min(z.shape[0] - 1, floor(v + reach) + 1)
    for gj in range(first_j // side, -(-end_j // side)):
        for gi in range(first_i // side, -(-end_i // side)):
            above = tops[gj, gi] - best.tip
            x, y = (gi * side - u) * spacing, (gj * side - v) * spacing
            # Most of them: farther out than their top could make good.
            if above <= 0 or clears(shape, above, nearest2(x, y, side * spacing)):
                continue
            blocks = (
                max(gi * GROUP, first_i // BLOCK),
                max(gj * GROUP, first_j // BLOCK),
                min((gi + 1) * GROUP, -(-end_i // BLOCK)),
                min((gj + 1) * GROUP, -(-end_j // BLOCK)),
            )
            cells = (first_i, first_j, end_i, end_j)
            best = touch_group(shape, z, planes, spacing, axis, blocks, cells, best)
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
    planes = block_planes(z, spacing)
    tops = group_tops(planes)
    heights = np.empty(places.shape[0])
    for chunk in numba.prange(-(-places.shape[0] // CHUNK)):
        last = Contact(-inf, 0.0, 0.0)
        for n in range(chunk * CHUNK, min(places.shape[0], (chunk + 1) * CHUNK)):
            axis = (places[n, 0], places[n, 1])
            best = touch_place(shape, z, spacing, axis, (0.0, 0.0))
            again = touch_place(shape, z, spacing, axis, (last.x, last.y))
            best = again if again.tip > best.tip else best
            last = touch(shape, z, planes, tops, spacing, axis, best)
            heights[n] = last.tip
    return heights
