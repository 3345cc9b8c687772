"""Joins the pieces of a drawing end to end, and finds the outline among them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from chape.errors import InputError
from chape.knife.landmarks import crossing_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from shapely import Polygon

    from chape.field.grid import Floats

#: Two ends of a drawing closer than this, mm, are meant to meet.
JOIN = 0.02


def largest_loop(pieces: Sequence[Floats], place: Callable[[Floats], str]) -> Polygon:
    """Return what the largest closed loop of a drawing encloses.

    Lines drawn inside a loop (where a handle's scales end, a lanyard hole) do not divide it.
    Open lines smaller than the loop are taken for notes and left out.

    Args:
        pieces: lines of (n, 2) points, mm.
        place: writes a point (2,), mm, as the person finds it on the drawing.

    Raises:
        InputError: nothing is drawn; the lines are open, with the gap; the loop crosses itself.
    """
    lines = _joined([piece for piece in pieces if np.ptp(piece, axis=0).max() > 0])
    if not lines:
        raise InputError(
            "the drawing holds no lines or curves", mend="Draw the knife's outline as a closed line"
        )
    drawn = [shapely.LineString(line) for line in lines]
    faces, cuts, dangles, crossed = shapely.polygonize_full(drawn)
    try:
        polygons = shapely.get_parts(shapely.union_all(shapely.get_parts(faces)))
    except shapely.errors.GEOSException:
        raise InputError(
            "lines of the drawing cross between their ends",
            mend="Draw the outline as one line that never crosses itself",
        ) from None
    outline = max(polygons, key=shapely.area, default=None)
    size = 0.0 if outline is None else _size(outline)
    for ring in shapely.get_parts(crossed):
        corners = shapely.get_coordinates(ring)
        crossing = crossing_of(shapely.Polygon(corners)) if _size(ring) > size else None
        if crossing is not None:
            raise InputError(
                f"the outline crosses itself at {place(crossing)} mm",
                mend="Draw it as one line that never crosses itself",
            )
    loose = [*shapely.get_parts(dangles), *shapely.get_parts(cuts)]
    if outline is None or any(_size(line) > size for line in loose):
        raise _open(lines, place)
    return shapely.geometry.polygon.orient(shapely.Polygon(outline.exterior))


def _joined(pieces: list[Floats]) -> list[Floats]:
    """Move ends that nearly meet onto one point, and drop pieces drawn twice."""
    if not pieces:
        return []
    ends = np.vstack([piece[[0, -1]] for piece in pieces])
    pairs = cKDTree(ends).query_pairs(JOIN, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(ends), len(ends)))
    count, group = connected_components(links, directed=False)
    middles = np.zeros((count, 2))
    np.add.at(middles, group, ends)
    middles /= np.bincount(group, minlength=count)[:, None]
    kept: dict[bytes, Floats] = {}
    for number, piece in enumerate(pieces):
        moved = piece.copy()
        moved[[0, -1]] = middles[group[[2 * number, 2 * number + 1]]]
        if np.ptp(moved, axis=0).max() == 0:
            continue
        rounded = np.round(moved / JOIN).astype(np.int64)
        forth, back = rounded.tobytes(), rounded[::-1].tobytes()
        if forth not in kept and back not in kept:
            kept[forth] = moved
    return list(kept.values())


def _open(lines: list[Floats], place: Callable[[Floats], str]) -> InputError:
    """Say where the outline is open: the two loose ends nearest to one another."""
    ends = np.vstack([line[[0, -1]] for line in lines])
    corners, times = np.unique(ends, axis=0, return_counts=True)
    loose = corners[times == 1]
    if len(loose) < 2:
        return InputError(
            "no closed outline is drawn, or its lines cross instead of meeting end to end",
            mend="Join the lines end to end",
        )
    distances, nearest = (np.asarray(found) for found in cKDTree(loose).query(loose, k=2))
    first = int(np.argmin(distances[:, 1]))
    second = int(nearest[first, 1])
    return InputError(
        f"the outline is open: from {place(loose[first])} to {place(loose[second])} mm there is "
        f"a gap of {distances[first, 1]:.3g} mm",
        mend=f"Close it (ends within {JOIN} mm are joined), or take other lines out of the drawing",
    )


def _size(shape: shapely.Geometry) -> float:
    x_min, y_min, x_max, y_max = shape.bounds
    return float(np.hypot(x_max - x_min, y_max - y_min))
