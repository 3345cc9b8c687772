"""Two measurements of one knife laid over one another, and where they differ.

The second is moved and turned in the plane until its outline lies best on the first's: the sum of
the squares of their distances is least, those past ``ROBUST`` counting less, so that a place that
was measured wrongly does not pull the rest along. Thickness is compared as it lies then.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage
from scipy.optimize import least_squares

from chape.field.distance import distance_to_line
from chape.field.heights import HeightField

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.knife.model import Knife

#: Outlines are compared at points this far apart, mm.
STEP = 1.0

#: Distances past this count less in the fit, mm.
ROBUST = 0.2

#: Thickness is compared this far inside both outlines, mm: at the rim a shift tells as thickness.
INSIDE = 0.7

#: A difference of thickness counts as the greatest where it holds for this far around, mm.
CALM = 1.0

#: Differences within are those that this share stays under: a lone speck tells nothing.
MOST_OF = 0.95


@dataclass(frozen=True, slots=True)
class Placement:
    """Where something is moved to: turned about the origin first, then shifted.

    Attributes:
        x, y: shift, mm.
        turn: counter-clockwise, radians.
    """

    x: float = 0.0
    y: float = 0.0
    turn: float = 0.0

    def of(self, points: Floats) -> Floats:
        """Return points (n, 2) moved."""
        moved: Floats = points @ self._rotation().T + [self.x, self.y]
        return moved

    def back(self, points: Floats) -> Floats:
        """Return points (n, 2) moved the other way."""
        moved: Floats = (points - [self.x, self.y]) @ self._rotation()
        return moved

    def _rotation(self) -> Floats:
        c, s = np.cos(self.turn), np.sin(self.turn)
        return np.array([[c, -s], [s, c]])


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """How a second measurement differs from a first, in the first's frame.

    Attributes:
        placement: where the second was moved to.
        points: (n, 2) on the second's outline, mm.
        off: (n,) how far each stands out of the first's outline; less than 0 inside it, mm.
        thickness: full thickness of the second less the first's; 0 where it is not compared, mm.
        compared: share of the first's area over which thickness was compared, 0 to 1.
        thicker, thinner: what 95 % of the compared area stays under, each way, mm.
        most: greatest difference of thickness, mm; steps, where a shift tells, are left out.
        most_at: x, y of it, mm.
        blade: the second's blade is longer by this, mm.
    """

    placement: Placement
    points: Floats
    off: Floats
    thickness: HeightField
    compared: float
    thicker: float
    thinner: float
    most: float
    most_at: tuple[float, float]
    blade: float

    @property
    def outline_off(self) -> float:
        """What 95 % of the outline's differences stay under, either way, mm."""
        return float(np.quantile(np.abs(self.off), MOST_OF))

    @property
    def worst(self) -> int:
        """Index of the point of the outline that differs most."""
        return int(np.argmax(np.abs(self.off)))

    def within(self, error: float) -> bool:
        """Say whether outline and thickness agree within a measuring error, mm."""
        return self.outline_off <= error and max(self.thicker, self.thinner) <= 2 * error


def compare(first: Knife, second: Knife) -> Comparison:
    """Lay a second measurement over a first."""
    placement = best_fit(first.outline, second.outline)
    points = placement.of(_along(second.outline))
    grid = first.half.grid
    x, y = grid.mesh()
    nodes = np.column_stack([x.ravel(), y.ravel()])
    there = placement.back(nodes)
    both = _contains(first.outline.buffer(-INSIDE), nodes)
    both &= _contains(second.outline.buffer(-INSIDE), there)
    differ = np.zeros(len(nodes))
    differ[both] = 2 * (second.half.at(there[both]) - first.half.z.ravel()[both])
    some = differ[both] if both.any() else np.zeros(1)
    most = _calmest(differ.reshape(grid.shape), grid.spacing)
    return Comparison(
        placement,
        points,
        signed_distance(first.outline, points),
        HeightField(grid, differ.reshape(grid.shape)),
        float(both.sum() * grid.spacing**2 / first.outline.area),
        max(float(np.quantile(some, MOST_OF)), 0.0),
        max(float(-np.quantile(some, 1 - MOST_OF)), 0.0),
        float(differ[most]),
        (float(nodes[most, 0]), float(nodes[most, 1])),
        second.blade_length - first.blade_length,
    )


def _calmest(differ: Floats, spacing: float) -> int:
    """Return the node where a difference is greatest that holds for 1 mm around it."""
    around = 2 * max(round(CALM / spacing), 1) + 1
    return int(np.argmax(ndimage.minimum_filter(np.abs(differ), around)))


def best_fit(still: Polygon, moving: Polygon) -> Placement:
    """Return where one outline must go to lie best on another; both tips start together."""
    points = _along(moving)
    rim = shapely.get_coordinates(still.exterior)

    def distances(place: Floats) -> Floats:
        return distance_to_line(Placement(*map(float, place)).of(points), rim)

    # A turn of 1 moves a knife's middle by half its length: scaled, all three weigh the same.
    size = max(float(np.ptp(points[:, 0])) / 2, 1.0)
    start = np.array([0.0, still.centroid.y - moving.centroid.y, 0.0])
    found = least_squares(
        distances, start, loss="soft_l1", f_scale=ROBUST, x_scale=[1, 1, 1 / size]
    )
    return Placement(*map(float, found.x))


def signed_distance(outline: Polygon, points: Floats) -> Floats:
    """Return how far each point (n, 2) lies out of an outline, less than 0 inside it, mm."""
    distance = distance_to_line(points, shapely.get_coordinates(outline.exterior))
    signed: Floats = np.where(_contains(outline, points), -distance, distance)
    return signed


def _along(outline: Polygon) -> Floats:
    ring = outline.exterior
    steps = np.linspace(0, ring.length, max(int(ring.length / STEP), 8), endpoint=False)
    points: Floats = shapely.get_coordinates(shapely.line_interpolate_point(ring, steps))
    return points


def _contains(
    region: shapely.Geometry, points: Floats
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    shapely.prepare(region)
    inside: np.ndarray[tuple[int], np.dtype[np.bool_]] = shapely.contains_xy(
        region, points[:, 0], points[:, 1]
    )
    return inside
