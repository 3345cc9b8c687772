"""The sheet as it is formed: both half-cavities and the strip between them, in the flat frame.

A half is worked out in the sheath frame, on rows counted down from the fold line, and laid twice:
v = y - y_c on one side of the fold line, v = y_c - y on the other. Heights stand on the flange
plane. From the strip to the half-cavity a drafted shoulder leads up or down, whichever is needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan
from typing import TYPE_CHECKING

import numpy as np

from chape.field.envelope import Body, closing, opening
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.cavity import ROUNDING, smooth_step
from chape.sheath.fold import wall_rise
from chape.sheath.model import Hand

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.model import Fold, SheathChoices, ThumbRamp

#: The cavity runs on past the mouth by this, mm, before it comes down: the sheet is formed where
#: it is cut, and the trim cutter has room.
RUNOUT = 10.0

#: The strip runs on past the tip's trimmed end by this, mm: there is little of it to bridge.
TIP_RUNOUT = 3.0


#: The curl of the thumb ramp runs on past its trimmed edge by this, mm.
APRON = 2.0


@dataclass(frozen=True, slots=True)
class Lip:
    """Where the flange curls into the thumb ramp, sheath frame, mm.

    Attributes:
        y_low, y_high: from its trimmed edge to inside the wall.
        x_end: it reaches past the mouth to here.
    """

    y_low: float
    y_high: float
    x_end: float


def half_surface(
    cavity: HeightField, fold: Fold | None, choices: SheathChoices, ends: tuple[float, float]
) -> HeightField:
    """Return one half before its corners are rounded: cavity, shoulder and strip.

    Args:
        cavity: what is asked of the half-cavity, over the sheath's grid.
        fold: stations at the grid's own abscissae; None for a half that is closed all round.
        choices: gives the draft.
        ends: x at which the surface comes down to the flange plane, at the tip and past the mouth.
    """
    x, y = cavity.grid.mesh()
    steep = 1 / tan(radians(choices.clearance.draft))
    z = cavity.z
    if fold is not None:
        back = fold.end[None, :] - y
        level = cavity.grid.spacing
        strip = fold.height[None, :]
        # Up to a cavity higher than the strip, or down to a lower one. The strip stays level up to
        # its end and a cell further: fillet and rounding both lie behind it. The last level node
        # may lie a cell before the place where the surface is to fall.
        up = strip + wall_rise(back - level, choices.fillet, radians(choices.clearance.draft))
        down = strip - np.maximum(back - ROUNDING - 2 * level, 0.0) * steep
        z = np.where(back > 0, np.maximum(np.minimum(cavity.z, up), down), strip)
    z = np.minimum(z, np.minimum(x - ends[0], ends[1] - x) * steep)
    return cavity.with_z(np.maximum(z, 0.0))


def rounded_corners(half: HeightField, fillet: float) -> HeightField:
    """Round a half's outside corners, then fill its inside ones to the fillet.

    The half is mirrored past its last row while that is done: past the fold line the other half
    lies there, and a level flange stays one.
    Filling comes last: a ball cutter of the fillet's radius reaches all of what is left.
    """
    grid = half.grid
    more = min(grid.ny - 1, int(np.ceil(2 * (fillet + ROUNDING) / grid.spacing)) + 1)
    mirrored = np.vstack([half.z, half.z[-2 : -2 - more : -1]])
    wide = HeightField(Grid(grid.x0, grid.y0, grid.spacing, grid.nx, grid.ny + more), mirrored)
    filled = closing(opening(wide, Body.ball(ROUNDING)), Body.ball(fillet))
    return half.with_z(np.maximum(filled.z[: grid.ny], 0.0))


def with_ramp(half: HeightField, lip: Lip, choices: SheathChoices, mouth_x: float) -> HeightField:
    """Return the half whose flange curls up beside the mouth, with its corners rounded.

    Args:
        half: one half, corners rounded.
        lip: where the flange curls, sheath frame.
        choices: gives ramp, draft and fillet.
        mouth_x: mm.
    """
    ramp, fillet, grid = choices.thumb_ramp, choices.fillet, half.grid
    # Columns before the curl are done already; three fillets of them tell the corners apart.
    first = int(np.searchsorted(grid.x, mouth_x - ramp.length - 4 * fillet))
    keep = int(np.searchsorted(grid.x, mouth_x - ramp.length - 2 * fillet)) - first
    part = Grid(float(grid.x[first]), grid.y0, grid.spacing, grid.nx - first, grid.ny)
    x, y = part.mesh()
    steep = 1 / tan(radians(choices.clearance.draft))
    # Past its edge the curl runs on a little, then falls at the draft.
    fall = np.minimum(y - lip.y_low + APRON, lip.x_end + APRON - x) * steep + ramp.height
    curl = np.minimum(curl_height(x, ramp, mouth_x), np.minimum(fall, ramp.height))
    window = half.z[:, first:]
    raised = np.maximum(window, np.where(y <= lip.y_high, curl, 0.0))
    smooth = rounded_corners(HeightField(part, raised), fillet)
    # The wall's upper side and the strip stay as they are, the same as on the other half.
    rows = slice(0, int(np.searchsorted(grid.y, lip.y_high + 2 * fillet)))
    z = half.z.copy()
    z[rows, first + keep :] = smooth.z[rows, keep:]
    return half.with_z(z)


def curl_height(x: Floats, ramp: ThumbRamp, mouth_x: float) -> Floats:
    """Return how far the flange stands off at x, mm: a half cosine up to the mouth, then level."""
    return ramp.height * smooth_step((x - mouth_x) / ramp.length + 1)


def laid_out(front: HeightField, back: HeightField, hand: Hand) -> HeightField:
    """Lay two halves beside one another in the flat frame.

    On a right-hand sheath the front half lies at v < 0; a left-hand one is its mirror image.
    """
    lower, upper = (front, back) if hand is Hand.RIGHT else (back, front)
    grid = front.grid
    v_most = (grid.ny - 1) * grid.spacing
    z = np.vstack([lower.z, upper.z[-2::-1]])
    return HeightField(Grid(grid.x0, -v_most, grid.spacing, grid.nx, 2 * grid.ny - 1), z)
