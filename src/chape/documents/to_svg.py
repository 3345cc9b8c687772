"""The flat pattern as an SVG drawing of its true size, for laser, plotter or paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents import palette
from chape.documents.sketch import MEASURE, Pen, Sketch
from chape.sheath.model import HoleUse

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.documents.pattern import Segment
    from chape.field.outline import Outline
    from chape.sheath.model import Hole, Slot

#: Paper round the pattern, mm.
MARGIN = 10.0

#: Length of the check bar, mm: laid against a ruler it shows whether a print kept its size.
CHECK_BAR = 50.0

_CUT = Pen(palette.INK, 0.2)
_FOLD = Pen(palette.FOLD, 0.25, (4, 2))
_DRAIN = Pen(palette.MOSS, 0.2)


def pattern_svg(
    outline: Outline,
    holes: Sequence[Hole],
    fold_line: Segment | None = None,
    title: str = "",
    slots: Sequence[Slot] = (),
) -> bytes:
    """Draw a flat pattern 1:1: one mm of the pattern is one mm of the drawing.

    Arcs stay arcs. The front of the pattern lies as in the flat frame, u to the right, v up. A
    check bar stands below it. The same pattern gives the same bytes.

    Args:
        outline: trimmed outline, flat frame.
        holes: of the flat pattern; each gets a centre cross.
        fold_line: ((u, v), (u, v)) ends of the fold line, dashed; None where there is no fold.
        title: written beside the check bar.
        slots: of the flat pattern.
    """
    x_min, y_min, x_max, y_max = outline.bounds
    x_max = max(x_max, x_min + CHECK_BAR)
    width = x_max - x_min + 2 * MARGIN
    sketch = Sketch.around(
        (x_min, y_min, x_max, y_max), width, (MARGIN, MARGIN, MARGIN, 2 * MARGIN), title
    )
    sketch.outline(outline, _CUT)
    for hole in holes:
        pen = _DRAIN if hole.use is HoleUse.DRAIN else _CUT
        sketch.circle(hole.u, hole.v, hole.diameter / 2, pen)
        arm = hole.diameter / 2 + 1
        sketch.line(hole.u - arm, hole.v, hole.u + arm, hole.v, MEASURE)
        sketch.line(hole.u, hole.v - arm, hole.u, hole.v + arm, MEASURE)
    for slot in slots:
        sketch.outline(slot.outline, _CUT)
    if fold_line is not None:
        (u1, v1), (u2, v2) = fold_line
        sketch.line(u1, v1, u2, v2, _FOLD)
    level = y_min - 1.2 * MARGIN
    sketch.dimension((x_min, level), (x_min + CHECK_BAR, level), f"{CHECK_BAR:g} mm")
    if title:
        sketch.text(x_min, level, title, shift=(0, -4), anchor="start")
    return sketch.svg()
