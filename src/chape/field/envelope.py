"""The one operation: to slide a body of revolution over a height field.

``dilate`` rolls the body over the surface and follows its tip; ``erode`` rolls it underneath.
``closing`` fills what the body cannot reach from above, ``opening`` removes what it cannot reach
from below. The surface is the two-triangle surface of ``HeightField``, and every location is
exact on it: facets, edges and vertices, not nodes alone. What remains is how well the triangles
follow the shape that was meant: about ``spacing² · curvature / 4`` where it is smooth, and about
0.2 of a cell, sideways, at a sharp crease.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.field.body import Body
from chape.field.envelope_kernels import tip_heights

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

__all__ = ["Body", "closing", "dilate", "erode", "locate", "opening"]


def locate(surface: HeightField, points: Floats, body: Body) -> Floats:
    """Return how low the body's tip may go at each point.

    That is the highest of ``surface(p) − profile(|p − c|)`` over the body's footprint. Outside
    the grid there is nothing: a body half off the grid rests on the half that is on it.

    Args:
        surface: what must not be cut, at least 2 by 2 nodes.
        points: (n, 2) places of the axis, mm. Quickest when neighbours in the list are near each
            other, as along a path.
        body: the cutter; its ``lift`` plays no part.

    Returns:
        (n,) heights, mm; minus infinity where the whole footprint lies off the grid, for there
        nothing stops the tip.

    Raises:
        ValueError: the points are not (n, 2) finite numbers, or the grid has no cell.
    """
    points = np.asarray(points, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2:
        raise ValueError(f"points must be (n, 2), not {points.shape}")
    if not np.isfinite(points).all():
        raise ValueError("points must be finite")
    grid = surface.grid
    if min(grid.shape) < 2:
        raise ValueError(f"a grid of {grid.nx} by {grid.ny} nodes has no cell")
    places = (points - np.array([grid.x0, grid.y0])) / grid.spacing
    return tip_heights(body.shape, surface.z, float(grid.spacing), places)


def dilate(surface: HeightField, body: Body) -> HeightField:
    """Return the height of the body's tip over every node, plus the body's lift."""
    x, y = surface.grid.mesh()
    tips = locate(surface, np.column_stack([x.ravel(), y.ravel()]), body)
    return surface.with_z(tips.reshape(surface.grid.shape) + body.lift)


def erode(surface: HeightField, body: Body) -> HeightField:
    """Return the dual of ``dilate``: the surface upside down, dilated, turned back."""
    below = dilate(surface.with_z(-surface.z), body)
    return surface.with_z(-below.z)


def closing(surface: HeightField, body: Body) -> HeightField:
    """Return the surface with everything filled that the body cannot touch from above.

    Never below ``surface``: where the rolled surface jumps within one cell, beside a wall taller
    than a ball's radius, its triangles alone would say less than that.
    """
    closed = erode(dilate(surface, body), body)
    return surface.with_z(np.maximum(closed.z, surface.z))


def opening(surface: HeightField, body: Body) -> HeightField:
    """Return the surface without anything the body cannot touch from below; never above it."""
    opened = dilate(erode(surface, body), body)
    return surface.with_z(np.minimum(opened.z, surface.z))
