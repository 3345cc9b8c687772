"""Corner locators and the front mark: what is raised on the blank besides the sheaths.

Locators are round buttons. The sheet formed over them drops onto the same buttons of the trim
fixture. The front-left one is larger, so that a sheet laid on turned does not sit down. The front
mark is a low bar by the front edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, cos, hypot, pi, sin, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.field.grid import Floats, Grid
    from chape.field.outline import Outline
    from chape.tooling.model import BlankChoices

#: Height of the locators, and radius of their flat tops: front-left, and the others, mm.
LOCATOR_HEIGHT = 3.0
LOCATOR_TOPS = (3.0, 1.5, 1.5, 1.5)

#: Height and length of the front mark's flat top, mm.
MARK_HEIGHT = 0.8
MARK_LENGTH = 8.0

#: Walls of locators and mark lean by this from upright at least, radians: they must let the sheet
#: go (common practice, no source).
DRAFT = 20 * pi / 180

#: Convex edges are rounded by this, mm: no sharper edge is followed well on a grid.
ROUNDING = 1.0

#: Room wanted between a locator and the outlines, so that trimming leaves it whole (the relief
#: groove of a 6 mm cutter), within this share of the blank from the corner. Where there is none,
#: the second room is taken, as far as the middle: locators far apart locate better than whole ones.
OFF_OUTLINE = ((8.0, 0.2), (1.0, 0.5))

#: Places are tried on this raster, mm.
STEP = 1.0

Locator = tuple[float, float, float, float]
Mark = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Rim:
    """The rim of a button: from the edge of its flat top down to the plane.

    A convex arc, a straight wall and a concave foot fillet; all three tangent.

    Attributes:
        height: mm.
        fillet, rounding: radii at the foot and at the top, mm.
        slope: angle of the wall from the plane, radians; lower than asked where the arcs alone
            are higher than the button.
    """

    height: float
    fillet: float
    rounding: float
    slope: float

    @classmethod
    def of(cls, height: float, fillet: float) -> Rim:
        """Return the steepest rim the draft and the radii allow."""
        rounding = min(ROUNDING, height / 2)
        arcs = 1 - height / (fillet + rounding)
        slope = min(pi / 2 - DRAFT, acos(max(-1.0, min(1.0, arcs))))
        return cls(height, fillet, rounding, slope)

    @property
    def run(self) -> float:
        """Distance from the edge of the flat top to the plane, mm."""
        bent = (self.fillet + self.rounding) * sin(self.slope)
        fall = self.height - (self.fillet + self.rounding) * (1 - cos(self.slope))
        return bent + max(0.0, fall) / tan(self.slope)

    def heights(self, outside: Floats) -> Floats:
        """Return the height at distances outside the flat top's edge (negative inside), mm."""
        top = self.rounding * sin(self.slope)
        foot = self.run - self.fillet * sin(self.slope)
        bent = np.sqrt(np.maximum(0.0, self.rounding**2 - np.maximum(0.0, outside) ** 2))
        convex = self.height - self.rounding + bent
        wall = (
            self.height - self.rounding * (1 - cos(self.slope)) - (outside - top) * tan(self.slope)
        )
        concave = self.fillet - np.sqrt(
            np.maximum(0.0, self.fillet**2 - np.maximum(0.0, self.run - outside) ** 2)
        )
        inner = np.where(outside < top, convex, wall)
        heights: Floats = np.where(outside < foot, inner, concave)
        return heights


def locators(
    blank: BlankChoices,
    patterns: Sequence[Outline],
    raised: shapely.Geometry,
    fillet: float,
) -> tuple[Locator, ...]:
    """Place a locator as near each corner of the sheet inside the clamp border as it goes.

    Args:
        blank: its size and border.
        patterns: outlines of the copies, blank frame.
        raised: raised parts of the copies, blank frame.
        fillet: foot fillet, mm.

    Returns:
        (x, y, foot radius, height), front-left first, then counter-clockwise; a corner without
        room has none, which ``check_tooling`` reports.
    """
    run = Rim.of(LOCATOR_HEIGHT, fillet).run
    outlines = shapely.union_all([pattern.polygon(0.01) for pattern in patterns])
    placed: list[Locator] = []
    for corner, top in enumerate(LOCATOR_TOPS):
        radius = top + run
        # Webs want 1.5 times the height of the lower of two neighbours.
        off_raised = raised.buffer(radius + 1.5 * LOCATOR_HEIGHT)
        for room, share in OFF_OUTLINE:
            taken = shapely.union_all([outlines.buffer(radius + room), off_raised])
            place = _nearest_free(blank, corner, radius, taken, share)
            if place is not None:
                placed.append((*place, radius, LOCATOR_HEIGHT))
                break
    return tuple(placed)


def _nearest_free(
    blank: BlankChoices, corner: int, radius: float, taken: shapely.Geometry, share: float
) -> tuple[float, float] | None:
    """Return the free place nearest a corner, within a share of the blank's sides."""
    border = blank.clamp_border
    right, back = corner in {1, 2}, corner in {2, 3}
    x = np.arange(border + radius, blank.width * share - radius, STEP)
    y = np.arange(border + radius, blank.depth * share - radius, STEP)
    if len(x) == 0 or len(y) == 0:
        return None
    across, along = (part.ravel() for part in np.meshgrid(x, y))
    order = np.lexsort((across, along, np.hypot(across, along)))
    across, along = across[order], along[order]
    px = blank.width - across if right else across
    py = blank.depth - along if back else along
    free = ~shapely.contains_xy(taken, px, py)
    if not free.any():
        return None
    first = int(np.argmax(free))
    return float(px[first]), float(py[first])


def front_mark(
    blank: BlankChoices,
    patterns: Sequence[Outline],
    raised: shapely.Geometry,
    buttons: Sequence[Locator],
) -> Mark | None:
    """Place the front mark by the front edge, as near its middle as it goes.

    Returns:
        (x, y) of its centre, then half length along x and half length along y of its flat ridge;
        None where there is no room.
    """
    run = Rim.of(MARK_HEIGHT, 3.0).run
    half = MARK_LENGTH / 2
    taken = shapely.union_all(
        [pattern.polygon(0.01).buffer(1.0) for pattern in patterns]
        + [raised]
        + [shapely.Point(x, y).buffer(radius + 1.0) for x, y, radius, _ in buttons]
    )
    shapely.prepare(taken)
    border = blank.clamp_border
    for ahead in np.arange(0.0, blank.depth / 4, STEP):
        for aside in np.arange(0.0, blank.width / 2 - border - half - run, STEP):
            for x in (blank.width / 2 + aside, blank.width / 2 - aside):
                for half_x, half_y in ((half, 0.0), (0.0, half)):
                    y = border + run + half_y + ahead
                    ridge = shapely.box(
                        x - half_x - run, y - half_y - run, x + half_x + run, y + half_y + run
                    )
                    if not shapely.intersects(taken, ridge):
                        return float(x), float(y), half_x, half_y
    return None


def raise_locators(z: Floats, grid: Grid, buttons: Sequence[Locator], fillet: float) -> None:
    """Raise the locators on the blank's heights, in place."""
    for x, y, radius, height in buttons:
        rim = Rim.of(height, fillet)
        _raise(z, grid, (x, y, 0.0, 0.0), radius, rim, radius - rim.run)


def raise_mark(z: Floats, grid: Grid, mark: Mark, fillet: float) -> None:
    """Raise the front mark on the blank's heights, in place."""
    rim = Rim.of(MARK_HEIGHT, fillet)
    _raise(z, grid, mark, rim.run, rim, 0.0)


def _raise(z: Floats, grid: Grid, ridge: Mark, reach: float, rim: Rim, top: float) -> None:
    """Raise everything within ``reach`` of a ridge to a rim whose flat top is ``top`` wide."""
    x, y, half_x, half_y = ridge
    wide = hypot(half_x, half_y) + reach + grid.spacing
    i = slice(*np.searchsorted(grid.x, (x - wide, x + wide)))
    j = slice(*np.searchsorted(grid.y, (y - wide, y + wide)))
    px, py = np.meshgrid(grid.x[i], grid.y[j])
    distance = np.hypot(
        np.maximum(0.0, np.abs(px - x) - half_x), np.maximum(0.0, np.abs(py - y) - half_y)
    )
    part = z[j, i]
    np.maximum(part, np.where(distance < reach, rim.heights(distance - top), 0.0), out=part)
