"""Contours: lines of one height on steep ground, in the order they are cut.

Drawn from the tip's map, whose nodes are coarse, a line strays from its height by as much as a wall
is steep; a cutter that followed it would rise and fall at every node, and the machine would slow
down for each. So every point is moved up or down its slope until the tip, on the surface itself,
stands at the line's height.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from shapely import LineString

from chape.cutting.locate import stepped, tip_heights
from chape.cutting.runs import CLOSEST, LINE_FIT, Patch, inside, patches, stacked
from chape.field.contour import level_lines

if TYPE_CHECKING:
    from chape.field.envelope import Body
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]

#: A contour is followed by one below it that begins within so many steps.
NEXT = 3.0

#: Points are moved onto their height so far apart, mm, by no more than this, in so many tries.
APART = 0.25
FURTHEST = 0.3
TRIES = 3

#: So near to its height a point is there, mm.
FOUND = 2e-4

#: Ground flatter than this has no way up or down it that a point could be moved along.
FLATTEST = 0.2


def contour_runs(
    surface: HeightField, body: Body, reach: HeightField, zone: Mask, step: float
) -> list[Floats]:
    """Return contours within a zone, each (n, 3), in the order they are cut.

    Part by part, from the top down, one line running on into the next. Closed lines run with the
    material on the right (climb); open ones are walked back and forth.

    Args:
        surface: what must not be cut.
        body: the cutter.
        reach: its tip's map.
        zone: its nodes to be covered.
        step: distance of lines on an upright wall, mm.
    """
    runs: list[Floats] = []
    for part in patches(reach, zone):
        heights = _heights(part, step)
        tiers = [_contours(part, height) for height in heights]
        runs.extend(stacked(_levelled(surface, body, part.reach, tiers, heights), NEXT * step))
    return runs


def _levelled(
    surface: HeightField,
    body: Body,
    reach: HeightField,
    tiers: list[list[Floats]],
    heights: list[float],
) -> list[list[Floats]]:
    """Return lines moved to where the tip stands at their height, and that height, each (n, 3)."""
    lines = [stepped(line, APART) for tier in tiers for line in tier]
    if not lines:
        return tiers
    level = [z for z, tier in zip(heights, tiers, strict=True) for _ in tier]
    wanted = np.repeat(level, [len(line) for line in lines])
    places = np.vstack(lines)
    by_y, by_x = np.gradient(reach.z, reach.grid.spacing)
    up = np.column_stack([reach.with_z(np.asarray(by)).at(places) for by in (by_x, by_y)])
    slope = np.maximum(np.hypot(*up.T), FLATTEST)
    up /= slope[:, None]
    moved, off = np.zeros(len(places)), tip_heights(surface, body, places) - wanted
    rise = slope.copy()
    for _ in range(TRIES):
        astray = np.abs(off) > FOUND
        before, was = moved[astray], off[astray]
        now = np.clip(before - was / rise[astray], -FURTHEST, FURTHEST)
        tried = places[astray] + now[:, None] * up[astray]
        moved[astray], off[astray] = now, tip_heights(surface, body, tried) - wanted[astray]
        # The slope that was met, unless hardly any way was made.
        met = (off[astray] - was) / np.where(np.abs(now - before) > 1e-4, now - before, np.inf)
        rise[astray] = np.where(met > FLATTEST, met, rise[astray])
    there = np.column_stack([places + moved[:, None] * up, wanted + off])
    split = iter(np.split(there, np.cumsum([len(line) for line in lines])[:-1]))
    return [[next(split) for _ in tier] for tier in tiers]


def _contours(part: Patch, height: float) -> list[Floats]:
    """Return a part's contours at one height; few of their corners, one a grid line, matter."""
    return [
        np.asarray(LineString(run).simplify(LINE_FIT).coords, np.float64)
        for line in level_lines(part.reach, height)
        for run in inside(line[::-1], part.reach.grid, part.zone)
    ]


def _heights(part: Patch, step: float) -> list[float]:
    """Return the heights of a part's contours, highest first."""
    z = part.reach.z[part.zone]
    slope = np.hypot(*np.gradient(part.reach.z, part.reach.grid.spacing))[part.zone]
    rise = np.maximum(slope / np.hypot(1, slope), CLOSEST)
    order = np.argsort(z, kind="stable")
    z, rise = z[order], rise[order]
    low, height = float(z[0]), float(z[-1]) - step / 2
    heights = []
    while height > low:
        heights.append(height)
        first, last = np.searchsorted(z, [height - step, height])
        height -= step * float(rise[first : last + 1].min(initial=1.0))
    return heights
