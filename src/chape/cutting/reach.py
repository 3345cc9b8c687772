"""What a cutter can reach of a surface, and how far a point lies below it.

The checker's own reckoning, on nodes alone: the cutter is set down on every node, and what its
lowest positions leave standing is what no path of it could take away. Setting down on nodes only
lets the cutter sink a little too far between them on walls (at most about a seventh of the spacing,
measured along the normal), so that what is called unreachable is never too much.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from chape.cutting.bands import over_bands
from chape.cutting.sweep import profile, shape_of
from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import Cutter
    from chape.field.grid import Floats

Mask = npt.NDArray[np.bool_]
Point = tuple[float, float, float]

#: Rings of cells searched round a node for the nearest facet.
RINGS = 5
#: Rows, and points, that one core works on at a time.
BAND = 32
POINTS = 4096


def reachable(z: Floats, spacing: float, wanted: Mask, cutters: Sequence[Cutter]) -> Floats:
    """Return the lowest surface the cutters can make without going below ``z``.

    Args:
        z: (ny, nx) heights, mm.
        spacing: of the nodes, mm.
        wanted: nodes it is needed at; elsewhere ``z`` itself is returned.
        cutters: each may be used.
    """
    if not cutters or not wanted.any():
        return z.copy()
    lowest = np.full(z.shape, np.inf)
    for cutter in cutters:
        offsets, drops = _footprint(cutter, spacing)
        near = ndimage.maximum_filter(wanted, size=2 * int(offsets.max()) + 1, mode="constant")
        # The tip's place is set down from above: the least of the surface turned upside down.
        tip = np.where(near, -_least(-z, near, offsets, drops), np.inf)
        lowest = np.minimum(lowest, _least(tip, wanted, offsets, drops))
    return np.where(wanted, lowest, z)


def _least(z: Floats, where: Mask, offsets: npt.NDArray[np.int64], drops: Floats) -> Floats:
    """Return the least of z plus the profile under a cutter, at some of the nodes."""
    least = np.full(z.shape, np.inf)

    def work(first: int, last: int) -> None:
        _least_rows(z, where, offsets, drops, (first, last), least)

    over_bands(work, len(z), BAND)
    return least


def _footprint(cutter: Cutter, spacing: float) -> tuple[npt.NDArray[np.int64], Floats]:
    """Return the nodes under a cutter, relative to its axis, and its profile there."""
    shape = shape_of(cutter)
    count = int(np.floor(cutter.radius / spacing + 1e-9))
    steps = np.arange(-count, count + 1)
    j, i = np.meshgrid(steps, steps, indexing="ij")
    distance = np.hypot(i, j) * spacing
    inside = distance <= cutter.radius + 1e-9
    drops = np.array([profile(shape, min(r, cutter.radius)) for r in distance[inside]])
    return np.column_stack([j[inside], i[inside]]), drops


@kernel
def _least_rows(
    z: Floats,
    where: Mask,
    offsets: npt.NDArray[np.int64],
    drops: Floats,
    band: tuple[int, int],
    least: Floats,
) -> None:
    """Fill a band of rows of ``_least``."""
    rows, columns = z.shape
    for j in range(band[0], band[1]):
        for i in range(columns):
            if not where[j, i]:
                continue
            best = np.inf
            for n in range(len(drops)):
                row, column = j + offsets[n, 0], i + offsets[n, 1]
                if 0 <= row < rows and 0 <= column < columns:
                    best = min(best, z[row, column] + drops[n])
            least[j, i] = best


def depth_below(
    z: Floats,
    spacing: float,
    rows: npt.NDArray[np.int64],
    columns: npt.NDArray[np.int64],
    heights: Floats,
) -> Floats:
    """Return how far points lie from a surface they are below.

    Args:
        z: (ny, nx) heights of the surface, mm; two triangles a cell, as in ``HeightField``.
        spacing: of its nodes, mm.
        rows: (n,) of the nodes the points lie under.
        columns: (n,) likewise.
        heights: (n,) of the points, mm, each below its node.

    Beyond ``RINGS`` cells only the way straight up counts, so that the depth is never understated.
    """
    depths = np.empty(len(heights))

    def work(first: int, last: int) -> None:
        part = slice(first, last)
        _depths(z, spacing, rows[part], columns[part], heights[part], depths[part])

    over_bands(work, len(heights), POINTS)
    return depths


@kernel
def _depths(
    z: Floats,
    spacing: float,
    rows: npt.NDArray[np.int64],
    columns: npt.NDArray[np.int64],
    heights: Floats,
    depths: Floats,
) -> None:
    """Fill ``depths`` for some of the points."""
    for n in range(len(heights)):
        j, i = rows[n], columns[n]
        best = z[j, i] - heights[n]
        for ring in range(RINGS):
            if ring * spacing > best:
                break
            for row in range(j - 1 - ring, j + ring + 1):
                for column in range(i - 1 - ring, i + ring + 1):
                    edge = row in (j - 1 - ring, j + ring) or column in (i - 1 - ring, i + ring)
                    inside = 0 <= row < z.shape[0] - 1 and 0 <= column < z.shape[1] - 1
                    if edge and inside:
                        away = (row - j, column - i)
                        best = _to_cell(z, spacing, row, column, away, heights[n], best)
        depths[n] = best


@inner_kernel
def _to_cell(
    z: Floats,
    spacing: float,
    row: int,
    column: int,
    away: tuple[int, int],
    height: float,
    best: float,
) -> float:
    """Return the distance of a point from the two facets of a cell, or ``best`` if that is less.

    ``away`` are rows and columns from the point's node to the cell's lower-left node.
    """
    x, y = away[1] * spacing, away[0] * spacing
    a, b = z[row, column] - height, z[row, column + 1] - height
    c, d = z[row + 1, column + 1] - height, z[row + 1, column] - height
    # No facet is lower than its lowest corner.
    if min(a, b, c, d) >= best:
        return best
    lower_left, upper_right = (x, y, a), (x + spacing, y + spacing, c)
    below = _to_triangle(lower_left, (x + spacing, y, b), upper_right)
    above = _to_triangle(lower_left, upper_right, (x, y + spacing, d))
    return min(best, below, above)


@inner_kernel
def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@inner_kernel
def _less(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


@inner_kernel
def _to_triangle(a: Point, b: Point, c: Point) -> float:
    """Return the distance of the origin from a triangle that is not upright."""
    u, v = _less(b, a), _less(c, a)
    normal = (
        u[1] * v[2] - u[2] * v[1],
        u[2] * v[0] - u[0] * v[2],
        u[0] * v[1] - u[1] * v[0],
    )
    squared = _dot(normal, normal)
    rise = _dot(a, normal)
    # The foot of the origin on the plane, seen from a, in the triangle's own coordinates.
    share = rise / squared
    foot = (normal[0] * share - a[0], normal[1] * share - a[1], normal[2] * share - a[2])
    uu, vv, uv = _dot(u, u), _dot(v, v), _dot(u, v)
    fu, fv = _dot(foot, u), _dot(foot, v)
    s = (vv * fu - uv * fv) / squared
    t = (uu * fv - uv * fu) / squared
    if s >= 0 and t >= 0 and s + t <= 1:
        return float(abs(rise) / np.sqrt(squared))
    return min(_to_edge(a, b), _to_edge(b, c), _to_edge(c, a))


@inner_kernel
def _to_edge(a: Point, b: Point) -> float:
    """Return the distance of the origin from an edge."""
    way = _less(b, a)
    share = min(1.0, max(0.0, -_dot(a, way) / _dot(way, way)))
    near = (a[0] + share * way[0], a[1] + share * way[1], a[2] + share * way[2])
    return float(np.sqrt(_dot(near, near)))
