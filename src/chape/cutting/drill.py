"""Round holes: drilled in pecks, or bored along a helix."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, pi
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.link import APPROACH, Track, nearest_order
from chape.cutting.rates import RAMP_SLOPE

if TYPE_CHECKING:
    from chape.catalog.model import Cutter
    from chape.cutting.ground import Ground
    from chape.cutting.rates import Rates
    from chape.tooling.model import RoundHole

#: Depth of a peck in drill diameters; chips are cleared after each (common practice, no source).
PECK_DIAMETERS = 3.0

#: On the way back into its hole the drill's rapid stops this far above the last peck, mm.
PECK_AIR = 0.5

#: Bores wider than this many cutters are opened in several helices.
STEP_SHARE = 0.45


@dataclass(frozen=True, slots=True)
class Tool:
    """A cutter with its rates."""

    cutter: Cutter
    rates: Rates


def in_order(holes: tuple[RoundHole, ...]) -> list[RoundHole]:
    """Return holes each next to the last, from the front-left corner."""
    if not holes:
        return []
    places = np.array([[hole.x, hole.y] for hole in holes])
    return [holes[n] for n in nearest_order(places, np.zeros(2))]


def drill(holes: tuple[RoundHole, ...], tool: Tool, ground: Ground, safe: float) -> Track:
    """Peck holes down to where they end; the drill's tip goes to ``z_bottom``.

    Args:
        holes: of the drill's diameter.
        tool: a drill.
        ground: what stands there.
        safe: height at which nothing can be met, mm.
    """
    track = Track(safe)
    radius = tool.cutter.radius
    for hole in in_order(holes):
        start = _over(track, hole, ground, radius)
        deep = start - APPROACH - hole.z_bottom
        count = max(1, ceil(deep / (PECK_DIAMETERS * tool.cutter.diameter) - 1e-9))
        last = start
        for depth in np.linspace(0, deep, count + 1)[1:].tolist():
            track.down(min(start, last + PECK_AIR))
            last = start - APPROACH - depth
            track.lines(np.array([[hole.x, hole.y, last]]), tool.rates.plunge)
            track.lift(start)
    track.lift()
    return track


def bore(holes: tuple[RoundHole, ...], tool: Tool, ground: Ground, safe: float) -> Track:
    """Bore holes along a helix, counter-clockwise so that the wall is climbed.

    Half turns, so that no arc ends where it starts. The feed is that of the wall, so the middle
    of the cutter goes slower.

    Args:
        holes: each wider than the cutter.
        tool: a flat cutter.
        ground: what stands there.
        safe: height at which nothing can be met, mm.
    """
    track = Track(safe)
    for hole in in_order(holes):
        start = _over(track, hole, ground, hole.diameter / 2)
        for radius in bore_radii(hole.diameter, tool.cutter.diameter):
            _helix(track, hole, tool, radius, start)
    track.lift()
    return track


def bore_radii(hole: float, cutter: float) -> list[float]:
    """Return the radii (mm) a cutter's middle turns at to open a hole, the last at the wall.

    >>> bore_radii(8.0, 6.0)
    [1.0]
    """
    last = (hole - cutter) / 2
    # One helix clears the middle as long as its radius is less than the cutter's.
    step = STEP_SHARE * cutter
    count = max(1, ceil(last / step - 1e-9))
    return [last * (n + 1) / count for n in range(count)]


def _over(track: Track, hole: RoundHole, ground: Ground, radius: float) -> float:
    """Travel above a hole and sink near to it; return the height there, mm."""
    top = float(ground.highest(np.array([[hole.x, hole.y]]), radius)[0])
    start = min(max(top, hole.z_top) + APPROACH, track.safe)
    track.go(hole.x, hole.y, ground, radius)
    track.down(start)
    return start


def _helix(track: Track, hole: RoundHole, tool: Tool, radius: float, start: float) -> None:
    wall = radius + tool.cutter.radius
    feed = round(tool.rates.feed * radius / wall)
    turn = min(2 * pi * radius * RAMP_SLOPE, tool.rates.depth / 2)
    halves = 2 * ceil((start - hole.z_bottom) / turn)
    centre = np.array([hole.x, hole.y])
    # Out to the wall in the air above the hole.
    track.lines(np.array([[hole.x + radius, hole.y, start]]), tool.rates.feed)
    heights = [*np.linspace(start, hole.z_bottom, halves + 1)[1:].tolist(), *[hole.z_bottom] * 2]
    for n, height in enumerate(heights):
        side = -radius if n % 2 == 0 else radius
        end = np.array([hole.x + side, hole.y, height])
        track.arc(end, centre, max(feed, 60.0), clockwise=False)
    track.lines(np.array([[hole.x, hole.y, hole.z_bottom]]), tool.rates.feed)
    track.lift(start)
