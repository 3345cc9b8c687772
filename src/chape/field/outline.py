"""Closed outlines of true lines and arcs.

The bulge of a segment is the tangent of a quarter of the angle it sweeps: 0 for a line, positive
for an arc that turns counter-clockwise, 1 for a half circle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats


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
        following = np.roll(self.points, -1, axis=0)
        pieces = []
        for start, end, bulge in zip(self.points, following, self.bulges, strict=True):
            pieces.append(start[None, :])
            if bulge == 0:
                continue
            centre, radius, first, sweep = arc_of(start, end, float(bulge))
            widest = 2 * np.arccos(max(0.0, 1 - tolerance / radius))
            count = max(2, int(np.ceil(abs(sweep) / widest)))
            angles = first + sweep * np.arange(1, count) / count
            pieces.append(centre + radius * np.column_stack([np.cos(angles), np.sin(angles)]))
        return np.vstack(pieces)

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


def arc_of(start: Floats, end: Floats, bulge: float) -> tuple[Floats, float, float, float]:
    """Return centre (2,), radius, start angle and signed sweep of one arc segment."""
    chord = end - start
    length = float(np.hypot(*chord))
    sweep = 4 * float(np.arctan(bulge))
    radius = length / (2 * abs(np.sin(sweep / 2)))
    # The centre lies left of the chord by this much (right of it when negative).
    aside = length / 2 / np.tan(sweep / 2)
    left = np.array([-chord[1], chord[0]]) / length
    centre = (start + end) / 2 + aside * left
    first = float(np.arctan2(start[1] - centre[1], start[0] - centre[0]))
    return centre, float(radius), first, sweep
