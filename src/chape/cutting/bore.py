"""Round holes bored along a helix, wider than the cutter.

Counter-clockwise, so that the wall is climbed. The cutter swings from the middle out to the wall on
half a circle that meets it without a corner, sinks, goes once round level, and swings back, so that
it never stands still against the wall.
"""

from __future__ import annotations

from math import ceil, pi
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.drill import come_over, visited
from chape.cutting.link import Track
from chape.cutting.rates import RAMP_SLOPE
from chape.errors import CannotMakeError

if TYPE_CHECKING:
    from chape.cutting.drill import Tool
    from chape.cutting.ground import Ground
    from chape.tooling.model import RoundHole

#: Bores wider than this many cutters are opened in several helices.
STEP_SHARE = 0.45

#: The least width a helix can have beyond its cutter, mm: its arcs must be told from points.
NARROWEST = 0.1

#: The middle of the cutter goes no slower, mm/min.
SLOWEST = 60.0


def bore(
    holes: tuple[RoundHole, ...],
    tool: Tool,
    ground: Ground,
    safe: float,
    *,
    start: tuple[float, float] = (0.0, 0.0),
) -> Track:
    """Bore holes down to where they end.

    The feed is that of the wall, so the middle of the cutter goes slower.

    Args:
        holes: each wider than the cutter.
        tool: a flat cutter.
        ground: what stands there.
        safe: height at which nothing can be met, mm.
        start: where the cutter comes from, mm.

    Raises:
        CannotMakeError: a hole is no wider than the cutter.
    """
    track = Track(safe)
    for hole in visited(holes, track, start):
        radii = bore_radii(hole.diameter, tool.cutter.diameter)
        near = come_over(track, hole, ground, hole.diameter / 2)
        for radius in radii:
            _helix(track, hole, tool, radius, near)
    track.lift()
    return track


def bore_radii(hole: float, cutter: float) -> list[float]:
    """Return the radii (mm) a cutter's middle turns at to open a hole, the last at the wall.

    >>> bore_radii(8.0, 6.0)
    [1.0]

    Raises:
        CannotMakeError: the hole is no wider than the cutter.
    """
    if not hole >= cutter + NARROWEST:
        raise CannotMakeError(
            f"a hole of {hole:g} mm cannot be bored with a cutter of {cutter:g} mm",
            mend="Add a smaller flat cutter to the rack, or a drill of the hole's size",
        )
    last = (hole - cutter) / 2
    # One helix clears the middle as long as its radius is less than the cutter's.
    step = STEP_SHARE * cutter
    count = max(1, ceil(last / step - 1e-9))
    return [last * (n + 1) / count for n in range(count)]


def _helix(track: Track, hole: RoundHole, tool: Tool, radius: float, near: float) -> None:
    wall = radius + tool.cutter.radius
    feed = max(round(tool.rates.feed * radius / wall), SLOWEST)
    turn = min(2 * pi * radius * RAMP_SLOPE, tool.rates.depth / 2)
    halves = 2 * ceil((near - hole.z_bottom) / turn)
    middle, swing = np.array([hole.x, hole.y]), np.array([hole.x + radius / 2, hole.y])
    # Out to the wall in the air above the hole.
    track.arc(np.array([hole.x + radius, hole.y, near]), swing, feed, clockwise=False)
    heights = [*np.linspace(near, hole.z_bottom, halves + 1)[1:].tolist(), *[hole.z_bottom] * 2]
    # Half turns, so that no arc ends where it starts.
    for n, height in enumerate(heights):
        side = -radius if n % 2 == 0 else radius
        end = np.array([hole.x + side, hole.y, height])
        track.arc(end, middle, feed, clockwise=False)
    track.arc(np.array([*middle, hole.z_bottom]), swing, feed, clockwise=False)
    track.lift(near)
