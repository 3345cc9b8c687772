"""Where one shape may not lie because of another: the no-fit shape of a pair.

Of a fixed shape A and a moving shape B, the no-fit shape is the set of displacements d at which
B + d meets A: the Minkowski sum of A and -B. Its use is that distances come with it: where B + d
keeps clear of A, their distance is the distance of the point d from the no-fit shape. So one shape,
made once, answers every question of gap and spacing.

Method: both shapes are parted into convex ones; the sum of two convex shapes is one, and the no-fit
shape is all those sums joined. A hole in it is a place where the moving shape lies in a bay of the
fixed one and touches nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import InputError
from chape.tooling.convex_parts import convex_parts, convex_sum
from chape.tooling.lattice_kernels import distances_on_lattice

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats


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
    mirrored = [-part for part in convex_parts(moving)]
    sums = [convex_sum(one, other) for one in convex_parts(fixed) for other in mirrored]
    return shapely.union_all([shapely.Polygon(corners) for corners in sums])


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
