"""How near the edge comes to the sheath, at every step of the draw.

Twice over. *Closed*: the sheath as it lies, the knife drawn straight. *Spread*: where the handle
needs more room than there is, it lifts the halves by as much. Should one half give all the way and
the other none, the knife is lifted off the stiff half by that much at the handle, and turns about
its tip; along the blade the sheath is left as it lies. That is the worst a spread can do to the
edge, and no figure of the shell is needed for it.

Distances are exact on the triangles of the formed surface and on the fold's U; what remains is how
closely points lie on the edge band and how well triangles follow the shape (``field.envelope``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.closed import FAR, clearance, edge_points, knife_points, walls_of
from chape.sheath.halves import half_surface_of

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.model import Sheath

#: The knife is drawn in steps of this, mm.
DRAW_STEP = 1.0

#: A point of the knife this near to the sheath at home is taken to touch it, mm.
TOUCH = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class DrawClearance:
    """Distance between edge band and sheath along the draw.

    Attributes:
        travel: (n,) how far the knife is drawn, mm.
        closed: (n,) least distance at each step, the sheath as it lies, mm; FAR where none is near.
        places: (n, 3) the edge's nearest point, knife frame, mm; z > 0 is the front half.
        lifted: (n,) how far the handle lifts a half off it, mm.
        spread: (n,) least distance with the knife lifted off one half, mm.
        pads: least distance in the plane between what touches at home and the edge band, mm;
            None where nothing touches.
    """

    travel: Floats
    closed: Floats
    places: Floats
    lifted: Floats
    spread: Floats
    pads: float | None

    @property
    def least(self) -> float:
        """Least distance of all steps, closed or spread, mm."""
        return float(min(self.closed.min(), self.spread.min()))

    @property
    def worst(self) -> int:
        """Index of the step at which the edge comes nearest."""
        return int(np.argmin(np.minimum(self.closed, self.spread)))


def clearance_along_draw(sheath: Sheath, step: float = DRAW_STEP) -> DrawClearance:
    """Return how near the edge comes to the sheath from home until the knife is free.

    Args:
        sheath: as designed, rigid.
        step: of the draw, mm.
    """
    return DrawClearance(*_steps(sheath, step, edge_points(sheath.knife)), pad_distance(sheath))


def edge_clearance(sheath: Sheath, step: float, apart: float) -> float:
    """Return the edge's least clearance along the draw, seen at few steps and few points, mm.

    Args:
        sheath: as designed, rigid.
        step: of the draw, mm.
        apart: points on the edge band are about so far from each other, mm.
    """
    _, closed, _, _, spread = _steps(sheath, step, edge_points(sheath.knife, apart))
    return float(min(closed.min(), spread.min()))


def _steps(
    sheath: Sheath, step: float, points: Floats
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return travel, closed, places, lifted and spread, as in ``DrawClearance``."""
    travel = np.arange(0.0, sheath.mouth_x + step, step)
    both = np.vstack([points, points * np.array([1.0, 1.0, -1.0])])
    lifted, lifts_at = lifts(sheath, travel)
    halves = (walls_of(sheath), walls_of(sheath, upper=True))
    closed, spread = np.full(len(travel), FAR), np.full(len(travel), FAR)
    places = np.zeros((len(travel), 3))
    for k, draw in enumerate(travel):
        distance = np.concatenate([clearance(half, points, float(draw)) for half in halves])
        nearest = int(np.argmin(distance))
        closed[k], places[k] = distance[nearest], both[nearest]
        spread[k] = closed[k]
        if lifted[k] > 0:
            # Turned about the tip: a point at x goes up by its share of the lift at the handle.
            turned = points.copy()
            turned[:, 2] += lifted[k] * np.clip(points[:, 0] / lifts_at[k], 0.0, 1.0)
            for half in halves:
                spread[k] = min(spread[k], float(clearance(half, turned, float(draw)).min()))
    return travel, closed, places, lifted, spread


def lifts(sheath: Sheath, travel: Floats) -> tuple[Floats, Floats]:
    """Return how far the handle lifts one half at each travel (n,), mm, and where on the knife.

    That is how far the knife, drawn, stands out through the half at most, upright; within the
    strip's U, square to it.

    Returns:
        (n,) lifts, 0 where the knife has room, and (n,) the knife's x there, mm.
    """
    knife = sheath.knife
    points = knife_points(knife, sheath.mouth_x)
    points = points[points[:, 0] > knife.blade_length]
    lifted, places = np.zeros(len(travel)), np.full(len(travel), knife.blade_length)
    for upper in (False, True):
        half, walls = half_surface_of(sheath, upper=upper), walls_of(sheath, upper=upper)
        for k, draw in enumerate(travel):
            moved = points + np.array([draw, 0.0, 0.0])
            inside = moved[:, 0] <= sheath.mouth_x
            if not inside.any():
                continue
            moved = moved[inside]
            end = np.interp(moved[:, 0], half.grid.x, walls.end)
            out = moved[:, 2] - half.at(moved[:, :2])
            folded = moved[:, 1] > end
            out[folded] = -clearance(walls, moved[folded])
            most = int(np.argmax(out))
            if out[most] > lifted[k]:
                lifted[k], places[k] = out[most], points[inside][most, 0]
    return lifted, places


def pad_distance(sheath: Sheath) -> float | None:
    """Return how far behind the edge band the sheath touches the blade at home, mm.

    0 where it touches the band itself; None where nothing touches.
    """
    points = knife_points(sheath.knife, sheath.knife.blade_length, 0.5)
    touches = np.zeros(len(points), dtype=np.bool_)
    for upper in (False, True):
        touches |= clearance(walls_of(sheath, upper=upper), points) < TOUCH
    if not touches.any():
        return None
    band = sheath.knife.edge_band
    return float(shapely.distance(shapely.points(points[touches, :2]), band).min())
