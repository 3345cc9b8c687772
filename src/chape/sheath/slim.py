"""The slim outline: the least sheet that holds walls and rivets, along a fair line.

Each rivet's flange stands in a large disc that touches its margin from within the sheath, so that
the line turns round a rivet as gently as it may; between rivets it comes in as far as a large
hollow allows, and never nearer than the margin of the wall. So the line bends both ways without a
corner, as one drawn along a spline.
"""

from __future__ import annotations

from math import cos, pi
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Point, affinity

from chape.field.outline import rounded

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Floats

#: The line bends this much more sharply round a rivet than it hollows between two. By eye.
BEND_SHARE = 0.4

#: A hollow of some radius is filled to so much of it, as a share, less than it should be: the
#: library straightens an outline a little before it moves it that far. Measured: 1e-4 at most.
LOST = 1e-4

#: Chords of a quarter circle.
QUARTER = 48

#: So much of the outline before the mouth is mirrored behind it, mm.
MIRRORED = 30.0


def slimmed(
    even: Polygon,
    needs: Sequence[BaseGeometry],
    discs: Floats,
    toward: BaseGeometry,
    fair: float,
    corner: float,
    mouth_x: float,
) -> Polygon:
    """Return the slimmest fair outline that encloses everything asked for.

    Args:
        even: an outline of even width, which nothing but a hollow's filling goes beyond.
        needs: regions that must lie inside, their own margins added.
        discs: (n, 3) x, y and radius of rivets with their margins, which must lie inside.
        toward: the walls: large discs stand on their side of the rivets.
        fair: no hollow is rounder than this, mm.
        corner: outside corners are rounded by this, mm.
        mouth_x: the line meets the mouth square, mm.

    Raises:
        CannotMakeError: the needs do not grow together into one outline.
    """
    grow = LOST * fair
    small = [_round(x, y, radius + grow) for x, y, radius in discs]
    kept = [need.buffer(grow) for need in needs]
    large = [_leaning(disc, toward, BEND_SHARE * fair) for disc in discs]
    inside = shapely.union_all(large).intersection(even)
    # What lies as far before the mouth as behind it leaves the line square to the cut.
    beyond = affinity.scale(inside, -1, 1, origin=(mouth_x, 0))
    beyond = beyond.intersection(shapely.box(mouth_x, -1e4, mouth_x + MIRRORED, 1e4))
    return rounded(shapely.union_all([*kept, *small, inside, beyond]), fair, corner)


def _leaning(disc: Floats, toward: BaseGeometry, radius: float) -> BaseGeometry:
    """Return a disc of at least a radius that touches ``disc`` from the side away from the wall."""
    x, y, least = disc
    radius = max(radius, float(least))
    foot = shapely.get_coordinates(shapely.shortest_line(Point(x, y), toward))[1]
    way = foot - np.array([x, y])
    length = float(np.hypot(*way))
    if length == 0:
        return _round(x, y, least)
    middle = np.array([x, y]) + way / length * (radius - least)
    return _round(float(middle[0]), float(middle[1]), radius)


def _round(x: float, y: float, radius: float) -> Polygon:
    """Return a disc as a polygon round it, so that no chord comes nearer than its radius."""
    return Point(x, y).buffer(radius / cos(pi / (4 * QUARTER)), quad_segs=QUARTER)
