"""A knife's outline as a drawing of its true size, as a knife file names it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch

if TYPE_CHECKING:
    from shapely import Polygon

#: Paper round the outline, mm.
MARGIN = 5.0

_LINE = Pen(palette.INK, 0.1)


def outline_svg(outline: Polygon, title: str = "") -> bytes:
    """Draw an outline 1:1, a single closed line: tip left, edge down.

    Args:
        outline: in the knife frame, mm.
        title: for those who cannot see the drawing.
    """
    x_min, y_min, x_max, y_max = outline.bounds
    width, height = x_max - x_min + 2 * MARGIN, y_max - y_min + 2 * MARGIN
    sketch = Sketch(width, height, x_min - MARGIN, y_max + MARGIN, 1.0, title)
    sketch.polyline(shapely.get_coordinates(outline.exterior)[:-1], _LINE, closed=True)
    return sketch.svg()
