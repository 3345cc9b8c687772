"""The outline of a knife through stations measured with a caliper.

The curve runs through every measured point. It is a cubic in its own chord length, with the
slopes of Fritsch and Carlson (SIAM J. Numer. Anal. 17, 1980, 238-246), so neither x nor y ever
overshoots between two stations: a straight stays straight, and a guard's step keeps its height.
Because it is parametrised, it turns round the butt without a corner.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.interpolate import PchipInterpolator

from chape import tolerances
from chape.errors import InputError
from chape.knife.file import TipShape
from chape.knife.landmarks import crossing_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from chape.field.grid import Floats


def outline_of_stations(
    stations: Sequence[tuple[float, float, float]], tip_shape: TipShape = TipShape.SHARP
) -> Polygon:
    """Return the closed outline through measured stations.

    A first or last station whose edge and spine lie at the same y closes in that point: the butt
    always round, the tip sharp or round. One that does not close is cut off straight.

    Args:
        stations: rows of x, y of the edge side, y of the spine side, mm, x rising from 0.
        tip_shape: whether the tip keeps its corner.

    Returns:
        A simple polygon, counter-clockwise, flattened within ``tolerances.FLATTEN``.

    Raises:
        InputError: the curve crosses itself between two stations, or a round tip is open.
    """
    rows = np.asarray(stations, dtype=np.float64)
    edge, spine = rows[:, [0, 1]], rows[:, [0, 2]]
    butt_closes = edge[-1, 1] == spine[-1, 1]
    tip_closes = edge[0, 1] == spine[0, 1]
    if tip_shape is TipShape.ROUND and not tip_closes:
        raise InputError(
            f"a round tip needs a first station that closes, and this one is "
            f"{spine[0, 1] - edge[0, 1]:g} mm high",
            mend="Give the first station the same y twice",
            field="outline.stations",
        )
    round_tip = tip_shape is TipShape.ROUND
    if butt_closes and round_tip:
        ring = _smooth_ring(np.vstack([edge, spine[-2:0:-1]]))
    elif butt_closes:
        ring = smooth_line(np.vstack([edge, spine[-2::-1]]))
    elif round_tip:
        ring = smooth_line(np.vstack([spine[::-1], edge[1:]]))
    else:
        ring = np.vstack([smooth_line(edge), smooth_line(spine[::-1])])
    polygon = shapely.Polygon(ring)
    crossing = crossing_of(polygon)
    if crossing is not None:
        raise InputError(
            f"the outline crosses itself near x = {crossing[0]:.1f} mm, y = {crossing[1]:.1f} mm",
            mend="Check the stations there, or measure one more between them",
            field="outline.stations",
        )
    return shapely.geometry.polygon.orient(polygon)


def smooth_line(points: Floats, tolerance: float = tolerances.FLATTEN) -> Floats:
    """Return a smooth line through points (n, 2) as (m, 2), chords within ``tolerance`` mm."""
    chords = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(chords)])
    curve = PchipInterpolator(along, points)
    bend = curve.derivative(2)
    pieces = []
    for start, end in pairwise(along):
        # A cubic's second derivative is linear, so it is greatest at one end of the piece, and
        # a chord over a step h of the parameter departs by at most h^2/8 of it.
        inside = np.array([start, end - 1e-9 * (end - start)])
        most = float(np.hypot(*bend(inside).T).max())
        count = max(1, int(np.ceil((end - start) * np.sqrt(most / (8 * tolerance)))))
        pieces.append(curve(start + (end - start) * np.arange(count) / count))
    return np.vstack([*pieces, points[-1:]])


def _smooth_ring(points: Floats) -> Floats:
    # Three points more at either end give every piece the neighbours it has on the ring.
    before, after = points[-3:], points[:4]
    line = smooth_line(np.vstack([before, points, after]))
    first = int(np.flatnonzero((line == points[0]).all(axis=1))[0])
    last = int(np.flatnonzero((line == points[0]).all(axis=1))[-1])
    return line[first:last]
