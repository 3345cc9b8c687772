"""The closed sheath: how far a knife inside it is from touching.

What is measured is the formed surface, the very field that is milled: beside the strip its
triangles, and in place of the strip the U it is folded into. The sheath is taken as rigid.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.kernels import inner_kernel, kernel
from chape.sheath.halves import half_surface_of, is_relieved, strip_end_at

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Floats
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath

Vector = tuple[float, float, float]

#: Distances beyond this are not told apart, mm: the knife is clear.
FAR = 3.0

#: Height and radius of what has been cut away, mm: nothing reaches it.
NOTHING = 1e3


@dataclass(frozen=True, slots=True, eq=False)
class Walls:
    """One half of a closed sheath, sheath frame.

    Attributes:
        z: (ny, nx) formed heights, the last row on the fold line.
        frame: x0, y0, spacing, x of the mouth, mm.
        end: (nx,) y_e of each column.
        radius: (nx,) inside radius of the fold there.
    """

    z: Floats
    frame: Floats
    end: Floats
    radius: Floats


def walls_of(sheath: Sheath, *, upper: bool = False) -> Walls:
    """Return one half of a sheath as it lies closed; the other with ``upper``."""
    half = half_surface_of(sheath, upper=upper)
    grid = half.grid
    frame = np.array([grid.x0, grid.y0, grid.spacing, sheath.mouth_x])
    # Copies: a kernel is compiled once more for arrays that must not be written to.
    fold, z = sheath.fold, np.array(half.z, order="C")
    end = np.array(strip_end_at(fold, grid.x))
    radius = np.zeros(grid.nx) if fold is None else np.array(fold.height)
    if fold is not None and fold.relief is not None:
        # Where the fold is cut away there is nothing to touch.
        open_to = fold.relief[1]
        columns = is_relieved(fold, grid.x)
        z = np.where(columns[None, :] & (grid.y[:, None] > open_to), NOTHING, z)
        end = np.where(columns, open_to, end)
        radius = np.where(columns, NOTHING, radius)
    return Walls(z, frame, end, radius)


def clearance(walls: Walls, points: Floats, draw: float = 0.0) -> Floats:
    """Return how far each point of the knife is from the sheath.

    Args:
        walls: one half of the closed sheath.
        points: (n, 3) points of the knife at home, z >= 0, mm.
        draw: the knife is drawn this far, mm.

    Returns:
        (n,) distances, at most ``FAR``, mm; negative inside the sheet; ``FAR`` past the mouth.
    """
    moved = points + np.array([draw, 0.0, 0.0])
    return _clearance(walls.z, walls.frame, walls.end, walls.radius, moved, FAR)[:, 0].copy()


def nearest(walls: Walls, points: Floats, far: float = FAR) -> tuple[Floats, Floats]:
    """Return how far each point is from the sheath, and the way there.

    Args:
        walls: one half of the closed sheath.
        points: (n, 3) points, mm.
        far: distances beyond this are not told apart, mm; a lesser one is quicker.

    Returns:
        (n,) distances as of ``clearance``, and (n, 3) unit vectors from the point out through the
        sheet where it is nearest; all zero for points further away than ``far``.
    """
    found = _clearance(walls.z, walls.frame, walls.end, walls.radius, points, far)
    return found[:, 0].copy(), found[:, 1:].copy()


def edge_points(knife: Knife, step: float = 1.0) -> Floats:
    """Return (n, 3) points all over the edge band, about ``step`` mm apart; its rim finer."""
    return _points_on_edge(knife, step).copy()


# A knife's points are asked for again and again while a sheath is drawn, searched or dragged.
@lru_cache(maxsize=8)
def _points_on_edge(knife: Knife, step: float) -> Floats:
    pieces = []
    for part in knife.edge_band.geoms:
        rim = part.exterior
        along = np.arange(0.0, rim.length, step / 2)
        pieces.append(shapely.get_coordinates(shapely.line_interpolate_point(rim, along)))
    return _on_surface(knife, np.vstack([*pieces, _lattice_on(knife.edge_band, knife, step)]))


def knife_points(knife: Knife, x_most: float, step: float = 1.0) -> Floats:
    """Return (n, 3) points all over the knife up to ``x_most``, about ``step`` mm apart."""
    points = _all_points(knife, step)
    return points[points[:, 0] <= x_most]


@lru_cache(maxsize=8)
def _all_points(knife: Knife, step: float) -> Floats:
    return _on_surface(knife, _lattice_on(knife.outline, knife, step))


def _on_surface(knife: Knife, points: Floats) -> Floats:
    """Return points (n, 2) with the knife's height there, (n, 3)."""
    return np.column_stack([points, knife.half.at(points)])


def _lattice_on(region: BaseGeometry, knife: Knife, step: float) -> Floats:
    """Return the (n, 2) points of a lattice over the knife that lie on a region, by x, then y."""
    x_min, y_min, x_max, y_max = knife.outline.bounds
    x, y = np.meshgrid(np.arange(x_min, x_max, step), np.arange(y_min, y_max, step), indexing="ij")
    shapely.prepare(region)
    on = shapely.intersects_xy(region, x, y)
    return np.column_stack([x[on], y[on]])


@kernel
def _clearance(
    z: Floats, frame: Floats, end: Floats, radius: Floats, points: Floats, far: float
) -> Floats:
    """Return (n, 4): the distance, and the unit vector out through the sheet."""
    x0, y0, spacing, mouth_x = frame[0], frame[1], frame[2], frame[3]
    ny, nx = z.shape
    result = np.zeros((points.shape[0], 4))
    for k in range(points.shape[0]):
        x, y, height = points[k, 0], points[k, 1], points[k, 2]
        result[k, 0] = far
        if x > mouth_x:
            continue
        s = min(max((x - x0) / spacing, 0.0), nx - 1.001)
        i = int(s)
        y_end = end[i] + (s - i) * (end[i + 1] - end[i])
        if y > y_end:
            bend = radius[i] + (s - i) * (radius[i + 1] - radius[i])
            _to_fold(result[k], bend, y - y_end, height)
            continue
        t = min(max((y - y0) / spacing, 0.0), ny - 1.001)
        j = int(t)
        above = _surface(z, i, j, s - i, t - j) - height
        # The sheet straight above is the first guess: whatever lies beyond it need not be seen.
        near = (0.0, 0.0, above)
        best = min(far, abs(above))
        reach = int(best / spacing) + 1
        for row in range(max(0, j - reach), min(ny - 1, j + reach + 1)):
            for column in range(max(0, i - reach), min(nx - 1, i + reach + 1)):
                if not _may_be_nearer(z, row, column, s, t, height, spacing, best):
                    continue
                best, near = _nearer_in_cell(z, row, column, frame, points[k], best, near)
        _to_surface(result[k], 1.0 if above >= 0.0 else -1.0, best, near)
    return result


@inner_kernel
def _to_fold(row: Floats, bend: float, past: float, height: float) -> None:
    """Write down the way to the fold, for a point (past, height) from its axis."""
    from_axis = np.hypot(past, height)
    if bend - from_axis < row[0]:
        row[0] = bend - from_axis
        row[2], row[3] = past / from_axis, height / from_axis


@inner_kernel
def _to_surface(row: Floats, side: float, best: float, near: Vector) -> None:
    """Write down the way to a place of the surface; ``side`` is -1 from inside the sheet."""
    if 0.0 < best < row[0]:
        for axis in range(3):
            row[1 + axis] = side * near[axis] / best
    elif best == 0.0:
        row[3] = 1.0
    row[0] = side * best


@inner_kernel
def _surface(z: Floats, i: int, j: int, s: float, t: float) -> float:
    z00, z10, z01, z11 = z[j, i], z[j, i + 1], z[j + 1, i], z[j + 1, i + 1]
    if s >= t:
        return float(z00 + s * (z10 - z00) + t * (z11 - z10))
    return float(z00 + t * (z01 - z00) + s * (z11 - z01))


@inner_kernel
def _may_be_nearer(
    z: Floats, row: int, column: int, s: float, t: float, height: float, spacing: float, best: float
) -> bool:
    """Say whether a cell's box comes nearer than ``best``."""
    low = min(z[row, column], z[row, column + 1], z[row + 1, column], z[row + 1, column + 1])
    high = max(z[row, column], z[row, column + 1], z[row + 1, column], z[row + 1, column + 1])
    across = max(0.0, column - s, s - column - 1) * spacing
    along = max(0.0, row - t, t - row - 1) * spacing
    up = max(0.0, low - height, height - high)
    return bool(across * across + along * along + up * up < best * best)


@inner_kernel
def _nearer_in_cell(
    z: Floats, row: int, column: int, frame: Floats, point: Floats, best: float, near: Vector
) -> tuple[float, Vector]:
    """Return the lesser of ``best`` and the distance to the cell's two triangles, and where."""
    # Seen from the point, so that distances are those from the origin.
    left = frame[0] + column * frame[2] - point[0]
    low = frame[1] + row * frame[2] - point[1]
    right, high, height = left + frame[2], low + frame[2], point[2]
    a = (left, low, z[row, column] - height)
    b = (right, low, z[row, column + 1] - height)
    c = (right, high, z[row + 1, column + 1] - height)
    d = (left, high, z[row + 1, column] - height)
    for last in (b, d):
        place = _on_triangle(a, c, last)
        distance = np.sqrt(_dot(place, place))
        if distance < best:
            best, near = distance, place
    return best, near


@inner_kernel
def _on_triangle(a: Vector, b: Vector, c: Vector) -> Vector:
    """Return the point of a triangle nearest to the origin: above its inside, or on a side."""
    ab, ac = _minus(b, a), _minus(c, a)
    # Barycentric shares of the foot of the perpendicular, from the three scalar products.
    aa, mixed, cc = _dot(ab, ab), _dot(ab, ac), _dot(ac, ac)
    to_b, to_c = -_dot(ab, a), -_dot(ac, a)
    area = aa * cc - mixed * mixed
    second, third = (cc * to_b - mixed * to_c) / area, (aa * to_c - mixed * to_b) / area
    if second >= 0.0 and third >= 0.0 and second + third <= 1.0:
        return _along(_along(a, ab, second), ac, third)
    best = _on_segment(a, b)
    for other in (_on_segment(b, c), _on_segment(c, a)):
        if _dot(other, other) < _dot(best, best):
            best = other
    return best


@inner_kernel
def _on_segment(a: Vector, b: Vector) -> Vector:
    side = _minus(b, a)
    share = min(1.0, max(0.0, -_dot(a, side) / _dot(side, side)))
    return _along(a, side, share)


@inner_kernel
def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@inner_kernel
def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


@inner_kernel
def _along(start: Vector, side: Vector, share: float) -> Vector:
    return (start[0] + share * side[0], start[1] + share * side[1], start[2] + share * side[2])
