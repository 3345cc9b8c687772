"""Plates: a flat shape of some thickness, as a solid (through manifold3d)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import manifold3d
import numpy as np
import shapely

from chape.field.drilled import solid_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from chape.field.solid import Solid


def plate(shape: BaseGeometry, z_bottom: float, z_top: float) -> Solid:
    """Return a plate between two heights.

    Args:
        shape: one or more polygons with their holes, seen from above, mm.
        z_bottom: its underside, mm.
        z_top: its upper side, mm.

    Raises:
        ValueError: there is no shape, or the plate has no thickness.
    """
    if not z_top > z_bottom:
        raise ValueError(f"a plate from {z_bottom} to {z_top} mm has no thickness")
    rings = [
        np.asarray(ring.coords)[:-1]
        for part in shapely.get_parts(shapely.orient_polygons(shape))
        if isinstance(part, shapely.Polygon) and not part.is_empty
        for ring in (part.exterior, *part.interiors)
    ]
    if not rings:
        raise ValueError("a plate needs a shape")
    section = manifold3d.CrossSection(rings, manifold3d.FillRule.Positive)
    body = manifold3d.Manifold.extrude(section, z_top - z_bottom)
    return solid_of(body.translate((0, 0, z_bottom)))
