"""Curves of drawings, flattened within a known distance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from chape.field.grid import Floats

#: No drawing of a knife needs more points than this.
MOST_POINTS = 400_000


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What a drawing holds.

    Attributes:
        pieces: lines of (n, 2) points, mm, y up.
        y_up: whether the drawing's own y axis points up.
    """

    pieces: list[Floats]
    y_up: bool


def chords(
    curve: Callable[[Floats], Floats], start: float, end: float, most_bend: float, tolerance: float
) -> Floats:
    """Return points (n, 2) on a curve whose chords stay within ``tolerance`` of it.

    A chord over a step h of the parameter departs from the curve by at most h²/8 of the greatest
    second derivative.

    Args:
        curve: gives the points (n, 2) at parameters (n,).
        start: of the parameter.
        end: of the parameter.
        most_bend: greatest length of the curve's second derivative.
        tolerance: in the curve's own length unit.

    Raises:
        InputError: the curve is too large to be a knife's.
    """
    span = abs(end - start)
    wanted = span * np.sqrt(most_bend / (8 * tolerance))
    if not np.isfinite(wanted) or wanted > MOST_POINTS:
        raise InputError(
            "a curve of the drawing is far larger than a knife",
            mend="Check the drawing's unit, and take large curves out of it",
        )
    return curve(np.linspace(start, end, max(1, int(np.ceil(wanted))) + 1))


def ellipse(
    centre: Floats, major: Floats, minor: Floats, start: float, end: float, tolerance: float
) -> Floats:
    """Return an elliptic arc, centre + major·cos + minor·sin, as points (n, 2)."""

    def at(angles: Floats) -> Floats:
        points: Floats = centre + np.outer(np.cos(angles), major) + np.outer(np.sin(angles), minor)
        return points

    return chords(at, start, end, float(np.hypot(*major) + np.hypot(*minor)), tolerance)


def bezier(corners: Floats, tolerance: float) -> Floats:
    """Return a Bézier curve of degree 2 or 3, corners (3 or 4, 2), as points (n, 2)."""
    with np.errstate(over="ignore", invalid="ignore"):
        # What overflows here is refused by ``chords``.
        bends = np.hypot(*np.diff(corners, n=2, axis=0).T)
    degree = len(corners) - 1

    def at(t: Floats) -> Floats:
        points = np.repeat(corners[None, :, :], len(t), axis=0)
        share = t[:, None, None]
        while points.shape[1] > 1:
            points = (1 - share) * points[:, :-1] + share * points[:, 1:]
        return points[:, 0]

    return chords(at, 0.0, 1.0, float(degree * (degree - 1) * bends.max()), tolerance)
