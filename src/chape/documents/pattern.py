"""What the drawings of a flat pattern have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from chape.field.outline import Outline

#: The two ends of a straight line, mm.
Segment = tuple[tuple[float, float], tuple[float, float]]


def fold_line(outline: Outline) -> Segment | None:
    """Return the line v = 0 as far as it runs inside an outline, from its least u to its greatest.

    None where the outline does not reach the line: it has no fold.
    """
    x_min, _, x_max, _ = outline.bounds
    axis = shapely.LineString([(x_min - 1, 0.0), (x_max + 1, 0.0)])
    inside = outline.polygon().intersection(axis)
    if inside.is_empty or inside.length == 0:
        return None
    start, _, end, _ = inside.bounds
    return (float(start), 0.0), (float(end), 0.0)
