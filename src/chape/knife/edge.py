"""A knife's edge to a few hundredths of a millimetre, from a line that runs near it.

Light is read along short lines across the edge. First the whole way round is found at once, as the
path that keeps to clear steps of light, holds on where there is none, and takes the outer of two
(dynamic programming: Bellman). Then, on that path, the edge is where light changes fastest, which
blur does not move along a straight edge.

Symbols: n places along the ring, t across it, mm, positive outwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter1d

from chape.knife.point import drawn_out

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.light import Light

    Clear = npt.NDArray[np.bool_]
    Sample = Callable[[Floats], Light]

#: Distance of places along the ring, mm.
APART = 0.2

#: Where the edge is looked for first, from this far outside the line to this far inside it, mm.
OUTSIDE, INSIDE, COARSE = 0.6, 3.4, 0.08

#: Then to both sides of the path, mm.
NEAR, FINE = 0.6, 0.04

#: A change of light is told from a shadow's as in ``segment``: width, mm, and how often it is taken
#: off.
SOFT, DISCOUNT = 1.0, 1.5

#: Light is averaged along the ring over this, mm, as a bell's standard deviation; where nothing is
#: clear, over the longer.
SHORT, LONG = 0.2, 1.6

#: A step of light is clear at this many times the noise.
CLEAR = 6.0

#: Where light does not step clearly, a gap shorter than this is bridged, mm.
LONGEST_BRIDGE = 10.0

#: The ring is smoothed over this, mm, and no point moves further than the bound for it, mm.
SMOOTHED, SMOOTHING_BOUND = 0.35, 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """An edge that was found.

    Attributes:
        ring: (m, 2) mm, counter-clockwise, its points drawn out.
        clear: (n,) whether light steps clearly at even places round it; elsewhere the ring is
            carried on from its neighbours.
        scatter: how far places lie off their neighbours, mm, as a standard deviation.
    """

    ring: Floats
    clear: Clear
    scatter: float


def find_edge(near: Floats, sample: Sample, blur: float) -> Edge:
    """Return the edge of a thing from a line round it.

    Args:
        near: (n, 2) mm, counter-clockwise, up to ``INSIDE`` outside the edge.
        sample: the light, 0 to 1, of places (..., 2) mm, as (..., 3).
        blur: width of the picture's blur, mm, as a bell's standard deviation.
    """
    width = float(np.clip(blur, 0.08, 0.4))
    ring = resampled(near, APART)
    ring = np.column_stack([gaussian_filter1d(each, 0.6 / APART, mode="wrap") for each in ring.T])
    across = np.arange(-INSIDE, OUTSIDE + COARSE / 2, COARSE)
    light = sample(_strip(ring, across))
    path = _path(*_score(light, width))
    moved = gaussian_filter1d(across[path], 0.5, mode="wrap")
    ring = resampled(ring + moved[:, None] * _outwards(ring), APART)
    for _ in range(2):
        place, clear = _steepest(ring, sample, width)
        scatter = float(np.std(place - gaussian_filter1d(place, 1.0 / APART, mode="wrap")))
        ring = _bridged(ring + place[:, None] * _outwards(ring), clear)
    return Edge(drawn_out(_smoothed(ring)), clear, scatter)


def resampled(ring: Floats, apart: float) -> Floats:
    """Return a closed ring's points at even distances of about ``apart`` mm, (n, 2)."""
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(16, round(along[-1] / apart))
    at = np.arange(count) * along[-1] / count
    even: Floats = np.column_stack([np.interp(at, along, each) for each in closed.T])
    return even


def _outwards(ring: Floats) -> Floats:
    """Return (n, 2) unit normals that point out of a counter-clockwise ring."""
    smooth = np.column_stack([gaussian_filter1d(each, 2.0, mode="wrap") for each in ring.T])
    way = np.roll(smooth, -1, axis=0) - np.roll(smooth, 1, axis=0)
    way /= np.maximum(np.hypot(*way.T), 1e-12)[:, None]
    normal: Floats = np.column_stack([way[:, 1], -way[:, 0]])
    return normal


def _strip(ring: Floats, across: Floats) -> Floats:
    """Return (n, t, 2) places across a ring."""
    places: Floats = ring[:, None] + across[:, None] * _outwards(ring)[:, None]
    return places


def _score(light: Light, width: float) -> tuple[Floats, Floats]:
    """Return how clear a step of light each place is, 0 to 1, and how much light steps, (n, t)."""
    fine = light.astype(float)
    noise = _noise_of(fine[:, -int(0.6 / COARSE) :], width, COARSE) * np.sqrt(3)
    step = _strength(fine, width, SHORT)
    most = step.max(axis=1, keepdims=True)
    # Where steps are clear, half of the clearest counts in full, so that the outer one is taken;
    # where they are faint, none does, and the way round decides.
    clear = np.minimum(0.5 * most, 2 * CLEAR * noise)
    faint = most < 2 * CLEAR * noise
    if faint.any():
        long = _strength(fine, width, LONG) * np.sqrt(LONG / SHORT)
        step = np.where(faint, long, step)
        clear = np.where(faint, np.maximum(long.max(axis=1, keepdims=True), CLEAR * noise), clear)
    return np.minimum(step / clear, 1.0), step


def _strength(light: Floats, width: float, averaged: float) -> Floats:
    light = gaussian_filter1d(light, averaged / APART, axis=0, mode="wrap")
    sharp, soft = (_size(_slope(light, each, COARSE)) for each in (width, SOFT))
    strength: Floats = np.maximum(sharp - DISCOUNT * soft, 0.0)
    return strength


def _size(change: Floats) -> Floats:
    size: Floats = np.sqrt((change**2).sum(axis=-1))
    return size


def _slope(light: Floats, width: float, apart: float) -> Floats:
    """Return how light changes per step across the ring, smoothed over a width, (n, t, 3)."""
    slope: Floats = gaussian_filter1d(
        light, width / apart, axis=1, order=1, mode="nearest", truncate=2.5
    )
    return slope


def _path(score: Floats, sharp: Floats) -> npt.NDArray[np.intp]:
    """Return the column of the edge for each place round the ring, (n,)."""
    count, columns = score.shape
    # The outer of two clear edges is the knife's: a bevel's line lies within its edge. Where all is
    # faint, the outer is no better.
    clear = (score >= 1.0).sum(axis=1, keepdims=True) > 1
    gain = score + clear * 0.04 * COARSE * np.arange(columns)
    start = int(np.argmax(sharp.max(axis=1)))
    gain = np.roll(gain, -start, axis=0)
    pinned = int(np.argmax(gain[0] + 1e-6 * np.roll(sharp, -start, axis=0)[0]))
    best = np.full(columns, -np.inf)
    best[pinned] = 0.0
    came = np.zeros((count, columns), dtype=np.int8)
    steps = np.arange(-3, 4)
    cost = 0.06 * np.abs(steps) + 0.02 * steps**2
    padded = np.full(columns + 6, -np.inf)
    for row in range(1, count):
        padded[3:-3] = best
        choices = np.stack([padded[3 + k : 3 + k + columns] for k in steps]) - cost[:, None]
        choice = choices.argmax(axis=0)
        came[row] = steps[choice]
        best = choices[choice, np.arange(columns)] + gain[row]
    column = min(max(pinned, 0), columns - 1)
    near = best[max(column - 3, 0) : column + 4]
    column = max(column - 3, 0) + int(np.argmax(near))
    path = np.empty(count, dtype=np.intp)
    for row in range(count - 1, -1, -1):
        path[row] = column
        column += int(came[row, column])
    return np.roll(path, start)


def _steepest(ring: Floats, sample: Sample, width: float) -> tuple[Floats, Clear]:
    """Return where near a ring light changes fastest, (n,) mm outwards, and whether it is clear.

    Where light averaged over a short way does not tell, a longer way may.
    """
    across = np.arange(-NEAR - SOFT, NEAR + SOFT + FINE / 2, FINE)
    light = sample(_strip(ring, across)).astype(float)
    noise = _noise_of(light[:, across > 0.3], width, FINE)
    short, clear_short = _crest(light, across, width, SHORT, noise)
    long, clear_long = _crest(light, across, width, LONG, noise * np.sqrt(SHORT / LONG))
    place = np.where(clear_short, short, np.where(clear_long, long, 0.0))
    return place, clear_short | clear_long


def _crest(
    light: Floats, across: Floats, width: float, averaged: float, noise: float
) -> tuple[Floats, Clear]:
    light = gaussian_filter1d(light, averaged / APART, axis=0, mode="wrap")
    change = _excess(light, width)
    near = np.abs(across) <= NEAR
    # Along the colour that steps there; its own sign falls out.
    step = (change * np.exp(-0.5 * (across / 0.2) ** 2)[:, None]).sum(axis=1)
    step = gaussian_filter1d(step, max(averaged, 1.0) / APART, axis=0, mode="wrap")
    step /= np.maximum(np.linalg.norm(step, axis=1), 1e-12)[:, None]
    slope = (change * step[:, None]).sum(axis=-1)
    slope, across = slope[:, near], across[near]
    top = np.clip(np.argmax(slope * np.exp(-0.5 * (across / 0.3) ** 2), axis=1), 1, len(across) - 2)
    row = np.arange(len(light))
    before, at, after = slope[row, top - 1], slope[row, top], slope[row, top + 1]
    bend = np.minimum(before - 2 * at + after, -1e-12)
    place = across[top] + FINE * np.clip(0.5 * (before - after) / bend, -1, 1)
    inner = (top > 1) & (top < len(across) - 2)
    return place, (at > 2 * CLEAR * noise) & inner


def _noise_of(light: Floats, width: float, apart: float) -> float:
    """Return how much the sharp change scatters where there is no edge, averaged over ``SHORT``.

    What runs along the ring, a shadow or the edge's own foot, is taken off first.
    """
    light = gaussian_filter1d(light, SHORT / APART, axis=0, mode="wrap")
    light = light - gaussian_filter1d(light, 4 * SHORT / APART, axis=0, mode="wrap")
    return max(float(np.median(np.abs(_slope(light, width, apart)))) / 0.6745, 1e-6)


def _excess(light: Floats, width: float) -> Floats:
    """Return the sharp change of light across the ring less the soft, (n, t, 3); none below it."""
    sharp = _slope(light, width, FINE)
    soft = DISCOUNT * _size(_slope(light, SOFT, FINE)) / np.maximum(_size(sharp), 1e-12)
    excess: Floats = sharp * np.maximum(1 - soft, 0.0)[..., None]
    return excess


def _bridged(ring: Floats, clear: Clear) -> Floats:
    """Carry a ring on over what is not clear, as a curve that leaves its neighbours straight."""
    count = len(ring)
    known = np.flatnonzero(clear)
    if len(known) == count or len(known) < count / 4:
        return ring
    at = np.concatenate([known - count, known, known + count])
    curve = PchipInterpolator(at, np.tile(ring[known], (3, 1)))
    # Over a long gap, which may hold a point, the path that was found is the better guess.
    gaps = np.diff(np.append(known, known[0] + count))
    gap_of = np.repeat(gaps, gaps)
    short = np.roll(gap_of, int(known[0])) * APART < LONGEST_BRIDGE
    bridged: Floats = np.where((~clear & short)[:, None], curve(np.arange(count)), ring)
    return bridged


def _smoothed(ring: Floats) -> Floats:
    smooth = np.column_stack(
        [gaussian_filter1d(each, SMOOTHED / APART, mode="wrap") for each in ring.T]
    )
    move = smooth - ring
    far = np.hypot(*move.T)
    share = np.minimum(1.0, SMOOTHING_BOUND / np.maximum(far, 1e-12))
    kept: Floats = ring + share[:, None] * move
    return kept
