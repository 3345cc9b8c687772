"""What a ball leaves standing, on the surface's own grid, as the maker of programs believes.

Heights at nodes are those of a ball that stops every ``PACE`` mm; between two stops it leaves
``PACE² / (8 R)`` more than it would on its way.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.cutting.locate import stepped
from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Distance of the places a ball is tried at, mm: a ball of 3 mm leaves 0.001 mm between two.
PACE = 0.15


def left_standing(
    surface: HeightField, ground: Ground, paths: list[Floats], radius: float
) -> Floats:
    """Return (ny, nx) what stands above the surface along its normal after paths of a ball, mm.

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
    slope = np.hypot(*np.gradient(surface.z, grid.spacing))
    left: npt.NDArray[np.float64] = np.maximum(z - surface.z, 0) / np.hypot(1, slope)
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
