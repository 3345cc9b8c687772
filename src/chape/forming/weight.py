"""Area and mass of the finished sheath: the formed sheet inside its outline, less what is open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

if TYPE_CHECKING:
    from chape.catalog.model import SheetStock
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.sheath.model import Piece


@dataclass(frozen=True, slots=True)
class Weight:
    """What one piece comes to.

    Attributes:
        flat: area seen from above, mm²: what it takes of a blank.
        surface: area of its inside as formed, mm².
        mass: of the sheet without rivets and clips, g.
        spread: of the mass, from the sheet's density alone, g.
    """

    flat: float
    surface: float
    mass: float
    spread: float


def weight_of(piece: Piece, wall: HeightField, sheet: SheetStock) -> Weight:
    """Return area and mass of a piece.

    The surface is summed over the two triangles of every cell; a cell that the outline runs
    through counts by its share.

    Args:
        piece: gives outline, openings and formed surface.
        wall: thickness of the formed sheet over the piece's flat frame, mm.
        sheet: gives the density.
    """
    area = piece.pattern.polygon(0.005)
    area = area.difference(
        shapely.union_all(
            [
                *(
                    shapely.Point(h.u, h.v).buffer(h.diameter / 2, quad_segs=32)
                    for h in piece.holes
                ),
                *(slot.area(0.005) for slot in piece.slots),
            ]
        )
    )
    grid, z = piece.formed.grid, piece.formed.z
    middle_x, middle_y = np.meshgrid(grid.x[:-1] + grid.spacing / 2, grid.y[:-1] + grid.spacing / 2)
    share = _shares(area, middle_x, middle_y, grid.spacing)
    step = grid.spacing
    lower = np.hypot(np.hypot(z[:-1, 1:] - z[:-1, :-1], z[1:, 1:] - z[:-1, 1:]), step)
    upper = np.hypot(np.hypot(z[1:, 1:] - z[1:, :-1], z[1:, :-1] - z[:-1, :-1]), step)
    cell = step * (lower + upper) / 2
    thick = wall.at(np.column_stack([middle_x.ravel(), middle_y.ravel()])).reshape(cell.shape)
    volume = float(np.sum(share * cell * thick))
    # kg/m³ times mm³ is a millionth of a gram.
    density = sheet.density
    return Weight(
        flat=float(area.area),
        surface=float(np.sum(share * cell)),
        mass=volume * density.value * 1e-6,
        spread=volume * density.spread * 1e-6,
    )


def _shares(
    area: shapely.Geometry,
    x: Floats,
    y: Floats,
    spacing: float,
) -> Floats:
    """Return how much of each cell lies inside: 0 or 1, but along the rim its true share."""
    edge = area.boundary
    shapely.prepare([area, edge])
    share: Floats = shapely.contains_xy(area, x, y).astype(np.float64)
    # Of the many cells only those around a point of the edge can be near enough to it.
    beside = shapely.get_coordinates(shapely.segmentize(edge, spacing / 2))
    at = np.rint((beside - [x[0, 0], y[0, 0]]) / spacing).astype(np.int64)
    rim = np.zeros(x.shape, dtype=np.bool_)
    rim[np.clip(at[:, 1], 0, len(x) - 1), np.clip(at[:, 0], 0, x.shape[1] - 1)] = True
    rim = ndimage.binary_dilation(rim, np.ones((5, 5), dtype=np.bool_))
    rim[rim] = shapely.dwithin(edge, shapely.points(x[rim], y[rim]), spacing)
    half = spacing / 2
    boxes = shapely.box(x[rim] - half, y[rim] - half, x[rim] + half, y[rim] + half)
    share[rim] = shapely.area(shapely.intersection(boxes, area)) / spacing**2
    return share
