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
    from chape.field.grid import Floats

#: How much a knife's outline bends, as the variance of its slope per mm.
WANDERING = 0.004

#: The ring is laid on past its start by this, mm, so that it closes.
OVERLAP = 40.0

#: No place is known worse than this, mm: the sum stays sound.
LOST = 30.0

#: A place further off the curve than so many spreads is trusted less (Huber's rule), so often.
STRAY, ROUNDS = 2.5, 4


def faired(ring: Floats, spread: Floats, apart: float) -> tuple[Floats, Floats]:
    """Return the fair ring, and how far each place of it may be off, as a standard deviation.

    Args:
        ring: (n, 2) mm, closed by its first point.
        spread: (n,) mm, how well each place is known by itself; infinite where not at all.
        apart: distance of neighbours, mm.

    Returns:
        (n, 2) and (n,) mm.
    """
    count = len(ring)
    over = min(count, round(OVERLAP / apart))
    around = np.arange(-over, count + over) % count
    places, own = ring[around], np.minimum(spread[around], LOST)
    trust = np.ones(len(places))
    for _ in range(ROUNDS):
        factor = _factor(trust / own**2, apart)
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


def _factor(weight: Floats, apart: float) -> Floats:
    """Return the Cholesky factor of the weights and of the strip's stiffness, upper, banded."""
    count = len(weight)
    stiff = 1.0 / (WANDERING * apart**3)
    band = np.zeros((3, count))
    band[2] = weight + 6 * stiff
    band[1, 1:] = -4 * stiff
    band[0, 2:] = stiff
    # Ends are free.
    band[2, [0, -1]] -= 5 * stiff
    band[2, [1, -2]] -= stiff
    band[1, [1, -1]] += 2 * stiff
    factor: Floats = cholesky_banded(band)
    return factor
