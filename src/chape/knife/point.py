"""Draws a point out to where its sides meet, which blur has cut short.

Along a straight side blur leaves an edge where it is; at a point it takes some tenths of a
millimetre. The sides of a sharp corner are therefore followed from where they are sure, each as a
parabola, to where they meet. Never further than ``LONGEST``: a point that ends well before is
rounded, or cut off, in truth.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import find_peaks

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: A corner turns by at least this, radians, within so far to both sides, mm.
SHARPEST, WITHIN = np.radians(55.0), 1.6

#: Sides are followed from here to there, mm from the corner.
SURE, FAR = 1.0, 4.5

#: A point is drawn out by at most this, mm.
LONGEST = 0.45


def drawn_out(ring: Floats) -> Floats:
    """Return a ring with its sharp corners drawn out.

    Args:
        ring: (n, 2) mm, counter-clockwise, evenly spaced and much finer than ``WITHIN``.

    Returns:
        (m, 2) mm: the points of a drawn-out corner give way to one.
    """
    apart = float(np.median(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)))
    reach = max(2, round(WITHIN / apart))
    before = ring - np.roll(ring, reach, axis=0)
    after = np.roll(ring, -reach, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.arctan2(cross, (before * after).sum(axis=1))
    # Peaks are sought on two rounds, so that one at the ring's start is found too.
    peaks, _ = find_peaks(np.tile(turn, 2), height=SHARPEST, distance=2 * reach)
    kept = np.ones(len(ring), dtype=bool)
    moved = ring.copy()
    for corner in sorted({int(peak) % len(ring) for peak in peaks}):
        apex = _apex(ring, corner, apart)
        if apex is None:
            continue
        gone = (corner + np.arange(-round(SURE / apart) + 1, round(SURE / apart))) % len(ring)
        kept[gone] = False
        kept[corner] = True
        moved[corner] = apex
    drawn: Floats = moved[kept]
    return drawn


def _apex(ring: Floats, corner: int, apart: float) -> Floats | None:
    """Return where a corner's sides meet, (2,) mm; None where they do not within ``LONGEST``."""
    steps = np.arange(round(SURE / apart), round(FAR / apart) + 1)
    lower, upper = ring[(corner + steps) % len(ring)], ring[(corner - steps) % len(ring)]
    middle = (lower[-1] + upper[-1]) / 2
    length = float(np.hypot(*(middle - ring[corner])))
    if length < SURE:
        return None
    inward = (middle - ring[corner]) / length
    across = np.array([-inward[1], inward[0]])

    def side(points: Floats) -> Floats:
        away = points - ring[corner]
        curve: Floats = np.polyfit(away @ inward, away @ across, 2)
        return curve

    first, second = side(lower), side(upper)
    roots = np.roots(first - second)
    real = np.real(roots[np.abs(np.imag(roots)) < 1e-9])
    real = real[(real > -LONGEST) & (real < 0.2)]
    if len(real) == 0:
        return None
    at = float(real[np.argmin(np.abs(real))])
    off = float(np.polyval((first + second) / 2, at))
    apex: Floats = ring[corner] + at * inward + off * across
    return apex
