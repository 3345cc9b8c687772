"""The top of a mesh over the nodes of a grid: the highest triangle above each node, exactly.

Row by row, a triangle covers one span of nodes, between the two of its edges that cross the row.
Edges count as covered, so that a mesh without gaps leaves no node between its triangles bare.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats, Grid

#: Nodes this near to a triangle's edge lie on it, mm: the last bit of a float32 at 300 mm is 3e-5.
ON_EDGE = 1e-6


def top_of(triangles: Floats, grid: Grid, inset: float = 0.0) -> Floats:
    """Return (ny, nx) the height of the mesh over each node, -inf where there is none.

    Args:
        triangles: (n, 3, 3) corners, mm.
        grid: the nodes.
        inset: the least over the node and four places this far beside it is returned, mm, so that
            the upright walls of the mesh do not count where a node lies on them.
    """
    lowest = np.full(grid.shape, np.inf)
    for dx, dy in ((0.0, 0.0), (inset, 0.0), (-inset, 0.0), (0.0, inset), (0.0, -inset)):
        z = np.full(grid.shape, -np.inf)
        _paint(z, triangles, (grid.x0 + dx, grid.y0 + dy, grid.spacing))
        np.minimum(lowest, z, out=lowest)
        if inset == 0:
            break
    return lowest


@kernel
def reach_of(triangles: Floats) -> Floats:
    """Return (2, 3) the least and the greatest x, y and z of triangles (n, 3, 3), mm."""
    reach = np.empty((2, 3))
    reach[0], reach[1] = np.inf, -np.inf
    for n in range(len(triangles)):
        for corner in range(3):
            for axis in range(3):
                value = triangles[n, corner, axis]
                reach[0, axis] = min(reach[0, axis], value)
                reach[1, axis] = max(reach[1, axis], value)
    return reach


@kernel
def _paint(z: Floats, triangles: Floats, place: tuple[float, float, float]) -> None:
    """Raise ``z`` to every triangle. ``place``: first node and spacing, mm."""
    rows, columns = z.shape
    x0, y0, spacing = place
    for n in range(len(triangles)):
        corner = triangles[n]
        low = min(corner[0, 1], corner[1, 1], corner[2, 1])
        high = max(corner[0, 1], corner[1, 1], corner[2, 1])
        first = max(0, int(np.ceil((low - y0 - ON_EDGE) / spacing)))
        last = min(rows - 1, int(np.floor((high - y0 + ON_EDGE) / spacing)))
        for j in range(first, last + 1):
            left, right, z_left, z_right = row_span(corner, y0 + j * spacing)
            if left > right:
                continue
            i_first = max(0, int(np.ceil((left - x0 - ON_EDGE) / spacing)))
            i_last = min(columns - 1, int(np.floor((right - x0 + ON_EDGE) / spacing)))
            for i in range(i_first, i_last + 1):
                share = 0.0
                if right > left:
                    share = min(1.0, max(0.0, (x0 + i * spacing - left) / (right - left)))
                height = z_left + share * (z_right - z_left)
                if right - left < ON_EDGE:
                    height = max(z_left, z_right)
                z[j, i] = max(z[j, i], height)


@inner_kernel
def row_span(corner: Floats, y: float) -> tuple[float, float, float, float]:
    """Return where a triangle begins and ends in a row, and its heights there."""
    left, right = np.inf, -np.inf
    z_left, z_right = -np.inf, -np.inf
    for k in range(3):
        a, b = corner[k], corner[(k + 1) % 3]
        for end in range(2):
            if abs(b[1] - a[1]) > ON_EDGE:
                if end == 1:
                    break
                share = (y - a[1]) / (b[1] - a[1])
                if share < -ON_EDGE or share > 1 + ON_EDGE:
                    break
                share = min(1.0, max(0.0, share))
                x, z = a[0] + share * (b[0] - a[0]), a[2] + share * (b[2] - a[2])
            else:
                point = a if end == 0 else b
                if abs(point[1] - y) > 2 * ON_EDGE:
                    continue
                x, z = point[0], point[2]
            if x < left or (x == left and z > z_left):
                left, z_left = x, z
            if x > right or (x == right and z > z_right):
                right, z_right = x, z
    return left, right, z_left, z_right
