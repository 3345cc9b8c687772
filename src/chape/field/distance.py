"""Distances in the plane."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats


@kernel
def distance_to_line(points: Floats, line: Floats) -> Floats:
    """Return the distance of each point from a chain of straight segments.

    Args:
        points: (n, 2), mm.
        line: (m, 2) corners in order, m >= 2, mm; it is not closed.

    Returns:
        (n,) distances, mm, exact for the straight segments.
    """
    count, last = points.shape[0], line.shape[0] - 1
    distances = np.empty(count)
    for k in range(count):
        x, y = points[k, 0], points[k, 1]
        nearest = np.inf
        for i in range(last):
            ax, ay = line[i, 0], line[i, 1]
            bx, by = line[i + 1, 0] - ax, line[i + 1, 1] - ay
            squared = bx * bx + by * by
            along = 0.0
            if squared > 0.0:
                along = min(1.0, max(0.0, ((x - ax) * bx + (y - ay) * by) / squared))
            dx, dy = x - ax - along * bx, y - ay - along * by
            nearest = min(nearest, dx * dx + dy * dy)
        distances[k] = np.sqrt(nearest)
    return distances
