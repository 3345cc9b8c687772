"""How light falls on a height field: sun, soft shadow, and a sky that walls hide.

A horizon angle is found by looking along a direction at growing distances. The share of the sky
a point sees is the mean of cos² of its horizon angles (a sky of even brightness over a level
point, from memory).
"""

from __future__ import annotations

from math import cos, radians, sin, tan
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.kernels import kernel

Shades = npt.NDArray[np.float32]

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: The sun stands at the upper left, as drawings are lit.
SUN_AZIMUTH = radians(142)
SUN_HEIGHT = radians(38)

#: Shadows fade over this much of the sun's tangent.
PENUMBRA = 0.30

#: The sky is looked at in so many directions, up to so many mm away.
DIRECTIONS = 12
REACH = 24.0

#: Sky and shadow are soft: they are worked out on nodes this far apart, mm.
COARSE = 0.8

#: Ambient, sun and sheen in the sum of light; a level, open surface comes to about 0.93.
SKY, SUN, SHEEN = 0.50, 0.70, 0.45


def light_on(surface: HeightField) -> Shades:
    """Return the light at every node, (ny, nx) float32: 0 dark, 1 plain, above 1 shining."""
    grid = surface.grid
    slope_y, slope_x = np.gradient(surface.z, grid.spacing)
    length = np.sqrt(slope_x**2 + slope_y**2 + 1)
    sun = np.array(
        [
            cos(SUN_AZIMUTH) * cos(SUN_HEIGHT),
            sin(SUN_AZIMUTH) * cos(SUN_HEIGHT),
            sin(SUN_HEIGHT),
        ]
    )
    facing = np.clip((-slope_x * sun[0] - slope_y * sun[1] + sun[2]) / length, 0, 1)
    # Half way between the sun and an eye overhead, for the sheen of cut plastic.
    half = (sun + np.array([0.1, -0.45, 0.85])) / np.linalg.norm(sun + np.array([0.1, -0.45, 0.85]))
    sheen = np.clip((-slope_x * half[0] - slope_y * half[1] + half[2]) / length, 0, 1) ** 40
    stride = max(1, round(COARSE / grid.spacing))
    coarse = np.ascontiguousarray(surface.z[::stride, ::stride], dtype=np.float32)
    sky, lit = sky_and_shadow(
        coarse,
        grid.spacing * stride,
        REACH,
        DIRECTIONS,
        np.array([cos(SUN_AZIMUTH), sin(SUN_AZIMUTH), tan(SUN_HEIGHT), PENUMBRA]),
    )
    sky_seen, sun_seen = (_spread(part, stride, grid.shape) for part in (sky, lit))
    light = SKY * sky_seen + sun_seen * (SUN * facing + SHEEN * sheen)
    return np.asarray(light, np.float32)


def _spread(coarse: Shades, stride: int, shape: tuple[int, int]) -> Floats:
    """Return a coarse array linearly interpolated on the fine nodes."""
    rows = np.minimum(np.arange(shape[0]) / stride, coarse.shape[0] - 1)
    columns = np.minimum(np.arange(shape[1]) / stride, coarse.shape[1] - 1)
    j = np.minimum(rows.astype(int), max(coarse.shape[0] - 2, 0))
    i = np.minimum(columns.astype(int), max(coarse.shape[1] - 2, 0))
    t, s = (rows - j)[:, None], (columns - i)[None, :]
    j2, i2 = np.minimum(j + 1, coarse.shape[0] - 1), np.minimum(i + 1, coarse.shape[1] - 1)
    low = coarse[j][:, i] * (1 - s) + coarse[j][:, i2] * s
    high = coarse[j2][:, i] * (1 - s) + coarse[j2][:, i2] * s
    fine: Floats = low * (1 - t) + high * t
    return fine


@kernel
def sky_and_shadow(
    z: Shades, spacing: float, reach: float, directions: int, sun: Floats
) -> tuple[Shades, Shades]:
    """Return the share of sky seen and of sun received at every node.

    Args:
        z: (ny, nx) float32 heights, mm.
        spacing: of the nodes, mm.
        reach: how far walls are looked for, mm.
        directions: how many ways the sky is looked at.
        sun: plan direction x and y towards the sun, tangent of its height, width of the penumbra
            in the same measure.
    """
    ny, nx = z.shape
    sky = np.empty((ny, nx), np.float32)
    lit = np.empty((ny, nx), np.float32)
    top = z.max()
    for j in range(ny):
        for i in range(nx):
            here = z[j, i]
            total = 0.0
            for k in range(directions):
                angle = 2 * np.pi * (k + 0.5) / directions
                steepest = _steepest(z, j, i, np.cos(angle), np.sin(angle), spacing, reach, 1.35)
                total += 1 / (1 + steepest * steepest)
            sky[j, i] = total / directions
            far = min(reach, (top - here) / sun[2] + spacing)
            steepest = _steepest(z, j, i, sun[0], sun[1], spacing, far, 1.0)
            lit[j, i] = min(1.0, max(0.0, 0.5 - (steepest - sun[2]) / sun[3]))
    return sky, lit


@kernel
def _steepest(
    z: Shades, j: int, i: int, x: float, y: float, spacing: float, reach: float, growth: float
) -> float:
    """Return the largest upward slope seen from a node along one direction, 0 at least."""
    ny, nx = z.shape
    best = 0.0
    distance = spacing
    while distance <= reach:
        column = int(np.rint(i + x * distance / spacing))
        row = int(np.rint(j + y * distance / spacing))
        if column < 0 or row < 0 or column >= nx or row >= ny:
            break
        slope = (z[row, column] - z[j, i]) / distance
        best = max(best, slope)
        distance = max(distance * growth, distance + spacing)
    return best
