"""What cutters leave standing, on the surface's own grid, as the maker of programs believes.

Heights at nodes are those of a cutter that stops every ``PACE`` mm; between two stops a ball leaves
``PACE² / (8 R)`` more than it would on its way.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.bound import LEVEL
from chape.cutting.locate import stepped
from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.field.envelope import Body
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Distance of the places a cutter is tried at, mm: a ball of 3 mm leaves 0.002 mm between two.
PACE = 0.2


class Standing:
    """What stands over a surface, eaten away by the cutters that are planned.

    Attributes:
        surface: what is wanted.
        z: (ny, nx) what stands, mm, on the grid of the surface.
        sloping: (ny, nx) area of the surface around each node, in cells; 0 where it is level.
    """

    def __init__(self, surface: HeightField, ground: Ground) -> None:
        self.surface = surface
        self.z: Floats = np.full(surface.grid.shape, np.inf)
        self.lower_to(ground)
        slope = np.hypot(*np.gradient(surface.z, surface.grid.spacing))
        self._lean = 1 / np.hypot(1, slope)
        self.sloping: Floats = np.where(slope > LEVEL, np.hypot(1, slope), 0.0)

    def lower_to(self, ground: Ground) -> None:
        """Believe what is planned away of the ground."""
        x, y = self.surface.grid.mesh()
        nodes = np.column_stack([x.ravel(), y.ravel()])
        self.z = np.minimum(self.z, ground.field.at(nodes).reshape(self.z.shape))

    def cut(self, paths: list[Floats], body: Body) -> None:
        """Move a ball, a flat cutter or a bull nose along paths of its tip, each (n, 3)."""
        for path in paths:
            self.z = under(self.z, self.surface, stepped(path, PACE), body)

    def left(self, z: Floats | None = None) -> Floats:
        """Return (ny, nx) how far what stands, or ``z``, is above what is wanted, along its normal.

        mm.
        """
        standing = self.z if z is None else z
        left: Floats = np.maximum(standing - self.surface.z, 0) * self._lean
        return left

    def tried(self, tips: Floats, body: Body) -> Floats:
        """Return what would still stand if a cutter were put to each of the tips (n, 3)."""
        return under(self.z.copy(), self.surface, tips, body)


def under(z: Floats, surface: HeightField, tips: Floats, body: Body) -> Floats:
    """Lower heights over a surface's nodes to a cutter at every one of its tips, in place."""
    grid, shape = surface.grid, body.shape
    _sink(z, grid.x0, grid.y0, grid.spacing, tips, shape.flat_radius, shape.corner_radius)
    return z


@kernel
def _sink(
    z: Floats,
    x0: float,
    y0: float,
    spacing: float,
    points: Floats,
    flat: float,
    corner: float,
) -> None:
    """Lower every node under a cutter to it, at every point of its tip."""
    ny, nx = z.shape
    radius = flat + corner
    for n in range(points.shape[0]):
        x, y, tip = points[n, 0], points[n, 1], points[n, 2]
        low = max(int(np.ceil((y - radius - y0) / spacing)), 0)
        high = min(int(np.floor((y + radius - y0) / spacing)), ny - 1)
        for j in range(low, high + 1):
            away = y0 + j * spacing - y
            half = np.sqrt(max(radius * radius - away * away, 0.0))
            first = max(int(np.ceil((x - half - x0) / spacing)), 0)
            last = min(int(np.floor((x + half - x0) / spacing)), nx - 1)
            for i in range(first, last + 1):
                rise = z[j, i] - tip
                if rise <= 0:
                    continue
                along = x0 + i * spacing - x
                z[j, i] = min(z[j, i], tip + _arc(away * away + along * along, flat, corner, rise))


@kernel
def _arc(squared: float, flat: float, corner: float, rise: float) -> float:
    """Return how far above its tip a cutter is, or more than ``rise`` where that is lower.

    Args:
        squared: square of the distance from its axis, mm².
        flat: radius of its flat, mm.
        corner: radius of its corner, mm.
        rise: mm, above 0.
    """
    if squared <= flat * flat:
        return 0.0
    # Of most nodes it is seen without a root that they lie under the arc already.
    if flat == 0 and rise < corner and corner * corner - squared < (corner - rise) ** 2:
        return np.inf
    across = np.sqrt(squared) - flat
    return float(corner - np.sqrt(max(corner * corner - across * across, 0.0)))
