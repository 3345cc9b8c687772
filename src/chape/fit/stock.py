"""A sheath from the shelf and a customer's knife: will it fit?

The knife is laid into the sheath where its outline lies best on that of the knife the sheath was
made for, then moved in the plane, by as little as need be, to where it presses least: as a hand
would seat it. Seated so, every point of it is held against the sheath as it lies closed, and the
edge all along the draw. How hard it holds is not worked out: how far the handle lifts the halves
on its way out says how it compares with the sheath's own knife.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.optimize import minimize

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.fit.clearance import clearance_along_draw, lifts
from chape.knife.compare import Placement, best_fit
from chape.sheath.closed import clearance, knife_points, walls_of

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

    from chape.field.grid import Floats
    from chape.fit.clearance import DrawClearance
    from chape.knife.model import Knife
    from chape.sheath.closed import Walls
    from chape.sheath.model import Sheath

#: The knife is seated by points this far apart, mm, and judged by finer ones.
SEAT_STEP, STEP = 3.0, 1.0

#: A knife that is seated moves no further than about this from where its outline lies best, mm.
SEAT_REACH = 3.0

#: Places where a knife presses are told apart by this, mm, and no more of them are named.
PLACES_APART, PLACES = 25.0, 4

#: The draw is followed in steps of this, mm.
DRAW_STEP = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class StockFit:
    """How a knife lies in a sheath that was made for another.

    Attributes:
        sheath: with the customer's knife in place of its own, in the sheath frame.
        own: the knife it was made for.
        placement: where the customer's knife was moved to.
        points: (n, 3) of the knife within the sheath, mm.
        room: (n,) distance of each from the sheath, the nearer half; less than 0 in the sheet, mm.
        edge: how near the edge comes to the sheet along the draw.
        lift, lift_own: how far the handle lifts one half on the way out, mm; of its own knife.
    """

    sheath: Sheath
    own: Knife
    placement: Placement
    points: Floats
    room: Floats
    edge: DrawClearance
    lift: float
    lift_own: float

    @property
    def tightest(self) -> int:
        """Index of the point that has least room."""
        return int(np.argmin(self.room))

    @property
    def press(self) -> Floats:
        """How far each point may stand in the sheet, (n,) mm: the knife's measuring error added."""
        return self.sheath.knife.uncertainty - self.room

    def pressed(self, most: float) -> list[int]:
        """Return the deepest point of each place that stands further than ``most`` mm in the sheet.

        Places lie ``PLACES_APART`` from each other; the deepest comes first, at most ``PLACES``.
        """
        found: list[int] = []
        left = self.press > most
        while left.any() and len(found) < PLACES:
            k = int(np.argmax(np.where(left, self.press, -np.inf)))
            found.append(k)
            left &= np.hypot(*(self.points[:, :2] - self.points[k, :2]).T) > PLACES_APART
        return found


def stock_fit(sheath: Sheath, knife: Knife) -> StockFit:
    """Lay a knife into a sheath that was made for another.

    Args:
        sheath: as designed, rigid.
        knife: the customer's, in its own frame.
    """
    halves = (walls_of(sheath), walls_of(sheath, upper=True))
    placement = _seated(halves, sheath, knife)
    placed = moved(knife, placement)
    points = knife_points(placed, sheath.mouth_x, STEP)
    with_it = replace(sheath, knife=placed)
    travel = np.arange(0.0, sheath.mouth_x + DRAW_STEP, DRAW_STEP)
    return StockFit(
        with_it,
        sheath.knife,
        placement,
        points,
        _room(halves, points),
        clearance_along_draw(with_it, DRAW_STEP),
        float(lifts(with_it, travel)[0].max()),
        float(lifts(sheath, travel)[0].max()),
    )


def moved(knife: Knife, placement: Placement) -> Knife:
    """Return a knife moved in its plane; its blade's end moves along with it."""
    outline: Polygon = shapely.transform(knife.outline, placement.of)
    band: MultiPolygon = shapely.transform(knife.edge_band, placement.of)
    grid = knife.half.grid
    x_min, y_min, x_max, y_max = outline.bounds
    over = Grid.over(x_min - 2, y_min - 2, x_max + 2, y_max + 2, grid.spacing)
    x, y = over.mesh()
    half = knife.half.at(placement.back(np.column_stack([x.ravel(), y.ravel()])))
    return replace(
        knife,
        outline=outline,
        edge_band=band,
        half=HeightField(over, half.reshape(over.shape)),
        blade_length=knife.blade_length + placement.x,
    )


def _room(halves: tuple[Walls, Walls], points: Floats) -> Floats:
    room: Floats = np.minimum(*(clearance(half, points) for half in halves))
    return room


def _seated(halves: tuple[Walls, Walls], sheath: Sheath, knife: Knife) -> Placement:
    """Return where the knife presses least, near where its outline lies best."""
    start = best_fit(sheath.knife.outline, knife.outline)
    points = knife_points(knife, sheath.mouth_x + SEAT_REACH, SEAT_STEP)
    # Turned by a whole unit, a point at the sheath's middle moves by half its length.
    size = sheath.mouth_x / 2

    def pressed(steps: Floats) -> float:
        place = Placement(start.x + steps[0], start.y + steps[1], start.turn + steps[2] / size)
        at = np.column_stack([place.of(points[:, :2]), points[:, 2]])
        inside = np.minimum(_room(halves, at), 0.0)
        strayed = float((steps**2).sum()) / SEAT_REACH**2
        return float((inside**2).sum()) + 1e-3 * strayed

    first = np.vstack([np.zeros(3), 0.5 * np.eye(3)])
    found = minimize(
        pressed,
        np.zeros(3),
        method="Nelder-Mead",
        options={"initial_simplex": first, "xatol": 0.01, "fatol": 1e-4, "maxfev": 200},
    )
    steps = found.x
    return Placement(
        float(start.x + steps[0]), float(start.y + steps[1]), float(start.turn + steps[2] / size)
    )
