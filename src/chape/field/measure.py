"""What can be measured on a height field, exactly on its two triangles per cell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField


def volume_above(surface: HeightField, level: float) -> float:
    """Return the volume between a level plane and what of the surface stands above it, mm³.

    A triangle wholly above adds the prism under it. One that dips through the plane is cut: its
    corners, from low to high, are ``a ≤ b ≤ c`` above the plane, and per unit area it leaves a
    pyramid ``c³ / 3(c − a)(c − b)`` when only ``c`` is above, or loses the pyramid
    ``a³ / 3(b − a)(c − a)``, which is negative, when only ``a`` is below.
    """
    a, b, c = np.sort(_corners(surface) - level, axis=0)
    whole = (a + b + c) / 3
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        # As shares of a height rather than as cubes, which the least of numbers would not survive.
        tip = c / 3 * (c / (c - a)) * (c / (c - b))
        lost = a / 3 * (a / (b - a)) * (a / (c - a))
    prisms = np.select([a >= 0, b >= 0, c > 0], [whole, whole - lost, tip], 0.0)
    return float(prisms.sum()) * surface.grid.spacing**2 / 2


def area(surface: HeightField) -> float:
    """Return the area of the surface itself, mm²."""
    first, middle, last = _corners(surface) / surface.grid.spacing
    # Both triangles run along one side of the cell, then along the other: two slopes.
    stretch = np.sqrt(1 + (middle - first) ** 2 + (last - middle) ** 2)
    return float(stretch.sum()) * surface.grid.spacing**2 / 2


def upright_share(surface: HeightField) -> Floats:
    """Return the upward part of the surface's unit normal at every node, (ny, nx).

    That is the cosine of the slope: a height difference times it is the distance along the
    normal. Slopes are central differences, one-sided at the grid's edge.
    """
    by_y, by_x = np.gradient(surface.z, surface.grid.spacing)
    share: Floats = 1 / np.sqrt(1 + by_x**2 + by_y**2)
    return share


def _corners(surface: HeightField) -> Floats:
    """Return (3, m) heights of every triangle: lower-left, middle, upper-right corner."""
    z = surface.z
    low, high = z[:-1, :-1].ravel(), z[1:, 1:].ravel()
    below = np.stack([low, z[:-1, 1:].ravel(), high])
    above = np.stack([low, z[1:, :-1].ravel(), high])
    return np.concatenate([below, above], axis=1)
