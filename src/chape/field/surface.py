"""Closed solids made of triangles, built from height fields."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from chape.errors import CannotMakeError
from chape.field.decimate import decimated
from chape.field.drilled import genus, open_above, simplified, with_holes
from chape.field.solid import Solid

if TYPE_CHECKING:
    from chape.field.heights import HeightField

__all__ = [
    "Solid",
    "closed_body",
    "genus",
    "open_above",
    "simplified",
    "solid_below",
    "with_holes",
]

Indices = npt.NDArray[np.int32]


def solid_below(surface: HeightField, z_bottom: float, tolerance: float = 0.0) -> Solid:
    """Return the block between a height field and a level underside.

    Args:
        surface: its top, out to the edge of its grid.
        z_bottom: the underside, mm; below the whole surface.
        tolerance: 0 keeps every node and the field's own triangles; else as few triangles as keep
            every node within this, measured across the surface, mm (``field/decimate.py``).

    Raises:
        CannotMakeError: the surface reaches down to the underside.
    """
    lowest = float(surface.z.min())
    if not lowest > z_bottom:
        raise CannotMakeError(
            f"a surface reaches down to z = {lowest:.3f} mm, below its underside at "
            f"{z_bottom:.3f} mm",
            mend="Use a thicker plate",
        )
    number, triangles = decimated(surface, tolerance) if tolerance > 0 else every_node(surface)
    rows, columns = np.nonzero(number >= 0)
    grid = surface.grid
    top = np.column_stack([grid.x[columns], grid.y[rows], surface.z[rows, columns]])
    rim = rim_of(number)
    under = top[rim] * np.array([1.0, 1.0, 0.0]) + np.array([0.0, 0.0, z_bottom])
    x_min, y_min, x_max, y_max = grid.bounds
    middle = np.array([[(x_min + x_max) / 2, (y_min + y_max) / 2, z_bottom]])
    below = len(top) + np.arange(len(rim))
    following, below_following = np.roll(rim, -1), np.roll(below, -1)
    centre = np.full(len(rim), len(top) + len(rim))
    parts = [
        triangles,
        np.column_stack([below, below_following, following]),
        np.column_stack([below, following, rim]),
        np.column_stack([below_following, below, centre]),
    ]
    return Solid(np.vstack([top, under, middle]), np.vstack(parts).astype(np.int32))


def closed_body(half: HeightField, tolerance: float = 0.005) -> Solid:
    """Return the body that reaches ``half`` above and below the plane z = 0.

    Cells whose four nodes all have some thickness make the body; it ends in an upright band around
    them, so that it lies inside wherever the true body ends between nodes. Of several parts the
    largest is kept, and parts that only meet at a corner count as apart.

    Args:
        half: half-thickness, mm; 0 outside the body.
        tolerance: 0 keeps every node; else triangles are joined where that moves the surface by
            less than this, mm.

    Raises:
        CannotMakeError: no cell is left.
    """
    thick = half.z > 0
    cells = thick[:-1, :-1] & thick[1:, :-1] & thick[:-1, 1:] & thick[1:, 1:]
    cells = _one_part(_without_corner_contacts(cells))
    if not cells.any():
        raise CannotMakeError(
            "a body is thinner than its grid everywhere", mend="Use a finer grid spacing"
        )
    used = np.zeros(half.grid.shape, dtype=bool)
    for j, i in ((0, 0), (0, 1), (1, 0), (1, 1)):
        used[j : j + cells.shape[0], i : i + cells.shape[1]] |= cells
    number = np.where(used, np.cumsum(used).reshape(used.shape) - 1, -1).astype(np.int32)
    rows, columns = np.nonzero(used)
    x, y, h = half.grid.x[columns], half.grid.y[rows], half.z[rows, columns]
    top = _cell_triangles(number, cells)
    start, end = _border(number, cells)
    count = len(x)
    vertices = np.vstack([np.column_stack([x, y, h]), np.column_stack([x, y, -h])])
    parts = [
        top,
        top[:, ::-1] + count,
        np.column_stack([start + count, end + count, end]),
        np.column_stack([start + count, end, start]),
    ]
    solid = Solid(vertices, np.vstack(parts).astype(np.int32))
    return simplified(solid, tolerance) if tolerance > 0 else solid


def every_node(surface: HeightField) -> tuple[Indices, Indices]:
    """Return the numbers of all nodes, and the field's own two triangles per cell."""
    ny, nx = surface.grid.shape
    number = np.arange(ny * nx, dtype=np.int32).reshape(ny, nx)
    return number, _cell_triangles(number, np.ones((ny - 1, nx - 1), dtype=bool))


def _cell_triangles(number: Indices, cells: npt.NDArray[np.bool_]) -> Indices:
    """Return both triangles of the chosen cells, cut from lower left to upper right."""
    lower_left, lower_right = number[:-1, :-1][cells], number[:-1, 1:][cells]
    upper_left, upper_right = number[1:, :-1][cells], number[1:, 1:][cells]
    below = np.column_stack([lower_left, lower_right, upper_right])
    above = np.column_stack([lower_left, upper_right, upper_left])
    return np.vstack([below, above])


def rim_of(number: Indices) -> Indices:
    """Return the numbered nodes along the edge of a grid, once round counter-clockwise."""
    around = np.concatenate([number[0, :-1], number[:-1, -1], number[-1, :0:-1], number[:0:-1, 0]])
    return around[around >= 0]


def _border(number: Indices, cells: npt.NDArray[np.bool_]) -> tuple[Indices, Indices]:
    """Return start and end of every grid edge between a chosen cell, on its left, and another."""
    framed = np.pad(cells, 1)
    # Below, right of, above and left of each cell.
    outside = [framed[:-2, 1:-1], framed[1:-1, 2:], framed[2:, 1:-1], framed[1:-1, :-2]]
    corners = [number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]]
    starts = [corners[k][cells & ~outside[k]] for k in range(4)]
    ends = [corners[(k + 1) % 4][cells & ~outside[k]] for k in range(4)]
    return np.concatenate(starts), np.concatenate(ends)


def _without_corner_contacts(cells: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Drop cells that meet another only at a corner: a body cannot hang together there."""
    cells = cells.copy()
    while True:
        a, b, c, d = cells[:-1, :-1], cells[:-1, 1:], cells[1:, :-1], cells[1:, 1:]
        rising, falling = a & d & ~b & ~c, b & c & ~a & ~d
        if not (rising.any() or falling.any()):
            return cells
        cells[1:, 1:][rising] = False
        cells[1:, :-1][falling] = False


def _one_part(cells: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Keep the largest part of cells joined by their sides."""
    part, count = ndimage.label(cells)
    if count < 2:
        return cells
    largest = 1 + int(np.argmax(np.bincount(part.ravel())[1:]))
    kept: npt.NDArray[np.bool_] = part == largest
    return kept
