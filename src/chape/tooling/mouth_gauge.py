"""A go/no-go gauge for the mouth: a plug with two ends and a grip between them.

The go end has the whole shape of the opening and must go in by hand; the no-go end has only its
thickness, in the middle of its width, and must not (Taylor's principle of gauging). One hole in
the grip marks the go end, two the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.halves import half_surface_of, strip_end_at, without_ramp

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.model import Sheath

#: The gauge is held this far inside the flare, where the mouth no longer widens, mm.
BEHIND_FLARE = 1.0

#: Length of each end and of the grip, mm.
END, GRIP = 22.0, 44.0

#: Half thickness of the grip, mm: thinner than any handle, thick enough to hold.
GRIP_HALF = 3.0

#: The go end is this much narrower at either side: it gauges thickness, not width, mm.
NARROWER = 0.15

#: The no-go end is this share of the opening's width.
NO_GO_SHARE = 0.5

#: Knives of one kind vary by so many standard deviations, either way.
SIGMAS = 2.0

#: Spacing of the gauge's own grid, mm.
SPACING = 0.25

#: Holes that tell the ends apart: diameter, and how far from the end they mark, mm.
HOLE, HOLE_AT = 4.0, 7.0


@dataclass(frozen=True, slots=True, eq=False)
class MouthGauge:
    """A plug gauge, symmetrical about z = 0; x along it, the go end first.

    Attributes:
        half: half thickness, mm.
        holes: (x, y, diameter) of the holes that mark the ends, mm.
        x: station of the sheath that it gauges, mm.
        opening: greatest inside thickness of the sheath there, mm.
        knife: greatest thickness of the knife there, mm.
        go, no_go: greatest thickness of either end, mm.
    """

    half: HeightField
    holes: tuple[tuple[float, float, float], ...]
    x: float
    opening: float
    knife: float
    go: float
    no_go: float


def make_mouth_gauge(sheath: Sheath, handle_spread: float) -> MouthGauge:
    """Make the gauge of a sheath's mouth.

    A sheath may differ from another by as much as its knives do: twice their standard deviation.
    Where that is more than the clearance, the go end is the thickest usual knife.

    Args:
        sheath: as designed.
        handle_spread: standard deviation of the handle's full thickness, mm.

    Raises:
        CannotMakeError: the mouth is as narrow as the thickest usual knife, so that nothing tells
            a good one from a bad one.
    """
    x = sheath.mouth_x - sheath.choices.mouth.flare_length - BEHIND_FLARE
    y, inside = opening_at(sheath, x)
    opening = 2 * float(inside.max())
    knife = 2 * float(sheath.knife.half.at(np.column_stack([np.full_like(y, x), y])).max())
    allowance = max(SIGMAS * handle_spread, 2 * NARROWER)
    go = max(opening - allowance, knife + SIGMAS * handle_spread)
    no_go = opening + allowance
    if go >= opening:
        raise CannotMakeError(
            f"the mouth is {opening:.2f} mm thick inside and the thickest usual knife "
            f"{go:.2f} mm: no gauge tells a good sheath from a tight one",
            mend="Raise clearance.handle, or lower fit.handle_spread if the knives vary less",
        )
    return MouthGauge(_shaped(y, inside, go, no_go), _holes(y), x, opening, knife, go, no_go)


def opening_at(sheath: Sheath, x: float) -> tuple[Floats, Floats]:
    """Return the inside of the closed sheath at one station: y, and half its thickness, mm."""
    surface = half_surface_of(sheath, upper=without_ramp(sheath))
    end = float(strip_end_at(sheath.fold, np.array([x]))[0])
    fold = sheath.fold
    bend = 0.0 if fold is None else float(np.interp(x, fold.x, fold.height))
    top = surface.grid.bounds[3] if fold is None else end + bend
    y = np.arange(surface.grid.y0, top, SPACING)
    half = surface.at(np.column_stack([np.full_like(y, x), np.minimum(y, end)]))
    # Past the strip's end the sheet is bent to half a circle.
    past = np.clip(y - end, 0.0, bend)
    half = np.where(y > end, np.sqrt(np.maximum(0.0, bend**2 - past**2)), half)
    thick = np.flatnonzero(half > 0.1)
    return y[thick[0] : thick[-1] + 1], half[thick[0] : thick[-1] + 1]


def _shaped(y: Floats, inside: Floats, go: float, no_go: float) -> HeightField:
    """Return the half thickness of the plug over its own grid."""
    opening = 2 * float(inside.max())
    narrow = round(NARROWER / SPACING) or 1
    shrunk = np.maximum(inside - (opening - go) / 2, 0.0)
    shrunk[:narrow] = shrunk[-narrow:] = 0.0
    middle = float(np.average(y, weights=inside))
    wide = NO_GO_SHARE * (y[-1] - y[0])
    across = np.abs(y - middle) <= wide / 2
    thick = np.where(across, inside + (no_go - opening) / 2, 0.0)
    grip = np.full_like(y, min(GRIP_HALF, go / 4))
    length = 2 * END + GRIP
    rim = 2
    grid = Grid(-SPACING * rim, float(y[0]) - rim * SPACING, SPACING,
                round(length / SPACING) + 1 + 2 * rim, len(y) + 2 * rim)  # fmt: skip
    z = np.zeros(grid.shape)
    x = grid.x
    rows = slice(rim, rim + len(y))
    for row, first, last in ((shrunk, 0.0, END), (thick, END + GRIP, length)):
        z[rows, (x >= first) & (x <= last)] = row[:, None]
    held = (x >= END - 2) & (x <= END + GRIP + 2)
    z[rows, held] = np.maximum(z[rows, held], grip[:, None])
    return HeightField(grid, z)


def _holes(y: Floats) -> tuple[tuple[float, float, float], ...]:
    middle = float(y[0] + y[-1]) / 2
    first, last = END + HOLE_AT, END + GRIP - HOLE_AT
    return ((first, middle, HOLE), (last, middle - HOLE, HOLE), (last, middle + HOLE, HOLE))
