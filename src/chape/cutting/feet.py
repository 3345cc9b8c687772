"""Along the feet of walls that rise from level ground.

There the ball touches ground and wall at once, and the whole fillet is cut from one line of its
tip. Lines beside it leave the fillet standing, so that it has to be found to a fraction of the
map's distance of nodes: where the wall's way, carried on downwards, meets the level.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from shapely import LineString

from chape.cutting.order import Stop, shortest_route
from chape.cutting.runs import LINE_FIT, from_nearest, inside
from chape.field.contour import level_lines

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]

#: The tip's way rises by this much, mm per mm, where a wall begins: below it lines do as well.
WALL = 0.12

#: A closed line may be begun at so many places.
PLACES = 12

#: Feet shorter than this are left to lines, mm.
SHORTEST = 1.5


def foot_runs(reach: HeightField, zone: Mask, grounds: list[float]) -> list[Floats]:
    """Return the feet of walls within a zone, each (n, 2), in the order they are cut.

    Args:
        reach: the tip's map.
        zone: its nodes to be covered.
        grounds: heights of level ground, mm.
    """
    found: list[Floats] = []
    # The foot itself lies on the level, at the zone's edge.
    zone = ndimage.binary_dilation(zone, iterations=2)
    for height in grounds:
        over = reach.z - height
        carried, foot = _carried_on(over, reach.grid.spacing)
        near = ndimage.binary_dilation(foot & zone, structure=np.ones((3, 3), dtype=bool))
        if not near.any():
            continue
        for line in level_lines(reach.with_z(carried), 0.0):
            # Material on the right of what is walked, as in every other cut.
            for part in inside(line[::-1], reach.grid, near):
                plain = LineString(part).simplify(LINE_FIT)
                if plain.length > SHORTEST:
                    found.append(np.asarray(plain.coords, np.float64))
    return _in_order(found)


def _in_order(lines: list[Floats]) -> list[Floats]:
    """Return lines on the shortest way through all of them, closed ones begun where it is near."""
    closed = [np.array_equal(line[0], line[-1]) for line in lines]
    stops = [
        Stop(line[:-1][:: max(1, len(line) // PLACES)], through=False)
        if ring
        else Stop(line[[0, -1]], through=True)
        for line, ring in zip(lines, closed, strict=True)
    ]
    runs: list[Floats] = []
    for n, place in shortest_route(stops, (0.0, 0.0)).visits:
        if closed[n]:
            runs.append(from_nearest(lines[n], stops[n].places[place]))
        else:
            runs.append(lines[n][::-1] if place else lines[n])
    return runs


def _carried_on(over: Floats, spacing: float) -> tuple[Floats, Mask]:
    """Return the height over a level, walls carried on below it, and the nodes at their feet."""
    level = np.abs(over) < 1e-6
    below = np.full(over.shape, np.inf)
    padded = np.pad(over, 3, mode="edge")
    ny, nx = over.shape
    for dj, di in ((0, 1), (0, -1), (1, 0), (-1, 0)):
        one, two, three = (
            padded[3 + k * dj : 3 + k * dj + ny, 3 + k * di : 3 + k * di + nx] for k in (1, 2, 3)
        )
        wall = level & (two - one > WALL * spacing) & (one > 1e-6)
        straight = 2 * one - two
        # Above a fillet the tip's way is bent; more than this it is another kink.
        bend = np.clip(three - 2 * two + one, -0.4 * (two - one), 0.0)
        below = np.where(wall, np.minimum(below, straight + bend), below)
    foot: Mask = np.isfinite(below)
    carried = np.where(level, np.where(foot, np.minimum(below, -1e-9), -1.0), over)
    return carried, foot
