"""How wide each cutter cuts along its path: a plan of the piece, seen in simulation.

Where paths cross, the widest cut is shown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.preview import JUMP, RAPID
from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.documents.to_png import png_of

if TYPE_CHECKING:
    from chape.cutting.model import Setup
    from chape.cutting.preview import Preview

#: Upper bounds of the bands, as shares of the diameter, and the colour of each.
BANDS = (
    (0.10, palette.Colour(0xD3, 0xE0, 0xD6)),
    (0.25, palette.Colour(0xA9, 0xC5, 0xBB)),
    (0.50, palette.Colour(0x4A, 0x7C, 0x86)),
    (0.75, palette.Colour(0xB8, 0x86, 0x3B)),
    (1.00, palette.Colour(0xC2, 0x3B, 0x22)),
)
#: Pixels of the longer side.
PIXELS = 900


def engagement_picture(setup: Setup, preview: Preview, width: float = 112.0) -> Sketch:
    """Return the plan of how wide a program cuts, with its legend."""
    x_min, y_min, x_max, y_max = setup.box
    sketch = Sketch.around(setup.box, width, (1, 1, 30, 1), f"How wide {setup.title} cuts")
    pixel = max(setup.width, setup.depth) / PIXELS
    columns, rows = (int(np.ceil(size / pixel)) for size in (setup.width, setup.depth))
    shares = np.full((rows, columns), -1.0)
    cuts = np.flatnonzero((preview.flags & (RAPID | JUMP)) == 0)
    cuts = cuts[preview.depth[cuts] > 0]
    start, end = (preview.end[cuts - k, :2].astype(np.float64) for k in (1, 0))
    steps = np.maximum(2, np.ceil(np.hypot(*(end - start).T) / pixel).astype(np.int64) + 1)
    which = np.repeat(np.arange(len(cuts)), steps)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(steps) - steps, steps)) / (
        steps[which] - 1
    )
    points = start[which] + share[:, None] * (end - start)[which]
    i, j = ((points - [x_min, y_min]) / pixel).astype(np.int64).T
    inside = (i >= 0) & (i < columns) & (j >= 0) & (j < rows)
    widths = preview.width[cuts][which] / 255
    np.maximum.at(shares, (j[inside], i[inside]), widths[inside])
    bounds = np.array([bound for bound, _ in BANDS])
    colours = np.array([palette.PAPER, *(colour for _, colour in BANDS)], np.uint8)
    band = np.minimum(np.searchsorted(bounds, shares), len(BANDS) - 1) + 1
    pixels = colours[np.where(shares < 0, 0, band)][::-1]
    sketch.image(png_of(pixels), x_min, y_min + rows * pixel, columns * pixel, rows * pixel)
    corners = [(x_min, y_min), (x_max, y_min), (x_max, y_max), (x_min, y_max)]
    sketch.polyline(np.array(corners), Pen(palette.INK, 0.25), closed=True)
    _draw_legend(sketch, x_max)
    return sketch


def _draw_legend(sketch: Sketch, x_max: float) -> None:
    right, _ = sketch.at(x_max, 0)
    height, top = 5.2, 9.0
    heading = "width of cut"
    sketch.text(*sketch.back(right + 4, top - 4.5), heading, anchor="start", bold=True)
    for number, (bound, colour) in enumerate(reversed(BANDS)):
        y = top + number * height
        corners = [(4, 0), (9, 0), (9, height), (4, height)]
        box = np.array([sketch.back(right + a, y + b) for a, b in corners])
        sketch.polyline(box, Pen(palette.PAPER, 0.2, (), colour), closed=True)
        words = f"to {bound:.0%}"
        sketch.text(*sketch.back(right + 10.5, y + height / 2), words, anchor="start", size=2.5)
