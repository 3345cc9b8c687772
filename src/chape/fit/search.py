"""Finds the depth at which a hold is reached, for whatever can be tried at a depth.

A hold is 0 at depth 0 and grows with it. It need not be smooth: a deeper sheath is another sheath,
with its own fold and mesh.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol, TypeVar

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

#: No more depths than this are tried on the coarse grid, and on the fine one.
TRIALS_MOST, CONFIRMATIONS = 12, 4

#: The hold found is within this share of the wanted one; the coarse search goes so near.
NEAR, SEARCH_NEAR = 0.05, 0.03

#: Depths closer than this are the same sheath, mm: no router mills the difference.
SAME_DEPTH = 0.004

#: Depths are rounded to so many decimals, mm, as a person writes them down.
DECIMALS = 3

#: A search goes up by this factor at most.
STRIDE = 2.5


class Tried(Protocol):
    """What came of a depth."""

    @property
    def snap_depth(self) -> float:
        """Depth, mm."""

    @property
    def hold(self) -> float:
        """Hold there, N; infinite where the knife locks."""


Trial = TypeVar("Trial", bound=Tried)


def search_depth(
    trial_at: Callable[[float], Trial],
    wanted: float,
    start: float,
    most: float,
    near: float = SEARCH_NEAR,
    beyond: Callable[[Trial], bool] = lambda _: False,
) -> list[Trial]:
    """Try depths until one holds as wanted, and return all that were tried, in their order.

    Upwards by the secant until the wanted hold lies between two depths, then by false position,
    with the weight of an end that stays halved (the Illinois rule, M. Dowell and P. Jarratt,
    BIT 11 (1971) 168).

    Args:
        trial_at: what comes of a depth.
        wanted: hold, N.
        start: the depth tried first, mm.
        most: no depth beyond this is tried, mm.
        near: a hold within this share of the wanted one is near enough.
        beyond: whether a trial is past what can be borne; nothing deeper is then tried.

    Returns:
        At least one trial. None is near where the wanted hold is not reached at ``most``, or is
        jumped over.
    """
    tried: list[Trial] = []
    low, high = (0.0, -wanted), None
    depth = min(max(start, SAME_DEPTH), most)
    kept = ""
    while len(tried) < TRIALS_MOST:
        depth = round(depth, DECIMALS)
        trial = trial_at(depth)
        tried.append(trial)
        # A lock is only known to be too much: as far above as the low end lies below.
        off = min(trial.hold - wanted, 10 * wanted)
        if abs(off) <= near * wanted:
            break
        if off < 0:
            rise = (off - low[1]) / (depth - low[0]) if depth > low[0] else 0.0
            low = (depth, off)
            if high is None:
                if depth >= round(most, DECIMALS) or beyond(trial):
                    break
                ahead = depth - off / rise if rise > 0 else STRIDE * depth
                # A little past where it is looked for, so that it is soon between two.
                depth = min(most, STRIDE * depth, 1.02 * ahead)
                continue
            high = (high[0], high[1] / 2) if kept == "high" else high
            kept = "high"
        else:
            low = (low[0], low[1] / 2) if kept == "low" else low
            high, kept = (depth, off), "low"
        if high[0] - low[0] <= SAME_DEPTH:
            break
        depth = low[0] + (high[0] - low[0]) * -low[1] / (high[1] - low[1])
        margin = 0.05 * (high[0] - low[0])
        depth = min(max(depth, low[0] + margin), high[0] - margin)
    return tried


def nearest(tried: Sequence[Trial], wanted: float) -> Trial:
    """Return the trial whose hold comes nearest to the wanted one."""
    return min(tried, key=lambda trial: abs(trial.hold - wanted))


@dataclass(frozen=True, slots=True)
class Curve:
    """Hold, or another value, over depth through trials, straight between them.

    Attributes:
        points: (depth, value), rising in depth; starts at (0, 0).
    """

    points: tuple[tuple[float, float], ...]

    @staticmethod
    def through(tried: Sequence[Trial], value_of: Callable[[Trial], float] | None = None) -> Curve:
        """Return the curve through trials that come free, of their hold or another value."""
        known = {0.0: 0.0}
        for each in tried:
            if each.hold < float("inf"):
                known[each.snap_depth] = each.hold if value_of is None else value_of(each)
        return Curve(tuple(sorted(known.items())))

    def depth_for(self, hold: float) -> float:
        """Return the least depth at which a hold is reached, carried on beyond the last, mm."""
        points = self.points
        for (x0, y0), (x1, y1) in pairwise(points):
            if y0 < hold <= y1:
                return x0 + (hold - y0) * (x1 - x0) / (y1 - y0)
        (x0, y0), (x1, y1) = points[-2:]
        return x1 if y1 <= y0 else x1 + (hold - y1) * (x1 - x0) / (y1 - y0)

    def hold_at(self, depth: float) -> float:
        """Return the hold at a depth, that of the last trial beyond it, N."""
        depths, holds = zip(*self.points, strict=True)
        return float(np.interp(depth, depths, holds))


def settle(
    tried: Sequence[Trial], fine: Callable[[float], Trial], wanted: float, most: float
) -> list[Trial]:
    """Set the depth right on the fine grid.

    Args:
        tried: what came of a search on the coarse one.
        fine: what comes of a depth in truth.
        wanted: hold, N.
        most: no depth beyond this, mm.

    Returns:
        Fine trials; the last is within ``NEAR``, or none is.
    """
    curve = Curve.through(tried)
    depth = nearest(tried, wanted).snap_depth
    confirmed: list[Trial] = []
    while len(confirmed) < CONFIRMATIONS:
        depth = round(depth, DECIMALS)
        trial = fine(depth)
        confirmed.append(trial)
        if abs(trial.hold - wanted) <= NEAR * wanted:
            break
        depth = min(most, _set_right(depth, confirmed, curve, wanted))
        if any(round(depth, DECIMALS) == each.snap_depth for each in confirmed):
            break
    return confirmed


def _set_right(depth: float, confirmed: Sequence[Tried], curve: Curve, wanted: float) -> float:
    """Return the next depth to confirm."""
    holds = [each.hold for each in confirmed]
    if min(holds) < wanted < max(holds):
        below = max((each for each in confirmed if each.hold < wanted), key=lambda t: t.snap_depth)
        above = min((each for each in confirmed if each.hold > wanted), key=lambda t: t.snap_depth)
        if not np.isfinite(above.hold):
            return (below.snap_depth + above.snap_depth) / 2
        share = (wanted - below.hold) / (above.hold - below.hold)
        return below.snap_depth + share * (above.snap_depth - below.snap_depth)
    if not 0 < holds[-1] < np.inf:
        return depth / 1.2 if holds[-1] > 0 else depth * 1.2
    # The coarse sheath held more or less than the fine one by a factor: ask it for as much more.
    return curve.depth_for(wanted * curve.hold_at(depth) / holds[-1])
