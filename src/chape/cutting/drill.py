"""Round holes drilled in pecks, visited on a short way.

After each peck the drill backs off by a hair, which breaks the chip; after a few it comes out of
the hole and leaves its chips there. Out and back takes a thin drill in a deep hole as long as
several pecks do.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.link import APPROACH, Track
from chape.cutting.order import Stop, shortest_route

if TYPE_CHECKING:
    from chape.catalog.model import Cutter
    from chape.cutting.ground import Ground
    from chape.cutting.rates import Rates
    from chape.tooling.model import RoundHole

#: Depth of a peck in drill diameters; the chip is broken after each (common practice, no source).
PECK_DIAMETERS = 3.0

#: So many diameters are drilled at most before the drill comes out to clear its chips; after as
#: many a thin drill's flutes are as full as its hole lets them be (common practice, no source).
CLEAR_DIAMETERS = 8.0

#: To break a chip the drill backs off by this, mm: what other controllers' cycles do by themselves
#: (0.010 inch in NISTIR 6556, 3.5.16.3).
CHIP_BREAK = 0.254

#: On the way back into its hole the drill's rapid stops this far above the last peck, mm.
PECK_AIR = 0.5

#: The first diameter, and the last before the underside, are drilled at this share of the feed:
#: a thin drill wanders as it bites and tears as it comes out (common practice, no source).
GENTLE = 0.5


@dataclass(frozen=True, slots=True)
class Tool:
    """A cutter with its rates."""

    cutter: Cutter
    rates: Rates


def visited(
    holes: tuple[RoundHole, ...], track: Track, start: tuple[float, float]
) -> list[RoundHole]:
    """Return holes on a short way from ``start``, and tell the track what that saves."""
    stops = [Stop(np.array([[hole.x, hole.y]])) for hole in holes]
    route = shortest_route(stops, start)
    track.saved += route.saved
    return [holes[n] for n, _ in route.visits]


def drill(
    holes: tuple[RoundHole, ...],
    tool: Tool,
    ground: Ground,
    safe: float,
    *,
    start: tuple[float, float] = (0.0, 0.0),
    underside: float = -np.inf,
) -> Track:
    """Peck holes down to where they end; the drill's tip goes to ``z_bottom``.

    Args:
        holes: of the drill's diameter.
        tool: a drill.
        ground: what stands there.
        safe: height at which nothing can be met, mm.
        start: where the cutter comes from, mm.
        underside: of the piece, where a drill comes out, mm.
    """
    track = Track(safe)
    for hole in visited(holes, track, start):
        top = come_over(track, hole, ground, tool.cutter.radius)
        _pecks(track, hole, tool, top, underside)
    track.lift()
    return track


def come_over(track: Track, hole: RoundHole, ground: Ground, radius: float) -> float:
    """Travel above a hole and sink near to it; return the height there, mm."""
    top = float(ground.highest(np.array([[hole.x, hole.y]]), radius)[0])
    near = min(max(top, hole.z_top) + APPROACH, track.safe)
    track.go(hole.x, hole.y, ground, radius)
    track.down(near)
    return near


def _pecks(track: Track, hole: RoundHole, tool: Tool, near: float, underside: float) -> None:
    top, size, feed = near - APPROACH, tool.cutter.diameter, tool.rates.plunge
    gently = top - size, max(underside + size, hole.z_bottom)
    last = near
    for bottom in _even(top, hole.z_bottom, CLEAR_DIAMETERS * size):
        start = min(near, last + PECK_AIR)
        track.down(start)
        for n, floor in enumerate(_even(start, bottom, PECK_DIAMETERS * size)):
            if n:
                track.lift(last + CHIP_BREAK)
            edges = sorted({floor, *[z for z in gently if floor < z < last]}, reverse=True)
            for z in edges:
                slow = z >= gently[0] - 1e-9 or z < underside + size - 1e-9
                track.lines(np.array([[hole.x, hole.y, z]]), feed * GENTLE if slow else feed)
            last = floor
        track.lift(near)


def _even(top: float, bottom: float, most: float) -> list[float]:
    """Return the depths that divide a way down into even parts of at most so many mm."""
    count = max(1, ceil((top - bottom) / most - 1e-9))
    return [top + (bottom - top) * (n / count) for n in range(1, count)] + [bottom]
