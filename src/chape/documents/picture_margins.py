"""The margin map: the trimmed outline coloured by what binds it, and how much sheet lies beyond."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.field.contour import regions_above
from chape.sheath.margins import Binding, margins_of
from chape.units import show_length

if TYPE_CHECKING:
    from chape.documents.palette import Colour
    from chape.field.grid import Floats
    from chape.sheath.margins import Margins
    from chape.sheath.model import Piece, Sheath
    from chape.units import LengthUnit

#: What binds is drawn in these.
COLOURS: dict[Binding, Colour] = {
    Binding.RIVET: palette.BRASS,
    Binding.CLIP: palette.COPPER,
    Binding.SLOT: palette.FOLD,
    Binding.WALL: palette.SHEET_DARK,
    Binding.CUT: palette.SLATE,
    Binding.FAIR: palette.MOSS,
}

#: Whiskers show the sheet beyond a fair line this far apart, mm along the outline.
WHISKER_PITCH = 2.0

#: The formed walls are drawn where they stand this high, mm.
FOOT_LEVEL = 0.02


def margin_map(sheath: Sheath, piece: Piece, unit: LengthUnit, width: float = 170.0) -> Sketch:
    """Return the margin map of one piece: seen from its outside, flat."""
    margins = margins_of(sheath, piece)
    u_min, v_min, u_max, v_max = piece.pattern.polygon().bounds
    sketch = Sketch.around(
        (u_min, v_min, u_max, v_max), width, (8, 8, 8, 20), "What binds the outline"
    )
    sketch.region(piece.pattern.polygon(0.02), Pen(None, 0, (), palette.WASH))
    walls = regions_above(piece.formed, FOOT_LEVEL).intersection(piece.pattern.polygon(0.02))
    sketch.region(walls.simplify(0.03), Pen(palette.SHEET_DARK, 0.15, (), palette.SHEET, 0.45))
    for hole in piece.holes:
        sketch.circle(hole.u, hole.v, hole.keep_clear, Pen(palette.SLATE, 0.15, (1, 0.8)))
        sketch.circle(hole.u, hole.v, hole.diameter / 2, Pen(palette.INK, 0.2, (), palette.PAPER))
    for slot in piece.slots:
        sketch.region(slot.area(0.01), Pen(palette.INK, 0.2, (), palette.PAPER))
    _whiskers(sketch, margins)
    for kind, points in runs(margins):
        sketch.polyline(points, Pen(COLOURS[kind], 0.9))
    _widest(sketch, margins, unit)
    _legend(sketch, margins, u_min, v_min)
    return sketch


def runs(margins: Margins) -> list[tuple[Binding, Floats]]:
    """Return the outline as stretches that one thing binds, each reaching to the next."""
    count = len(margins.binding)
    found = []
    for kind, group in groupby(range(count), key=lambda n: margins.binding[n]):
        numbers = list(group)
        numbers.append((numbers[-1] + 1) % count)
        found.append((kind, margins.points[numbers]))
    return found


def _whiskers(sketch: Sketch, margins: Margins) -> None:
    """Draw how much sheet a fair line adds, inwards from the outline and at its true length."""
    points = margins.points
    step = float(np.hypot(*(points[1] - points[0])))
    every = max(1, round(WHISKER_PITCH / step))
    along = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    if shapely.Polygon(points).exterior.is_ccw is False:
        inward = -inward
    pen = Pen(COLOURS[Binding.FAIR], 0.25)
    for n in range(0, len(points), every):
        if margins.binding[n] is Binding.FAIR:
            start, end = points[n], points[n] + margins.beyond[n] * inward[n]
            sketch.line(start[0], start[1], end[0], end[1], pen)


def _widest(sketch: Sketch, margins: Margins, unit: LengthUnit) -> None:
    """Write the most that a fair line adds beside where it does."""
    most = int(np.argmax(margins.beyond))
    if margins.beyond[most] <= 0:
        return
    x, y = margins.points[most]
    words = f"{show_length(float(margins.beyond[most]), unit)} spare"
    sketch.text(x, y, words, shift=(0, 3.4), colour=COLOURS[Binding.FAIR], halo=True)


def _legend(sketch: Sketch, margins: Margins, u_min: float, v_min: float) -> None:
    across = 0.0
    for kind, share in margins.shares.items():
        if share == 0:
            continue
        words = f"{kind.value} {share:.0%}"
        x, y = sketch.back(*sketch.at(u_min, v_min))
        left = x + across / sketch.scale
        low = y - 9 / sketch.scale
        sketch.line(left, low, left + 6 / sketch.scale, low, Pen(COLOURS[kind], 0.9))
        sketch.text(left, low, words, shift=(7.5, 0), anchor="start")
        across += 12.0 + 1.55 * len(words)
    sketch.text(
        u_min, v_min, "Whiskers: sheet that only the fair line asks for.", shift=(0, -14.5),
        anchor="start", colour=palette.SLATE,
    )  # fmt: skip
