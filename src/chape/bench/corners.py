"""Lines and regions as the page draws them: lists of corners, no finer than a screen shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from chape.bench.sheath_answers import Corners
    from chape.field.grid import Floats

#: Drawn lines may stray from the true ones by this, mm.
STRAY = 0.02


def corners(points: Floats) -> Corners:
    """Return (n, 2) points as corners, to a hundredth of a millimetre."""
    return [(float(x), float(y)) for x, y in np.round(points, 2)]


def rings(region: BaseGeometry, stray: float = STRAY) -> list[Corners]:
    """Return the rims of a region, closed, holes after the part they are in; drawn by even-odd."""
    found = []
    for part in shapely.get_parts(shapely.simplify(region, stray)):
        if part.geom_type == "Polygon" and not part.is_empty:
            rims = (part.exterior, *part.interiors)
            found += [corners(shapely.get_coordinates(rim)[:-1]) for rim in rims]
    return found


def outline(region: BaseGeometry, stray: float = STRAY) -> Corners:
    """Return the rim of the largest part of a region."""
    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon"]
    if not parts:
        return []
    largest = max(parts, key=lambda part: float(part.area))
    return corners(shapely.get_coordinates(shapely.simplify(largest, stray).exterior)[:-1])


def across(region: shapely.Polygon, x: float) -> tuple[float, float]:
    """Return the least and greatest y of a region at a station; its own where it has none."""
    _, low, _, high = region.bounds
    cut = region.intersection(shapely.LineString([(x, low - 1), (x, high + 1)]))
    return (low, high) if cut.is_empty else (float(cut.bounds[1]), float(cut.bounds[3]))
