"""Landmarks that a knife's thickness tells: tip end, edge side, the blade's end, the bevel.

A profile is the knife looked at column by column. What the limits below say is common practice,
no source; each was tried on knives whose landmarks are known.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from chape.errors import InputError

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: An end, or a side of the blade, is the thinner one where it is so by this factor.
CLEARLY = 1.2

#: Guard or handle begins where the knife is thicker than the blade so far by this factor, and by
#: this much besides, mm.
THICKER, THICKER_BY = 1.3, 0.7

#: It stays so over this length, mm, or it was a thumb stud or a speck of dust.
STAYS = 4.0

#: No blade is a shorter share of its knife.
SHORTEST_BLADE = 0.15

#: A side of the blade counts as straight where it keeps this near to a line, mm, ...
STRAIGHT = 0.08
#: ... over this share of the blade; the spine, over this much more of it than the edge.
STRAIGHT_SHARE, STRAIGHTER = 0.3, 0.05

#: A bevel rises at least and at most so steeply, degrees per side ...
BEVEL_ANGLES = (7.0, 45.0)
#: ... that many times as steeply as what lies behind it, ...
BEVEL_STEEPER = 1.8
#: ... and reaches at least and at most so far from the edge, mm.
BEVEL_REACH = (0.15, 3.0)
#: The two lines must fit the section within this, mm, or it is no bevel but something round.
BEVEL_ERROR = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """A knife column by column.

    Attributes:
        x: (n,) of each column, rising, mm.
        low, high: (n,) its reach, mm.
        y: (m,) of the rows, mm.
        full: (m, n) full thickness, 0 where there is nothing, mm.
    """

    x: Floats
    low: Floats
    high: Floats
    y: Floats
    full: Floats

    @property
    def thickest(self) -> Floats:
        """Greatest full thickness of each column, without lone specks, (n,) mm."""
        thickest: Floats = ndimage.median_filter(self.full.max(axis=0), 5, mode="nearest")
        return thickest


def thin_end(profile: Profile) -> bool:
    """Say whether the thinner end of a knife, its blade, lies at the lesser x.

    Raises:
        InputError: both are about as thick.
    """
    thickest, count = profile.thickest, max(len(profile.x) * 3 // 10, 1)
    left, right = float(thickest[:count].mean()), float(thickest[-count:].mean())
    if max(left, right) < CLEARLY * min(left, right):
        raise InputError(
            f"the tip cannot be told: the knife's ends are {left:.1f} and {right:.1f} mm thick",
            mend='Say where it points, such as tip = "-x"',
            field="mesh.tip",
        )
    return left < right


def blade_end(profile: Profile) -> float:
    """Return how far from the tip guard or handle begins, mm: where the knife gets thicker.

    Raises:
        InputError: it nowhere does so clearly.
    """
    x, thickest = profile.x - profile.x[0], profile.thickest
    step = float(np.median(np.diff(x)))
    stays = max(round(STAYS / step), 1)
    # The least thickness from each column on, over the length it must stay.
    held = ndimage.minimum_filter1d(thickest, stays, origin=-(stays // 2), mode="nearest")
    first = int(np.searchsorted(x, SHORTEST_BLADE * x[-1]))
    for k in range(first, len(x)):
        # The blade so far, its tip left out; the last columns may already begin to swell.
        blade = float(thickest[first // 2 : max(k - stays, first // 2 + 1)].max())
        if held[k] > THICKER * blade + THICKER_BY:
            return float(x[k])
    raise InputError(
        "the blade's end cannot be told: the knife nowhere gets clearly thicker",
        mend="Give blade_length, from the tip to the front of guard or handle",
        field="mesh.blade_length",
    )


def thin_side(profile: Profile, blade_length: float, *, single: bool) -> bool:
    """Say whether the blade's thinner side, its edge, lies at the lesser y.

    Raises:
        InputError: a blade with a single edge is about as thick on both sides.
    """
    x = profile.x - profile.x[0]
    columns = (x > 0.15 * blade_length) & (x < 0.9 * blade_length)
    share = (profile.y[:, None] - profile.low[columns]) / np.maximum(
        profile.high[columns] - profile.low[columns], 1e-9
    )
    full = profile.full[:, columns]
    lower = full[(share >= 0) & (share < 0.25)]
    upper = full[(share <= 1) & (share > 0.75)]
    below, above = (float(side.mean()) if side.size else 0.0 for side in (lower, upper))
    if single and max(below, above) < CLEARLY * min(below, above):
        raise InputError(
            f"the edge cannot be told: the blade's sides are {below:.1f} and {above:.1f} mm thick",
            mend='Say where it faces, such as edge = "-y", or write edges = "double" in [knife]',
            field="mesh.edge",
        )
    return below <= above or not single


def straightest(x: Floats, low: Floats, high: Floats, *, single: bool) -> tuple[float, str]:
    """Return the slope of the blade's straightest side, and its name: "edge", "spine" or "axis".

    A side is straight where most of it keeps near to one line. Where neither is, or both are
    edges, the blade's middle line counts: its "axis".

    Args:
        x: (n,) columns along the blade, tip and end left out, mm.
        low: (n,) lower end of the outline there, mm.
        high: (n,) upper end, mm.
        single: the blade has a single edge.
    """
    best = (STRAIGHT_SHARE, 0.0, "")
    for name, y in (("edge", low), ("spine", high)) if single else ():
        slope, share = _line(x, y)
        # The edge goes before the spine where both are as straight.
        if share > best[0] + STRAIGHTER:
            best = (share, slope, name)
    if best[2]:
        return best[1], best[2]
    return _line(x, (low + high) / 2)[0], "axis"


def _line(x: Floats, y: Floats) -> tuple[float, float]:
    """Return the slope of the line that most of a curve keeps near to, and how much does."""
    best, share = 0.0, 0.0
    count = len(x)
    # Chords over a third of the length and more; the one with the most points beside it wins.
    for i in range(0, count, max(count // 40, 1)):
        for j in range(i + count // 3, count, max(count // 40, 1)):
            slope = (y[j] - y[i]) / (x[j] - x[i])
            off = np.abs(y - y[i] - slope * (x - x[i]))
            near = float((off < STRAIGHT).mean())
            if near > share:
                best, share = slope, near
                close = off < STRAIGHT
                best = float(np.polyfit(x[close], y[close], 1)[0])
    return best, share


def bevel_width(distance: Floats, half: Floats, most: float) -> float | None:
    """Return how far a bevel reaches from its edge, seen from the side, mm; None where none shows.

    The median of the half-thickness over the distance is laid against two straight lines, the
    first through the edge itself; where they meet best the bevel ends.

    Args:
        distance: (n,) of points of the blade from their edge, mm.
        half: (n,) half-thickness there, mm.
        most: the blade's width; points further away than 0.4 of it belong to something else.
    """
    step = 0.05
    reach = min(2 * BEVEL_REACH[1], 0.4 * most)
    count = int(reach / step)
    which = (distance / step).astype(np.int64)
    d, h = [], []
    for k in range(count):
        here = half[which == k]
        if here.size >= 8:
            d.append((k + 0.5) * step)
            h.append(float(np.median(here)))
    if len(d) < 20:
        return None
    points, heights = np.array(d), np.array(h)
    found: tuple[float, float] | None = None
    for knee in points[(points >= BEVEL_REACH[0]) & (points <= BEVEL_REACH[1])]:
        rows = np.column_stack([np.minimum(points, knee), np.maximum(points - knee, 0.0)])
        slopes, _, rank, _ = np.linalg.lstsq(rows, heights, rcond=None)
        error = float(np.sqrt(((rows @ slopes - heights) ** 2).mean()))
        least, greatest = (tan(radians(angle)) for angle in BEVEL_ANGLES)
        bevel = least <= slopes[0] <= greatest and slopes[0] >= BEVEL_STEEPER * max(slopes[1], 0.0)
        if rank == 2 and bevel and error < BEVEL_ERROR and (found is None or error < found[0]):
            found = (error, float(knee))
    return None if found is None else found[1]
