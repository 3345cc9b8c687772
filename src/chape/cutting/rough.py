"""Roughing: level by level, in rings from the inside of each free region outwards.

A ring in the middle of a region meets full material; every further ring meets one step-over, with
the material on its right (climb). Where the cutter would be buried on a longer way, it goes twice:
at half the depth, and back, before it sinks to the rest. Level ground, which is most of a mould,
is cut to its finished height here, so that the ball has only walls and tops left to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

import contourpy
import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon

from chape.cutting.ground import SPACING, Ground
from chape.cutting.levels import ALLOWANCE, levels
from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import stepped, thinned, tip_map
from chape.cutting.rates import RAMP_SLOPE
from chape.field.envelope import Body

if TYPE_CHECKING:
    from chape.cutting.rates import Rates
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Distance of the rings, as a share of the cutter's diameter (common practice, no source).
STEP_SHARE = 0.45

#: What stands above a level by less than this is left, mm.
FILM = 0.05

#: Where the middle of the cutter goes ends this far inside what stands, mm: half of it is past
#: the edge still, and strips of twice this are left to the ball.
INSET = 1.0

#: How far the middle of the cutter runs past the piece's edge, as a share of its radius.
PAST_EDGE = 0.6

#: Share of the cutter's front in material at the wanted step-over: acos(1 - 2 * 0.45) of 180°.
#: In levels less deep than the material bears, more of the front is the same load.
WANTED_FRONT = 0.47

#: Corners of all rings but the outermost are rounded to this radius, mm: sharp ones would crowd
#: the cutter, and stop the machine.
ROUNDED = 1.5

#: Rings are drawn with as few corners as this allows, mm.
FIT = 0.02

#: Past this share (110 degrees) the feed falls.
CROWDED_FRONT = 0.61

#: The feed falls in these steps.
PACES = (CROWDED_FRONT, 0.8, 1.0)

#: The load, a share of full width at full depth, that no longer way is cut at in one go: a slot
#: in two layers asks for no more than the wanted step-over does (common practice, no source).
BURIED = 0.7

#: Ways shorter than this are cut in one go all the same, more slowly, mm: corners, mostly.
BURIED_WAY = 3.0

#: Rings shorter than this are left out, mm: there is no way down along them.
SHORTEST_RING = 1.0

#: Air longer than this is crossed at the machine's highest feed, mm.
AIR_RUN = 12.0


@dataclass(frozen=True, slots=True)
class Flat:
    """The cutter that roughs: radius, mm, and its rates."""

    radius: float
    rates: Rates

    @property
    def step(self) -> float:
        """Distance of the rings, mm."""
        return 2 * self.radius * STEP_SHARE


def rough(surface: HeightField, ground: Ground, cutter: Flat, safe: float) -> Track:
    """Plan the rough cut and eat it out of ``ground``.

    Args:
        surface: what is to remain, mm.
        ground: what stands there; changed.
        cutter: a flat one.
        safe: height at which nothing can be met, mm.
    """
    body = Body.flat(cutter.radius + ALLOWANCE)
    spacing = max(SPACING, surface.grid.spacing)
    reach = tip_map(surface, body, spacing, cutter.radius * PAST_EDGE)
    track = Track(safe)
    for level in levels(surface, float(ground.z.max()), cutter.rates.depth):
        limit = level.height + 1e-3 if level.is_ground else level.height - ALLOWANCE
        region = _polygons(region_below(reach, limit).intersection(_standing(ground, level.height)))
        for branch in _branches(region, cutter):
            _cut_branch(track, ground, cutter, branch, level.height)
    track.lift()
    return track


def _standing(ground: Ground, height: float) -> shapely.Geometry:
    """Return where more than a film stands above ``height``, drawn in by ``INSET``.

    The middle of the cutter has no need of the edge of what it cuts: its rim goes past that. Along
    a wall what stands reaches into the wall, so that nothing is lost there.
    """
    above = np.pad((ground.z > height + FILM).astype(np.float64), 1)
    grid = ground.grid
    x = grid.x0 + grid.spacing * np.arange(-1.0, grid.nx + 1)
    y = grid.y0 + grid.spacing * np.arange(-1.0, grid.ny + 1)
    return filled(x, y, above, 0.5, np.inf).buffer(-INSET, quad_segs=4).simplify(0.02)


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
    return _polygons(frame.difference(barred).simplify(0.01))


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


def _polygons(shape: shapely.Geometry) -> MultiPolygon:
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return MultiPolygon([part for part in parts if part.area > 1e-3])


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """A region and the rings along its edge, after the branches that lie within it."""

    region: Polygon
    inner: list[Branch]

    def rings(self) -> list[Floats]:
        """Return closed rings (n, 2): material on the right of each."""
        oriented = shapely.orient_polygons(self.region)
        rings = [oriented.exterior, *oriented.interiors]
        return [np.asarray(ring.coords, np.float64) for ring in rings]


def _branches(region: MultiPolygon, cutter: Flat) -> list[Branch]:
    """Return the region's parts as trees: each drawn in from the region itself, not in turn.

    An inner ring so short that the one around it clears it is left out: the way down is then
    round that, a helix as wide as there is room for.
    """
    step = cutter.step
    needless = 0.8 * (cutter.radius - step)
    tiers: list[list[Branch]] = []
    drawn = region
    while not drawn.is_empty:
        tiers.append([Branch(part, []) for part in drawn.geoms])
        inner = _polygons(_rounded(region.buffer(-step * len(tiers), quad_segs=6), step))
        drawn = MultiPolygon([part for part in inner.geoms if not part.buffer(-needless).is_empty])
    for outer, inner in pairwise(tiers):
        tree = shapely.STRtree([branch.region for branch in outer])
        for branch in inner:
            spot = branch.region.representative_point()
            found = tree.query(spot, predicate="within")
            outer[int(found[0]) if len(found) else 0].inner.append(branch)
    return tiers[0] if tiers else []


def _rounded(region: shapely.Geometry, step: float) -> shapely.Geometry:
    """Round the corners of a region, but for those too sharp for a ring not to miss their tip."""
    core = region.buffer(-ROUNDED, quad_segs=8).buffer(ROUNDED, quad_segs=8)
    missed = region.difference(core.buffer(step))
    if not missed.is_empty:
        core = core.union(missed.buffer(step).intersection(region))
    return core.simplify(FIT)


def _cut_branch(track: Track, ground: Ground, cutter: Flat, branch: Branch, height: float) -> None:
    """Cut what lies within, nearest first, then the rings of the branch itself."""
    waiting = list(branch.inner)
    while waiting:
        here = shapely.Point(track.position or (0.0, 0.0))
        nearest = min(waiting, key=lambda inner: round(inner.region.distance(here), 6))
        waiting.remove(nearest)
        _cut_branch(track, ground, cutter, nearest, height)
    rings = branch.rings()
    shapely.prepare(branch.region)
    while rings:
        here = np.asarray((track.position or (0.0, 0.0))[:2])
        nearest_ring = min(
            range(len(rings)), key=lambda n: round(float(np.hypot(*(rings[n] - here).T).min()), 6)
        )
        _cut_ring(track, ground, cutter, rings.pop(nearest_ring), height, branch.region)


def _cut_ring(
    track: Track,
    ground: Ground,
    cutter: Flat,
    ring: Floats,
    height: float,
    region: Polygon,
) -> None:
    """Reach the ring by the gentlest way, and go round it once."""
    if np.hypot(*np.diff(ring, axis=0).T).sum() < SHORTEST_RING:
        return
    here = track.position
    start = np.asarray((here or (0.0, 0.0))[:2])
    ring = _from_nearest(stepped(ring, cutter.radius), start)
    if here is not None and here[2] == height:
        way = LineString([here[:2], ring[0]])
        if way.length <= 2.2 * cutter.step and region.buffer(1e-3).covers(way):
            path = np.vstack([start[None, :], ring])
            _feed_along(track, ground, cutter, _at(path, height))
            return
    free = ground.highest(ring, cutter.radius) <= height + 1e-6
    if free.any():
        away = np.where(free, np.hypot(*(ring - start).T), np.inf)
        ring = _from(ring, int(np.argmin(np.round(away, 6))))
        track.go(float(ring[0, 0]), float(ring[0, 1]), ground, cutter.radius)
        track.down(height + APPROACH)
        track.lines(np.array([[*ring[0], height]]), cutter.rates.feed)
    else:
        ring = _ramp_down(track, ground, cutter, ring, height)
    _feed_along(track, ground, cutter, _at(ring, height))


def _ramp_down(track: Track, ground: Ground, cutter: Flat, ring: Floats, height: float) -> Floats:
    """Sink along the ring; return it from where the ramp ended."""
    x, y = ring[0].tolist()
    top = float(ground.highest(ring[:1], cutter.radius)[0]) + 0.2
    track.go(x, y, ground, cutter.radius)
    track.down(top)
    around = stepped(ring, 0.5)
    lengths = np.hypot(*np.diff(around, axis=0).T)
    wanted = (top - height) / RAMP_SLOPE
    turns = ceil(wanted / lengths.sum())
    way = np.vstack([around[:1], *([around[1:]] * turns)])
    travelled = np.concatenate([[0.0], np.cumsum(np.tile(lengths, turns))])
    count = int(np.searchsorted(travelled, wanted)) + 1
    heights = np.maximum(top - travelled[:count] * RAMP_SLOPE, height)
    ramp = np.column_stack([way[:count], heights])
    ramp[-1, 2] = height
    _feed_along(track, ground, cutter, ramp)
    return _from(around, (count - 1) % (len(around) - 1))


def slowed(feed: float, front: float) -> float:
    """Return the feed (mm/min) at a load: share of the cutter's front in material, at full depth.

    So that no more is taken off in a minute than at the wanted step-over and full depth.
    """
    return feed if front <= CROWDED_FRONT else float(round(feed * WANTED_FRONT / front))


def _feed_along(track: Track, ground: Ground, cutter: Flat, path: Floats) -> None:
    """Cut along a path (n, 3), slower where crowded, faster through long air.

    A stretch that would bury the cutter is first cut at half its depth, from its start and back
    to it, in what is then already clear.
    """
    points = stepped(np.asarray(path), ground.grid.spacing * 1.25)
    first = 0
    for start, end in _buried(ground, cutter, points):
        _pace_along(track, ground, cutter, points[first : start + 1])
        lighter = points[start : end + 1] + np.array([0.0, 0.0, cutter.rates.depth / 2])
        track.lines(lighter[:1], cutter.rates.air)
        _pace_along(track, ground, cutter, lighter)
        back = lighter[::-1] if np.hypot(*(lighter[0] - lighter[-1])[:2]) > 0 else lighter[:1]
        track.lines(
            np.vstack([thinned(back, 0.005)[1:], points[start : start + 1]]), cutter.rates.air
        )
        first = start
    _pace_along(track, ground, cutter, points[first:])


def _buried(ground: Ground, cutter: Flat, points: Floats) -> list[tuple[int, int]]:
    """Return the stretches (first, last) of points where the load would be more than is borne."""
    load = ground.tried(points, cutter.radius) / cutter.rates.depth
    edges = np.flatnonzero(np.diff(np.concatenate([[0], load > BURIED, [0]])))
    least = BURIED_WAY / (ground.grid.spacing * 1.25)
    joined: list[tuple[int, int]] = []
    for a, b in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        start, end = max(a - 1, 0), b - 1
        if joined and start - joined[-1][1] < least:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((start, end))
    return [(start, end) for start, end in joined if end - start >= least]


def _pace_along(track: Track, ground: Ground, cutter: Flat, points: Floats) -> None:
    """Cut along points (n, 3) at the pace that the load asks for."""
    if len(points) < 2:
        return
    front = ground.cut(points, cutter.radius) / cutter.rates.depth
    # A few paces only, so that a path does not fall into a thousand feeds.
    pace = (front > 0) + sum((front > share).astype(np.int64) for share in PACES[:-1])
    full = cutter.rates.feed
    feeds = np.array([cutter.rates.air, full, *(slowed(full, share) for share in PACES[1:])])
    runs = _long_enough(pace, AIR_RUN / (ground.grid.spacing * 1.25))
    for first, last, speed in runs:
        run = thinned(points[first : last + 1], 0.005)
        track.lines(run[1:], float(feeds[speed]))


def _long_enough(
    pace: np.ndarray[tuple[int], np.dtype[np.int64]], shortest: float
) -> list[tuple[int, int, int]]:
    """Return runs (first, last, pace) of points; short ones of air go at the pace beside them."""
    # A move's pace is the slower of its two ends.
    moves = np.maximum(pace[:-1], pace[1:])
    runs: list[list[int]] = []
    for n, speed in enumerate(moves.tolist()):
        if runs and runs[-1][2] == speed:
            runs[-1][1] = n + 1
        else:
            runs.append([n, n + 1, speed])
    merged: list[list[int]] = []
    for first, last, speed in runs:
        short = last - first < (shortest if speed == 0 else 2)
        # Speed may only fall on a short run, never rise.
        slower = 1 if short and speed == 0 else speed
        if merged and merged[-1][2] == slower:
            merged[-1][1] = last
        else:
            merged.append([first, last, slower])
    return [(first, last, speed) for first, last, speed in merged]


def _at(path: Floats, height: float) -> Floats:
    return np.column_stack([path, np.full(len(path), height)])


def _from_nearest(ring: Floats, spot: Floats) -> Floats:
    """Return a closed ring from its point nearest to ``spot``."""
    return _from(ring, int(np.argmin(np.round(np.hypot(*(ring[:-1] - spot).T), 6))))


def _from(ring: Floats, first: int) -> Floats:
    """Return a closed ring from its point ``first``."""
    first %= len(ring) - 1
    return np.vstack([ring[first:-1], ring[: first + 1]])
