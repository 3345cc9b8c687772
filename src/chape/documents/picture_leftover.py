"""What a program leaves: a plan of the piece, coloured by the material that still stands.

Leftover is the height of the stock after the cut above the wanted surface, as the checker found it
from the program's own text; below the surface it is a gouge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.documents.to_png import png_of
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.cutting.model import Setup
    from chape.documents.palette import Colour
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Upper bounds of the bands, mm, and the colour of each; the last band is open.
BANDS: tuple[tuple[float, Colour], ...] = (
    (-0.02, palette.Colour(0xC2, 0x3B, 0x22)),
    (0.02, palette.Colour(0xEE, 0xF1, 0xEC)),
    (0.05, palette.Colour(0xD3, 0xE0, 0xD6)),
    (0.10, palette.Colour(0xA9, 0xC5, 0xBB)),
    (0.20, palette.Colour(0x77, 0xA3, 0xA1)),
    (0.50, palette.Colour(0x4A, 0x7C, 0x86)),
    (1.00, palette.Colour(0x2B, 0x55, 0x68)),
    (float("inf"), palette.Colour(0x1B, 0x33, 0x4A)),
)

#: Pixels of the longer side, at most.
PIXELS = 700


def leftover_picture(
    setup: Setup, leftover: HeightField, unit: LengthUnit, width: float = 112.0
) -> Sketch:
    """Return the plan of what one program leaves, with its legend."""
    x_min, y_min, x_max, y_max = box = setup.box
    sketch = Sketch.around(box, width, (1, 1, 30, 1), f"What {setup.title} leaves")
    sketch.image(*_coloured(leftover, setup))
    for outline in setup.outlines:
        sketch.outline(outline, Pen(palette.INK, 0.15))
    for groove in setup.grooves:
        sketch.polyline(groove.points, Pen(palette.SLATE, 0.3))
    for hole in setup.holes:
        sketch.circle(hole.x, hole.y, hole.diameter / 2, Pen(palette.SLATE, 0.12))
    for post in setup.keep_outs:
        sketch.circle(post.x, post.y, post.radius, Pen(palette.BRASS, 0.3, (0.8, 0.6)))
    sketch.polyline(
        np.array([(x_min, y_min), (x_max, y_min), (x_max, y_max), (x_min, y_max)]),
        Pen(palette.INK, 0.25), closed=True,
    )  # fmt: skip
    _draw_legend(sketch, setup, unit)
    return sketch


def band_shares(leftover: HeightField) -> tuple[tuple[float, float], ...]:
    """Return (upper bound mm, share of the nodes) of each band."""
    counts = np.bincount(_band(leftover.z).ravel(), minlength=len(BANDS))
    total = leftover.z.size
    return tuple(
        (bound, float(count) / total) for (bound, _), count in zip(BANDS, counts, strict=True)
    )


def _band(z: Floats) -> npt.NDArray[np.int64]:
    bounds = np.array([bound for bound, _ in BANDS[:-1]])
    return np.asarray(np.searchsorted(bounds, z, side="right"))


def _coloured(leftover: HeightField, setup: Setup) -> tuple[bytes, float, float, float, float]:
    """Return the map as PNG with its upper left corner and size, mm."""
    grid = leftover.grid
    left, front, right, back = setup.box
    i = np.flatnonzero((grid.x >= left) & (grid.x <= right))
    j = np.flatnonzero((grid.y >= front) & (grid.y <= back))
    z = leftover.z[j[0] : j[-1] + 1, i[0] : i[-1] + 1]
    stride = max(1, -(-max(z.shape) // PIXELS))
    rows, columns = (size // stride for size in z.shape)
    blocks = z[: rows * stride, : columns * stride].reshape(rows, stride, columns, stride)
    # A gouge shows however small it is; elsewhere the worst of each block counts.
    most, least = blocks.max(axis=(1, 3)), blocks.min(axis=(1, 3))
    shown = np.where(least < BANDS[0][0], least, most)
    colours = np.array([colour for _, colour in BANDS], np.uint8)
    pixels = colours[_band(shown)][::-1]
    spacing = grid.spacing * stride
    x_min = float(grid.x[i[0]]) - grid.spacing / 2
    y_min = float(grid.y[j[0]]) - grid.spacing / 2
    return png_of(pixels), x_min, y_min + rows * spacing, columns * spacing, rows * spacing


def _draw_legend(sketch: Sketch, setup: Setup, unit: LengthUnit) -> None:
    right, _ = sketch.at(setup.box[2], 0)
    height, top = 5.2, 9.0
    heading = "left, inch" if unit is LengthUnit.INCH else "left, mm"
    sketch.text(*sketch.back(right + 4, top - 4.5), heading, anchor="start", bold=True)
    for number, (_, colour) in enumerate(reversed(BANDS)):
        y = top + number * height
        corners = [(4, 0), (9, 0), (9, height), (4, height)]
        box = np.array([sketch.back(right + a, y + b) for a, b in corners])
        sketch.polyline(box, Pen(palette.PAPER, 0.2, (), colour), closed=True)
        below = len(BANDS) - 1 - number
        words = "gouge" if below == 0 else f"over {_short(BANDS[below - 1][0], unit)}"
        if below == 1:
            words = "on size"
        sketch.text(*sketch.back(right + 10.5, y + height / 2), words, anchor="start", size=2.5)
    if setup.keep_outs:
        y = top + len(BANDS) * height + 4
        sketch.circle(
            *sketch.back(right + 6.5, y), 1.8 / sketch.scale, Pen(palette.BRASS, 0.3, (0.8, 0.6))
        )
        sketch.text(*sketch.back(right + 10.5, y), "screw head", anchor="start", size=2.5)


def _short(length: float, unit: LengthUnit) -> str:
    return show_length(length, unit).split()[0]
