"""Take away what a body sweeps in part of one tile of the stock, node by node.

A segment that begins where the last one ended need not look behind its start: there the body would
come no lower than it stood already. What a ball along an endless line would not touch, its
segment does not touch either; that is seen without a root.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.sweep import BALL, height_over, surely_clear
from chape.kernels import inner_kernel

if TYPE_CHECKING:
    from chape.cutting.sweep import Course, Segment, Shape
    from chape.field.grid import Floats

#: First node and spacing of a grid, mm.
Place = tuple[float, float, float]

#: Nodes along the side of a tile.
TILE = 16


@inner_kernel
def visit_tile(  # noqa: PLR0913, PLR0917  # compiled functions take no records
    z: Floats,
    place: Place,
    segment: Segment,
    course: Course,
    shape: Shape,
    rows: tuple[int, int],
    columns: tuple[int, int],
    wide: float,
    top: float,
    does: tuple[bool, bool],
) -> tuple[float, float, bool]:
    """Sweep one body over part of a tile.

    Args:
        z: (ny, nx) heights of the stock, mm; cut where ``does`` says so.
        place: of the grid.
        segment: of the tip.
        course: of the segment.
        shape: of the body.
        rows: first and last.
        columns: first and last.
        wide: farther from the segment the body stands above the whole tile, mm.
        top: highest node of the tile, mm.
        does: whether the body cuts, and whether it goes on from where it stood.

    Returns how deep it enters, the sum over the nodes, and whether the top node was cut.
    """
    deepest, total, topmost = 0.0, 0.0, False
    for j in range(rows[0], rows[1] + 1):
        y = place[1] + place[2] * j
        left, right = _span(segment, course, wide, y)
        if left > right:
            continue
        first = max(columns[0], int(np.ceil((left - place[0]) / place[2] - 1e-6)))
        last = min(columns[1], int(np.floor((right - place[0]) / place[2] + 1e-6)))
        if first > last:
            continue
        nodes = (j, first, last)
        if shape[0] == BALL:
            depth, taken, highest = _visit_row_ball(z, place, nodes, segment, course, shape, does)
        else:
            depth, taken, highest = _visit_row(z, place, nodes, segment, course, shape, does)
        deepest = max(deepest, depth)
        total += taken
        topmost = topmost or highest >= top
    return deepest, total, topmost


@inner_kernel
def _visit_row(
    z: Floats,
    place: Place,
    nodes: tuple[int, int, int],
    segment: Segment,
    course: Course,
    shape: Shape,
    does: tuple[bool, bool],
) -> tuple[float, float, float]:
    """Sweep a body over nodes in a row; ``nodes`` are its number and its first and last.

    Returns how deep it enters, the sum over the nodes, and the highest that was cut.
    """
    deepest, total, highest = 0.0, 0.0, -np.inf
    j, y = nodes[0], place[1] + place[2] * nodes[0]
    low = min(segment[2], segment[5])
    # Uphill a body comes lowest over a node before it is abreast of it.
    uphill = course[2] > 0 and course[3] >= 0
    behind = 0.0 if does[1] and uphill else -np.inf
    for i in range(nodes[1], nodes[2] + 1):
        rise = z[j, i] - low
        if rise <= 0:
            continue
        x = place[0] + place[2] * i
        gx, gy = x - segment[0], y - segment[1]
        foot = gx * course[0] + gy * course[1]
        if foot <= behind:
            continue
        along = min(course[2], max(0.0, foot))
        gx, gy = gx - along * course[0], gy - along * course[1]
        if surely_clear(shape, rise, gx * gx + gy * gy):
            continue
        height = height_over(shape, segment, course, x, y)
        depth = z[j, i] - height
        if depth > 0:
            deepest = max(deepest, depth)
            total += depth
            if does[0]:
                highest = max(highest, z[j, i])
                z[j, i] = height
    return deepest, total, highest


@inner_kernel
def _visit_row_ball(
    z: Floats,
    place: Place,
    nodes: tuple[int, int, int],
    segment: Segment,
    course: Course,
    shape: Shape,
    does: tuple[bool, bool],
) -> tuple[float, float, float]:
    """Do what ``_visit_row`` does, for a ball."""
    deepest, total, highest = 0.0, 0.0, -np.inf
    j = nodes[0]
    radius, behind = shape[2], does[1] and course[2] > 0
    ux, uy, length, slope = course
    start = segment[2] if length > 0 else min(segment[2], segment[5])
    lean2 = 1 + slope * slope
    lean = np.sqrt(lean2)
    gy = place[1] + place[2] * j - segment[1]
    for i in range(nodes[1], nodes[2] + 1):
        gx = place[0] + place[2] * i - segment[0]
        foot, aside = gx * ux + gy * uy, gx * uy - gy * ux
        across = radius * radius - aside * aside
        under = start + slope * foot + radius - z[j, i]
        if across < 0 or (under > 0 and lean2 * across <= under * under):
            continue
        root = np.sqrt(across)
        s = foot - slope / lean * root
        if s <= 0 and behind:
            continue
        height = start + slope * foot + (radius - lean * root)
        if s <= 0 or s >= length:
            s = min(max(s, 0.0), length)
            squared = across - (foot - s) * (foot - s)
            if squared < 0:
                continue
            height = start + slope * s + (radius - np.sqrt(squared))
        depth = z[j, i] - height
        if depth > 0:
            deepest = max(deepest, depth)
            total += depth
            if does[0]:
                highest = max(highest, z[j, i])
                z[j, i] = height
    return deepest, total, highest


@inner_kernel
def _span(segment: Segment, course: Course, wide: float, y: float) -> tuple[float, float]:
    """Return where a row enters and leaves what lies within ``wide`` of a segment; inf, -inf.

    That is convex, so that its bounds are those of the discs at both ends and of the two sides.
    """
    left, right = np.inf, -np.inf
    for end in (0, 3):
        aside = y - segment[end + 1]
        if abs(aside) <= wide:
            half = np.sqrt(wide * wide - aside * aside)
            left, right = min(left, segment[end] - half), max(right, segment[end] + half)
    ux, uy, length, _ = course
    if abs(uy) > 1e-9:
        for side in (-wide, wide):
            along = (y - segment[1] - side * ux) / uy
            if 0 <= along <= length:
                x = segment[0] + along * ux - side * uy
                left, right = min(left, x), max(right, x)
    return left, right
