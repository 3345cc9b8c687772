"""The press for forming by hand: foam that pushes the hot sheet down over a former."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chape.sheath.model import Sheath

#: Pressure that pushes hot sheet of any gauge into the foot of a wall, kPa. Common practice, no
#: source.
PRESSURE = 35.0

#: What one bar clamp or carriage bolt gives without strain, N. Common practice, no source.
CLAMP = 1500.0

#: Foam is so many times as thick as the former is high, and never thinner than so many mm.
#: Common practice, no source.
FOAM_SHARE, FOAM_LEAST = 3.0, 30.0

#: Sheet beyond the trimmed outline, and board beyond the sheet, mm.
SHEET_BEYOND, BOARD_BEYOND = 20.0, 15.0

#: Sheet is cut to whole steps of this, mm.
ROUND = 5.0

#: Thicknesses foam is sold in, mm.
FOAM_STEP = 10.0


@dataclass(frozen=True, slots=True)
class Press:
    """What one piece is pressed with.

    Attributes:
        sheet: (width, depth) of the sheet to cut, mm.
        board: (width, depth) of the boards above and below, mm.
        foam: thickness of the foam, mm.
        pressure: kPa.
        force: of all clamps together, N.
        clamps: how many.
    """

    sheet: tuple[float, float]
    board: tuple[float, float]
    foam: float
    pressure: float
    force: float
    clamps: int


def press_for(sheath: Sheath) -> Press:
    """Return the press that takes the largest piece of a sheath."""
    bounds = [piece.pattern.bounds for piece in sheath.pieces]
    sides = (
        max(u_max - u_min for u_min, _, u_max, _ in bounds),
        max(v_max - v_min for _, v_min, _, v_max in bounds),
    )
    width, depth = (ceil((side + 2 * SHEET_BEYOND) / ROUND) * ROUND for side in sides)
    highest = max(float(piece.formed.z.max()) for piece in sheath.pieces)
    foam = max(FOAM_LEAST, ceil(FOAM_SHARE * highest / FOAM_STEP) * FOAM_STEP)
    # kPa over mm^2: a thousandth of a newton each.
    force = PRESSURE * width * depth / 1000
    return Press(
        sheet=(width, depth),
        board=(width + 2 * BOARD_BEYOND, depth + 2 * BOARD_BEYOND),
        foam=foam,
        pressure=PRESSURE,
        force=force,
        clamps=max(4, ceil(force / CLAMP)),
    )
