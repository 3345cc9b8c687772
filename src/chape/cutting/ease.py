"""Ways made easier on a machine that has to slow down for every corner.

A way is laid anew within a narrow tube around itself, as a stretched spring would lie in it. What
is only jitter of the grid that it was drawn from vanishes; a corner is cut short as far as the tube
permits, and bends at its edge alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: Distance of the points that a way is laid by, mm.
APART = 0.25

#: Every point is moved so often, by half of what its neighbours ask for: a corner in a wide tube
#: is spread over some 4 mm.
ROUNDS = 240


def evenly(line: Floats, apart: float = APART) -> Floats:
    """Return a way (n, d) as points that lie ``apart`` mm apart, or a little less."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))])
    places = np.linspace(0.0, length[-1], max(int(np.ceil(length[-1] / apart)), 8) + 1)
    return np.column_stack([np.interp(places, length, side) for side in line.T])


def eased(points: Floats, within: float | Floats, rounds: int = ROUNDS) -> Floats:
    """Return a way stretched within a tube around it.

    Args:
        points: (n, 2) of the way, evenly spaced, mm; closed where the last is the first.
        within: how far each of them may be moved, mm, one figure or (n,).
        rounds: how often.

    Returns:
        (n, 2) points; the ends of an open way stay where they are.
    """
    if len(points) < 3:
        return points
    tube = np.broadcast_to(np.asarray(within, np.float64), (len(points),))
    moved = np.ascontiguousarray(points, np.float64).copy()
    first = 0 if np.array_equal(points[0], points[-1]) else 1
    _relax(moved, moved.copy(), np.ascontiguousarray(tube), first, rounds)
    return moved


@kernel
def _relax(moved: Floats, given: Floats, within: Floats, first: int, rounds: int) -> None:
    """Draw every point half way to the middle of its neighbours, and back into its tube.

    Closed ways from their first point (0) on, open ones from the next (1).
    """
    last = moved.shape[0] - 1
    for _ in range(rounds):
        before = last - 1 if first == 0 else 0
        before_x, before_y = moved[before, 0], moved[before, 1]
        for n in range(first, last):
            here_x, here_y = moved[n, 0], moved[n, 1]
            x = here_x / 2 + (before_x + moved[n + 1, 0]) / 4 - given[n, 0]
            y = here_y / 2 + (before_y + moved[n + 1, 1]) / 4 - given[n, 1]
            away = np.sqrt(x * x + y * y)
            share = within[n] / away if away > within[n] else 1.0
            moved[n, 0] = given[n, 0] + share * x
            moved[n, 1] = given[n, 1] + share * y
            before_x, before_y = here_x, here_y
        if first == 0:
            moved[last, 0], moved[last, 1] = moved[0, 0], moved[0, 1]
