"""True-size drawings for making a sheath by hand: layers and profile boards of a former."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.documents import palette
from chape.documents.sketch import CENTRE, Pen, Sketch
from chape.tooling.profile_boards import ABOVE, DOWEL
from chape.units import show_length

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.model import Piece
    from chape.tooling.profile_boards import Former, Layer, ProfileBoard
    from chape.units import LengthUnit

#: White round a drawing, mm.
ROOM = 6.0

#: Between two profile boards on a drawing, mm.
APART = 9.0

CUT = Pen(palette.INK, 0.2)
NEXT = Pen(palette.SLATE, 0.15, (1.2, 1.2))


def layer_drawing(former: Former, layer: Layer, piece: Piece, unit: LengthUnit) -> Sketch:
    """Return one layer at 1:1: solid where it is cut, broken where the next one is glued on."""
    bounds = former.layers[0].shape.union(piece.pattern.polygon(0.05)).bounds
    sketch = _sheet(bounds, f"Layer {layer.number} of {len(former.layers)}, 1:1")
    sketch.region(layer.shape, Pen(palette.INK, 0.2, (), palette.WASH))
    above = [other for other in former.layers if other.number == layer.number + 1]
    for other in above:
        sketch.region(other.shape, NEXT)
    if layer.number == 1:
        sketch.outline(piece.pattern, Pen(palette.FOLD, 0.18, (5, 1.2, 0.8, 1.2)))
    for u, v in layer.dowels:
        sketch.circle(u, v, DOWEL / 2, Pen(palette.INK, 0.2, (), palette.PAPER))
        reach = DOWEL / 2 + 1.5
        sketch.line(u - reach, v, u + reach, v, CENTRE)
        sketch.line(u, v - reach, u, v + reach, CENTRE)
    words = (
        f"{former.name}, layer {layer.number} of {len(former.layers)}: "
        f"{show_length(layer.z_low, unit)} to {show_length(layer.z_top, unit)}"
    )
    x_min, y_min, x_max, _ = bounds
    sketch.text((x_min + x_max) / 2, y_min, words, shift=(0, -3.2), halo=True)
    return sketch


def profile_drawing(former: Former, unit: LengthUnit) -> Sketch:
    """Return every profile board of a former at 1:1, one above the other, from tip to mouth."""
    boards = [_board(profile) for profile in former.profiles]
    low = min(float(board[:, 0].min()) for board in boards)
    high = max(float(board[:, 0].max()) for board in boards)
    heights = [float(np.ptp(board[:, 1])) for board in boards]
    total = sum(heights) + APART * (len(boards) - 1)
    sketch = _sheet((low, 0.0, high, total), f"Profile boards of the {former.name}, 1:1")
    base = total
    for profile, board, height in zip(former.profiles, boards, heights, strict=True):
        base -= height
        raised = board + np.array([0.0, base - float(board[:, 1].min())])
        sketch.polyline(raised, Pen(palette.INK, 0.2, (), palette.WASH), closed=True)
        words = f"x = {show_length(profile.u, unit)}"
        # Inside the board, above its highest place.
        top = float(raised[:, 1].max())
        sketch.text(float(board[:, 0].min()), top, words, shift=(3, -3.2), anchor="start")
        sketch.line(0.0, top - ABOVE / 2, 0.0, top + 2, CENTRE)
        base -= APART
    return sketch


def _board(profile: ProfileBoard) -> Floats:
    """Return a profile board's outline (v, z): the profile below, a straight edge above."""
    line = profile.profile
    top = float(line[:, 1].max()) + ABOVE
    thin = shapely.LineString(line).simplify(0.02)
    edge = np.asarray(thin.coords)
    return np.vstack([edge, [[edge[-1, 0], top], [edge[0, 0], top]]])


def plate_drawing(shape: shapely.Polygon, title: str) -> Sketch:
    """Return a plate at 1:1."""
    sketch = _sheet(shape.bounds, f"{title}, 1:1")
    sketch.region(shape, Pen(palette.INK, 0.2, (), palette.WASH))
    return sketch


def _sheet(bounds: tuple[float, float, float, float], title: str) -> Sketch:
    x_min, y_min, x_max, y_max = bounds
    return Sketch(
        x_max - x_min + 2 * ROOM,
        y_max - y_min + 2 * ROOM,
        x_min - ROOM,
        y_max + ROOM,
        title=title,
    )
