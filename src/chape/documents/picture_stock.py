"""A sheet of stock as it is cut: blanks, what is left, and the cuts in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.solve.guillotine import REST

if TYPE_CHECKING:
    from chape.tooling.stock import CutSheet, Laid, StockPlan
    from chape.units import LengthUnit

#: The picture's room on the page, paper mm: sheet and the measures beside it.
WIDE, DEEP, ASIDE = 168.0, 196.0, 9.0

#: Cuts are numbered on the picture up to this many; the list beside it has them all.
NUMBERED = 60


def stock_picture(plan: StockPlan, sheet: CutSheet, unit: LengthUnit) -> bytes:
    """Return an SVG picture of one sheet."""
    stock = plan.stock
    wide, deep = stock.width, stock.depth or max(size.depth for size in plan.sizes)
    scale = min((WIDE - 2 * ASIDE) / wide, (DEEP - 2 * ASIDE) / deep)
    sketch = Sketch(
        wide * scale + 2 * ASIDE, deep * scale + 2 * ASIDE, -ASIDE / scale, deep + ASIDE / scale,
        scale, "A sheet of stock as it is cut",
    )  # fmt: skip
    sketch.polyline(_box(0, 0, wide, deep), Pen(palette.INK, 0.4, fill=palette.WASH), closed=True)
    for laid in sheet.laid:
        _draw_piece(sketch, plan, laid, unit)
    for number, cut in enumerate(sheet.cuts, 1):
        ends = (cut.at, cut.start, cut.at, cut.end)
        x1, y1, x2, y2 = ends if cut.upright else (cut.start, cut.at, cut.end, cut.at)
        sketch.line(x1, y1, x2, y2, Pen(palette.COPPER, 0.3))
        if number <= NUMBERED:
            _number(sketch, number, x1, y1)
    return sketch.svg()


def _box(
    x: float, y: float, wide: float, deep: float
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.array([(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)])


def _draw_piece(sketch: Sketch, plan: StockPlan, laid: Laid, unit: LengthUnit) -> None:
    box = _box(laid.x, laid.y, laid.width, laid.depth)
    if laid.size == REST:
        dashed = Pen(palette.HAIRLINE, 0.2, (1.2, 1.2), fill=palette.PAPER, opacity=0.6)
        sketch.polyline(box, dashed, closed=True)
        name = ""
    else:
        sketch.polyline(box, Pen(palette.INK, 0.25, fill=palette.SHEET), closed=True)
        name = plan.sizes[laid.size].name
    room_wide, room_deep = laid.width * sketch.scale, laid.depth * sketch.scale
    words = f"{_short(laid.width, unit)} × {_short(laid.depth, unit)}"
    middle = laid.x + laid.width / 2, laid.y + laid.depth / 2
    colour = palette.SLATE if laid.size < 0 else palette.INK
    size = min(2.6, room_deep / 3.2, room_wide / (0.62 * max(len(words), len(name), 1)))
    if size < 1.2:
        return
    if name:
        sketch.text(*middle, name, shift=(0, 0.7 * size), size=size, colour=colour)
    sketch.text(
        *middle, words, shift=(0, -0.7 * size if name else 0), size=size, colour=palette.SLATE
    )


def _number(sketch: Sketch, number: int, x: float, y: float) -> None:
    sketch.text(x, y, str(number), shift=(-1.2, -0.2), size=1.9, colour=palette.COPPER, halo=True)


def _short(length: float, unit: LengthUnit) -> str:
    return f"{length / unit.in_mm:.4g}"
