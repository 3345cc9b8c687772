"""What the drawings of a flat pattern have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

if TYPE_CHECKING:
    from chape.field.outline import Outline
    from chape.sheath.model import Piece, Sheath

#: The two ends of a straight line, mm.
Segment = tuple[tuple[float, float], tuple[float, float]]


def stem_of(stem: str, sheath: Sheath, piece: Piece) -> str:
    """Return what a file about one piece is called: "outline", or "outline-front" of two pieces."""
    return stem if len(sheath.pieces) == 1 else f"{stem}-{piece.name}"


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
