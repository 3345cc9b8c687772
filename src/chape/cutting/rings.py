"""Lines that run along the edge of a zone, one inside the other, in the order they are cut.

A band along a wall is covered by a few long lines that never turn round, where straight lines
would turn at every step. How many lines lie between a place and the zone's edge is what the
distance ``d`` from the edge comes to when each place asks for its own distance ``w`` of lines:
``|grad d| = 1 / w``. Lines are drawn where d is 1/2, 3/2, 5/2 and so on. Where two fronts meet
further than half a line from the last one, one more goes along where they meet.

The equation is solved by sweeping (Zhao, A fast sweeping method for eikonal equations, 2005).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from shapely import LineString

from chape.cutting.runs import LINE_FIT, Patch, patches, smoothed, stacked
from chape.field.contour import level_lines
from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]

#: Lines nearer together than the ridge asks for by this share: the map's nodes are coarse.
SPARE = 0.94

#: A zone's edge, which runs in steps, is smoothed over so many nodes, and the lines over fewer.
SMOOTH = 1.5
SMOOTH_LINES = 0.7

#: Where two fronts meet, a line more is drawn from this far past the last one, in lines.
PAST = 0.6

#: Fronts meet where the count of lines rises by less than this share of what it should.
MEETING = 0.7

#: A line is followed by one inside it that begins within so many steps.
NEXT = 3.0

#: Lines shorter than this are left out, mm.
SHORTEST = 0.8

#: And those where fronts meet, mm: less than their ridge stands there.
SHORTEST_MEETING = 4.0

#: Lines are smoothed over this length, mm: at every corner the machine would stop.
CURVED = 1.0

#: And once more, where one runs on into the next, mm.
LINKED = 0.6

#: Rounds of four sweeps.
ROUNDS = 3


def ring_runs(reach: HeightField, zone: Mask, apart: Floats) -> list[Floats]:
    """Return lines along the edges of a zone, each (n, 2), in the order they are cut.

    Args:
        reach: the tip's map.
        zone: its nodes to be covered.
        apart: how far apart lines may lie at each of its nodes, mm.
    """
    runs: list[Floats] = []
    for part in patches(reach, zone):
        tiers = _tiers(part, apart[part.place] * SPARE)
        within = NEXT * float(apart[part.place].max())
        for run in stacked(tiers, within):
            plain = LineString(smoothed(run, LINKED)).simplify(LINE_FIT)
            runs.append(np.asarray(plain.coords, np.float64))
    return runs


def _tiers(part: Patch, apart: Floats) -> list[list[Floats]]:
    """Return a part's lines by how many lie outside of them, those where fronts meet last."""
    spacing = part.reach.grid.spacing
    count = lines_from_edge(part.zone, apart, spacing)
    count = ndimage.gaussian_filter(count, SMOOTH_LINES, mode="nearest")
    tiers = [
        _drawn(part, count, level, SHORTEST)
        for level in np.arange(0.5, max(float(count.max()), 0.6), 1.0)
    ]
    past = count - (np.floor(count - 0.5) + 0.5)
    rise = np.hypot(*np.gradient(count, spacing)) * apart
    meeting = part.zone & (past > PAST) & (rise < MEETING)
    blurred = ndimage.gaussian_filter(meeting.astype(np.float64), 0.7)
    tiers.append(_drawn(part, blurred, 0.3, SHORTEST_MEETING))
    return tiers


def _drawn(part: Patch, values: Floats, level: float, shortest: float) -> list[Floats]:
    """Return the level lines of values over a part, without those shorter than so many mm."""
    drawn = []
    for line in level_lines(part.reach.with_z(values), level):
        if LineString(line).length > shortest:
            plain = LineString(smoothed(line, CURVED)).simplify(LINE_FIT)
            drawn.append(np.asarray(plain.coords, np.float64))
    return drawn


def lines_from_edge(zone: Mask, apart: Floats, spacing: float) -> Floats:
    """Return how many lines lie between every node and a zone's edge; negative outside of it.

    Args:
        zone: (ny, nx) nodes inside; the edge lies half way to the nodes outside.
        apart: (ny, nx) distance of lines at each node, mm.
        spacing: of the nodes, mm.
    """
    over = ndimage.gaussian_filter(zone.astype(np.float64), SMOOTH, mode="constant") - 0.5
    inside = over > 0
    if not inside.any():
        return np.full(zone.shape, -1.0)
    away = ndimage.distance_transform_edt(~np.pad(inside, 1))[1:-1, 1:-1]
    count = np.where(inside, np.inf, -(away - 0.5) * spacing / apart)
    # Beside the edge the distance is known better than to a node.
    beside = ndimage.binary_dilation(inside) & ndimage.binary_dilation(~inside)
    rise = np.maximum(np.hypot(*np.gradient(over)), 1e-3)
    count[beside] = (np.clip(over / rise, -1.0, 1.0) * spacing / apart)[beside]
    _sweep(count, inside & ~beside, spacing / apart, ROUNDS)
    return count


@kernel
def _sweep(count: Floats, zone: Mask, rise: Floats, rounds: int) -> None:
    """Settle a count that rises by ``rise`` from node to node, from the nodes outside inwards."""
    ny, nx = count.shape
    for turn in range(4 * rounds):
        for m in range(ny):
            j = m if turn % 2 == 0 else ny - 1 - m
            for n in range(nx):
                i = n if (turn // 2) % 2 == 0 else nx - 1 - n
                if not zone[j, i]:
                    continue
                a = min(
                    count[j, i - 1] if i > 0 else -0.5 * rise[j, i],
                    count[j, i + 1] if i < nx - 1 else -0.5 * rise[j, i],
                )
                b = min(
                    count[j - 1, i] if j > 0 else -0.5 * rise[j, i],
                    count[j + 1, i] if j < ny - 1 else -0.5 * rise[j, i],
                )
                step = rise[j, i]
                if abs(a - b) >= step:
                    found = min(a, b) + step
                else:
                    found = (a + b + np.sqrt(2 * step * step - (a - b) ** 2)) / 2
                count[j, i] = min(count[j, i], found)
