"""The light a picture's pixels stand for.

A phone writes its pixels along a curve (IEC 61966-2-1, sRGB) that an edge's place must not be read
from: blur mixes light, so half way between dark and bright is half way in light, not in the
numbers written.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats

    Light = npt.NDArray[np.float32]


def _curve() -> Light:
    written = np.arange(256) / 255
    low = written / 12.92
    high = ((written + 0.055) / 1.055) ** 2.4
    return np.where(written <= 0.04045, low, high).astype(np.float32)


#: Light, 0 to 1, of each number a pixel may hold.
CURVE = _curve()


def light_of(pixels: npt.NDArray[np.uint8]) -> Light:
    """Return the light, 0 to 1, of pixels of any shape."""
    return CURVE[pixels]


def step_at(light: Floats) -> Floats:
    """Return how much light one step of 255 is where a picture shows ``light``, 0 to 1."""
    steps = np.diff(CURVE.astype(float))
    middles = (CURVE[1:] + CURVE[:-1]) / 2
    step: Floats = np.interp(light, middles, steps)
    return step


def light_at(pixels: npt.NDArray[np.uint8], places: Floats) -> Light:
    """Return the light at places between pixels.

    Args:
        pixels: (h, w, 3) or (h, w); a pixel's middle lies at whole numbers.
        places: (..., 2) column and row, pixels; what lies outside takes the nearest pixel's.

    Returns:
        (..., 3) or (...), 0 to 1.
    """
    flat = places.reshape(-1, 2)
    height, width = pixels.shape[:2]
    columns = np.clip(flat[:, 0], 0, width - 1)
    rows = np.clip(flat[:, 1], 0, height - 1)
    left = np.minimum(columns.astype(int), width - 2)
    upper = np.minimum(rows.astype(int), height - 2)
    right = (columns - left).astype(np.float32)
    lower = (rows - upper).astype(np.float32)
    if pixels.ndim == 3:
        right, lower = right[:, None], lower[:, None]
    at = CURVE[pixels[upper, left]] * ((1 - right) * (1 - lower))
    at += CURVE[pixels[upper, left + 1]] * (right * (1 - lower))
    at += CURVE[pixels[upper + 1, left]] * ((1 - right) * lower)
    at += CURVE[pixels[upper + 1, left + 1]] * (right * lower)
    return np.asarray(at.reshape(*places.shape[:-1], *pixels.shape[2:]), dtype=np.float32)
