"""What the maker of programs believes still stands on the machine.

A coarse height field that flat cutters eat into as roughing is planned: it tells where the cutter
meets full material, where it runs in air, and how high it must travel. It is never lower than
the material really is; the proof is the checker's, which shares nothing with it.
"""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: Distance of the ground's nodes, mm: a fifteenth of the usual cutter.
SPACING = 0.4

#: Rays over the front half of the cutter that feel for material.
RAYS = 15


@kernel
def _cut_along(
    z: Floats, x0: float, y0: float, spacing: float, points: Floats, radius: float
) -> Floats:
    """Sink a flat disc at every point; return how deep it met material, mean over its front."""
    ny, nx = z.shape
    met = np.zeros(points.shape[0])
    # A node stands for the square around it: it is gone once the disc covers its middle and a
    # little more.
    reach = radius - 0.5 * spacing
    for n in range(points.shape[0]):
        x, y, level = points[n, 0], points[n, 1], points[n, 2]
        m = min(n + 1, points.shape[0] - 1)
        before = max(m - 1, 0)
        heading = np.arctan2(points[m, 1] - points[before, 1], points[m, 0] - points[before, 0])
        depth = 0.0
        for ray in range(RAYS):
            angle = heading + np.pi * ((ray + 0.5) / RAYS - 0.5)
            i = int(np.floor((x + 0.9 * radius * np.cos(angle) - x0) / spacing + 0.5))
            j = int(np.floor((y + 0.9 * radius * np.sin(angle) - y0) / spacing + 0.5))
            if 0 <= i < nx and 0 <= j < ny and z[j, i] > level + 0.05:
                depth += z[j, i] - level
        met[n] = depth / RAYS
        low, high = int(np.ceil((y - reach - y0) / spacing)), int((y + reach - y0) // spacing)
        for j in range(max(low, 0), min(high, ny - 1) + 1):
            across = y0 + j * spacing - y
            half = np.sqrt(max(reach * reach - across * across, 0.0))
            first, last = int(np.ceil((x - half - x0) / spacing)), int((x + half - x0) // spacing)
            for i in range(max(first, 0), min(last, nx - 1) + 1):
                z[j, i] = min(z[j, i], level)
    return met


@kernel
def _highest_at(
    z: Floats, x0: float, y0: float, spacing: float, points: Floats, radius: float
) -> Floats:
    """Return the highest node within ``radius`` of each point; minus infinity off the grid."""
    ny, nx = z.shape
    highest = np.full(points.shape[0], -np.inf)
    for n in range(points.shape[0]):
        x, y = points[n, 0], points[n, 1]
        low, high = int(np.ceil((y - radius - y0) / spacing)), int((y + radius - y0) // spacing)
        for j in range(max(low, 0), min(high, ny - 1) + 1):
            across = y0 + j * spacing - y
            half = np.sqrt(max(radius * radius - across * across, 0.0))
            first, last = int(np.ceil((x - half - x0) / spacing)), int((x + half - x0) // spacing)
            for i in range(max(first, 0), min(last, nx - 1) + 1):
                highest[n] = max(highest[n], z[j, i])
    return highest


class Ground:
    """A height field that remembers what has been planned away.

    Attributes:
        grid: its nodes.
        z: (ny, nx) heights, mm.
    """

    def __init__(self, stock: HeightField, spacing: float = SPACING) -> None:
        self.grid = Grid.over(*stock.grid.bounds, max(spacing, stock.grid.spacing))
        self.z = _highest_within(stock, self.grid)

    @property
    def field(self) -> HeightField:
        """The ground as it stands now."""
        return HeightField(self.grid, self.z.copy())

    def cut(self, points: Floats, radius: float) -> Floats:
        """Sink a flat cutter along points (n, 3), not more than a spacing apart.

        Returns:
            (n,) how deep the cutter's front half met material, mm, mean over it: at full width
            the depth, and in air nothing.
        """
        grid = self.grid
        return _cut_along(self.z, grid.x0, grid.y0, grid.spacing, points, float(radius))

    def tried(self, points: Floats, radius: float) -> Floats:
        """Return what ``cut`` would return, and leave the ground as it is."""
        grid = self.grid
        return _cut_along(self.z.copy(), grid.x0, grid.y0, grid.spacing, points, float(radius))

    def highest(self, points: Floats, radius: float) -> Floats:
        """Return the highest ground (mm) within ``radius`` of points (n, 2)."""
        grid = self.grid
        reach = float(radius) + grid.spacing
        return _highest_at(self.z, grid.x0, grid.y0, grid.spacing, points, reach)

    def highest_between(
        self, start: tuple[float, float], end: tuple[float, float], radius: float
    ) -> float:
        """Return the highest ground (mm) a cutter of ``radius`` may pass over on its way.

        A rapid may stray anywhere in the box between its ends: each axis runs at its own rate.
        """
        grid = self.grid
        room = radius + grid.spacing
        low, high = np.minimum(start, end) - room, np.maximum(start, end) + room
        i, j = (
            slice(
                max(floor((a - first) / grid.spacing), 0),
                max(ceil((b - first) / grid.spacing), 0) + 1,
            )
            for a, b, first in zip(low, high, (grid.x0, grid.y0), strict=True)
        )
        return float(self.z[j, i].max(initial=-np.inf))

    def stand(self, x: float, y: float, radius: float, top: float) -> None:
        """Put an upright post on the ground: what passes over it must pass higher (mm)."""
        across, along = np.meshgrid(self.grid.x - x, self.grid.y - y)
        under = np.hypot(across, along) <= radius + self.grid.spacing / 2
        self.z[under] = np.maximum(self.z[under], top)

    def highest_of(self, surface: HeightField) -> Floats:
        """Return (ny, nx) the highest of a surface around each of the ground's nodes, mm."""
        return _highest_within(surface, self.grid)

    def lower_to(self, surface: HeightField, margin: float) -> None:
        """Believe everything cut down to ``surface``, but for ``margin`` mm beside it."""
        reach = ceil(margin / self.grid.spacing)
        tops = ndimage.maximum_filter(_highest_within(surface, self.grid), size=2 * reach + 1)
        np.minimum(self.z, tops, out=self.z)


def _highest_within(surface: HeightField, grid: Grid) -> Floats:
    """Return a coarser field whose nodes carry the highest of what surrounds them."""
    reach = ceil(grid.spacing / surface.grid.spacing)
    tops = HeightField(surface.grid, ndimage.maximum_filter(surface.z, size=2 * reach + 1))
    x, y = grid.mesh()
    heights: Floats = tops.at(np.column_stack([x.ravel(), y.ravel()])).reshape(grid.shape)
    return heights
