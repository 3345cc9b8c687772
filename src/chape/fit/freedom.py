"""How far a rigid body can move among rigid obstacles: linear programs over its six freedoms.

A small motion is a shift u and a turn w about a pivot c. A point p of the body comes no further
towards an obstacle that is a gap g away along the unit vector n than

    n · u + ((p - c) × n) · w <= g

Over all such rows the furthest motion one way is a linear program. It is true for small motions
only, so that it is taken in bounded steps: after each the body is moved exactly, gaps and
directions are measured anew, and the next step starts from there, until nothing more is won.

Of thousands of rows a handful matter. A step is solved over the few nearest, the rows it breaks
are added, and it is solved again until it breaks none: the answer is that of all rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

if TYPE_CHECKING:
    from collections.abc import Callable

    from chape.field.grid import Floats

    #: (n, 3) points where they have got to -> (n,) gaps and (n, 3) unit vectors to the obstacle.
    Obstacles = Callable[[Floats], tuple[Floats, Floats]]

#: One step shifts a point by about this at most, mm: curved walls stay nearly flat over it.
STEP = 0.3

#: A turn is measured by what it moves at this lever, mm, so that the program is well scaled.
LEVER = 100.0

#: No motion is followed further, mm (or mm at the lever): by then the knife is not held that way.
FURTHEST = 4.0

#: A motion is done when a step wins less than this, mm.
SETTLED = 1e-3

#: A row is broken when it is overstepped by this, mm.
BROKEN = 1e-7

#: Rows a step starts with, and the most added at a time.
FIRST_ROWS, MORE_ROWS = 60, 40

#: A motion that has not settled in so many steps is as good as done.
MOST_STEPS = 30


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """Where a body has got to: p goes to pivot + turn (p - pivot) + shift.

    Attributes:
        pivot: (3,) mm.
        shift: (3,) mm.
        turn: rotation about the pivot.
    """

    pivot: Floats
    shift: Floats
    turn: Rotation

    @classmethod
    def home(cls, pivot: Floats) -> Pose:
        """Return the pose in which nothing has moved."""
        return cls(pivot, np.zeros(3), Rotation.identity())

    def of(self, points: Floats) -> Floats:
        """Return where (n, 3) points have got to."""
        moved: Floats = self.turn.apply(points - self.pivot) + self.pivot + self.shift
        return moved

    def after(self, shift: Floats, turn: Floats) -> Pose:
        """Return the pose after a further shift and a turn about where the pivot now is."""
        return Pose(self.pivot, self.shift + shift, Rotation.from_rotvec(turn) * self.turn)


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """How far a body got one way.

    Attributes:
        pose: where it ended.
        amount: what was asked to grow: mm, or radians for a turn.
        touches: indices of the points that stop it there.
        overlap: how far its points reach into obstacles there, mm; 0 for none.
        free: nothing stopped it within ``FURTHEST``.
    """

    pose: Pose
    amount: float
    touches: tuple[int, ...]
    overlap: float
    free: bool


def furthest_shift(
    points: Floats, obstacles: Obstacles, pivot: Floats, marked: Floats, way: Floats
) -> Reach:
    """Move a body so that one point of it gets as far as it can one way.

    Args:
        points: (n, 3) points all over the body at home, mm.
        obstacles: measures gaps; what touches at home already counts as a gap of 0.
        pivot: (3,) what turns are about, near the body's middle.
        marked: (3,) the point of the body that is watched.
        way: (3,) unit vector.
    """
    return _followed(points, obstacles, pivot, lambda pose: _shift_gain(pose, marked, way))


def furthest_turn(points: Floats, obstacles: Obstacles, pivot: Floats, axis: Floats) -> Reach:
    """Turn a body about an axis (3,) as far as it can; it may shift and turn otherwise as well.

    The arguments are those of ``furthest_shift``; the amount is in radians.
    """
    gain = np.concatenate([np.zeros(3), axis / LEVER])
    return _followed(
        points,
        obstacles,
        pivot,
        lambda pose: (gain, float(pose.turn.as_rotvec() @ axis), LEVER),
    )


def _shift_gain(pose: Pose, marked: Floats, way: Floats) -> tuple[Floats, float, float]:
    here = pose.of(marked[None])[0]
    arm = here - pose.pivot - pose.shift
    gain = np.concatenate([way, np.cross(arm, way) / LEVER])
    return gain, float((here - marked) @ way), 1.0


def _followed(
    points: Floats,
    obstacles: Obstacles,
    pivot: Floats,
    measure: Callable[[Pose], tuple[Floats, float, float]],
) -> Reach:
    """Take bounded steps until nothing more is won.

    Args:
        points: of the body at home.
        obstacles: measures gaps.
        pivot: what turns are about.
        measure: pose -> what each freedom adds to the amount (6,), the amount, mm per amount.
    """
    pose = Pose.home(pivot)
    allowed = np.minimum(obstacles(points)[0], 0.0)
    touches: tuple[int, ...] = ()
    best, won, free = pose, 0.0, False
    for _ in range(MOST_STEPS):
        gain, amount, scale = measure(pose)
        moved = pose.of(points)
        gaps, ways = obstacles(moved)
        arms = moved - pose.pivot - pose.shift
        rows = np.hstack([ways, np.cross(arms, ways) / LEVER])
        # What overlapped at home may stay so; what a curved wall took back is given up again.
        solved = _step(rows, gaps - allowed, gain)
        if solved is None:
            break
        step, touching = solved
        pose = pose.after(step[:3], step[3:] / LEVER)
        _, reached, _ = measure(pose)
        touches = touching or touches
        best = pose
        won = reached
        if scale * won >= FURTHEST:
            free = True
            break
        if scale * (reached - amount) < SETTLED:
            break
    overlap = float(np.max(allowed - obstacles(best.of(points))[0], initial=0.0))
    return Reach(best, won, touches, max(overlap, 0.0), free)


def _step(rows: Floats, gaps: Floats, gain: Floats) -> tuple[Floats, tuple[int, ...]] | None:
    """Return the best bounded step (6,) and the rows that stop it; None where there is none."""
    live = np.flatnonzero(np.any(rows != 0.0, axis=1))
    within = live[gaps[live] < np.abs(rows[live]).sum(axis=1) * STEP]
    chosen = within[np.argsort(gaps[within], kind="stable")[:FIRST_ROWS]]
    while True:
        found = linprog(
            -gain,
            A_ub=rows[chosen] if len(chosen) else None,
            b_ub=gaps[chosen] if len(chosen) else None,
            bounds=(-STEP, STEP),
            method="highs-ds",
        )
        if found.x is None:
            return None
        over = rows[within] @ found.x - gaps[within]
        broken = within[over > BROKEN]
        if len(broken) == 0:
            stops = chosen[found.ineqlin.marginals < -1e-9] if len(chosen) else chosen
            return found.x, tuple(int(row) for row in stops)
        worst = np.argsort(-over[over > BROKEN], kind="stable")[:MORE_ROWS]
        chosen = np.union1d(chosen, broken[worst])
