"""An outline whose corners were moved on the page, as the drawing a knife file names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import shapely

from chape.documents.outline_drawing import outline_svg
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

#: More corners than this no page draws, and no person moves.
MOST_CORNERS = 20_000


def moved_outline(corners: Sequence[tuple[float, float]], tables: Mapping[str, Any]) -> bytes:
    """Return the drawing of an outline.

    Args:
        corners: (x, y) in the knife frame, mm.
        tables: of its knife file, for its name.

    Raises:
        InputError: it is no outline: too few or too many corners, or it crosses itself; or the
            knife's drawing is none that can be written.
    """
    outline = tables.get("outline")
    drawing = outline.get("drawing") if isinstance(outline, dict) else None
    if not isinstance(drawing, str) or not drawing.lower().endswith(".svg"):
        raise InputError(
            "the outline is no SVG drawing that can be changed here",
            mend="Change the drawing in the program it came from",
            field="outline.drawing",
        )
    if not 3 <= len(corners) <= MOST_CORNERS:
        raise InputError(
            f"the outline has {len(corners)} corners",
            mend=f"Give it 3 to {MOST_CORNERS}",
            field="outline",
        )
    line = shapely.Polygon(corners)
    if not (shapely.is_valid(line) and line.area > 0):
        raise InputError(
            f"the outline crosses itself ({shapely.is_valid_reason(line).lower()})",
            mend="Move the point back",
            field="outline",
        )
    knife = tables.get("knife")
    title = knife.get("name") if isinstance(knife, dict) else None
    return outline_svg(shapely.orient_polygons(line), title if isinstance(title, str) else "")
