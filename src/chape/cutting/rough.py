"""Roughing: level by level, each where it is free and something stands.

Level ground, which is most of a mould, is cut to its finished height here, so that the ball has
only walls and tops left to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import contourpy
import numpy as np
import numpy.typing as npt
import shapely
from scipy import ndimage
from shapely import MultiPolygon, Polygon

from chape.cutting.clear import Clearing, polygons
from chape.cutting.ground import SPACING, Ground
from chape.cutting.levels import ALLOWANCE, DEEPEST_FOR_BALL, Where
from chape.cutting.link import Track
from chape.cutting.locate import tip_map
from chape.field.envelope import Body

if TYPE_CHECKING:
    from chape.cutting.levels import Level
    from chape.cutting.pace import Flat
    from chape.field.grid import Floats, Grid
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]

#: Nodes of level ground lie this near to its height, mm.
SAME = 1e-5

#: What stands above a level by less than this is left, mm.
FILM = 0.05

#: Where the middle of the cutter goes ends this far inside what stands, mm: half of it is past
#: the edge still, and strips of twice this are left to the ball.
INSET = 1.0

#: On level ground the flat cutter comes this near to where a wall begins, mm.
BESIDE_FOOT = 0.1

#: How far the middle of the cutter runs past the piece's edge, as a share of its radius.
PAST_EDGE = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class Free:
    """How low the flat cutter may go over a surface.

    Attributes:
        surface: what is to remain, mm.
        reach: its tip's map, kept ``ALLOWANCE`` off walls.
        near: the same, ``BESIDE_FOOT`` off them.
    """

    surface: HeightField
    reach: HeightField
    near: HeightField

    @classmethod
    def over(cls, surface: HeightField, radius: float) -> Free:
        """Return where a cutter of a radius (mm) is free."""
        spacing = max(SPACING, surface.grid.spacing)
        reach, near = (
            tip_map(surface, Body.flat(radius + spare), spacing, radius * PAST_EDGE)
            for spare in (ALLOWANCE, BESIDE_FOOT)
        )
        return cls(surface, reach, near)


def rough(free: Free, ground: Ground, cutter: Flat, safe: float, heights: list[Level]) -> Track:
    """Plan the rough cut and eat it out of ``ground``.

    Args:
        free: where the cutter may go.
        ground: what stands there; changed.
        cutter: a flat one.
        safe: height at which nothing can be met, mm.
        heights: the levels to be cleared, in their order.
    """
    track = Track(safe)
    for level in heights:
        region, allowed = regions_of(level, free, ground, cutter.radius)
        Clearing(track, ground, cutter, level.height, allowed).clear(region)
    track.leave(ground, cutter.radius, cutter.rates.feed)
    track.lift()
    return track


def regions_of(
    level: Level, free: Free, ground: Ground, radius: float
) -> tuple[MultiPolygon, MultiPolygon]:
    """Return where the middle of a flat cutter goes at a level, and where it may go."""
    if level.is_ground:
        allowed = region_below(free.near, level.height + 1e-3)
    else:
        allowed = region_below(free.reach, level.height - ALLOWANCE)
    region = allowed.intersection(_standing(ground, level.height))
    tops = ground.highest_of(free.surface)
    if level.where is Where.GROUND:
        there = np.abs(tops - level.height) < SAME
        region = region.intersection(_around(ground.grid, there, radius))
    elif level.where is Where.HILLS:
        high = ground.z - tops > DEEPEST_FOR_BALL
        region = region.intersection(_around(ground.grid, high, radius))
    return polygons(region), allowed


def _around(grid: Grid, there: Mask, radius: float) -> shapely.Geometry:
    """Return where a cutter takes from what stands at some nodes, without specks of them."""
    away = ndimage.distance_transform_edt(~ndimage.binary_opening(there))
    near = np.pad((away * grid.spacing <= radius).astype(np.float64), 1)
    return _filled_over(grid, near)


def _standing(ground: Ground, height: float) -> shapely.Geometry:
    """Return where more than a film stands above ``height``, drawn in by ``INSET``.

    The middle of the cutter has no need of the edge of what it cuts: its rim goes past that. Along
    a wall what stands reaches into the wall, so that nothing is lost there.
    """
    above = np.pad((ground.z > height + FILM).astype(np.float64), 1)
    return _filled_over(ground.grid, above).buffer(-INSET, quad_segs=4).simplify(0.02)


def _filled_over(grid: Grid, framed: Floats) -> shapely.Geometry:
    """Return where nodes count, of a grid with a frame of one node around it."""
    x = grid.x0 + grid.spacing * np.arange(-1.0, grid.nx + 1)
    y = grid.y0 + grid.spacing * np.arange(-1.0, grid.ny + 1)
    return filled(x, y, framed, 0.5, np.inf)


def region_below(reach: HeightField, limit: float) -> MultiPolygon:
    """Return where the tip may stand at ``limit`` mm.

    Drawn in by three quarters of a node's distance, for a level line may stray by as much
    beside a cliff.
    """
    inside = filled(reach.grid.x, reach.grid.y, reach.z, -np.inf, limit)
    # The edge of the map is no cliff, and the region has to reach past the piece.
    x0, y0, x1, y1 = reach.grid.bounds
    frame = shapely.box(x0, y0, x1, y1)
    barred = frame.difference(inside).buffer(0.75 * reach.grid.spacing, quad_segs=4)
    return polygons(frame.difference(barred).simplify(0.01))


def filled(x: Floats, y: Floats, values: Floats, low: float, high: float) -> shapely.Geometry:
    """Return where values (ny, nx) at nodes x and y lie between two bounds."""
    generator = contourpy.contour_generator(
        x, y, values, name="serial", fill_type=contourpy.FillType.OuterOffset
    )
    corners_of, ends_of = generator.filled(low, high)[:2]
    parts = []
    for corners, ends in zip(corners_of, ends_of, strict=True):
        if corners is None or ends is None:
            continue
        rings = [corners[a:b] for a, b in pairwise(ends.tolist()) if b - a >= 4]
        if rings:
            parts.append(shapely.make_valid(Polygon(rings[0], rings[1:])))
    return shapely.union_all(parts) if parts else Polygon()
