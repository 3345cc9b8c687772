"""What a ball leaves standing, on the surface's own grid, as the maker of programs believes.

Heights at nodes are those of a ball that stops every ``PACE`` mm; between two stops it leaves
``PACE² / (8 R)`` more than it would on its way.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.locate import stepped
from chape.field.heights import HeightField
from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.field.grid import Floats

#: Distance of the places a ball is tried at, mm: a ball of 3 mm leaves 0.001 mm between two.
PACE = 0.15


def standing_after(
    surface: HeightField, ground: Ground, paths: list[Floats], radius: float
) -> HeightField:
    """Return what stands after paths of a ball, on the grid of the surface.

    Args:
        surface: what is wanted.
        ground: what stood there before.
        paths: of the tip, each (n, 3), mm.
        radius: of the ball, mm.
    """
    grid = surface.grid
    x, y = grid.mesh()
    z = ground.field.at(np.column_stack([x.ravel(), y.ravel()])).reshape(grid.shape)
    for path in paths:
        _sink(z, grid.x0, grid.y0, grid.spacing, stepped(path, PACE), float(radius))
    return HeightField(grid, z)


def standing_under(standing: HeightField, tips: Floats, radius: float) -> HeightField:
    """Return what would still stand if a ball were put to each of the tips (n, 3)."""
    grid, z = standing.grid, standing.z.copy()
    _sink(z, grid.x0, grid.y0, grid.spacing, tips, float(radius))
    return HeightField(grid, z)


def left_over(standing: HeightField, wanted: HeightField, surface: HeightField) -> Floats:
    """Return (ny, nx) how far what stands is above what is wanted, along the surface's normal."""
    slope = np.hypot(*np.gradient(surface.z, surface.grid.spacing))
    left: Floats = np.maximum(standing.z - wanted.z, 0) / np.hypot(1, slope)
    return left


@kernel
def _sink(z: Floats, x0: float, y0: float, spacing: float, points: Floats, radius: float) -> None:
    """Lower every node under a ball to the ball, at every point of its tip."""
    ny, nx = z.shape
    for n in range(points.shape[0]):
        x, y, middle = points[n, 0], points[n, 1], points[n, 2] + radius
        low = max(int(np.ceil((y - radius - y0) / spacing)), 0)
        high = min(int(np.floor((y + radius - y0) / spacing)), ny - 1)
        for j in range(low, high + 1):
            away = y0 + j * spacing - y
            half = np.sqrt(max(radius * radius - away * away, 0.0))
            first = max(int(np.ceil((x - half - x0) / spacing)), 0)
            last = min(int(np.floor((x + half - x0) / spacing)), nx - 1)
            for i in range(first, last + 1):
                along = x0 + i * spacing - x
                under = radius * radius - away * away - along * along
                z[j, i] = min(z[j, i], middle - np.sqrt(max(under, 0.0)))
