"""Sheets as solids: what lies between two height fields, cut to a shape (through manifold3d)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from chape.field.drilled import manifold_of, solid_of
from chape.field.extruded import plate
from chape.field.solid import Solid
from chape.field.surface import every_node, rim_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from chape.field.heights import HeightField


def skin(inside: HeightField, outside: HeightField) -> Solid:
    """Return the solid between two fields over the same grid, out to its edge.

    Args:
        inside: its underside.
        outside: its top, above ``inside`` everywhere.

    Raises:
        ValueError: the two touch, or their grids differ.
    """
    if inside.grid != outside.grid or not (outside.z > inside.z).all():
        raise ValueError("a skin needs two fields over one grid, one above the other")
    number, top = every_node(outside)
    x, y = (axis.ravel() for axis in outside.grid.mesh())
    count = len(x)
    rim = rim_of(number)
    following = np.roll(rim, -1)
    parts = [
        top,
        top[:, ::-1] + count,
        np.column_stack([rim + count, following + count, following]),
        np.column_stack([rim + count, following, rim]),
    ]
    vertices = np.vstack(
        [np.column_stack([x, y, outside.z.ravel()]), np.column_stack([x, y, inside.z.ravel()])]
    )
    return Solid(vertices, np.vstack(parts).astype(np.int32))


def cut_to(solid: Solid, shape: BaseGeometry) -> Solid:
    """Return what of a solid lies within a shape seen from above; its cuts are upright.

    Raises:
        ValueError: the solid is not closed, or nothing is left.
    """
    low, high = (float(corner[2]) for corner in solid.bounds)
    within = manifold_of(plate(shape, low - 1.0, high + 1.0))
    cut = manifold3d.Manifold.batch_boolean(
        [manifold_of(solid), within], manifold3d.OpType.Intersect
    )
    if cut.is_empty():
        raise ValueError("nothing of the solid lies within the shape")
    return solid_of(cut)
