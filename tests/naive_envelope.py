"""The envelope the slow way, as an oracle: sample every triangle finely and look at everything."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.field.body import Body
    from chape.field.grid import Floats
    from chape.field.heights import HeightField


def bracket(surface: HeightField, point: Floats, body: Body, pieces: int) -> tuple[float, float]:
    """Return two heights between which the exact tip height must lie.

    Every place of a cell is within half a sample's diagonal of a sample of the same triangle, so
    that height and distance there differ from the sample's by no more than slope times it, and it.
    """
    grid = surface.grid
    i, j = np.meshgrid(np.arange(grid.nx - 1), np.arange(grid.ny - 1))
    part = np.linspace(0, 1, pieces + 1)
    s, t = (part.ravel() for part in np.meshgrid(part, part))
    lowest, highest = -np.inf, -np.inf
    z = surface.z
    low, high = z[j, i][..., None], z[j + 1, i + 1][..., None]
    for below in (True, False):
        inside = s >= t if below else s <= t
        middle = (z[j, i + 1] if below else z[j + 1, i])[..., None]
        first, second = (s, t) if below else (t, s)
        heights = low + first[inside] * (middle - low) + second[inside] * (high - middle)
        slope = np.hypot(middle - low, high - middle) / grid.spacing
        x = grid.x0 + (i[..., None] + s[inside]) * grid.spacing - point[0]
        y = grid.y0 + (j[..., None] + t[inside]) * grid.spacing - point[1]
        near = grid.spacing / pieces * np.sqrt(0.5)
        r = np.hypot(x, y)
        lowest = max(lowest, float((heights - body.profile(r)).max()))
        shrunk = body.profile(np.maximum(r - near, 0.0))
        highest = max(highest, float((heights + slope * near - shrunk).max()))
    return lowest, highest


def over_nodes(surface: HeightField, point: Floats, body: Body) -> float:
    """Return the tip height if the surface were its nodes alone."""
    x, y = surface.grid.mesh()
    r = np.hypot(x - point[0], y - point[1])
    return float((surface.z - body.profile(r)).max())
