"""The heights a rough cut is made at.

Deep levels first, as deep as the material bears: they clear the most with the least way. Between
two of them hills stand as high as the upper one. On those, and only there, further levels follow:
every wide level ground, which the flat cutter finishes, and as many between as keep the ball that
comes after from meeting too deep a cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Left on walls and tops for the ball, mm.
ALLOWANCE = 0.3

#: A flat is level ground when it is this share of the surface.
LEVEL_GROUND_SHARE = 0.005

#: The ball never meets more than this above what it cuts, on ground it could stand on, mm
#: (common practice, no source).
DEEPEST_FOR_BALL = 2.0

#: So many heights are tried for the deep levels.
TRIES = 9


@dataclass(frozen=True, slots=True)
class Level:
    """A height to cut at, mm, and whether the surface is level there."""

    height: float
    is_ground: bool


def level_grounds(surface: HeightField) -> list[float]:
    """Return heights (mm) at which a good share of the surface lies exactly, highest first."""
    heights, counts = np.unique(np.round(surface.z, 6), return_counts=True)
    wide = heights[counts >= LEVEL_GROUND_SHARE * surface.z.size]
    return [float(height) for height in wide[::-1]]


def levels(surface: HeightField, top: float, depth: float) -> list[Level]:
    """Return the levels to cut, in their order.

    Args:
        surface: what is to remain.
        top: of the stock, mm.
        depth: of one level at most, mm.
    """
    grounds = [ground for ground in level_grounds(surface) if ground < top - 1e-6]
    floor = float(surface.z.min()) + ALLOWANCE
    lowest = grounds[-1] if grounds and floor > grounds[-1] - depth / 2 else floor
    deep = _deep_levels(surface, top, lowest, depth)
    order: list[Level] = []
    for above, below in zip([top, *deep[:-1]], deep, strict=True):
        order.append(Level(below, below in grounds))
        order.extend(_between(above, below, grounds))
    return order


def _between(above: float, below: float, grounds: list[float]) -> list[Level]:
    """Return the levels on hills that stand between two deep ones, lowest first.

    Upwards, for what stands is no higher than one deep level bears, and what a lower level took a
    higher one need not take again.
    """
    stops = [ground for ground in grounds if below < ground < above]
    order: list[Level] = []
    for stop in [*stops, below]:
        count = ceil((above - stop) / DEEPEST_FOR_BALL - 1e-9)
        heights: Floats = np.linspace(above, stop, count + 1)[1:-1]
        order.extend(Level(float(height), is_ground=False) for height in heights)
        if stop > below:
            order.append(Level(stop, is_ground=True))
        above = stop
    return order[::-1]


def _deep_levels(surface: HeightField, top: float, lowest: float, depth: float) -> list[float]:
    """Return the deep levels, highest first, so placed that little stands on hills after them."""
    count = max(1, ceil((top - lowest) / depth - 1e-9))
    spare = count * depth - (top - lowest)
    heights, share = np.unique(np.round(surface.z, 1), return_counts=True)
    best, least = [lowest], np.inf
    for given in np.linspace(0, spare, TRIES).tolist() if count > 1 else [0.0]:
        # The first level takes its share of what may be spared, the others share the rest.
        first = top - max(depth - given, (top - lowest) / count / 2)
        tried = [float(z) for z in np.linspace(first, lowest, count)]
        if count > 1 and np.diff([top, *tried]).min() < -depth - 1e-9:
            continue
        steps = np.asarray([top, *tried])
        over = steps[np.maximum(np.searchsorted(-steps, -heights, side="left") - 1, 0)] - heights
        ways = np.ceil(np.maximum(over - DEEPEST_FOR_BALL, 0) / DEEPEST_FOR_BALL)
        taken = float((ways * share).sum()) + sum(float(share[heights < z].sum()) for z in tried)
        if taken < least - 1e-9:
            best, least = tried, taken
    return best
