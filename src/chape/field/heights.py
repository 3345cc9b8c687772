"""Height fields: one z over every node of a grid.

Between nodes the surface is two triangles per cell, cut along the diagonal from the lower-left
node to the upper-right one. Whatever samples, cuts, meshes or measures a field uses that same
surface.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from chape.field.grid import Floats, Grid


@dataclass(frozen=True, slots=True, eq=False)
class HeightField:
    """A surface ``z(x, y)``.

    Attributes:
        grid: where the nodes are.
        z: (ny, nx) float64 heights, mm; finite everywhere. Read-only.
    """

    grid: Grid
    z: Floats

    def __post_init__(self) -> None:
        if self.z.shape != self.grid.shape:
            raise ValueError(f"heights {self.z.shape} do not fit the grid {self.grid.shape}")
        if not np.isfinite(self.z).all():
            raise ValueError("heights must be finite")
        z = np.ascontiguousarray(self.z, dtype=np.float64)
        if z is self.z and z.flags.writeable:
            z = z.copy()
        z.setflags(write=False)
        object.__setattr__(self, "z", z)

    @classmethod
    def flat(cls, grid: Grid, height: float = 0.0) -> HeightField:
        """Return a level field."""
        return cls(grid, np.full(grid.shape, height))

    @classmethod
    def of(cls, grid: Grid, function: Callable[[Floats, Floats], Floats]) -> HeightField:
        """Return the field of a function of node abscissae and ordinates."""
        return cls(grid, function(*grid.mesh()))

    def with_z(self, z: Floats) -> HeightField:
        """Return other heights over the same grid."""
        return HeightField(self.grid, z)

    def at(self, points: Floats) -> Floats:
        """Sample the surface.

        Args:
            points: (n, 2) abscissae and ordinates, mm; clamped to the grid's edge outside it.

        Returns:
            (n,) heights on the two-triangle surface.
        """
        grid = self.grid
        u = np.clip((points[:, 0] - grid.x0) / grid.spacing, 0, grid.nx - 1)
        v = np.clip((points[:, 1] - grid.y0) / grid.spacing, 0, grid.ny - 1)
        i = np.minimum(u.astype(np.int64), grid.nx - 2)
        j = np.minimum(v.astype(np.int64), grid.ny - 2)
        s, t = u - i, v - j
        z00, z10 = self.z[j, i], self.z[j, i + 1]
        z01, z11 = self.z[j + 1, i], self.z[j + 1, i + 1]
        below = z00 + s * (z10 - z00) + t * (z11 - z10)
        above = z00 + t * (z01 - z00) + s * (z11 - z01)
        heights: Floats = np.where(s >= t, below, above)
        return heights

    def scaled(self, factor: float) -> HeightField:
        """Return the surface scaled about the origin, in the plane and in height."""
        return HeightField(self.grid.scaled(factor), self.z * factor)
