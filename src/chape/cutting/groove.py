"""Grooves and slots of constant width: walked to and fro, sinking as they go, then once level."""

from __future__ import annotations

from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage
from shapely import LineString, Polygon

from chape.cutting.link import APPROACH, Track, nearest_order, same_place
from chape.cutting.locate import stepped, thinned
from chape.cutting.rates import RAMP_SLOPE
from chape.cutting.rough import level_grounds

if TYPE_CHECKING:
    from chape.cutting.drill import Tool
    from chape.cutting.ground import Ground
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.tooling.model import Groove

#: How steeply the filling of a groove falls from a wall that ends in it.
FALL = 1.5

#: Walls of a groove are flattened within this, mm.
FLAT = 0.005


def without_grooves(surface: HeightField, grooves: tuple[Groove, ...]) -> HeightField:
    """Return a surface with its grooves filled up to what lies beside them.

    Roughing and finishing leave grooves to a cutter of the groove's own.
    """
    if not grooves:
        return surface
    x, y = surface.grid.mesh()
    inside = np.zeros(surface.grid.shape, dtype=bool)
    for groove in grooves:
        area = LineString(groove.points).buffer(groove.width / 2 + surface.grid.spacing / 2)
        shapely.prepare(area)
        at_floor = surface.z <= groove.z_floor + 1e-6
        inside[at_floor] |= shapely.contains_xy(area, x[at_floor], y[at_floor])
    if inside.all() or not inside.any():
        return surface
    away, nearest = ndimage.distance_transform_edt(
        inside, sampling=surface.grid.spacing, return_indices=True
    )
    beside = surface.z[tuple(nearest)]
    # Where a wall runs into the groove the filling falls on, so that a ball can finish the wall
    # down to the groove's edge; from level ground it goes on level.
    level = np.isclose(beside[..., None], level_grounds(surface), rtol=0, atol=1e-6).any(axis=-1)
    filled = np.where(level, beside, beside - FALL * away)
    return surface.with_z(np.where(inside, np.maximum(surface.z, filled), surface.z))


def tracks_of(groove: Groove, cutter: float) -> list[Floats]:
    """Return the ways (n, 2) of a cutter's middle through a groove, closed or open.

    One along the middle where the cutter is as wide as the groove, else one along each wall, and
    as many between as it takes.
    """
    line = LineString(groove.points)
    closed = same_place(groove.points[0], groove.points[-1]) and len(groove.points) > 3
    spare = (groove.width - cutter) / 2
    if spare < FLAT:
        return [np.asarray(groove.points, np.float64)]
    count = ceil(spare / (0.45 * cutter))
    ways: list[Floats] = [np.asarray(groove.points, np.float64)] if count > 1 or closed else []
    for n in range(1, count + 1):
        away = spare * n / count
        if closed:
            ring = Polygon(groove.points)
            sides = [ring.buffer(-away, quad_segs=24), ring.buffer(away, quad_segs=24)]
        else:
            sides = [line.buffer(away, quad_segs=24)]
        for side in sides:
            for part in shapely.get_parts(side):
                oriented = shapely.orient_polygons(part)
                rings = [oriented.exterior, *([] if closed else oriented.interiors)]
                ways.extend(np.asarray(ring.simplify(FLAT).coords, np.float64) for ring in rings)
    return ways


def cut_grooves(grooves: tuple[Groove, ...], tool: Tool, ground: Ground, safe: float) -> Track:
    """Cut grooves down to their floors and eat them out of ``ground``.

    Args:
        grooves: none narrower than the cutter.
        tool: a flat cutter.
        ground: what stands there; changed.
        safe: height at which nothing can be met, mm.
    """
    track = Track(safe)
    starts = np.array([groove.points[0] for groove in grooves])
    for n in nearest_order(starts, np.zeros(2)):
        for way in tracks_of(grooves[n], tool.cutter.diameter):
            _walk(track, way, grooves[n].z_floor, tool, ground)
    track.lift()
    return track


def _walk(track: Track, way: Floats, floor: float, tool: Tool, ground: Ground) -> None:
    """Sink along one way until it is level, only where something stands above the floor."""
    radius = tool.cutter.radius
    closed = same_place(way[0], way[-1])
    points = stepped(way, 0.5)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    top = float(ground.highest(points, radius).max())
    if top <= floor + 1e-6 or along[-1] < 1e-6:
        return
    steepest = along[-1] * RAMP_SLOPE
    count = ceil((top - floor) / min(tool.rates.depth, steepest) - 1e-9)
    x, y = points[0].tolist()
    track.go(x, y, ground, radius)
    track.down(top + APPROACH)
    track.lines(np.array([[x, y, top]]), tool.rates.plunge)
    passes = [*np.linspace(top, floor, count + 1).tolist(), floor]
    forward = True
    for above, below in pairwise(passes):
        walked = points if forward or closed else points[::-1]
        travelled = along if forward or closed else along[-1] - along[::-1]
        heights = above + (below - above) * travelled / along[-1]
        path = np.column_stack([walked, heights])
        ground.cut(path, radius)
        track.lines(thinned(path, 0.003)[1:], tool.rates.feed)
        forward = not forward
