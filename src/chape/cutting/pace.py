"""How fast a flat cutter goes through what stands before it.

The load is the share of the cutter's front that meets material, at the depth one level bears.
Through air it runs at the machine's highest feed, past a crowded front more slowly, and where it
would be buried on a longer way it goes twice: at half the depth, and back, before it sinks to the
rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.locate import stepped, thinned

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.cutting.link import Track
    from chape.cutting.rates import Rates
    from chape.field.grid import Floats

#: Distance of the rings, as a share of the cutter's diameter (common practice, no source).
STEP_SHARE = 0.45

#: Share of the cutter's front in material at the wanted step-over: acos(1 - 2 * 0.45) of 180°.
#: In levels less deep than the material bears, more of the front is the same load.
WANTED_FRONT = 0.47

#: Past this share (110 degrees) the feed falls.
CROWDED_FRONT = 0.61

#: The feed falls in these steps.
PACES = (CROWDED_FRONT, 0.8, 1.0)

#: The load, a share of full width at full depth, that no longer way is cut at in one go: a slot
#: in two layers asks for no more than the wanted step-over does (common practice, no source).
BURIED = 0.7

#: Ways shorter than this share of the diameter are cut in one go, more slowly: mostly corners.
BURIED_WAY = 0.4

#: Air longer than this is crossed at the machine's highest feed, mm.
AIR_RUN = 12.0


#: Level ways are drawn with as few points as this allows, mm.
FIT = 0.005

#: Ways that follow the surface keep every point that they were given, mm.
EXACT = 0.0005


@dataclass(frozen=True, slots=True)
class Flat:
    """The cutter that roughs: radius, mm, and its rates."""

    radius: float
    rates: Rates

    @property
    def step(self) -> float:
        """Distance of the rings, mm."""
        return 2 * self.radius * STEP_SHARE


def slowed(feed: float, front: float) -> float:
    """Return the feed (mm/min) at a load: share of the cutter's front in material, at full depth.

    So that no more is taken off in a minute than at the wanted step-over and full depth.
    """
    return feed if front <= CROWDED_FRONT else float(round(feed * WANTED_FRONT / front))


def feed_along(
    track: Track, ground: Ground, cutter: Flat, path: Floats, *, fit: float = FIT
) -> None:
    """Cut along a path (n, 3), slower where crowded, faster through long air.

    A stretch that would bury the cutter is first cut at half its depth, from its start and back
    to it, in what is then already clear. Points within ``fit`` mm of a line are left out.
    """
    points = stepped(np.asarray(path), ground.grid.spacing * 1.25)
    first = 0
    for start, end in _buried(ground, cutter, points):
        _pace_along(track, ground, cutter, points[first : start + 1], fit)
        lighter = points[start : end + 1] + np.array([0.0, 0.0, cutter.rates.depth / 2])
        track.lines(lighter[:1], cutter.rates.air)
        _pace_along(track, ground, cutter, lighter, fit)
        back = lighter[::-1] if np.hypot(*(lighter[0] - lighter[-1])[:2]) > 0 else lighter[:1]
        track.lines(
            np.vstack([thinned(back, fit)[1:], points[start : start + 1]]), cutter.rates.air
        )
        first = start
    _pace_along(track, ground, cutter, points[first:], fit)


def _buried(ground: Ground, cutter: Flat, points: Floats) -> list[tuple[int, int]]:
    """Return the stretches (first, last) of points where the load would be more than is borne."""
    load = ground.tried(points, cutter.radius) / cutter.rates.depth
    edges = np.flatnonzero(np.diff(np.concatenate([[0], load > BURIED, [0]])))
    least = BURIED_WAY * 2 * cutter.radius / (ground.grid.spacing * 1.25)
    joined: list[tuple[int, int]] = []
    for a, b in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        start, end = max(a - 1, 0), b - 1
        if joined and start - joined[-1][1] < least:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((start, end))
    return [(start, end) for start, end in joined if end - start >= least]


def _pace_along(track: Track, ground: Ground, cutter: Flat, points: Floats, fit: float) -> None:
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
        run = thinned(points[first : last + 1], fit)
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
