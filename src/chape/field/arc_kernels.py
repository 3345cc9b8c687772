"""The longest arcs that cover a run of short chords.

With the chord from (0, 0) to (L, 0) and the arc's sagitta s to its left, m = 2 s / L is the tangent
of a quarter of the sweep. A point (x, y) lies not more than t to the left of the arc when

    -(y + t) L m^2 + 2 P m + (y - t) L <= 0,    P = (x - L/2)^2 + y^2 - L^2/4 - t^2,

which bounds m from below; with -t for t it bounds m from above. (From the distance to the circle
through both ends, centre (L/2, L (m^2 - 1) / 4m), radius L (m^2 + 1) / 4|m|.) Every point gives an
interval of m; where they all overlap there is an arc.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.kernels import inner_kernel, kernel
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from chape.field.grid import Floats

Bools = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.int64]

#: Chords that are looked at from where the last point was found.
AHEAD = 12

#: An arc flatter than this radius, mm, is a line to any machine.
RADIUS_MOST = 5000.0


@kernel
def longest_arcs(run: Floats, tolerance: float) -> tuple[Indices, Floats]:
    """Return the lines and arcs that cover a run (n, 2), each as long as may be.

    Returns:
        (k,) index of the end of each, and (k,) its bulge.
    """
    ends, bulges = np.empty(len(run), dtype=np.int64), np.empty(len(run))
    count, start, last = 0, 0, len(run) - 1
    while start < last:
        reach, step, bulge = 1, 2, 0.0
        # Double the reach while an arc is found, then halve the doubt.
        while start + step <= last:
            found = bulge_of(run[start : start + step + 1], tolerance)
            if np.isnan(found):
                break
            reach, bulge = step, found
            step *= 2
        low, high = reach, min(step, last - start + 1)
        while high - low > 1:
            middle = (low + high) // 2
            found = bulge_of(run[start : start + middle + 1], tolerance)
            if np.isnan(found):
                high = middle
            else:
                low, bulge = middle, found
        start += low
        ends[count], bulges[count] = start, bulge
        count += 1
    return ends[:count], bulges[:count]


@inner_kernel
def bulge_of(points: Floats, tolerance: float) -> float:
    """Return the bulge of a line or arc from the first point to the last, NaN if none fits."""
    chord_x, chord_y = points[-1, 0] - points[0, 0], points[-1, 1] - points[0, 1]
    length = np.hypot(chord_x, chord_y)
    if length < SAME_LENGTH:
        return np.nan
    along_x, along_y = chord_x / length, chord_y / length
    low, high, furthest = -2.0, 2.0, 0.0
    for k in range(1, len(points) - 1):
        off_x, off_y = points[k, 0] - points[0, 0], points[k, 1] - points[0, 1]
        x, y = off_x * along_x + off_y * along_y, off_y * along_x - off_x * along_y
        if x < -tolerance or x > length + tolerance:
            return np.nan
        furthest = max(furthest, abs(y))
        p = (x - length / 2) ** 2 + y**2 - length**2 / 4 - tolerance**2
        inner = p**2 + (y**2 - tolerance**2) * length**2
        # Close to an end of the chord every arc passes.
        if inner < 0 or np.hypot(min(abs(x), abs(x - length)), y) < 1.5 * tolerance:
            continue
        root = np.sqrt(inner)
        low = max(low, (y - tolerance) * length / (root - p))
        high = min(high, (y + tolerance) * length / (root - p))
    if length < 4 * tolerance:
        # Ends this close bound no arc: either all between is as close, or the path comes back.
        return 0.0 if furthest <= tolerance else np.nan
    if low > high:
        return np.nan
    # Left of the chord is clockwise, which is a negative bulge.
    return -_between(low, high, length, _longest_chord(points), tolerance)


@inner_kernel
def _longest_chord(points: Floats) -> float:
    longest = 0.0
    for k in range(1, len(points)):
        longest = max(
            longest, np.hypot(points[k, 0] - points[k - 1, 0], points[k, 1] - points[k - 1, 1])
        )
    return longest


@kernel
def _between(low: float, high: float, length: float, facet: float, tolerance: float) -> float:
    """Choose m between two bounds: a line where that will do, else the middle.

    NaN for arcs so tight that a chord of the path, ``facet`` long at most, would bulge from them
    by more than the tolerance.
    """
    if low <= 0.0 <= high:
        return 0.0
    # No more than half a circle.
    m = min(1.0, max(-1.0, (low + high) / 2))
    # m of the flattest arc that is still an arc: radius is L (m^2 + 1) / 4|m|.
    least = length / (4 * RADIUS_MOST)
    if abs(m) < least:
        m = np.copysign(least, m)
    if not low <= m <= high:
        return np.nan
    radius = length * (m * m + 1) / (4 * abs(m))
    return m if facet**2 / (8 * radius) <= tolerance else np.nan


@kernel
def beside(points: Floats, path: Floats, tolerance: float) -> Bools:
    """Say which points (n, 2) lie within a tolerance of a path (m, 2) that runs along with them.

    From each point the search goes on for a few chords from where the last one was found, so that
    a point may be near the path and not be found; never the other way round.
    """
    found = np.zeros(len(points), dtype=np.bool_)
    last = len(path) - 2
    at = 0
    for n in range(len(points)):
        for k in range(at, min(at + AHEAD, last + 1)):
            x, y = path[k, 0], path[k, 1]
            step_x, step_y = path[k + 1, 0] - x, path[k + 1, 1] - y
            off_x, off_y = points[n, 0] - x, points[n, 1] - y
            length = step_x * step_x + step_y * step_y
            share = (off_x * step_x + off_y * step_y) / length if length > 0.0 else 0.0
            share = min(1.0, max(0.0, share))
            if np.hypot(off_x - share * step_x, off_y - share * step_y) <= tolerance:
                found[n] = True
                at = k
                break
    return found
