"""Turning runs of short chords into few lines and arcs.

The longest arc that starts at one point of the run, ends at another and passes every point between
within the tolerance is taken, then the next (``field/arc_kernels.py``). Tangents of neighbours may
differ by a kink of about sqrt(tolerance / radius).
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely

from chape import tolerances
from chape.field.arc_kernels import beside, longest_arcs

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: Chords are divided to this before fitting, mm: an arc that passes only the ends of a long chord
#: could stray from the middle of it unseen.
STEP = 0.25

#: A turn sharper than this between two chords is a corner, not a curve, rad.
CORNER = np.radians(30.0)

#: A straight stretch shorter than this, mm, may be taken for part of a curve.
STRAIGHT_LEAST = 1.0

#: Share of the tolerance the fit itself uses; the rest is left for rounding.
FIT_SHARE = 0.8


def fit_path(points: Floats, tolerance: float = tolerances.ARC_FIT) -> tuple[Floats, Floats]:
    """Fit lines and arcs to an open path.

    Args:
        points: (n, 2) path, mm.
        tolerance: neither strays further than this from the other, mm.

    Returns:
        (k, 2) points, first and last those of the path, and the (k - 1,) bulges between them.
    """
    path = _checked(points, tolerance)
    share = FIT_SHARE
    for _ in range(6):
        fitted, bulges = _fit_runs(path, _breaks(path, tolerance, closed=False), share * tolerance)
        if within(path, chords(fitted, bulges, tolerance / 50), tolerance):
            return fitted, bulges
        share /= 2
    return path, np.zeros(len(path) - 1)


def fit_ring(points: Floats, tolerance: float) -> tuple[Floats, Floats]:
    """Fit lines and arcs to a closed ring, given without repeating its first point.

    The result may cross itself where the ring all but touches itself; the caller looks.

    Returns:
        (k, 2) corners and (k,) bulges, from each corner to the next.
    """
    path = _checked(np.vstack([points, points[:1]]), tolerance)
    share = FIT_SHARE
    for _ in range(6):
        turned, breaks = _from_a_break(path, tolerance)
        fitted, bulges = _fit_runs(turned, breaks, share * tolerance)
        if len(bulges) > 1 and within(turned, chords(fitted, bulges, tolerance / 50), tolerance):
            return fitted[:-1], bulges
        share /= 2
    return path[:-1], np.zeros(len(path) - 1)


def chords(points: Floats, bulges: Floats, tolerance: float) -> Floats:
    """Return an open chain of lines and arcs as (m, 2) points, chords within ``tolerance`` mm."""
    curved = np.flatnonzero(bulges)
    start, end, bulge = points[:-1][curved], points[1:][curved], bulges[curved]
    chord = end - start
    length = np.hypot(*chord.T)
    sweep = 4 * np.arctan(bulge)
    radius = length / (2 * np.abs(np.sin(sweep / 2)))
    # The centre lies left of the chord by this much (right of it when negative).
    aside = length / 2 / np.tan(sweep / 2)
    left = np.column_stack([-chord[:, 1], chord[:, 0]]) / length[:, None]
    centre = (start + end) / 2 + aside[:, None] * left
    first = np.arctan2(start[:, 1] - centre[:, 1], start[:, 0] - centre[:, 0])
    widest = 2 * np.arccos(np.maximum(0.0, 1 - tolerance / radius))
    counts = np.ones(len(bulges), dtype=np.int64)
    counts[curved] = np.maximum(2, np.ceil(np.abs(sweep) / widest))
    piece = np.repeat(np.arange(len(bulges)), counts)
    step = np.arange(1, len(piece) + 1) - (np.cumsum(counts) - counts)[piece]
    path = np.asarray(points, np.float64)[1:][piece]
    # Every arc ends at its corner; before that come the ends of its chords.
    within_arc = step < counts[piece]
    arc = np.searchsorted(curved, piece[within_arc])
    angle = first[arc] + sweep[arc] * step[within_arc] / counts[piece[within_arc]]
    around = np.column_stack([np.cos(angle), np.sin(angle)])
    path[within_arc] = centre[arc] + radius[arc, None] * around
    return np.vstack([points[:1], path])


def arc_of(start: Floats, end: Floats, bulge: float) -> tuple[Floats, float, float, float]:
    """Return centre (2,), radius, start angle and signed sweep of one arc segment."""
    chord = end - start
    length = float(np.hypot(*chord))
    sweep = 4 * float(np.arctan(bulge))
    radius = length / (2 * abs(np.sin(sweep / 2)))
    # The centre lies left of the chord by this much (right of it when negative).
    aside = length / 2 / np.tan(sweep / 2)
    left = np.array([-chord[1], chord[0]]) / length
    centre = (start + end) / 2 + aside * left
    first = float(np.arctan2(start[1] - centre[1], start[0] - centre[0]))
    return centre, float(radius), first, sweep


def within(first: Floats, second: Floats, tolerance: float) -> bool:
    """Say whether two paths nowhere stray further than ``tolerance`` from each other."""
    for path, other in ((first, second), (second, first)):
        points = divided(path)
        # Nearly all lie beside the stretch that is their like; only the rest is looked for.
        alone = points[~beside(points, other, tolerance)]
        if len(alone):
            line = shapely.LineString(other)
            shapely.prepare(line)
            if not shapely.dwithin(line, shapely.points(alone), tolerance).all():
                return False
    return True


def divided(path: Floats, step: float = STEP) -> Floats:
    """Return a path with every chord divided into equal pieces no longer than ``step`` mm."""
    chord = np.diff(path, axis=0)
    counts = np.maximum(1, np.ceil(np.hypot(*chord.T) / step - 1e-9)).astype(np.int64)
    piece = np.repeat(np.arange(len(chord)), counts)
    share = (np.arange(len(piece)) - (np.cumsum(counts) - counts)[piece]) / counts[piece]
    return np.vstack([path[piece] + share[:, None] * chord[piece], path[-1:]])


def _checked(points: Floats, tolerance: float) -> Floats:
    """Return the path without repeated points, or refuse what cannot be fitted."""
    path = np.asarray(points, dtype=np.float64)
    if path.ndim != 2 or path.shape[1] != 2 or not np.isfinite(path).all():
        raise ValueError(f"a path is an (n, 2) array of finite numbers, not {path.shape}")
    if not tolerance > 0:
        raise ValueError(f"a tolerance must be positive, not {tolerance}")
    keep = np.ones(len(path), dtype=bool)
    keep[1:] = np.hypot(*np.diff(path, axis=0).T) > tolerances.SAME_LENGTH / 10
    path = path[keep]
    if len(path) < 2:
        raise ValueError("a path needs two points that differ")
    return path


def _breaks(path: Floats, tolerance: float, *, closed: bool) -> npt.NDArray[np.bool_]:
    """Mark the points no arc may run past: true corners and the ends of straight stretches.

    A chord is a straight stretch, not part of a flattened curve, when a curve that turns by as
    much as the path does at the chord's ends would bulge from it by more than half the tolerance.
    """
    # Points on a straight line, and the noise of a level line, must not hide a long chord.
    kept = _simplified(path, tolerance / 10)
    chord = np.diff(path[kept], axis=0)
    length = np.hypot(*chord.T)
    heading = np.arctan2(chord[:, 1], chord[:, 0])
    turn = np.zeros(len(kept))
    turn[1:-1] = np.abs((np.diff(heading) + np.pi) % (2 * np.pi) - np.pi)
    if closed:
        turn[[0, -1]] = abs((heading[0] - heading[-1] + np.pi) % (2 * np.pi) - np.pi)
    bulge = length * np.maximum(turn[:-1], turn[1:]) / 8
    straight = (bulge > tolerance / 2) & (length > STRAIGHT_LEAST)
    marked = turn > CORNER
    marked[:-1] |= straight
    marked[1:] |= straight
    breaks = np.zeros(len(path), dtype=bool)
    breaks[kept[marked]] = True
    return breaks


def _simplified(path: Floats, tolerance: float) -> npt.NDArray[np.int64]:
    """Return the indices of the points that a Douglas-Peucker simplification keeps."""
    kept = shapely.get_coordinates(shapely.LineString(path).simplify(tolerance))
    # Kept points are points of the path, in order: walk both together.
    indices = []
    at = 0
    for point in kept:
        while not (path[at, 0] == point[0] and path[at, 1] == point[1]):
            at += 1
        indices.append(at)
        at += 1
    return np.asarray(indices, dtype=np.int64)


def _from_a_break(path: Floats, tolerance: float) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Turn a closed path so that it starts at a break, or at its lowest point where it has none.

    Simplification keeps the first point of a path, which may lie in the middle of a straight
    stretch; so the breaks are looked for a second time from a point that is surely a corner of
    the path, the lowest.
    """
    ring = path[:-1]
    lowest = int(np.lexsort((ring[:, 0], ring[:, 1]))[0])
    start = int(np.lexsort((-ring[:, 1], ring[:, 0]))[0])
    for first in (start, lowest):
        ring = np.roll(path[:-1], -first, axis=0)
        closed = np.vstack([ring, ring[:1]])
        breaks = _breaks(closed, tolerance, closed=True)
        if breaks.any():
            break
    where = np.flatnonzero(breaks[:-1])
    if len(where):
        ring = np.roll(ring, -where[0], axis=0)
        breaks = np.roll(breaks[:-1], -where[0])
        breaks = np.append(breaks, breaks[0])
    return np.vstack([ring, ring[:1]]), breaks


def _fit_runs(
    path: Floats, breaks: npt.NDArray[np.bool_], tolerance: float
) -> tuple[Floats, Floats]:
    """Fit every run between two breaks by itself."""
    ends = np.flatnonzero(breaks[1:-1]) + 1
    bounds = [0, *ends.tolist(), len(path) - 1]
    points = [path[0]]
    bulges: list[float] = []
    for a, b in pairwise(bounds):
        run = divided(path[a : b + 1])
        for end, bulge in _longest_arcs(run, tolerance):
            points.append(run[end])
            bulges.append(bulge)
    return np.array(points), np.array(bulges)


def _longest_arcs(run: Floats, tolerance: float) -> list[tuple[int, float]]:
    """Return (index of the end, bulge) of the arcs that cover a run, each as long as may be."""
    ends, bulges = longest_arcs(run, tolerance)
    return list(zip(ends.tolist(), bulges.tolist(), strict=True))
