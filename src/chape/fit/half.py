"""One half of the closed sheath as a surface of two coordinates.

x runs along the draw; v is measured on the flat pattern from the fold line, v <= 0, or from y = 0
where there is no fold. Beside the strip a point lies where the formed surface has it; the strip is
laid round the U it is folded into. The half without the thumb ramp is taken, and the other counted
like it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from chape.forming.alone import formed_wall
from chape.sheath.halves import (
    axis_of,
    half_holes,
    half_pattern,
    half_surface_of,
    piece_of,
    side_of,
    strip_end_at,
    without_ramp,
)
from chape.sheath.model import HoleUse

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.sheath.model import Fold, Sheath


@dataclass(frozen=True, slots=True, eq=False)
class Half:
    """One half of a closed sheath.

    Attributes:
        formed: inner surface as formed, over the sheath frame, up to the fold line if any, mm.
        thickness: of the sheet, over the same frame, mm.
        axis: y of the line v = 0, mm.
        fold: where the strip ends; None for a half by itself.
        outline: trimmed outline in (x, v), mm.
        eyelets: (n, 2) x and v of the eyelets, from the tip to the mouth, mm.
        mouth_x: mm.
    """

    formed: HeightField
    thickness: HeightField
    axis: float
    fold: Fold | None
    outline: Polygon
    eyelets: Floats
    mouth_x: float

    @property
    def middle(self) -> float:
        """V half-way between the rows of eyelets of a half by itself, mm."""
        return float(self.eyelets[:, 1].mean())

    def inner(self, x: Floats, v: Floats) -> Floats:
        """Return (..., 3) points of the inner surface, sheath frame, mm."""
        y = v + self.axis
        z = self.formed.at(np.column_stack([x.ravel(), y.ravel()])).reshape(x.shape)
        if self.fold is None:
            return np.stack([x, y, z], axis=-1)
        line, end = self.axis, strip_end_at(self.fold, x)
        # From the strip's end to the fold line the sheet turns through a quarter circle.
        turned = np.clip((y - end) / np.maximum(line - end, 1e-9), 0.0, 1.0) * pi / 2
        in_strip = y > end
        return np.stack(
            [
                x,
                np.where(in_strip, end + z * np.sin(turned), y),
                np.where(in_strip, z * np.cos(turned), z),
            ],
            axis=-1,
        )

    def gauge(self, x: Floats, v: Floats) -> Floats:
        """Return the sheet's thickness, of the shape of x, mm."""
        flat = np.column_stack([x.ravel(), v.ravel() + self.axis])
        return self.thickness.at(flat).reshape(x.shape)


def half_sheath(sheath: Sheath, thickness: HeightField | None = None) -> Half:
    """Return the half without the thumb ramp.

    Args:
        sheath: a designed sheath.
        thickness: of the formed sheet over that half's flat frame, mm; None takes the gauge
            everywhere.
    """
    upper = without_ramp(sheath)
    formed = half_surface_of(sheath, upper=upper)
    axis = axis_of(sheath)
    even = formed.with_z(np.full(formed.grid.shape, sheath.sheet.gauge.value))
    own = even if thickness is None else _on_half(thickness, formed, axis, upper=upper)
    eyelets = sorted(
        (hole.u, side_of(upper=upper) * hole.v)
        for hole in half_holes(sheath, upper=upper)
        if hole.use is HoleUse.EYELET
    )
    return Half(
        formed=formed,
        thickness=own,
        axis=axis,
        fold=sheath.fold,
        outline=half_pattern(sheath, upper=upper),
        eyelets=np.array(eyelets).reshape(-1, 2),
        mouth_x=sheath.mouth_x,
    )


def wall_of(sheath: Sheath) -> HeightField:
    """Return the thickness of the formed sheet that ``half_sheath`` takes, mm."""
    return formed_wall(piece_of(sheath, upper=without_ramp(sheath)), sheath.sheet)


def _on_half(field: HeightField, half: HeightField, axis: float, *, upper: bool) -> HeightField:
    """Read a field over a piece's flat frame at the nodes of a half of it."""
    x, y = half.grid.mesh()
    v = (axis - y) if upper else (y - axis)
    flat = np.column_stack([x.ravel(), v.ravel()])
    return half.with_z(field.at(flat).reshape(half.grid.shape))
