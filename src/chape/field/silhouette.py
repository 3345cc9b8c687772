"""The outline of a mesh seen from above, its points exact where it crosses the lines of a grid.

Along each row and each column of the grid the spans of all triangles are laid over one another;
where covered nodes end, the furthest end of a span is a point of the silhouette, exactly. Between
two such points, at most one cell apart, the outline runs straight.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import shapely

from chape.field.grid import Grid
from chape.field.raster import ON_EDGE, reach_of, row_span
from chape.kernels import kernel

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats


def silhouette_of(triangles: Floats, spacing: float) -> Polygon | None:
    """Return the outline of the largest region that a mesh covers, holes filled.

    Args:
        triangles: (n, 3, 3) corners, mm.
        spacing: of the grid, mm; what is thinner than this may be missed.

    Returns:
        A valid polygon; None where the mesh covers no node at all.
    """
    low, high = reach_of(triangles)
    more = 2 * spacing
    grid = Grid.over(low[0] - more, low[1] - more, high[0] + more, high[1] + more, spacing)
    rows = _covered(triangles, grid)
    turned = Grid(grid.y0, grid.x0, spacing, grid.ny, grid.nx)
    columns = _covered(np.ascontiguousarray(triangles[:, :, [1, 0, 2]]), turned)
    mask: npt.NDArray[np.bool_] = np.asarray(rows[0] | columns[0].T)
    across = _crossings(mask, rows[1], rows[2], grid.x)
    along = _crossings(mask.T, columns[1], columns[2], grid.y).T
    segments = _segments(mask, across, along, grid)
    if len(segments) == 0:
        return None
    faces = shapely.get_parts(shapely.polygonize(shapely.linestrings(segments)))
    shells = [shapely.Polygon(face.exterior) for face in faces]
    return max(shells, key=lambda shell: shell.area, default=None)


def _covered(triangles: Floats, grid: Grid) -> tuple[npt.NDArray[np.bool_], Floats, Floats]:
    """Return which nodes are covered, and the first and last end of a span in each cell's edge."""
    mask = np.zeros(grid.shape, np.bool_)
    first = np.full(grid.shape, np.inf)
    last = np.full(grid.shape, -np.inf)
    _lay_spans(mask, first, last, triangles, (grid.x0, grid.y0, grid.spacing))
    return mask, first, last


@kernel
def _lay_spans(
    mask: npt.NDArray[np.bool_],
    first: Floats,
    last: Floats,
    triangles: Floats,
    place: tuple[float, float, float],
) -> None:
    """Mark covered nodes; keep the least left and the greatest right end between two nodes."""
    rows, columns = mask.shape
    x0, y0, spacing = place
    for n in range(len(triangles)):
        corner = triangles[n]
        low = min(corner[0, 1], corner[1, 1], corner[2, 1])
        high = max(corner[0, 1], corner[1, 1], corner[2, 1])
        j_first = max(0, int(np.ceil((low - y0 - ON_EDGE) / spacing)))
        j_last = min(rows - 1, int(np.floor((high - y0 + ON_EDGE) / spacing)))
        for j in range(j_first, j_last + 1):
            left, right, _, _ = row_span(corner, y0 + j * spacing)
            if left > right:
                continue
            i_left = int(np.floor((left - x0) / spacing))
            i_right = int(np.floor((right - x0) / spacing))
            if i_left >= 0 and i_right < columns:
                first[j, i_left] = min(first[j, i_left], left)
                last[j, i_right] = max(last[j, i_right], right)
            for i in range(max(0, i_left + 1), min(columns - 1, i_right) + 1):
                mask[j, i] = True


def _crossings(mask: npt.NDArray[np.bool_], first: Floats, last: Floats, x: Floats) -> Floats:
    """Return (rows, columns - 1) where the outline crosses each row's cells; NaN where it does not.

    Where rows and columns disagree about a node by the last bit, the node itself is the crossing.
    """
    before, after = mask[:, :-1], mask[:, 1:]
    leaves, enters = before & ~after, ~before & after
    cross = np.full(before.shape, np.nan)
    left = np.broadcast_to(x[:-1], before.shape)
    right = np.broadcast_to(x[1:], before.shape)
    cross[leaves] = np.clip(last[:, :-1][leaves], left[leaves], right[leaves])
    cross[enters] = np.clip(first[:, :-1][enters], left[enters], right[enters])
    return cross


def _segments(mask: npt.NDArray[np.bool_], across: Floats, along: Floats, grid: Grid) -> Floats:
    """Return (n, 2, 2) pieces of the outline, one or two for every cell that it passes."""
    j, i = np.nonzero(
        (mask[:-1, :-1] != mask[:-1, 1:])
        | (mask[:-1, :-1] != mask[1:, :-1])
        | (mask[1:, 1:] != mask[:-1, 1:])
    )
    x, y = grid.x, grid.y
    below = np.column_stack([across[j, i], y[j]])
    above = np.column_stack([across[j + 1, i], y[j + 1]])
    left = np.column_stack([x[i], along[j, i]])
    right = np.column_stack([x[i + 1], along[j, i + 1]])
    sides = np.stack([below, right, above, left], axis=1)
    there = np.isfinite(sides[:, :, 0]) & np.isfinite(sides[:, :, 1])
    count = there.sum(axis=1)
    two = sides[count == 2][there[count == 2]].reshape(-1, 2, 2)
    four = count == 4
    # At a saddle the covered corners stay joined.
    joined = np.asarray(mask[j[four], i[four]])[:, None]
    pairs = np.where(joined, np.array([0, 1, 2, 3]), np.array([3, 0, 1, 2]))
    saddles = np.take_along_axis(sides[four], pairs[:, :, None], axis=1).reshape(-1, 2, 2)
    segments = np.concatenate([two, saddles])
    return segments[np.any(segments[:, 0] != segments[:, 1], axis=1)]
