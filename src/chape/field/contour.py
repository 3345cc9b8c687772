"""Level lines of a height field, and the regions they enclose."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import contourpy
import numpy as np
import numpy.typing as npt
import shapely
from shapely import MultiPolygon, Polygon

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField


def regions_above(surface: HeightField, level: float) -> MultiPolygon:
    """Return where a surface stands above a level.

    Crossings are placed by straight interpolation along the grid's edges, so that they agree with
    the two-triangle surface there; inside a cell the line may cut the diagonal off by less than
    half a cell. A plateau exactly at ``level`` does not count as above it.

    Args:
        surface: the height field; the region ends at the edge of its grid.
        level: mm.

    Returns:
        Valid polygons with their holes, exterior rings counter-clockwise; empty where nothing
        stands above.
    """
    if not np.isfinite(level):
        raise ValueError(f"a level must be finite, not {level}")
    generator = contourpy.contour_generator(
        surface.grid.x,
        surface.grid.y,
        surface.z,
        name="serial",
        fill_type=contourpy.FillType.OuterOffset,
    )
    # With this fill type each polygon is one array of points, and where its rings begin.
    filled: tuple[list[Floats], list[npt.NDArray[np.uint32]]] = generator.filled(level, np.inf)  # type: ignore[assignment]  # typed for every fill type at once
    points, offsets = filled
    parts: list[Polygon] = []
    for corners, ends in zip(points, offsets, strict=True):
        rings = [corners[a:b] for a, b in pairwise(ends)]
        parts.extend(_valid_parts(rings))
    regions = MultiPolygon(parts)
    if not regions.is_valid:
        # Regions that meet along an edge exactly at the level are one region.
        regions = MultiPolygon(shapely.get_parts(shapely.union_all(parts)).tolist())
    return regions


def level_lines(surface: HeightField, level: float) -> list[Floats]:
    """Return the lines along which a surface has one height.

    Args:
        surface: the height field.
        level: mm.

    Returns:
        One (n, 2) array of points per line, mm, higher ground on the left. A closed line repeats
        its first point at the end; others end at the edge of the grid.
    """
    if not np.isfinite(level):
        raise ValueError(f"a level must be finite, not {level}")
    generator = contourpy.contour_generator(
        surface.grid.x,
        surface.grid.y,
        surface.z,
        name="serial",
        line_type=contourpy.LineType.Separate,
    )
    lines = [_without_repeats(np.asarray(line, np.float64)) for line in generator.lines(level)]
    return [line for line in lines if len(line) > 1]


def _without_repeats(line: Floats) -> Floats:
    """Drop the points that repeat their predecessor, as crossings exactly at a node do."""
    keep = np.ones(len(line), dtype=bool)
    keep[1:] = np.any(line[1:] != line[:-1], axis=1)
    return line[keep]


def _valid_parts(rings: list[Floats]) -> list[Polygon]:
    """Return the polygons of one exterior ring and its holes, mended where rings touch."""
    # Fewer than three corners besides the repeated one enclose nothing.
    exterior, *holes = rings
    if len(exterior) < 4:
        return []
    raw = Polygon(exterior, [hole for hole in holes if len(hole) >= 4])
    mended = raw if raw.is_valid else shapely.make_valid(raw)
    polygons = [
        part
        for part in shapely.get_parts(shapely.get_parts(mended))
        if isinstance(part, Polygon) and part.area > 0
    ]
    return [shapely.orient_polygons(part) for part in polygons]
