"""The knife at one place on its way: which points touch, and with what force.

    g     distance of a point of the sheath from the knife, had nothing given way, mm
    u     how the point has moved;  n  normal out of the knife where the moved point meets it
    t     the draw's direction in the knife's surface;  mu  friction;  lam  normal force
    w     = g(p + u0) + n . (u - u0), worked out anew about the last u0: the knife is not flat

Force on the sheath is lam (n + mu t) while the knife is drawn, lam (n - mu t) while it is pushed
home: full slip, right for a knife that keeps moving.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees
from typing import TYPE_CHECKING

import numpy as np

from chape.solve.contact import touch

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.fit.held import Grip
    from chape.fit.model import Conditions
    from chape.fit.near import Near

#: A slope counts when it carries this share of the greatest force at a point.
CARRIES = 0.05

#: How often the knife's surface is looked at anew under the points as they have moved.
ROUNDS = 2


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One place of the knife.

    Attributes:
        along: force that moves it on, both halves, N; infinite where it locks.
        force: (p,) normal force at each spot of one half, N.
        direction: (p, 3) of the whole force on the sheath, per unit of normal force.
        moved: (p, 3) how each spot has moved, mm.
        slope: steepest that carries load, degrees.
    """

    along: float
    force: Floats
    direction: Floats
    moved: Floats
    slope: float


def untouched(grip: Grip) -> Step:
    """Return the knife clear of the sheath."""
    count = len(grip.spots.points)
    nothing = np.zeros((count, 3))
    return Step(0.0, np.zeros(count), nothing, nothing, 0.0)


def step(
    grip: Grip,
    table: Near,
    conditions: Conditions,
    travel: float,
    before: Step,
    *,
    homewards: bool = False,
    rounds: int = ROUNDS,
) -> Step:
    """Return forces with the knife at one travel, moving out or homewards.

    Args:
        grip: what may touch.
        table: distances from the knife.
        conditions: of knife and sheet.
        travel: mm.
        before: the place before, which this one is taken to be like at first.
        homewards: the knife is pushed in, not drawn.
        rounds: how often the surface is looked at anew.
    """
    shift = (travel + conditions.along, conditions.across)
    sense = -1.0 if homewards else 1.0
    moved, first = before.moved, before.force > 0
    for _ in range(rounds):
        away, normals = table.at(grip.spots.points + moved, shift, conditions.swell)
        gaps = away - (normals * moved).sum(axis=1)
        if not (gaps < 0).any():
            return untouched(grip)
        direction = normals + sense * conditions.friction * _dragged(normals)
        try:
            unit, nodes = touch(grip.compliance, grip.points, gaps, normals, direction, first)
        except ArithmeticError:
            return _locked(grip)
        first = unit > 0
        around = nodes.reshape(-1, 3)[grip.spots.nodes]
        moved = (grip.spots.weights[:, :, None] * around).sum(axis=1)
    force = unit * conditions.modulus
    climb = sense * normals[force > CARRIES * force.max(), 0]
    slope = degrees(np.arcsin(np.clip(climb.max(initial=0.0), 0.0, 1.0)))
    along = 2 * sense * float(force @ direction[:, 0])
    if slope >= locking_slope(conditions.friction):
        along = float("inf")
    return Step(along, force, direction, moved, slope)


def locking_slope(friction: float) -> float:
    """Return the slope at which friction alone holds, degrees: tan a = 1 / mu.

    R. A. Malloy, Plastic Part Design for Injection Molding; P. R. Bonenberger, The First Snap-Fit
    Handbook.
    """
    return degrees(np.arctan2(1.0, friction))


def mating_factor(friction: float, slope: float) -> float:
    """Return force along the draw over force across it, on a slope (degrees); infinite if locked.

    (mu + tan a) / (1 - mu tan a): the same sources.
    """
    if slope >= locking_slope(friction):
        return float("inf")
    tangent = float(np.tan(np.radians(slope)))
    return (friction + tangent) / (1 - friction * tangent)


def _dragged(normals: Floats) -> Floats:
    """Return (p, 3) the draw's direction, +x, in the surface under each normal."""
    dragged = -normals[:, :1] * normals
    dragged[:, 0] += 1.0
    size = np.linalg.norm(dragged, axis=1, keepdims=True)
    return np.asarray(dragged / np.maximum(size, 1e-9))


def _locked(grip: Grip) -> Step:
    clear = untouched(grip)
    return Step(float("inf"), clear.force, clear.direction, clear.moved, 90.0)
