"""Where a setup permits cutting: its target, with holes and grooves stamped in.

Stamped a little wider than they are, since a node beside a wall must not turn a micrometre of
rounding into the whole depth of a hole; how wide holes really come out is measured on the cutter's
path instead (``check_holes``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.field.heights import HeightField

if TYPE_CHECKING:
    from chape.cutting.model import Setup
    from chape.field.grid import Floats, Grid
    from chape.tooling.model import Groove

#: Holes and grooves may be wider than drawn by this before the material beside them counts, mm.
ASIDE = 0.05
#: A hole or a groove may be deeper by this, mm. A hole's bottom is where the tip may go.
DEEPER = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Allowed:
    """What may be cut away.

    Attributes:
        surface: no cut may go below it.
        stamped: (ny, nx) nodes inside a hole or groove.
    """

    surface: HeightField
    stamped: npt.NDArray[np.bool_]


def allowed_of(setup: Setup) -> Allowed:
    """Return the surface below which nothing may be cut, over the grid of the stock."""
    grid = setup.stock.grid
    z = target_heights(setup).copy()
    stamped = np.zeros(grid.shape, dtype=np.bool_)
    for hole in setup.holes:
        window, distance = near_point(grid, hole.x, hole.y, hole.diameter / 2 + ASIDE)
        inside = distance <= hole.diameter / 2 + ASIDE
        floor = np.minimum(z[window], hole.z_bottom - DEEPER)
        z[window] = np.where(inside, floor, z[window])
        stamped[window] |= inside
    for groove in setup.grooves:
        reach = groove.width / 2 + ASIDE
        for window, distance in near_line(grid, groove, reach):
            inside = distance <= reach
            floor = np.minimum(z[window], groove.z_floor - DEEPER)
            z[window] = np.where(inside, floor, z[window])
            stamped[window] |= inside
    return Allowed(HeightField(grid, z), stamped)


def target_heights(setup: Setup) -> Floats:
    """Return (ny, nx) of the setup's target over the nodes of its stock, mm."""
    grid = setup.stock.grid
    if setup.target.grid == grid:
        return setup.target.z
    x, y = grid.mesh()
    return setup.target.at(np.column_stack([x.ravel(), y.ravel()])).reshape(grid.shape)


def near_point(grid: Grid, x: float, y: float, reach: float) -> tuple[tuple[slice, slice], Floats]:
    """Return the window of nodes within ``reach`` of a point, and their distances, mm."""
    window = _window(grid, x - reach, y - reach, x + reach, y + reach)
    distance: Floats = np.hypot(grid.x[window[1]][None, :] - x, grid.y[window[0]][:, None] - y)
    return window, distance


def near_line(grid: Grid, groove: Groove, reach: float) -> list[tuple[tuple[slice, slice], Floats]]:
    """Return, for each straight piece of a groove, a window of nodes and their distances, mm."""
    found = []
    for start, end in zip(groove.points[:-1], groove.points[1:], strict=True):
        low, high = np.minimum(start, end) - reach, np.maximum(start, end) + reach
        window = _window(grid, low[0], low[1], high[0], high[1])
        gx = grid.x[window[1]][None, :] - start[0]
        gy = grid.y[window[0]][:, None] - start[1]
        way = end - start
        squared = float(way @ way)
        share = np.clip((gx * way[0] + gy * way[1]) / squared, 0, 1) if squared else 0.0
        found.append((window, np.hypot(gx - share * way[0], gy - share * way[1])))
    return found


def _window(
    grid: Grid, x_min: float, y_min: float, x_max: float, y_max: float
) -> tuple[slice, slice]:
    """Return the rows and columns of the nodes inside a box."""

    def bounds(low: float, high: float, first: float, count: int) -> slice:
        begin = int(np.ceil((low - first) / grid.spacing - 1e-9))
        end = int(np.floor((high - first) / grid.spacing + 1e-9)) + 1
        return slice(min(max(begin, 0), count), min(max(end, 0), count))

    return bounds(y_min, y_max, grid.y0, grid.ny), bounds(x_min, x_max, grid.x0, grid.nx)
