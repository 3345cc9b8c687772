"""Moves between cuts.

A rapid never mixes height with travel: controllers run each axis at its own rate, so a mixed one
would not be straight.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape import tolerances
from chape.cutting.model import Motion, Moves

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.cutting.model import Setup
    from chape.field.grid import Floats

#: Air between the cutter's tip and the highest thing under it on a short way across, mm.
CLEARANCE = 2.0

#: Rapids down end this far above what stands there, mm.
APPROACH = 1.0


def safe_height(setup: Setup) -> float:
    """Return the height (mm) at which nothing can be met anywhere."""
    posts = [post.z_top for post in setup.keep_outs]
    return max([float(setup.stock.z.max()), *posts]) + setup.machine.safe_height


class Track:
    """Gathers the moves of one operation; the cutter starts and ends at the safe height.

    Attributes:
        safe: the safe height, mm.
        position: (x, y, z) where the cutter stands, mm; None before the first move.
        saved: how much shorter the way between cuts is than in the order they were given in, mm.
    """

    def __init__(self, safe: float) -> None:
        self.safe = safe
        self.position: tuple[float, float, float] | None = None
        self.saved = 0.0
        self._parts: list[Moves] = []

    def rapid(self, x: float, y: float, z: float) -> None:
        """Travel or lift; the two are never mixed."""
        here = self.position
        if here is not None:
            if (x, y, z) == here:
                return
            if (x, y) != here[:2] and z != here[2]:
                raise ValueError("a rapid may not mix height with travel")
        self._add(Motion.RAPID, np.array([[x, y, z]]), np.nan)

    def lines(self, points: Floats, feed: float | Floats) -> None:
        """Cut straight to each of the points, (n, 3)."""
        if len(points):
            self._add(Motion.LINE, points, feed)

    def arc(self, end: Floats, centre: Floats, feed: float, *, clockwise: bool) -> None:
        """Cut an arc in the plane to ``end`` (3,), rising or falling evenly on the way."""
        motion = Motion.CLOCKWISE if clockwise else Motion.COUNTER_CLOCKWISE
        self._add(motion, end[None, :], feed, centre[None, :])

    def lift(self, z: float | None = None) -> None:
        """Rise straight up, to the safe height unless told otherwise."""
        if self.position is not None:
            x, y, _ = self.position
            self.rapid(x, y, self.safe if z is None else z)

    def leave(self, ground: Ground, radius: float, feed: float) -> None:
        """Rise at the feed past what stands beside the cutter, for its rim may still graze it."""
        if self.position is None:
            return
        x, y, z = self.position
        top = float(ground.highest(np.array([[x, y]]), radius)[0])
        if top > z:
            self.lines(np.array([[x, y, min(top, self.safe)]]), feed)

    def go(self, x: float, y: float, ground: Ground | None = None, radius: float = 0.0) -> None:
        """Travel above everything; only as high as needed where the ground is known."""
        here = self.position
        if here is None:
            self.rapid(x, y, self.safe)
            return
        height = self.safe
        if ground is not None:
            highest = ground.highest_between(here[:2], (x, y), radius)
            height = min(self.safe, max(highest + CLEARANCE, here[2]))
        self.lift(height)
        self.rapid(x, y, height)

    def down(self, z: float) -> None:
        """Sink by rapid through air; never upward."""
        x, y, here = self._there()
        if z < here:
            self.rapid(x, y, z)

    def moves(self) -> Moves:
        """Return everything gathered."""
        return Moves.joined(self._parts)

    def _there(self) -> tuple[float, float, float]:
        if self.position is None:
            raise ValueError("the cutter is nowhere yet")
        return self.position

    def _add(
        self, motion: Motion, end: Floats, feed: float | Floats, centre: Floats | None = None
    ) -> None:
        count = len(end)
        self._parts.append(
            Moves(
                np.full(count, motion, np.int8),
                np.asarray(end, np.float64),
                np.full((count, 2), np.nan) if centre is None else centre,
                np.broadcast_to(np.asarray(feed, np.float64), (count,)),
            )
        )
        x, y, z = (float(value) for value in end[-1])
        self.position = (x, y, z)


def same_place(a: Floats, b: Floats) -> bool:
    """Return whether two points are the same to what a program can tell apart."""
    return bool(np.abs(np.asarray(a) - np.asarray(b)).max() < tolerances.SAME_LENGTH)
