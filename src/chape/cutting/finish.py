"""Finishing with a ball: along creases, in contours where it is steep, in rings where shallow.

The ball goes only where more stands than the ridge it may leave. Neighbouring lines run on into
each other, for at every end the machine stops.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.close import close_places
from chape.cutting.contours import contour_runs
from chape.cutting.creases import crease_runs
from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import FIRST_STEP, follow, lean_of, tip_map
from chape.cutting.rings import ring_runs
from chape.cutting.runs import apart_everywhere, on_short_way
from chape.cutting.zones import widened, worth, zones

if TYPE_CHECKING:
    from chape.cutting.ball import Ball
    from chape.cutting.ground import Ground
    from chape.cutting.left import Standing
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Nodes of the map that zones and level lines are drawn from, as a share of the ball's radius, but
#: no finer than the surface: coarse, for paths are located afresh on the surface itself.
MAP_SHARE = 0.4 / 3

#: Rings over what is left lie this many times closer, first and then once more,
CLOSE_LINES = 2, 4

#: where enough is left for it: at least so many mm, and so many times the ridge that is wanted.
ENOUGH = (0.075, 3.5), (0.08, 4.0)

#: Ends of lines nearer than this are joined along the surface, mm: quicker than to rise and sink.
JOIN = 30.0

#: First points along a join, mm: it crosses from one height to another.
JOIN_STEP = 0.3


def finish(standing: Standing, ground: Ground, cutter: Ball, safe: float) -> list[Track]:
    """Plan the finishing cuts: creases, contours, rings, then close rings where much is left.

    Creases come first: there the ball touches both sides at once, and cuts the fillet that the
    others would leave.

    Args:
        standing: what stands over the wanted surface; changed.
        ground: the same for ways across.
        cutter: a ball.
        safe: height at which nothing can be met, mm.

    Returns:
        One track each; without moves where there is nothing to do.
    """
    surface = standing.surface
    reach = tip_map(surface, cutter.body, max(MAP_SHARE * cutter.radius, surface.grid.spacing))
    way = Way(surface, ground, lean_of(reach), cutter, safe)
    open_ = widened(worth(standing, reach, cutter), 1)
    creases = cut_runs(way, crease_runs(surface, cutter.body, reach, open_))
    standing.cut([creases.moves().end], cutter.body)
    open_ = widened(worth(standing, reach, cutter), 1)
    steep, shallow = zones(reach, open_)
    contours = cut_runs(way, contour_runs(surface, cutter.body, reach, steep, cutter.step))
    rings = cut_runs(way, ring_runs(reach, shallow, apart_everywhere(reach, cutter.step)))
    standing.cut([track.moves().end for track in (contours, rings)], cutter.body)
    tracks = [creases, contours, rings]
    for times, enough in zip(CLOSE_LINES, ENOUGH, strict=True):
        again = close_places(standing, reach, cutter, enough)
        apart = apart_everywhere(reach, cutter.step / times)
        close = cut_runs(way, ring_runs(reach, again, apart))
        standing.cut([close.moves().end], cutter.body)
        tracks.append(close)
    return tracks


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """What every finishing cut of a surface shares."""

    surface: HeightField
    ground: Ground
    lean: HeightField
    cutter: Ball
    safe: float

    def follow(self, paths: list[Floats], first_step: float) -> list[Floats]:
        """Return the tip's way along paths in the plane."""
        body = self.cutter.body
        return follow(self.surface, body, paths, first_step=first_step, lean=self.lean)


def cut_runs(way: Way, runs: list[Floats]) -> Track:
    """Follow the surface along the runs, joining neighbours along the surface."""
    track = Track(way.safe)
    if not runs:
        return track
    runs, track.saved = on_short_way(runs)
    joins = [
        np.array([before, after]) if 0 < np.hypot(*(after - before)) <= JOIN else None
        for before, after in ((a[-1, :2], b[0, :2]) for a, b in pairwise(runs))
    ]
    paths = way.follow(runs, FIRST_STEP)
    ways = iter(way.follow([join for join in joins if join is not None], JOIN_STEP))
    feed = way.cutter.rates.feed
    for n, path in enumerate(paths):
        if n and joins[n - 1] is not None:
            track.lines(next(ways)[1:], feed)
        elif not n or not np.array_equal(runs[n - 1][-1], runs[n][0]):
            track.leave(way.ground, way.cutter.radius, feed)
            _enter(track, way.ground, way.cutter, path[0])
        track.lines(path[1:], feed)
    track.leave(way.ground, way.cutter.radius, feed)
    track.lift()
    return track


def _enter(track: Track, ground: Ground, cutter: Ball, start: Floats) -> None:
    """Travel to a start and sink to it, by rapid only as far as nothing stands there."""
    x, y, z = (float(value) for value in start)
    track.go(x, y, ground, cutter.radius)
    top = float(ground.highest(start[None, :2], cutter.radius)[0])
    track.down(max(top, z) + APPROACH)
    track.lines(start[None, :], cutter.rates.plunge)
