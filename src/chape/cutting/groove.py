"""Grooves and slots of constant width: walked to and fro, sinking as they go, then once level."""

from __future__ import annotations

from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage
from shapely import LineString, Polygon

from chape.cutting.levels import level_grounds
from chape.cutting.link import APPROACH, Track, same_place
from chape.cutting.locate import stepped, thinned
from chape.cutting.order import Stop, shortest_route
from chape.cutting.rates import RAMP_SLOPE

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

#: A closed groove may be entered at about so many places.
ENTRIES = 16


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


def cut_grooves(
    grooves: tuple[Groove, ...],
    tool: Tool,
    ground: Ground,
    safe: float,
    *,
    start: tuple[float, float] = (0.0, 0.0),
) -> Track:
    """Cut grooves down to their floors and eat them out of ``ground``.

    Grooves are taken on a short way, open ones from either end, closed ones from anywhere; within
    a groove the middle comes before the walls.

    Args:
        grooves: none narrower than the cutter.
        tool: a flat cutter.
        ground: what stands there; changed.
        safe: height at which nothing can be met, mm.
        start: where the cutter comes from, mm.
    """
    track = Track(safe)
    ways: list[tuple[Floats, float]] = []
    after: list[tuple[int, int]] = []
    for groove in grooves:
        for n, way in enumerate(tracks_of(groove, tool.cutter.diameter)):
            if n:
                after.append((len(ways) - 1, len(ways)))
            ways.append((way, groove.z_floor))
    stops = [_stop(way, floor, tool, ground) for way, floor in ways]
    route = shortest_route(stops, start, after=after)
    track.saved += route.saved
    for n, place in route.visits:
        way, floor = ways[n]
        _walk(track, _from(way, stops[n].places[place]), floor, tool, ground)
    track.lift()
    return track


def _stop(way: Floats, floor: float, tool: Tool, ground: Ground) -> Stop:
    """Return where a way may be entered, and whether it is left at its other end."""
    if same_place(way[0], way[-1]):
        apart = max(1, len(way) // ENTRIES)
        return Stop(way[:-1:apart])
    levels = _levels(stepped(way, 0.5), floor, tool, ground)
    return Stop(way[[0, -1]], through=len(levels) % 2 == 0)


def _from(way: Floats, place: Floats) -> Floats:
    """Return a way that begins at one of its ends, a closed one at one of its points."""
    at = int(np.argmin(np.hypot(*(way - place).T)))
    if same_place(way[0], way[-1]):
        return np.vstack([way[at:-1], way[: at + 1]])
    return way if at == 0 else way[::-1]


def _levels(points: Floats, floor: float, tool: Tool, ground: Ground) -> list[float]:
    """Return the heights (mm) between which each walk sinks, the last level; none for no work."""
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    top = float(ground.highest(points, tool.cutter.radius).max())
    if top <= floor + 1e-6 or length < 1e-6:
        return []
    deep = tool.rates.depth
    if top - floor > deep and not same_place(points[0], points[-1]):
        # Where it turns back, a walk to and fro takes two steps at once.
        deep /= 2
    count = ceil((top - floor) / min(deep, length * RAMP_SLOPE) - 1e-9)
    return [*np.linspace(top, floor, count + 1).tolist(), floor]


def _walk(track: Track, way: Floats, floor: float, tool: Tool, ground: Ground) -> None:
    """Sink along one way until it is level, only where something stands above the floor."""
    radius = tool.cutter.radius
    closed = same_place(way[0], way[-1])
    points = stepped(way, 0.5)
    levels = _levels(points, floor, tool, ground)
    if not levels:
        return
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    x, y = points[0].tolist()
    track.go(x, y, ground, radius)
    track.down(levels[0] + APPROACH)
    track.lines(np.array([[x, y, levels[0]]]), tool.rates.plunge)
    forward = True
    for above, below in pairwise(levels):
        walked = points if forward or closed else points[::-1]
        travelled = along if forward or closed else along[-1] - along[::-1]
        heights = above + (below - above) * travelled / along[-1]
        path = np.column_stack([walked, heights])
        ground.cut(path, radius)
        track.lines(thinned(path, 0.003)[1:], tool.rates.feed)
        forward = not forward
