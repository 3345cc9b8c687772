"""Draws a point out to where its sides meet, which blur has cut short.

Along a straight side blur leaves an edge where it is; at a point it takes some tenths of a
millimetre, more where the blade is nearly as bright as its paper. The sides of a sharp corner are
therefore followed from where they are sure, each as a parabola, to where they meet. Whether the
point reaches so far is asked of the picture: a whole point and points cut off further and further
back are each drawn, blurred as the picture is, and laid over it. A cut counts where it fits plainly
better; so a rounded butt stays round, and a point too faint to tell is taken for sharp, which errs
to the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter
from scipy.signal import find_peaks

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.light import Light

    Sample = Callable[[Floats], Light]

#: A corner turns by at least this, radians, within so far to both sides, mm.
SHARPEST, WITHIN = np.radians(45.0), 2.0

#: Sides are followed from here to there, mm from the corner.
SURE, FAR = 1.4, 6.0

#: A point is drawn out by at most this, mm.
LONGEST = 2.4

#: The drawing of a point: how far before and behind its end and to both sides, its pixels, and
#: what is cut off it, mm.
BEFORE, BEHIND, ASIDE, PIXEL = 1.2, 3.0, 1.5, 0.1
CUTS = np.arange(0.0, LONGEST + 0.3, 0.1)

#: A cut counts where it fits better by so many squares of the noise; so many pixels of the drawing
#: share a pixel of the picture.
PLAINLY, SHARED = 12.0, 4.0

#: Less than this, mm, is nothing cut off.
LEAST_CUT = 0.15


@dataclass(frozen=True, slots=True, eq=False)
class _Corner:
    """Where two sides meet: apex (2,), inward and across (2,) unit, and v(u) of both sides."""

    apex: Floats
    inward: Floats
    across: Floats
    sides: tuple[Floats, Floats]

    def place(self, u: Floats, v: Floats) -> Floats:
        """Return points u inwards of the apex and v across, (..., 2) mm."""
        place: Floats = self.apex + u[..., None] * self.inward + v[..., None] * self.across
        return place


def drawn_out(ring: Floats, sample: Sample, blur: float) -> Floats:
    """Return a ring with its sharp corners drawn out as far as the picture allows.

    Args:
        ring: (n, 2) mm, counter-clockwise, evenly spaced and much finer than ``WITHIN``.
        sample: the light of places (..., 2) mm, as (..., 3).
        blur: of the picture, mm.

    Returns:
        (m, 2) mm: the points of a drawn-out corner give way to its apex.
    """
    apart = float(np.median(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)))
    kept = np.ones(len(ring), dtype=bool)
    moved = ring.copy()
    for corner in corners_of(ring, apart):
        found = _corner(ring, corner, apart)
        if found is None:
            continue
        cut = _cut(found, sample, blur)
        own = float((ring[corner] - found.apex) @ found.inward)
        if 0 < own <= cut + LEAST_CUT:
            # It ends where the ring does: it is rounded, or cut off, in truth.
            continue
        near = round(SURE / apart)
        gone = (corner + np.arange(-near + 1, near)) % len(ring)
        kept[gone] = False
        kept[corner] = True
        moved[corner] = found.apex + (cut if cut > LEAST_CUT else 0.0) * found.inward
    drawn: Floats = moved[kept]
    return drawn


def corners_of(ring: Floats, apart: float, *, hollow: bool = False) -> npt.NDArray[np.int64]:
    """Return the numbers of the places where a ring, as ``drawn_out`` has it, turns sharply.

    ``hollow`` ones turn inwards, such as where guard and blade meet.
    """
    reach = max(2, round(WITHIN / apart))
    before = ring - np.roll(ring, reach, axis=0)
    after = np.roll(ring, -reach, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.arctan2(-cross if hollow else cross, (before * after).sum(axis=1))
    # Peaks are sought on two rounds, so that one at the ring's start is found too.
    peaks, _ = find_peaks(np.tile(turn, 2), height=SHARPEST, distance=2 * reach)
    return np.unique(peaks % len(ring))


def _corner(ring: Floats, corner: int, apart: float) -> _Corner | None:
    """Return where a corner's sides meet; None where they do not within ``LONGEST``."""
    steps = np.arange(round(SURE / apart), round(FAR / apart) + 1)
    lower, upper = ring[(corner + steps) % len(ring)], ring[(corner - steps) % len(ring)]
    middle = (lower[-1] + upper[-1]) / 2
    length = float(np.hypot(*(middle - ring[corner])))
    if length < SURE:
        return None
    inward = (middle - ring[corner]) / length
    across = np.array([-inward[1], inward[0]])

    def side(points: Floats) -> Floats:
        away = points - ring[corner]
        curve: Floats = np.polyfit(away @ inward, away @ across, 2)
        return curve

    first, second = side(lower), side(upper)
    roots = np.roots(first - second)
    real = np.real(roots[np.abs(np.imag(roots)) < 1e-9])
    real = real[(real > -LONGEST) & (real < SURE)]
    if len(real) == 0:
        return None
    at = float(real[np.argmin(np.abs(real))])
    off = float(np.polyval((first + second) / 2, at))
    if np.hypot(at, off) > LONGEST:
        return None
    apex = ring[corner] + at * inward + off * across
    return _Corner(apex, inward, across, (_shifted(first, at, off), _shifted(second, at, off)))


def _shifted(curve: Floats, along: float, aside: float) -> Floats:
    """Return the parabola as seen from a place so far along and aside."""
    a, b, c = curve
    return np.array([a, b + 2 * a * along, c + b * along + a * along**2 - aside])


def _cut(corner: _Corner, sample: Sample, blur: float) -> float:
    """Return how much of a corner's point is plainly missing, mm."""
    u, v = np.meshgrid(
        np.arange(-BEFORE, BEHIND, PIXEL), np.arange(-ASIDE, ASIDE, PIXEL), indexing="ij"
    )
    light = sample(corner.place(u, v)).astype(float).mean(axis=-1).ravel()
    one, two = (np.polyval(side, u) for side in corner.sides)
    between = (v > np.minimum(one, two)) & (v < np.maximum(one, two))
    left = []
    for cut in CUTS:
        steel = gaussian_filter((between & (u > cut)).astype(float), blur / PIXEL).ravel()
        paper = 1 - steel
        basis = np.column_stack([steel, paper, paper * u.ravel(), paper * v.ravel()])
        base, _ = np.linalg.qr(basis)
        left.append(float(light @ light - ((light @ base) ** 2).sum()))
    noise = min(left) / (light.size / SHARED)
    best = int(np.argmin(left))
    return float(CUTS[best]) if left[0] - left[best] > PLAINLY * noise else 0.0
