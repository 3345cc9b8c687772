"""One half of the closed sheath as a surface of two coordinates.

x runs along the draw; v is measured on the flat pattern from the fold line, v <= 0. Beside the
strip a point lies where the formed surface has it; the strip is laid round the U it is folded
into. The half without the thumb ramp is taken, and the other counted like it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.sheath.formed import half_of
from chape.sheath.model import Hand, HoleUse

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.sheath.model import Fold, Sheath


@dataclass(frozen=True, slots=True, eq=False)
class Half:
    """One half of a closed sheath.

    Attributes:
        formed: inner surface as formed, over the sheath frame, up to the fold line, mm.
        thickness: of the sheet, over the same frame, mm.
        fold: where the strip ends and the fold line lies.
        outline: trimmed outline in (x, v), mm.
        eyelets: (n, 2) x and v of the eyelets, from the tip to the mouth, mm.
        mouth_x: mm.
    """

    formed: HeightField
    thickness: HeightField
    fold: Fold
    outline: Polygon
    eyelets: Floats
    mouth_x: float

    def inner(self, x: Floats, v: Floats) -> Floats:
        """Return (..., 3) points of the inner surface, sheath frame, mm."""
        line = self.fold.line
        flat = np.column_stack([x.ravel(), v.ravel() + line])
        z = self.formed.at(flat).reshape(x.shape)
        end = np.interp(x, self.fold.x, self.fold.end)
        # From the strip's end to the fold line the sheet turns through a quarter circle.
        turned = np.clip((v + line - end) / np.maximum(line - end, 1e-9), 0.0, 1.0) * pi / 2
        in_strip = v + line > end
        y = np.where(in_strip, end + z * np.sin(turned), v + line)
        return np.stack([x, y, np.where(in_strip, z * np.cos(turned), z)], axis=-1)

    def gauge(self, x: Floats, v: Floats) -> Floats:
        """Return the sheet's thickness, of the shape of x, mm."""
        flat = np.column_stack([x.ravel(), v.ravel() + self.fold.line])
        return self.thickness.at(flat).reshape(x.shape)


def half_sheath(sheath: Sheath, thickness: HeightField | None = None) -> Half:
    """Return the half without the thumb ramp.

    Args:
        sheath: a designed sheath.
        thickness: of the formed sheet over the flat frame, mm; None takes the gauge everywhere.
    """
    upper = sheath.choices.hand is Hand.RIGHT
    formed = half_of(sheath.formed, sheath.fold.line, upper=upper)
    even = formed.with_z(np.full(formed.grid.shape, sheath.fold.gauge))
    own = even if thickness is None else _on_half(thickness, formed, sheath.fold.line, upper=upper)
    polygon = sheath.pattern.polygon(0.02)
    if upper:
        polygon = affinity.scale(polygon, 1, -1, origin=(0, 0))
    x_min, v_min, x_max, _ = polygon.bounds
    outline = shapely.intersection(polygon, shapely.box(x_min, v_min, x_max, 0.0))
    sign = 1 if upper else -1
    eyelets = sorted(
        (hole.u, -abs(hole.v))
        for hole in sheath.holes
        if hole.use is HoleUse.EYELET and sign * hole.v > 0
    )
    return Half(
        formed=formed,
        thickness=own,
        fold=sheath.fold,
        outline=max(shapely.get_parts(outline), key=lambda part: float(part.area)),
        eyelets=np.array(eyelets).reshape(-1, 2),
        mouth_x=sheath.mouth_x,
    )


def _on_half(
    field: HeightField, half: HeightField, fold_line: float, *, upper: bool
) -> HeightField:
    """Read a field over the flat frame at the nodes of one half."""
    x, y = half.grid.mesh()
    v = (fold_line - y) if upper else (y - fold_line)
    flat = np.column_stack([x.ravel(), v.ravel()])
    return half.with_z(field.at(flat).reshape(half.grid.shape))
