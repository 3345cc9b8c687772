"""The line that rivets stand on, with what is asked of it again and again.

Places near the line are told by two numbers: how far along it from the mouth, and how far out of
it, away from the wall. Outwards is to the left of the way from mouth to tip on the edge side of a
knife lying in its own frame, and to the right on the spine side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import cKDTree

from chape.errors import InputError

if TYPE_CHECKING:
    from shapely import LineString

    from chape.field.grid import Bools, Floats

#: The line is followed in steps of this, mm.
STEP = 0.1

#: Halvings that find a place along the line: a step of 300 mm comes down to a nanometre.
HALVINGS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Locus:
    """A line of eyelet centres from the mouth to the tip, sheath frame, mm.

    Attributes:
        points: (n, 2) places along it.
        along: (n,) way from the mouth.
        heading: (n, 2) unit direction there, towards the tip.
        side: 1 where outwards is to the left of the heading, -1 where it is to the right.
    """

    points: Floats
    along: Floats
    heading: Floats
    side: int

    @property
    def length(self) -> float:
        """From mouth to tip, mm."""
        return float(self.along[-1])

    def at(self, along: Floats, out: Floats | float = 0.0) -> Floats:
        """Return the (m, 2) places so far along the line (m,), and so far out of it."""
        places = np.column_stack([np.interp(along, self.along, axis) for axis in self.points.T])
        return places + np.reshape(out, (-1, 1)) * self.outwards(along)

    def outwards(self, along: Floats) -> Floats:
        """Return (m, 2) unit directions away from the wall."""
        heading = self.headed(along)
        return self.side * np.column_stack([-heading[:, 1], heading[:, 0]])

    def headed(self, along: Floats) -> Floats:
        """Return (m, 2) unit directions towards the tip."""
        heading = np.column_stack([np.interp(along, self.along, axis) for axis in self.heading.T])
        unit: Floats = heading / np.linalg.norm(heading, axis=1, keepdims=True)
        return unit

    def placed(self, points: Floats) -> tuple[Floats, Floats]:
        """Return how far along and how far out each of (m, 2) places lies.

        Past either end the way along runs on straight: below 0 before the mouth's end, above the
        length past the tip's.
        """
        _, nearest = cKDTree(self.points).query(points)
        heading, away = self.heading[nearest], points - self.points[nearest]
        along = self.along[nearest] + np.einsum("ij,ij->i", away, heading)
        normal = self.side * np.column_stack([-heading[:, 1], heading[:, 0]])
        out: Floats = np.einsum("ij,ij->i", away, normal)
        return along, out

    def reached(self, along: Floats, span: float) -> tuple[Floats, Bools]:
        """Return where the line is first a straight ``span`` away from places on it, and whether.

        Args:
            along: (m,) places.
            span: mm.

        Returns:
            (m,) ways along, and (m,) true where the line reaches so far.
        """
        start = self.at(along)
        low = np.minimum(along + span, self.length)
        high = np.minimum(along + 1.6 * span, self.length)
        reaches: Bools = np.hypot(*(self.at(high) - start).T) >= span - 1e-9
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            near = np.hypot(*(self.at(middle) - start).T) < span
            low, high = np.where(near, middle, low), np.where(near, high, middle)
        return high, reaches


def locus_of(line: LineString, *, side: int) -> Locus:
    """Return a line of eyelets, from mouth to tip, as a locus.

    Args:
        line: in the sheath frame, mm.
        side: 1 where the wall is to its right, -1 where it is to its left.

    Raises:
        InputError: the line has no length.
    """
    length = float(line.length)
    if not length > 0 or not np.isfinite(length):
        raise InputError("a line of eyelets has no length", mend="Give it two different ends")
    along = np.linspace(0.0, length, max(2, int(np.ceil(length / STEP)) + 1))
    points = shapely.get_coordinates(shapely.line_interpolate_point(line, along))
    steps = np.gradient(points, along, axis=0)
    heading = steps / np.linalg.norm(steps, axis=1, keepdims=True)
    return Locus(points, along, heading, side)
