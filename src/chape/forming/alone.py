"""The wall of one piece of a sheath, as if it were formed by itself.

What a sheath keeps of its gauge depends a little on its neighbours on the blank; what it holds a
knife with should not change with the blank it happens to lie on. So the wall that ``fit`` and the
outer surface use is that of the piece alone, a frame's width of flat sheet round it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.forming.draping import COARSE, drape
from chape.forming.vacuum import SEA_LEVEL

if TYPE_CHECKING:
    from chape.catalog.model import SheetStock
    from chape.sheath.model import Piece

#: Flat sheet round a sheath formed alone, what of it the frame holds, and grid of the mould, mm.
ROUND, HELD, SPACING = 20.0, 0.5, 0.5

#: Share of the air's pressure that forms it (common practice, no source).
PRESSURE_SHARE = 0.8


def formed_wall(piece: Piece, sheet: SheetStock) -> HeightField:
    """Return the thickness of the formed sheet over a piece's flat frame, mm."""
    formed = piece.formed
    x_min, y_min, x_max, y_max = formed.grid.bounds
    grid = Grid.over(x_min - ROUND, y_min - ROUND, x_max + ROUND, y_max + ROUND, SPACING)
    x, y = grid.mesh()
    heights = formed.at(np.column_stack([x.ravel(), y.ravel()])).reshape(grid.shape)
    outside = (x < x_min) | (x > x_max) | (y < y_min) | (y > y_max)
    mould = HeightField(grid, np.where(outside, 0.0, np.maximum(heights, 0.0)))
    stiffness = sheet.hot_shear_modulus.value * sheet.gauge.value
    drawn = drape(mould, PRESSURE_SHARE * SEA_LEVEL / 1000 / stiffness, HELD, COARSE)
    return drawn.kept.with_z(drawn.kept.z * sheet.gauge.value)
