"""What a clip's pattern of holes looks like in the ways it may lie.

A clip is a thing of metal or plastic with an outside: it can be turned on its sheath, never
mirrored. A left-hand sheath is the mirror image of the right-hand one, holes and all, and so are a
sheath's two halves of one another, seen from outside. A pattern that is its own mirror image finds
the same holes on all of them. One that is not needs its holes twice: where it lies on one, its
mirror image lies on the other. So a hole plan that serves both hands holds each pattern and the
pattern's mirror image, and then it serves both halves too, whichever the clip is for.

The permitted angles belong to how the knife hangs, not to the clip, and are mirrored with the
sheath: they count from the way mouth to tip, turning away from the wall.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.catalog.hardware import Clip
    from chape.field.grid import Floats

#: Two patterns are the same when no hole lies further from its fellow than this, mm.
SAME_PATTERN = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A pattern turned to one of its angles, in a frame along the line of eyelets.

    Attributes:
        points: (k, 2) holes in the clip's own order, mm: first along the line, from its hole
            nearest to the mouth, then out of it, from its hole nearest to the wall.
        angle: of the pattern's x axis to the way mouth to tip, degrees.
        true: it is the clip itself seen with the wall to the right of that way.
        mirrored: it is the clip's mirror image.
    """

    points: Floats
    angle: float
    true: bool
    mirrored: bool

    @property
    def length(self) -> float:
        """Along the line, mm."""
        return float(self.points[:, 0].max())


def shapes_of(clip: Clip, angles: tuple[float, ...] | None = None) -> tuple[Shape, ...]:
    """Return every different shape of a clip's pattern, the true ones first.

    A shape that is true at one angle and the mirror image at another stands there once, as both.

    Args:
        clip: gives holes and permitted angles.
        angles: permitted instead, degrees.
    """
    shapes: list[Shape] = []
    for mirrored in (False, True):
        for angle in clip.angles if angles is None else angles:
            points = _turned(clip, angle, mirrored=mirrored)
            known = next((k for k, s in enumerate(shapes) if _same(s.points, points)), None)
            if known is None:
                shapes.append(Shape(points, angle, not mirrored, mirrored))
            elif mirrored:
                shapes[known] = replace(shapes[known], mirrored=True)
    return tuple(shapes)


def is_handed(clip: Clip, angles: tuple[float, ...] | None = None) -> bool:
    """Say whether a clip's pattern, at its permitted angles, is not its own mirror image."""
    return not any(shape.true and shape.mirrored for shape in shapes_of(clip, angles))


def _turned(clip: Clip, angle: float, *, mirrored: bool) -> Floats:
    holes = np.array(clip.holes, dtype=np.float64)
    if mirrored:
        holes = holes * np.array([1.0, -1.0])
    turn = radians(angle)
    matrix = np.array([[cos(turn), -sin(turn)], [sin(turn), cos(turn)]])
    points: Floats = holes @ matrix.T
    least: Floats = points.min(axis=0)
    return points - least


def _same(one: Floats, other: Floats) -> bool:
    """Say whether two sets of points are the same, in whatever order."""
    distances = np.hypot(*(one[:, None, :] - other[None, :, :]).transpose(2, 0, 1))
    return bool(distances.min(axis=0).max() <= SAME_PATTERN) and bool(
        distances.min(axis=1).max() <= SAME_PATTERN
    )
