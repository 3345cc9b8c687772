"""The two halves of a sheath, one by one, whatever pieces they are cut from.

One half lies over the knife at z > 0, the other at z < 0, which is called the *upper* one: it lies
at v > 0 of a folded sheath's flat pattern. Either is described as if it lay at z > 0, over the
knife's own x and y; w = y - axis is measured from the fold line, or from the knife's own axis
y = 0 where there is no fold. In a piece's flat frame v = w on the one half and v = -w on the upper.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.model import Hand, Hole, HoleUse, Slot

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Bools, Floats
    from chape.sheath.model import Fold, Piece, Sheath

#: Where the strip of a sheath without a fold begins, mm: nothing lies so far up.
NO_STRIP = 1e6


def axis_of(sheath: Sheath) -> float:
    """Return y of the flat frame's line v = 0, mm."""
    return 0.0 if sheath.fold is None else sheath.fold.line


def is_front(sheath: Sheath, *, upper: bool) -> bool:
    """Say whether a half lies away from the body."""
    return upper == (sheath.choices.hand is Hand.LEFT)


def half_name(sheath: Sheath, *, upper: bool) -> str:
    """Return "front" or "back"."""
    return "front" if is_front(sheath, upper=upper) else "back"


def without_ramp(sheath: Sheath) -> bool:
    """Say whether the half without the thumb ramp, the one by the body, is the upper."""
    return not is_front(sheath, upper=True)


def piece_of(sheath: Sheath, *, upper: bool) -> Piece:
    """Return the piece that a half is part of."""
    return sheath.pieces[0 if is_front(sheath, upper=upper) else -1]


def half_surface_of(sheath: Sheath, *, upper: bool) -> HeightField:
    """Return a half's inner surface as formed, over x and y, up to the fold line."""
    return half_of(piece_of(sheath, upper=upper).formed, sheath, upper=upper)


def half_of(field: HeightField, sheath: Sheath, *, upper: bool) -> HeightField:
    """Return what of a field over a piece's flat frame lies on a half, over x and y."""
    grid = field.grid
    if sheath.fold is None:
        z = field.z[::-1] if upper else field.z
        y0 = -grid.bounds[3] if upper else grid.y0
        return HeightField(Grid(grid.x0, y0, grid.spacing, grid.nx, grid.ny), z)
    middle = (grid.ny - 1) // 2
    z = field.z[:middle:-1] if upper else field.z[:middle]
    z = np.vstack([z, field.z[middle : middle + 1]])
    y0 = sheath.fold.line + grid.y0
    return HeightField(Grid(grid.x0, y0, grid.spacing, grid.nx, middle + 1), z)


def half_pattern(sheath: Sheath, *, upper: bool, within: float = 0.02) -> Polygon:
    """Return a half's trimmed outline in (x, w), flattened within a tolerance, mm."""
    polygon = piece_of(sheath, upper=upper).pattern.polygon(within)
    if upper:
        polygon = affinity.scale(polygon, 1, -1, origin=(0, 0))
    if sheath.fold is None:
        return polygon
    x_min, w_min, x_max, _ = polygon.bounds
    half = shapely.intersection(polygon, shapely.box(x_min, w_min, x_max, 0.0))
    return max(shapely.get_parts(half), key=lambda part: float(part.area))


def half_holes(sheath: Sheath, *, upper: bool) -> tuple[Hole, ...]:
    """Return a half's holes, their v that of the flat frame."""
    holes = piece_of(sheath, upper=upper).holes
    if sheath.fold is None:
        return holes
    return tuple(hole for hole in holes if (hole.v > 0) == upper)


def half_slots(sheath: Sheath, *, upper: bool) -> tuple[Slot, ...]:
    """Return a half's slots, their v that of the flat frame."""
    slots = piece_of(sheath, upper=upper).slots
    if sheath.fold is None:
        return slots
    return tuple(slot for slot in slots if (slot.v > 0) == upper)


def rows_of(sheath: Sheath, *, upper: bool) -> tuple[tuple[Hole, ...], ...]:
    """Return a half's holes for rivets and screws: edge side, then the spine side of a paired one.

    Each row runs from the tip to the mouth.
    """
    holes = sorted(half_holes(sheath, upper=upper), key=lambda hole: hole.u)
    rivets = tuple(hole for hole in holes if hole.use is not HoleUse.DRAIN)
    if sheath.fold is not None:
        return (rivets,)
    middle = _middle_of(sheath, [hole.u for hole in rivets])
    by_spine = [side_of(upper=upper) * hole.v > y for hole, y in zip(rivets, middle, strict=True)]
    return tuple(
        tuple(hole for hole, spine in zip(rivets, by_spine, strict=True) if spine == wanted)
        for wanted in (False, True)
    )


def _middle_of(sheath: Sheath, x: list[float]) -> list[float]:
    """Return y half-way up the knife at stations, those beyond its ends taken at the ends."""
    outline = sheath.knife.outline
    first, y_min, last, y_max = outline.bounds
    middles = []
    for station in x:
        at = min(max(station, first + 1.0), last - 1.0)
        line = shapely.LineString([(at, y_min - 1), (at, y_max + 1)])
        _, low, _, high = outline.intersection(line).bounds
        middles.append((low + high) / 2)
    return middles


def side_of(*, upper: bool) -> float:
    """Return what w is multiplied by to give v."""
    return -1.0 if upper else 1.0


def reach_along(sheath: Sheath) -> tuple[float, float]:
    """Return the least and the greatest x of the trimmed sheath, mm."""
    bounds = [piece.pattern.bounds for piece in sheath.pieces]
    return min(bound[0] for bound in bounds), max(bound[2] for bound in bounds)


def highest_wall(sheath: Sheath) -> float:
    """Return how high the formed sheet stands above the flange plane, mm."""
    return max(float(piece.formed.z.max()) for piece in sheath.pieces)


def fold_ends(sheath: Sheath, fold: Fold) -> tuple[float, float]:
    """Return x from and to where the trimmed sheath is folded, mm."""
    first, last = reach_along(sheath)
    return first, last if fold.relief is None else fold.relief[0]


def is_relieved(fold: Fold | None, x: Floats) -> Bools:
    """Say at which x the fold is cut away."""
    if fold is None or fold.relief is None:
        return np.zeros(np.shape(x), dtype=np.bool_)
    return np.asarray(x) > fold.relief[0]


def strip_end_at(fold: Fold | None, x: Floats) -> Floats:
    """Return y where a half-cavity ends and the fold's strip begins; far above without a fold."""
    if fold is None:
        return np.full(np.shape(x), NO_STRIP)
    return np.interp(x, fold.x, fold.end)
