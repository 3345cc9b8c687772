"""Lays a fair curve through places that are known more or less well.

A closed ring is taken as a thin bent strip: its slope wanders, by ``WANDERING`` per mm as a
variance, and each place is known to its own spread. The likeliest curve then keeps to what is well
known and runs on fairly where nothing is; and how far it may lie off there comes of the same sum
(Whittaker's smoothing, which is the Kalman smoother's answer to an integrated random walk).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import cho_solve_banded, cholesky_banded

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats

    Ints = npt.NDArray[np.int64]

#: How much a knife's outline bends, as the variance of its slope per mm.
WANDERING = 0.004

#: At a corner the strip bends so many times as easily, so far to both sides, mm.
LOOSE, HINGE = 1e-3, 0.4

#: The ring is laid on past its start by this, mm, so that it closes.
OVERLAP = 40.0

#: No place is known worse than this, mm: the sum stays sound.
LOST = 30.0

#: A place further off the curve than so many spreads is trusted less (Huber's rule), so often.
STRAY, ROUNDS = 2.5, 4


def faired(ring: Floats, spread: Floats, apart: float, corners: Ints) -> tuple[Floats, Floats]:
    """Return the fair ring, and how far each place of it may be off, as a standard deviation.

    Args:
        ring: (n, 2) mm, closed by its first point.
        spread: (n,) mm, how well each place is known by itself; infinite where not at all.
        apart: distance of neighbours, mm.
        corners: numbers of places where the ring turns sharply; the strip has a hinge there.

    Returns:
        (n, 2) and (n,) mm.
    """
    count = len(ring)
    over = min(count, round(OVERLAP / apart))
    around = np.arange(-over, count + over) % count
    places, own = ring[around], np.minimum(spread[around], LOST)
    reach = round(HINGE / apart)
    hinged = np.zeros(count, dtype=bool)
    hinged[(corners[:, None] + np.arange(-reach, reach + 1)).ravel() % count] = True
    stiff = np.where(hinged[around], LOOSE, 1.0) / (WANDERING * apart**3)
    trust = np.ones(len(places))
    for _ in range(ROUNDS):
        factor = _factor(trust / own**2, stiff)
        curve = cho_solve_banded((factor, False), (trust / own**2)[:, None] * places)
        off = np.hypot(*(curve - places).T) / own
        trust = np.minimum(1.0, STRAY / np.maximum(off, 1e-9))
    # How far off: the diagonal of the inverse, read at every fifth place.
    some = np.arange(over, over + count, 5)
    ones = np.zeros((len(places), len(some)))
    ones[some, np.arange(len(some))] = 1.0
    variance = cho_solve_banded((factor, False), ones)[some, np.arange(len(some))]
    unsure = np.interp(np.arange(count), some - over, np.sqrt(np.maximum(variance, 0.0)))
    return curve[over : over + count], unsure


def _factor(weight: Floats, stiff: Floats) -> Floats:
    """Return the Cholesky factor of the weights and of the strip's stiffness, upper, banded.

    The strip resists the second difference at each place but its free ends.
    """
    bends = stiff.copy()
    bends[[0, -1]] = 0.0
    band = np.zeros((3, len(weight)))
    band[2] = weight + 4 * bends
    band[2, 1:] += bends[:-1]
    band[2, :-1] += bends[1:]
    band[1, 1:] = -2 * (bends[:-1] + bends[1:])
    band[0, 2:] = bends[1:-1]
    factor: Floats = cholesky_banded(band)
    return factor
