"""A region of one level cleared in rings.

From the inside outwards where it lies between walls: a ring in the middle meets full material,
every further one meets one step-over. From the outside inwards where nothing stands around it, so
that the cutter comes in from the air. Either way the material is on its right (climb).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon

from chape.cutting.ease import eased, evenly
from chape.cutting.link import APPROACH
from chape.cutting.locate import stepped
from chape.cutting.pace import feed_along
from chape.cutting.rates import RAMP_SLOPE

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.cutting.link import Track
    from chape.cutting.pace import Flat
    from chape.field.grid import Floats

#: Corners of all rings but the outermost are rounded to this radius, mm: sharp ones would crowd
#: the cutter, and stop the machine.
ROUNDED = 2.5

#: Rings are drawn with as few corners as this allows, mm.
FIT = 0.02

#: And once they are eased, mm.
FINE_FIT = 0.005

#: Rings shorter than this are left out, mm: there is no way down along them.
SHORTEST_RING = 1.0

#: A ring is left for the next one slantwise, so far on, mm.
SLIDE = 4.0

#: Rings are eased within this, mm, where the cutter is free to: two of them overlap by more.
EASED = 1.2

#: But no more than by this part of their length,
SHRINKS = 40.0

#: and they keep so far off where it may not go, mm.
OFF_EDGE = 0.004

#: So far the cutter stays down on its way to the next ring, where it meets little, mm: quicker than
#: to rise and to sink.
STAY_DOWN = 40.0

#: It meets little at this share of full width at full depth.
LITTLE = 0.2

#: Nothing stands around a region where so much of its edge has air beside it.
OPEN = 0.6

#: From the air the cutter comes in over this much more than its radius, mm.
LEAD = 1.5


def polygons(shape: shapely.Geometry) -> MultiPolygon:
    """Return what of a shape has an area."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return MultiPolygon([part for part in parts if part.area > 1e-3])


class Clearing:
    """Clears regions at one height.

    Attributes:
        track: gathers the moves.
        ground: what stands; changed.
        cutter: a flat one.
        height: of the tip, mm.
        allowed: where the tip may stand at that height.
    """

    def __init__(
        self, track: Track, ground: Ground, cutter: Flat, height: float, allowed: MultiPolygon
    ) -> None:
        self.track = track
        self.ground = ground
        self.cutter = cutter
        self.height = height
        self.allowed = allowed.buffer(1e-3)
        self._edge = allowed.boundary
        shapely.prepare(self.allowed)
        shapely.prepare(self._edge)
        #: Which way the last ring was left, a unit vector.
        self._heading = np.zeros(2)

    def clear(self, region: MultiPolygon) -> None:
        """Clear all parts of a region, nearest first."""
        self._all(branches(region, self.cutter))

    def _all(self, waiting: list[Branch]) -> None:
        left = list(waiting)
        while left:
            here = shapely.Point((self.track.position or (0.0, 0.0))[:2])
            nearest = min(left, key=lambda branch: round(branch.region.distance(here), 6))
            left.remove(nearest)
            self._branch(nearest)

    def _branch(self, branch: Branch) -> None:
        """Cut what lies within, then the rings of the branch itself; inwards from open edges."""
        rings = branch.rings()
        inwards = len(rings) == 1 and self._open(branch.region)
        if inwards:
            self._ring(rings.pop()[::-1])
        self._all(branch.inner)
        while rings:
            here = np.asarray((self.track.position or (0.0, 0.0))[:2])
            away = [round(float(np.hypot(*(ring - here).T).min()), 6) for ring in rings]
            self._ring(rings.pop(int(np.argmin(away))))

    def _open(self, region: Polygon) -> bool:
        """Return whether nothing stands around a region."""
        around = region.exterior.buffer(self.cutter.radius, quad_segs=4)
        edge = shapely.segmentize(max(shapely.get_parts(around), key=_area).exterior, 2.0)
        beside = shapely.get_coordinates(edge)
        free = self.ground.highest(beside, 0.0) <= self.height + 1e-6
        return bool(free.mean() >= OPEN)

    def _ring(self, ring: Floats) -> None:
        """Reach the ring by the gentlest way, and go round it once."""
        if np.hypot(*np.diff(ring, axis=0).T).sum() < SHORTEST_RING:
            return
        track, ground, cutter = self.track, self.ground, self.cutter
        here = track.position
        start = np.asarray((here or (0.0, 0.0))[:2])
        eased_ring = stepped(self._eased(ring), cutter.radius)
        ring = _from_nearest(eased_ring, start + SLIDE * self._heading)
        if here is not None and here[2] == self.height and self._may_stay(start, ring[0]):
            self._feed(np.vstack([start[None, :], ring]))
            return
        free = ground.highest(ring, cutter.radius) <= self.height + 1e-6
        away = np.hypot(*(ring - start).T)
        if free.any():
            ring = _from(ring, int(np.argmin(np.round(np.where(free, away, np.inf), 6))))
            self._sink(ring[0])
        elif (lead := self._lead(ring, away)) is not None:
            ring = _from(ring, lead[0])
            self._sink(lead[1])
            ring = np.vstack([lead[1][None, :], ring])
        else:
            ring = self._ramp_down(ring)
        self._feed(ring)

    def _eased(self, ring: Floats) -> Floats:
        """Return a ring with rounder corners, and without the jitter of what it was drawn from."""
        points = evenly(ring)
        places = shapely.points(points)
        # A short ring would shrink to nothing, and with it the way down along it.
        most = min(EASED, float(np.hypot(*np.diff(ring, axis=0).T).sum()) / SHRINKS)
        within = np.full(len(points), most)
        near = shapely.dwithin(self._edge, places, most)
        off = shapely.distance(self._edge, places[near])
        within[near] = np.clip(off - OFF_EDGE, 0.0, most)
        plain = LineString(eased(points, within)).simplify(FINE_FIT)
        return np.asarray(plain.coords, np.float64)

    def _may_stay(self, start: Floats, end: Floats) -> bool:
        """Return whether the cutter stays down on a straight way."""
        way = LineString([start, end])
        if way.length > STAY_DOWN or not self.allowed.covers(way):
            return False
        if way.length <= 2.2 * self.cutter.step + SLIDE:
            return True
        points = self._at(stepped(np.asarray(way.coords), self.ground.grid.spacing))
        met = self.ground.tried(points, self.cutter.radius) / self.cutter.rates.depth
        return bool(met.max() <= LITTLE)

    def _lead(self, ring: Floats, away: Floats) -> tuple[int, Floats] | None:
        """Return a point of the ring that is reached from air beside it, and where from."""
        way = np.vstack([ring[1:], ring[1:2]]) - np.vstack([ring[-2:-1], ring[:-1]])
        outward = np.column_stack([-way[:, 1], way[:, 0]])
        outward /= np.maximum(np.hypot(*outward.T), 1e-9)[:, None]
        # Material lies on the right, so air on the left.
        from_air = ring + (self.cutter.radius + LEAD) * outward
        free = self.ground.highest(from_air, self.cutter.radius) <= self.height + 1e-6
        for n in np.argsort(np.where(free, np.round(away, 6), np.inf), kind="stable").tolist():
            if not free[n]:
                return None
            if self.allowed.covers(LineString([from_air[n], ring[n]])):
                return n, from_air[n]
        return None

    def _sink(self, spot: Floats) -> None:
        """Come down through air."""
        self.track.leave(self.ground, self.cutter.radius, self.cutter.rates.feed)
        self.track.go(float(spot[0]), float(spot[1]), self.ground, self.cutter.radius)
        self.track.down(self.height + APPROACH)
        self.track.lines(self._at(spot[None, :]), self.cutter.rates.feed)

    def _ramp_down(self, ring: Floats) -> Floats:
        """Sink along the ring; return it from where the ramp ended."""
        track, ground, cutter, height = self.track, self.ground, self.cutter, self.height
        x, y = ring[0].tolist()
        top = float(ground.highest(ring[:1], cutter.radius)[0]) + 0.2
        track.leave(ground, cutter.radius, cutter.rates.feed)
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
        feed_along(track, ground, cutter, ramp)
        return _from(around, (count - 1) % (len(around) - 1))

    def _feed(self, path: Floats) -> None:
        feed_along(self.track, self.ground, self.cutter, self._at(path))
        way = path[-1] - path[-2]
        self._heading = way / max(float(np.hypot(*way)), 1e-9)

    def _at(self, path: Floats) -> Floats:
        return np.column_stack([path, np.full(len(path), self.height)])


def _area(shape: Polygon) -> float:
    return float(shape.area)


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


def branches(region: MultiPolygon, cutter: Flat) -> list[Branch]:
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
        inner = polygons(_rounded(region.buffer(-step * len(tiers), quad_segs=6), step))
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


def _from_nearest(ring: Floats, spot: Floats) -> Floats:
    """Return a closed ring from its point nearest to ``spot``."""
    return _from(ring, int(np.argmin(np.round(np.hypot(*(ring[:-1] - spot).T), 6))))


def _from(ring: Floats, first: int) -> Floats:
    """Return a closed ring from its point ``first``."""
    first %= len(ring) - 1
    return np.vstack([ring[first:-1], ring[: first + 1]])
