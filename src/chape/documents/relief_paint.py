"""The painter's walk: every picture column from near to far, only what rises above the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.documents.relief_light import Shades
    from chape.field.grid import Floats


@kernel
def paint(
    tone: Shades,
    away: Shades,
    z: Floats,
    light: Shades,
    grid: Floats,
    plate: Floats,
    eye: Floats,
    window: Floats,
) -> None:
    """Fill ``tone`` and ``away`` with what is seen of a plate.

    Args:
        tone: (rows, columns) float32, top row first; light of what is painted.
        away: the same shape; how far along the view what is painted lies, mm.
        z: (ny, nx) heights at the nodes, mm.
        light: (ny, nx) light at the nodes.
        grid: x and y of the first node, spacing.
        plate: width, depth and underside of the plate, mm.
        eye: cos and sin of the azimuth, cos and sin of the elevation.
        window: ``across`` and ``up`` of the lower left corner, size of a sample, mm.
    """
    rows, columns = tone.shape
    cos_a, sin_a, cos_e, sin_e = eye
    width, depth, bottom = plate
    pixel = window[2]
    for column in range(columns):
        across = window[0] + (column + 0.5) * pixel
        near, far, side = _span(across, cos_a, sin_a, width, depth)
        if near >= far:
            continue
        step = min(grid[2] / 2, pixel)
        count = int((far - near) / step) + 1
        below = near * sin_e + bottom * cos_e
        painted = int(np.ceil((below - window[1]) / pixel - 0.5))
        earlier_up, earlier_light = below, side
        for k in range(count + 1):
            forward = min(near + k * step, far)
            x = across * cos_a + forward * sin_a
            y = -across * sin_a + forward * cos_a
            height, lit = _sample(z, light, (x - grid[0]) / grid[2], (y - grid[1]) / grid[2])
            up = forward * sin_e + height * cos_e
            last = min(rows - 1, int(np.ceil((up - window[1]) / pixel - 0.5)) - 1)
            start_light = side if k == 0 else earlier_light
            end_light = side if k == 0 else lit
            for row in range(max(painted, 0), last + 1):
                share = 1.0
                if up > earlier_up:
                    share = (window[1] + (row + 0.5) * pixel - earlier_up) / (up - earlier_up)
                    share = min(1.0, max(0.0, share))
                value = start_light + (end_light - start_light) * share
                if k == 0:
                    # The side of the plate darkens towards the bench.
                    value = side * (0.72 + 0.28 * share)
                tone[rows - 1 - row, column] = value
                away[rows - 1 - row, column] = forward
            painted = max(painted, last + 1)
            earlier_up, earlier_light = up, lit


@kernel
def _span(
    across: float, cos_a: float, sin_a: float, width: float, depth: float
) -> tuple[float, float, float]:
    """Return where a column enters and leaves the plate, and the light of the side it enters by."""
    near, far, side = -1e9, 1e9, 0.5
    # Plan point: (across cos a + f sin a, f cos a - across sin a).
    for axis in range(2):
        offset = across * cos_a if axis == 0 else -across * sin_a
        rate = sin_a if axis == 0 else cos_a
        size = width if axis == 0 else depth
        if abs(rate) < 1e-12:
            if offset < 0 or offset > size:
                return 0.0, 0.0, side
            continue
        first, last = (0 - offset) / rate, (size - offset) / rate
        if first > last:
            first, last = last, first
        if first > near:
            near = first
            # The front of the plate is lit better than its flank.
            side = 0.66 if axis == 1 else 0.42
        far = min(far, last)
    return near, far, side


@inner_kernel
def _sample(z: Floats, light: Shades, u: float, v: float) -> tuple[float, float]:
    """Return height and light between the nodes, linear both ways; clamped at the edge."""
    ny, nx = z.shape
    u = min(max(u, 0.0), nx - 1.0)
    v = min(max(v, 0.0), ny - 1.0)
    i = min(int(u), nx - 2)
    j = min(int(v), ny - 2)
    s, t = u - i, v - j
    height = (1 - t) * ((1 - s) * z[j, i] + s * z[j, i + 1]) + t * (
        (1 - s) * z[j + 1, i] + s * z[j + 1, i + 1]
    )
    lit = (1 - t) * ((1 - s) * light[j, i] + s * light[j, i + 1]) + t * (
        (1 - s) * light[j + 1, i] + s * light[j + 1, i + 1]
    )
    return height, lit
