"""A polygon as a few convex ones, and the sum of two convex ones.

Method: Hertel and Mehlhorn, "Fast triangulation of simple polygons" (1983): triangles are joined
over their common sides as long as what they make is convex; at most four times as many parts are
left as are needed. The sum of two convex polygons has the sides of both, by their direction.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats

_Corner = tuple[float, float]


def convex_parts(shape: Polygon) -> list[Floats]:
    """Return convex polygons that together cover a simple polygon exactly.

    Args:
        shape: without holes, mm.

    Returns:
        Corners (n, 2) of each, counter-clockwise, the first not repeated.
    """
    triangles = shapely.orient_polygons(shapely.constrained_delaunay_triangles(shape))
    parts = {
        number: [(float(x), float(y)) for x, y in shapely.get_coordinates(each)[:-1]]
        for number, each in enumerate(shapely.get_parts(triangles))
    }
    owner = {side: number for number, part in parts.items() for side in _sides(part)}
    for start, end in list(owner):
        one, other = owner.get((start, end)), owner.get((end, start))
        if one is None or other is None or one == other:
            continue
        joined = _joined(parts[one], parts[other], start, end)
        if joined is None:
            continue
        parts[one] = joined
        del parts[other], owner[start, end], owner[end, start]
        owner.update(dict.fromkeys(_sides(joined), one))
    return [np.array(part) for part in parts.values()]


def convex_sum(one: Floats, other: Floats) -> Floats:
    """Return the corners (n, 2) of the Minkowski sum of two convex counter-clockwise polygons."""
    sides = np.vstack([np.roll(each, -1, axis=0) - each for each in (one, other)])
    start = sum(each[np.lexsort((each[:, 0], each[:, 1]))[0]] for each in (one, other))
    # From the lowest corner all sides of both follow each other by direction, once round.
    turn = np.arctan2(sides[:, 1], sides[:, 0]) % (2 * np.pi)
    steps = np.cumsum(sides[np.argsort(turn, kind="stable")], axis=0)
    corners: Floats = np.vstack([start, start + steps[:-1]])
    return corners


def _sides(part: list[_Corner]) -> list[tuple[_Corner, _Corner]]:
    return list(zip(part, [*part[1:], part[0]], strict=True))


def _joined(
    one: list[_Corner], other: list[_Corner], start: _Corner, end: _Corner
) -> list[_Corner] | None:
    """Return two parts joined over the side from ``start`` to ``end``; None if not convex."""
    at, back = one.index(start), other.index(end)
    # From the side's end all round the one to its start, then all round the other.
    turned = other[back + 1 :] + other[: back + 1]
    joined = [*one[at + 1 :], *one[: at + 1], *turned[1:-1]]
    return joined if all(_turns_left(joined, corner) for corner in (start, end)) else None


def _turns_left(part: list[_Corner], corner: _Corner) -> bool:
    at = part.index(corner)
    (x0, y0), (x1, y1), (x2, y2) = part[at - 1], corner, part[(at + 1) % len(part)]
    return (x1 - x0) * (y2 - y1) - (y1 - y0) * (x2 - x1) >= 0.0
