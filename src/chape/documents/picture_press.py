"""The press for forming by hand, in section: bench, former, hot sheet, foam and board."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.units import show_length

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.model import Piece
    from chape.units import LengthUnit

#: Boards above and below, drawn as thick as this, mm.
BOARD = 18.0

#: Letters beside the stack need this much paper, mm.
BESIDE = 46.0


def press_drawing(
    piece: Piece, u: float, gauge: float, foam: float, unit: LengthUnit, width: float = 150.0
) -> Sketch:
    """Return the press with a piece's former in it, cut through at u, before it is closed.

    Args:
        piece: whose former lies in it.
        u: where it is cut, mm.
        gauge: of the sheet, mm.
        foam: thickness of the foam, not yet pressed, mm.
        unit: lengths are shown in it.
        width: of the picture, paper mm.
    """
    v, z = _section(piece, u)
    highest = float(z.max())
    left, right = float(v[0]) - 14.0, float(v[-1]) + 14.0
    gap = 6.0
    rest = highest + gauge + gap
    bounds = (left, -BOARD, right, rest + foam + BOARD)
    sketch = Sketch.around(bounds, width, (4, 4, BESIDE, 4), "The press, in section")
    wood = Pen(palette.SHEET_DARK, 0.25, (), palette.WASH)
    _box(sketch, left, -BOARD, right, 0.0, wood)
    _box(sketch, left, rest, right, rest + foam, Pen(palette.SLATE, 0.25, (), palette.STEEL, 0.3))
    _box(sketch, left, rest + foam, right, rest + foam + BOARD, wood)
    former = np.vstack([np.column_stack([v, z]), [[v[-1], 0.0], [v[0], 0.0]]])
    sketch.polyline(former, Pen(palette.SHEET_DARK, 0.3, (), palette.SHEET, 0.8), closed=True)
    sheet = np.vstack(
        [
            np.column_stack([v, np.full_like(v, highest + 0.8)]),
            np.column_stack([v[::-1], np.full_like(v, highest + 0.8 + gauge)]),
        ]
    )
    sketch.polyline(sheet, Pen(palette.COPPER, 0.2, (), palette.COPPER, 0.85), closed=True)
    for z_at, words in (
        (rest + foam + BOARD / 2, "stiff board, clamps above it"),
        (rest + foam / 2, f"foam, {show_length(foam, unit)}"),
        (highest + 0.8 + gauge / 2, f"hot sheet, {show_length(gauge, unit)}"),
        (highest / 2, "former"),
        (-BOARD / 2, "base board on the bench"),
    ):
        sketch.line(right, z_at, right + 3 / sketch.scale, z_at, Pen(palette.SLATE, 0.15))
        sketch.text(right, z_at, words, shift=(4.5, 0), anchor="start", colour=palette.INK)
    return sketch


def _section(piece: Piece, u: float) -> tuple[Floats, Floats]:
    """Return v and z across a piece, within its trimmed outline and a little beyond."""
    _, v_min, _, v_max = piece.pattern.bounds
    v = np.arange(v_min - 10.0, v_max + 10.0, piece.formed.grid.spacing)
    return v, np.maximum(piece.formed.at(np.column_stack([np.full_like(v, u), v])), 0.0)


def _box(sketch: Sketch, x1: float, y1: float, x2: float, y2: float, pen: Pen) -> None:
    sketch.polyline(np.array([(x1, y1), (x2, y1), (x2, y2), (x1, y2)]), pen, closed=True)
