"""The heights a rough cut is made at.

Deep levels first, as deep as the material bears: they clear the most with the least way. Between
two of them hills stand as high as the upper one. Where those are gentle the flat cutter finishes
them; on what is left of them, and only there, as many levels follow as keep the ball that comes
after from meeting too deep a cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
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
DEEPEST_FOR_BALL = 3.0

#: So many heights are tried for the deep levels.
TRIES = 9


class Where(StrEnum):
    """What of a level is cleared, as far as it is free and something stands there."""

    EVERYWHERE = "everywhere"
    GROUND = "where the surface is level there"
    HILLS = "where more stands than the ball should meet"


@dataclass(frozen=True, slots=True)
class Level:
    """A height to cut at, mm, whether the surface is level there, and what of it is cleared."""

    height: float
    is_ground: bool
    where: Where = Where.EVERYWHERE


def level_grounds(surface: HeightField) -> list[float]:
    """Return heights (mm) at which a good share of the surface lies exactly, highest first."""
    heights, counts = np.unique(np.round(surface.z, 6), return_counts=True)
    wide = heights[counts >= LEVEL_GROUND_SHARE * surface.z.size]
    return [float(height) for height in wide[::-1]]


def deep_levels(surface: HeightField, top: float, depth: float) -> list[Level]:
    """Return the levels at which everything is cleared that is free there, highest first.

    Args:
        surface: what is to remain.
        top: of the stock, mm.
        depth: of one level at most, mm.
    """
    grounds = [ground for ground in level_grounds(surface) if ground < top - 1e-6]
    floor = float(surface.z.min()) + ALLOWANCE
    lowest = grounds[-1] if grounds and floor > grounds[-1] - depth / 2 else floor
    return [Level(z, z in grounds) for z in _deep_levels(surface, top, lowest, depth)]


def level_hills(surface: HeightField, deep: list[Level], top: float) -> list[Level]:
    """Return wide level grounds that the deep levels leave standing higher, lowest first."""
    cut = {level.height for level in deep}
    grounds = [z for z in level_grounds(surface) if z < top - 1e-6 and z not in cut]
    lowest = min(cut, default=top)
    return [Level(z, is_ground=True, where=Where.GROUND) for z in grounds[::-1] if z > lowest]


def hill_levels(deep: list[Level], top: float) -> list[Level]:
    """Return the levels on hills that stand between the deep ones, lowest first in each.

    Upwards, for what stands is no higher than one deep level bears, and what a lower level took a
    higher one need not take again.
    """
    order: list[Level] = []
    for above, below in pairwise([top, *[level.height for level in deep]]):
        count = ceil((above - below) / DEEPEST_FOR_BALL - 1e-9)
        heights: Floats = np.linspace(below, above, count + 1)[1:-1]
        order.extend(Level(z, is_ground=False, where=Where.HILLS) for z in heights.tolist())
    return order


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
