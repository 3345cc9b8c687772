"""A knife's edge to a few hundredths of a millimetre, from a line that runs near it.

First the whole way round is found at once (``chape.knife.edge_way``), twice: the second time along
the first, where light can be averaged further. Then, on that way, the edge is where light changes
fastest, which blur does not move along a straight edge. How sharply it changes against the noise
tells how well each place is known; a fair curve (``chape.knife.fairing``) keeps to what is known
well and runs on where no edge can be seen.

Symbols: n places along the ring, t across it, mm, positive outwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.ndimage import gaussian_filter1d, median_filter

from chape.knife.edge_break import INWARDS, OUTWARDS, likeliest_blur, likeliest_break
from chape.knife.edge_way import steps_of, way_round
from chape.knife.fairing import faired
from chape.knife.point import corners_of, drawn_out

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.light import Light

    Bools = npt.NDArray[np.bool_]
    Sample = Callable[[Floats], Light]

#: Distance of places along the ring, mm.
APART = 0.2

#: Where the edge is looked for first, from this far outside the line to this far inside it, mm, and
#: how much further out the paper's noise is read.
OUTSIDE, INSIDE, COARSE, MORE = 0.6, 3.4, 0.08, 2.4

#: The line near the edge stands usually so far outside it; further than the second is doubtful, mm.
USUAL, DEEP = 1.2, 2.4

#: The second time to both sides of the first way, mm.
AGAIN = 1.2

#: Light is then read so finely to both sides of the way, mm.
ACROSS = np.arange(-INWARDS, OUTWARDS + 0.03, 0.06)

#: Light is averaged along the ring over this, mm, as a bell's standard deviation; where nothing is
#: clear, over the longer.
SHORT, MIDDLE, LONG = 0.2, 0.6, 1.6

#: How far from its way the edge is thought to be before light is looked at, mm; the second time so
#: many times what the first left unsure, but at least the last, mm: blur rounds corners. Else a
#: bevel's line close behind an edge in shadow is taken for it.
BEFOREHAND, NEAR_BY, NEAREST = 0.5, 3.0, 0.15

#: A place is a spike where it stands this far out of the middle of those this near, mm.
SPIKE, BESIDE = 0.2, 1.2

#: What is known better than this, mm, is a corner rather than a spike.
CORNER = 0.045

#: No place is known better than this, mm; a place known better than the second is seen for sure,
#: and one known worse than the third cannot be seen.
SUREST, SURE, UNSURE = 0.02, 0.1, 0.15

#: So far round an end of the knife its edge tells where that end is, mm.
NEAR_END = 8.0

#: No point that is seen is moved further than this by fairing, mm.
SMOOTHING_BOUND = 0.05

#: What a JPEG leaves of noise runs together, so that light tells places less well by this factor.
TEMPER = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """An edge that was found.

    Attributes:
        ring: (m, 2) mm, counter-clockwise, its points drawn out.
        places: (n, 2) mm, even places round it before that.
        unsure: (n,) how far those may lie off, mm, as a standard deviation.
        scatter: how far places lie off their neighbours, mm, as a standard deviation.
    """

    ring: Floats
    places: Floats
    unsure: Floats
    scatter: float

    @property
    def unseen(self) -> float:
        """Share of the ring that is carried on from beside it."""
        return float((self.unsure > UNSURE).mean())

    def unsure_near(self, place: Floats) -> float:
        """Return how far the ring may lie off near a place, (2,) mm, as a standard deviation."""
        away = np.hypot(*(self.places - place).T)
        return float(self.unsure[away < away.min() + NEAR_END].max())


def find_edge(near: Floats, sample: Sample, blur: float) -> Edge:
    """Return the edge of a thing from a line round it.

    Args:
        near: (n, 2) mm, counter-clockwise, up to ``INSIDE`` outside the edge.
        sample: the light, 0 to 1, of places (..., 2) mm, as (..., 3).
        blur: width of the picture's blur, mm, as a bell's standard deviation.
    """
    width = float(np.clip(blur, 0.08, 0.4))
    ring = resampled(near, APART)
    ring = np.column_stack([gaussian_filter1d(each, 0.6 / APART, mode="wrap") for each in ring.T])
    for inside, outside, along in ((INSIDE, OUTSIDE, 0.4), (AGAIN, AGAIN, 1.0)):
        ring = _along_way(ring, sample, width, (inside, outside), along)
    width = likeliest_blur(sample(_strip(ring, ACROSS)).astype(float), ACROSS, width)
    near_by: float | Floats = BEFOREHAND
    for widths in ((MIDDLE, LONG), (SHORT, MIDDLE, LONG)):
        place, spread = _unspiked(*_places(ring, sample, width, widths, near_by))
        seen = spread < SURE
        rough = place - gaussian_filter1d(place, 1.0 / APART, mode="wrap")
        scatter = float(np.sqrt(np.mean(rough**2, where=seen))) if seen.any() else SPIKE
        found = ring + place[:, None] * _outwards(ring)
        hinges = [corners_of(ring, APART, hollow=hollow) for hollow in (False, True)]
        ring, unsure = faired(found, spread, APART, np.concatenate(hinges))
        ring = _bounded(ring, found, seen)
        ring, unsure = _even(ring, unsure)
        near_by = np.clip(NEAR_BY * unsure, NEAREST, BEFOREHAND)
    return Edge(drawn_out(ring, sample, width), ring, _deep(ring, unsure, near), scatter)


def _deep(ring: Floats, unsure: Floats, near: Floats) -> Floats:
    """Return how unsure places are, those deep inside the line near the edge more.

    That line stands about ``USUAL`` outside. Where the ring lies far within it, one of both has
    taken something else for the edge: a bevel's line, or the rim of a shadow.
    """
    far = shapely.distance(shapely.LinearRing(near), shapely.points(ring))
    return np.where(far > DEEP, np.maximum(unsure, (far - USUAL) / 2), unsure)


def _along_way(
    ring: Floats, sample: Sample, width: float, reach: tuple[float, float], along: float
) -> Floats:
    """Return a ring moved onto the way of the edge near it, evenly spaced."""
    inside, outside = reach
    across = np.arange(-inside, outside + MORE + COARSE / 2, COARSE)
    tone = np.sqrt(sample(_strip(ring, across)).astype(float))
    steps = steps_of(tone, across, APART, width, along)
    within = across <= outside
    path = way_round(steps.where(within), across[within])
    moved = gaussian_filter1d(across[path], 0.5, mode="wrap")
    return resampled(ring + moved[:, None] * _outwards(ring), APART)


def resampled(ring: Floats, apart: float) -> Floats:
    """Return a closed ring's points at even distances of about ``apart`` mm, (n, 2)."""
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(16, round(along[-1] / apart))
    at = np.arange(count) * along[-1] / count
    even: Floats = np.column_stack([np.interp(at, along, each) for each in closed.T])
    return even


def _outwards(ring: Floats) -> Floats:
    """Return (n, 2) unit normals that point out of a counter-clockwise ring."""
    smooth = np.column_stack([gaussian_filter1d(each, 2.0, mode="wrap") for each in ring.T])
    way = np.roll(smooth, -1, axis=0) - np.roll(smooth, 1, axis=0)
    way /= np.maximum(np.hypot(*way.T), 1e-12)[:, None]
    normal: Floats = np.column_stack([way[:, 1], -way[:, 0]])
    return normal


def _strip(ring: Floats, across: Floats) -> Floats:
    """Return (n, t, 2) places across a ring."""
    places: Floats = ring[:, None] + across[:, None] * _outwards(ring)[:, None]
    return places


def _places(
    ring: Floats,
    sample: Sample,
    width: float,
    widths: tuple[float, ...],
    beforehand: float | Floats,
) -> tuple[Floats, Floats]:
    """Return where near a ring the edge is, (n,) mm outwards, and how sure that is, mm.

    Where light averaged over a short way does not tell, a longer way may.
    """
    light = sample(_strip(ring, ACROSS)).astype(float)
    found = []
    for averaged in widths:
        place, spread = likeliest_break(light, ACROSS, APART, width, averaged, beforehand)
        # Neighbours that share their light tell the same, so each counts for less.
        shared = np.sqrt(max(1.0, 2 * np.sqrt(np.pi) * averaged / APART))
        found.append((place, shared * np.hypot(TEMPER * spread, SUREST)))
    place, spread = found[-1]
    for nearer, nearer_spread in reversed(found[:-1]):
        sure = nearer_spread < SURE
        place, spread = np.where(sure, nearer, place), np.where(sure, nearer_spread, spread)
    return place, spread


def _unspiked(place: Floats, spread: Floats) -> tuple[Floats, Floats]:
    """Return places with those that stand out of their neighbours' line taken for unknown."""
    usual = median_filter(place, 2 * round(BESIDE / APART) + 1, mode="wrap")
    spiked = (np.abs(place - usual) > SPIKE) & (spread > CORNER)
    return np.where(spiked, usual, place), np.where(spiked, np.inf, spread)


def _bounded(fair: Floats, found: Floats, seen: Bools) -> Floats:
    """Return a fair ring that keeps within ``SMOOTHING_BOUND`` of what is seen."""
    move = fair - found
    far = np.hypot(*move.T)
    share = np.where(seen, np.minimum(1.0, SMOOTHING_BOUND / np.maximum(far, 1e-12)), 1.0)
    kept: Floats = found + share[:, None] * move
    return kept


def _even(ring: Floats, unsure: Floats) -> tuple[Floats, Floats]:
    """Return a ring evenly spaced anew, with how unsure each place is."""
    even = resampled(ring, APART)
    at = np.linspace(0, len(unsure), len(even), endpoint=False)
    return even, np.interp(at, np.arange(len(unsure)), unsure, period=len(unsure))
