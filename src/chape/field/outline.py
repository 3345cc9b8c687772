"""Closed outlines of true lines and arcs.

The bulge of a segment is the tangent of a quarter of the angle it sweeps: 0 for a line, positive
for an arc that turns counter-clockwise, 1 for a half circle.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, ceil, pi
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon

from chape import tolerances
from chape.errors import CannotMakeError, InputError
from chape.field.arcs import arc_of, chords, fit_path, fit_ring

if TYPE_CHECKING:
    from shapely import MultiPolygon
    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Floats

__all__ = ["Outline", "arc_of", "fit_outline", "fit_path", "offset", "rounded"]


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """A closed chain of lines and arcs.

    Attributes:
        points: (n, 2) corners, mm; the last joins the first.
        bulges: (n,) bulge of the segment from each corner to the next.
    """

    points: Floats
    bulges: Floats

    def flattened(self, tolerance: float) -> Floats:
        """Return the outline as (m, 2) points whose chords stay within ``tolerance`` mm."""
        closed = np.vstack([self.points, self.points[:1]])
        return chords(closed, self.bulges, tolerance)[:-1]

    def polygon(self, tolerance: float = 0.002) -> Polygon:
        """Return the outline as a polygon whose chords stay within ``tolerance`` mm."""
        return shapely.Polygon(self.flattened(tolerance))

    def moved(self, x: float, y: float, quarter_turns: int = 0) -> Outline:
        """Return the outline turned counter-clockwise about the origin, then moved."""
        points = self.points
        for _ in range(quarter_turns % 4):
            points = np.column_stack([-points[:, 1], points[:, 0]])
        return Outline(points + np.array([x, y]), self.bulges)

    def mirrored(self) -> Outline:
        """Return the outline mirrored about the x axis (y -> -y), still turning the same way."""
        points = self.points[::-1] * np.array([1.0, -1.0])
        # Reversing the order and mirroring each turn a bulge's sign once, so it keeps its own.
        return Outline(points, np.roll(self.bulges[::-1], -1))

    def scaled(self, factor: float) -> Outline:
        """Return the outline scaled about the origin by a positive factor."""
        if not factor > 0:
            raise ValueError(f"an outline is scaled by a positive factor, not {factor}")
        return Outline(self.points * factor, self.bulges)

    @property
    def area(self) -> float:
        """Enclosed area, mm^2, exact for the arcs; positive when counter-clockwise."""
        x, y = self.points.T
        straight = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2
        # A segment of a circle: radius^2 (sweep - sin sweep) / 2.
        sweep = 4 * np.arctan(self.bulges)
        chord = self._chord_lengths()
        curved = np.flatnonzero(self.bulges)
        radius = chord[curved] / (2 * np.sin(np.abs(sweep[curved]) / 2))
        return straight + float(np.sum(radius**2 * (sweep[curved] - np.sin(sweep[curved])))) / 2

    @property
    def length(self) -> float:
        """Way round, mm, exact for the arcs."""
        half = 2 * np.arctan(np.abs(self.bulges))
        # chord = 2 radius sin(half), arc = 2 radius half.
        return float(np.sum(self._chord_lengths() / np.sinc(half / np.pi)))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(x_min, y_min, x_max, y_max), within 1e-4 mm."""
        points = self.flattened(tolerances.SAME_LENGTH)
        (x_min, y_min), (x_max, y_max) = points.min(axis=0), points.max(axis=0)
        return float(x_min), float(y_min), float(x_max), float(y_max)

    @property
    def is_simple(self) -> bool:
        """Whether the outline closes without touching or crossing itself."""
        return len(self.points) > 1 and bool(self.polygon().is_valid)

    def _chord_lengths(self) -> Floats:
        """Return (n,) distances from each corner to the next."""
        lengths: Floats = np.hypot(*(np.roll(self.points, -1, axis=0) - self.points).T)
        return lengths


def fit_outline(polygon: Polygon, tolerance: float = tolerances.ARC_FIT) -> Outline:
    """Turn the exterior of a polygon into few lines and arcs.

    True corners stay where they are, a long straight stretch becomes one line, no arc sweeps more
    than half a circle. See ``field/arcs.py`` for the method.

    Args:
        polygon: its exterior ring is fitted; holes are left out.
        tolerance: neither ring strays further than this from the other, mm.

    Returns:
        A simple outline, counter-clockwise.

    Raises:
        InputError: the polygon is empty or crosses itself.
    """
    exterior = exterior_of(polygon)
    finer = tolerance
    for _ in range(4):
        outline = Outline(*fit_ring(exterior, finer))
        if outline.is_simple:
            return outline
        finer /= 4
    return Outline(exterior, np.zeros(len(exterior)))


def exterior_of(polygon: Polygon) -> Floats:
    """Return a valid polygon's exterior as (n, 2) points, counter-clockwise, not repeated."""
    if not isinstance(polygon, Polygon) or polygon.is_empty:
        raise InputError("an outline is empty", mend="Give one closed outline")
    if not polygon.is_valid:
        where = shapely.is_valid_reason(polygon)
        raise InputError(
            f"an outline crosses or touches itself ({where})",
            mend="Draw it so that it closes without crossing itself",
        )
    points: Floats = shapely.get_coordinates(shapely.orient_polygons(polygon).exterior)[:-1]
    return points


def offset(
    shape: BaseGeometry | Outline, distance: float, tolerance: float = tolerances.ARC_FIT / 4
) -> BaseGeometry:
    """Grow a shape by a distance all round (shrink it when negative), with round corners.

    Offset each ring from the original shape, not from the last offset: errors would add up.

    Args:
        shape: an outline, or any shapely geometry, mm.
        distance: mm, outwards.
        tolerance: chords of the result stay within this of true arcs, mm.

    Returns:
        Polygon or MultiPolygon; empty where nothing is left.
    """
    geometry = shape.polygon(tolerance / 2) if isinstance(shape, Outline) else shape
    return geometry.buffer(distance, quad_segs=quarter_chords(distance, tolerance))


def quarter_chords(radius: float, tolerance: float) -> int:
    """Return how many chords make a quarter circle within a tolerance (sagitta), at least 2."""
    if abs(radius) <= tolerance:
        return 2
    return max(2, ceil(pi / 2 / (2 * acos(1 - tolerance / abs(radius)))))


def rounded(
    polygon: Polygon | MultiPolygon,
    inside_radius: float,
    outside_radius: float,
    tolerance: float = tolerances.ARC_FIT / 4,
) -> Polygon:
    """Round a polygon both ways, so that a cutter can follow it.

    Inside corners are filled to ``inside_radius`` (a closing by a disc), then outside corners
    taken off to ``outside_radius`` (an opening). Either may be 0.

    Args:
        polygon: one or more polygons; near ones may grow together.
        inside_radius: no inside corner is sharper than this, mm.
        outside_radius: no outside corner is sharper than this, mm.
        tolerance: chords stay within this of true arcs, mm.

    Returns:
        One polygon, with the holes that are left.

    Raises:
        CannotMakeError: nothing is left, or it falls into several parts.
    """
    filled = offset(offset(polygon, inside_radius, tolerance), -inside_radius, tolerance)
    smooth = offset(offset(filled, -outside_radius, tolerance), outside_radius, tolerance)
    if isinstance(smooth, Polygon) and not smooth.is_empty:
        return smooth
    state = "nothing is left" if smooth.is_empty else "it falls into several parts"
    raise CannotMakeError(
        f"rounding an outline to {inside_radius:g} mm inside and {outside_radius:g} mm outside "
        f"does not work: {state}",
        mend="Ask for smaller radii or a wider outline",
    )
