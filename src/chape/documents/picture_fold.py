"""The fold in pictures: how the flat strip was reckoned, and where the fold lies over the spine."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.documents import palette
from chape.documents.chart import Axis, Chart
from chape.documents.sketch import Pen, Sketch
from chape.sheath.fold import apex
from chape.sheath.halves import fold_ends
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.model import Fold, Sheath

SHEET = Pen(palette.SHEET_DARK, 0.2, (), palette.SHEET)
NEUTRAL = Pen(palette.FOLD, 0.3, (1.6, 0.9))

#: Points along the half circle of a bend.
ARC = 61


def compensation(fold: Fold, unit: LengthUnit, width: float = 80.0) -> Sketch:
    """Return the widest section of the fold, flat as formed and folded, at one scale.

    The broken line is the layer that keeps its length: as long in the one as in the other.
    """
    g, t = float(fold.height.max()), fold.gauge
    neutral = g + fold.k_factor * t
    length = pi * neutral
    scale = min(2.4, (width - 8) / length)
    high = 2 * (g + t) + 16 / scale + t
    middle = length / 2
    sketch = Sketch(
        width, high * scale + 20, middle - width / 2 / scale, high + 7 / scale, scale,
        "The strip, flat as it is formed, and folded",
    )  # fmt: skip
    # The flat strip above, its inside down.
    low = high - t
    sketch.region(shapely.box(0.0, low, length, high), SHEET)
    rest = low + fold.k_factor * t
    sketch.line(0.0, rest, length, rest, NEUTRAL)
    words = f"flat strip {show_length(length, unit)}"
    sketch.dimension((0.0, low), (length, low), words, offset=-5)
    # The U below, open to the left.
    turn = np.linspace(pi / 2, -pi / 2, ARC)
    centre = np.array([middle - g / 2, g + t])
    inside, outside, layer = (
        centre + radius * np.column_stack([np.cos(turn), np.sin(turn)])
        for radius in (g, g + t, neutral)
    )
    sketch.region(shapely.Polygon([*inside, *outside[::-1]]), SHEET)
    sketch.polyline(layer, NEUTRAL)
    x, y = centre
    sketch.dimension((x, y - g), (x, y + g), show_length(2 * g, unit), offset=6)
    right = float(outside[:, 0].max())
    over = f"over the fold {show_length(2 * (g + t), unit)}"
    sketch.text(right, float(y), over, shift=(3, 0), anchor="start", size=2.6)
    return sketch


def over_the_spine(sheath: Sheath, fold: Fold, unit: LengthUnit, width: float = 170.0) -> Chart:
    """Return where the inside of the fold lies along the knife, and how far over its spine."""
    first, last = fold_ends(sheath, fold)
    inside = (fold.x >= first) & (fold.x <= last)
    x, scale = fold.x[inside], 1.0 / unit.in_mm
    spine = spine_of(sheath, x)
    name = "in" if unit is LengthUnit.INCH else "mm"
    ends = np.concatenate([spine[np.isfinite(spine)], fold.end[inside], [fold.line]])
    chart = Chart(
        width, 56.0,
        Axis.around(scale * x, f"x from the tip, {name}", zero=False),
        Axis.around(scale * ends, f"y, {name}", zero=False),
        "The fold over the spine",
    )  # fmt: skip
    top, known = apex(fold)[inside], np.isfinite(spine)
    chart.band(scale * x[known], scale * spine[known], scale * top[known], palette.COPPER)
    chart.line(scale * x, scale * spine, Pen(palette.STEEL_DARK, 0.5))
    chart.line(scale * x, scale * top, Pen(palette.FOLD, 0.5))
    chart.line(scale * x, scale * fold.end[inside], Pen(palette.FOLD, 0.25, (1.2, 1.2)))
    chart.level(scale * fold.line, "fold line on the flat sheet", palette.SLATE)
    return chart


def spine_of(sheath: Sheath, x: Floats) -> Floats:
    """Return (n,) the knife's highest y at each x, mm; not a number beyond its ends."""
    _, y_min, _, y_max = sheath.knife.outline.bounds
    lines = shapely.box(x - 0.05, y_min - 1, x + 0.05, y_max + 1)
    tops: Floats = shapely.bounds(shapely.intersection(lines, sheath.knife.outline))[:, 3]
    return tops
