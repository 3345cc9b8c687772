"""Where one shape may not lie because of another: the no-fit shape of a pair.

Of a fixed shape A and a moving shape B, the no-fit shape is the set of displacements d at which
B + d meets A: the Minkowski sum of A and -B. Its use is that distances come with it: where B + d
keeps clear of A, their distance is the distance of the point d from the no-fit shape. So one shape,
made once, answers every question of gap and spacing.

Method: two simple shapes meet either with their rims, or one lies wholly within the other. Rims
meet at d where an edge of A meets an edge of B + d: one parallelogram per pair of edges, all of
them joined. What is left as a hole is a place where no rims meet: kept if the shapes are clear of
each other there, filled if one lies in the other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.errors import InputError
from chape.tooling.lattice_kernels import distances_on_lattice

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats

#: Parallelograms of parallel edges enclose nothing, mm²; their neighbours cover them.
_NOTHING = 1e-9


def no_fit(fixed: Polygon, moving: Polygon) -> shapely.Geometry:
    """Return the displacements at which ``moving`` meets ``fixed``.

    Args:
        fixed: a simple polygon without holes, mm.
        moving: another one, mm.

    Returns:
        Polygon (with holes where the moving shape fits into a bay it cannot be slid into).

    Raises:
        InputError: a shape is empty, crosses itself or has holes.
    """
    for shape in (fixed, moving):
        _check_simple(shape)
    ring, other = _ring(fixed), -_ring(moving)
    swept = shapely.polygons(_parallelograms(ring, other))
    joined = shapely.union_all(swept[shapely.area(swept) > _NOTHING])
    parts = []
    for part in getattr(joined, "geoms", [joined]):
        bays = [bay for bay in part.interiors if _is_clear(fixed, moving, bay)]
        parts.append(shapely.Polygon(part.exterior, bays))
    return shapely.union_all(parts)


def _check_simple(shape: Polygon) -> None:
    if not isinstance(shape, shapely.Polygon) or shape.is_empty or not shape.is_valid:
        raise InputError(
            "a shape to be laid on a blank is empty or crosses itself",
            mend="Give one closed outline that does not cross itself",
        )
    if len(shape.interiors):
        raise InputError(
            "a shape to be laid on a blank has holes", mend="Fill them: nothing is laid inside one"
        )


def _ring(shape: Polygon) -> Floats:
    """Return a polygon's corners (n + 1, 2), counter-clockwise, the first repeated."""
    corners: Floats = shapely.get_coordinates(shapely.orient_polygons(shape).exterior)
    return corners


def _parallelograms(ring: Floats, other: Floats) -> Floats:
    """Return (n * m, 5, 2): each edge of one ring slid along each edge of the other."""
    a, b = ring[:-1, None], ring[1:, None]
    c, d = other[None, :-1], other[None, 1:]
    corners: Floats = np.stack([a + c, b + c, b + d, a + d, a + c], axis=2)
    return corners.reshape(-1, 5, 2)


def _is_clear(fixed: Polygon, moving: Polygon, bay: shapely.LinearRing) -> bool:
    inside = shapely.Polygon(bay).representative_point()
    return bool(affinity.translate(moving, inside.x, inside.y).disjoint(fixed))


def distances(place: shapely.Geometry, x: Floats, y: Floats) -> Floats:
    """Return how far displacements are from a no-fit shape.

    Args:
        place: polygon or polygons, mm.
        x: (n,) displacements along x, mm.
        y: (m,) displacements along y, mm.

    Returns:
        (n, m) distances, mm; 0 inside.
    """
    rings = []
    for part in getattr(place, "geoms", [place]):
        for ring in (part.exterior, *part.interiors):
            corners = shapely.get_coordinates(ring)
            rings.append(np.hstack([corners[:-1], corners[1:]]))
    return distances_on_lattice(np.vstack(rings), x, y)
