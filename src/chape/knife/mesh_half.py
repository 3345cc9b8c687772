"""The half-thickness of a scanned knife: both sides, the larger counting; holes filled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage, sparse
from scipy.sparse.linalg import spsolve

from chape.errors import InputError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.knife.mesh_pose import seen_on

if TYPE_CHECKING:
    import numpy.typing as npt
    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.knife.mesh_pose import Seen

#: The grid reaches this far past the outline on every side, mm.
MARGIN = 2.0

#: A node is a speck where fewer than this many of its 24 neighbours lie within this of it, mm.
SPECK_NEIGHBOURS, SPECK = 4, 0.4

#: More of one side missing than this share is no hole, but a side that was not scanned.
MOST_MISSING = 0.3

#: The two halves are compared this far inside the outline, mm: walls stand at its rim.
RIM = 1.5

#: Their difference is the one that this share of the knife stays under: a lone speck tells nothing.
MOST_OF = 0.99


@dataclass(frozen=True, slots=True, eq=False)
class Halves:
    """Both halves of a knife as one.

    Attributes:
        half: the larger of both at each node, mm; 0 outside the outline.
        missing: share of both sides that the mesh left open, 0 to 1.
        apart: how far the halves differ, mm, but for the last hundredth of the knife.
        apart_at: x, y where they differ so, mm.
    """

    half: HeightField
    missing: float
    apart: float
    apart_at: tuple[float, float]


def halves_of(triangles: Floats, outline: Polygon, spacing: float) -> Halves:
    """Return the halves of a mesh that lies in the knife frame.

    Raises:
        InputError: most of one side is missing.
    """
    x_min, y_min, x_max, y_max = outline.bounds
    grid = Grid.over(x_min - MARGIN, y_min - MARGIN, x_max + MARGIN, y_max + MARGIN, spacing)
    view = seen_on(triangles, grid)
    shapely.prepare(outline)
    inside = shapely.intersects_xy(outline, *grid.mesh())
    core = shapely.contains_xy(outline.buffer(-spacing), *grid.mesh()) & inside
    sides = [_without_specks(np.where(inside, side, -np.inf)) for side in _sides(view)]
    open_shares = [float((~np.isfinite(side))[core].mean()) if core.any() else 0 for side in sides]
    if max(open_shares) > MOST_MISSING:
        raise InputError(
            f"{100 * max(open_shares):.0f} % of one side of the knife is missing from the scan",
            mend="Scan both sides, and join them into one mesh",
            field="mesh.file",
        )
    front, back = (_filled(side, inside) for side in sides)
    # What a hole hides may be as thick as the other side shows it.
    front = np.where(np.isfinite(sides[0]), front, np.maximum(front, back))
    back = np.where(np.isfinite(sides[1]), back, np.maximum(front, back))
    half = np.where(inside, np.maximum(np.maximum(front, back), 0.0), 0.0)
    apart, place = _apart(front, back, shapely.contains_xy(outline.buffer(-RIM), *grid.mesh()))
    at = (float(grid.x[place[1]]), float(grid.y[place[0]]))
    return Halves(HeightField(grid, half), float(np.mean(open_shares)), apart, at)


def _sides(view: Seen) -> tuple[Floats, Floats]:
    """Return how high each side stands over the mid-plane, -inf where it is missing.

    Through a hole the other side is seen from within, below the mid-plane.
    """
    through = ~view.solid
    front = np.where(through & (view.top < 0), -np.inf, view.top)
    back = np.where(through & (view.bottom > 0), -np.inf, -view.bottom)
    return front, back


def _without_specks(side: Floats) -> Floats:
    """Return a side without nodes that stand alone above their neighbours: left open."""
    alike = np.zeros(side.shape, np.int64)
    padded = np.pad(side, 2, constant_values=-np.inf)
    rows, columns = side.shape
    higher = np.where(np.isfinite(side), side, np.inf) - SPECK
    for dj in range(5):
        for di in range(5):
            if (dj, di) != (2, 2):
                alike += padded[dj : dj + rows, di : di + columns] >= higher
    return np.where(alike >= SPECK_NEIGHBOURS, side, -np.inf)


def _filled(side: Floats, inside: npt.NDArray[np.bool_]) -> Floats:
    """Return a side whose open nodes inside the outline are spanned from their neighbours.

    Each open node is the mean of its neighbours inside: a membrane over the hole.
    """
    missing = inside & ~np.isfinite(side)
    if not missing.any():
        return side
    count = int(missing.sum())
    number = np.full(side.shape, -1)
    number[missing] = np.arange(count)
    # Where a hole touches nothing known, the nearest known height stands in: weakly held to it.
    nearest = ndimage.distance_transform_edt(
        ~np.isfinite(side), return_distances=False, return_indices=True
    )
    rest = side[tuple(nearest)][missing]
    diagonal, right = np.full(count, 1e-6), 1e-6 * rest
    rows, columns = [np.arange(count)], [np.arange(count)]
    values: list[Floats] = []
    j, i = np.nonzero(missing)
    for dj, di in ((0, 1), (0, -1), (1, 0), (-1, 0)):
        # The outline keeps MARGIN from the grid's edge, so that a neighbour is always there.
        beside = (j + dj, i + di)
        diagonal += inside[beside]
        known = inside[beside] & ~missing[beside]
        right[known] += side[beside][known]
        unknown = missing[beside]
        rows.append(np.flatnonzero(unknown))
        columns.append(number[beside][unknown])
        values.append(np.full(int(unknown.sum()), -1.0))
    system = sparse.csc_array(
        (np.concatenate([diagonal, *values]), (np.concatenate(rows), np.concatenate(columns))),
        shape=(count, count),
    )
    filled = side.copy()
    filled[missing] = spsolve(system, right)
    return filled


def _apart(
    front: Floats, back: Floats, core: npt.NDArray[np.bool_]
) -> tuple[float, tuple[np.intp, np.intp]]:
    """Return how far two halves differ within a region, and the node where they do."""
    differ = np.zeros(core.shape)
    differ[core] = np.abs(front[core] - back[core])
    if not core.any():
        return 0.0, (np.intp(0), np.intp(0))
    apart = float(np.quantile(differ[core], MOST_OF))
    j, i = np.unravel_index(np.argmin(np.where(core, np.abs(differ - apart), np.inf)), core.shape)
    return apart, (j, i)
