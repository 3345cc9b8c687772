"""The way an edge takes round a knife, found as a whole.

Light is read along short lines across a ring near the edge. At every place it is asked how much
more light steps there than a smooth change would have it: what is left of a step once the best
cubic is taken off. A soft shadow is such a cubic, and asks for nothing; noise averages out along
the true way, and nowhere else. The way that gathers most all round is the edge (dynamic
programming: Bellman). It has a sign: steel that is darker than its paper stays so, but for where a
shadow crosses over.

Symbols: n places along the ring, t across it, mm, positive outwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import correlate1d, gaussian_filter1d, maximum_filter1d

from chape.kernels import kernel

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats

#: Light changes over the picture's blur are compared with those over this, mm; colour, which
#: pictures keep half as finely, with these.
SOFT, COLOUR_BLUR, COLOUR_SOFT = 1.0, 0.5, 1.6

#: Beside a step the same comparison shows one the other way, by up to this share, so near, mm.
LOBE, LOBES = 0.4, 1.4

#: A step is clear at so many times the noise, and at this share of the strongest beside it: a JPEG
#: rings beside strong edges.
CLEAR, RINGING = 4.0, 0.12

#: What counts against a step of the wrong sign, at most.
WRONG = -0.5

#: Steps this near to a stronger one are its slopes, mm.
SLOPES = 0.4

#: The way moves by at most so many columns from place to place.
STEP = 3

#: Cost of a change of sign, in clear places.
CROSSING = 4.0

#: Noise is read further out than this, mm, over this much of the ring, mm; what keeps up along the
#: ring over the third is none.
OUT, AROUND, ALONG = 1.2, 20.0, 5.0


@dataclass(frozen=True, slots=True)
class Steps:
    """How light steps at places across a ring, (n, t), in multiples of the noise.

    Attributes:
        brightness, colour: positive where the outside is brighter, or warmer.
    """

    brightness: Floats
    colour: Floats

    def where(self, columns: npt.NDArray[np.bool_]) -> Steps:
        """Return the steps in some columns, (t,) true."""
        return Steps(self.brightness[:, columns], self.colour[:, columns])


def steps_of(tone: Floats, across: Floats, apart: float, blur: float, along: float) -> Steps:
    """Return how light steps, averaged along the ring.

    Args:
        tone: (n, t, 3) roots of light, whose noise is even.
        across: (t,) mm, evenly spaced, outwards.
        apart: distance of places along the ring, mm.
        blur: of the picture, mm.
        along: averaged over this, mm, as a bell's standard deviation.
    """
    tone = gaussian_filter1d(tone, along / apart, axis=0, mode="wrap")
    apart_across = float(across[1] - across[0])
    outer = across > OUT
    found = []
    for channel, width, soft in (
        (tone.mean(axis=-1), blur, SOFT),
        (tone[..., 0] - tone[..., 2], max(blur, COLOUR_BLUR), COLOUR_SOFT),
    ):
        step = correlate1d(channel, step_filter(width, soft, apart_across), axis=1, mode="nearest")
        found.append(step / _noise(step[:, outer], apart)[:, None])
    return Steps(*found)


def step_filter(blur: float, soft: float, apart: float) -> Floats:
    """Return the weights that read a blurred step, and nothing of an even slope; of unit length.

    It is the slope over the picture's own blur less the slope over a wider bell.
    """
    half = max(4, round(2.5 * soft / apart))
    t = np.arange(-half, half + 1) * apart
    slopes = []
    for width in (blur, soft):
        bell = t * np.exp(-0.5 * (t / width) ** 2)
        slopes.append(bell / (bell @ t))
    weights: Floats = slopes[0] - slopes[1]
    weights /= np.linalg.norm(weights)
    return weights


def _noise(step: Floats, apart: float) -> Floats:
    """Return how much steps scatter on the paper near each place, (n,).

    What runs along the ring, a shadow or the foot of the edge, is taken off first.
    """
    step = step - gaussian_filter1d(step, ALONG / apart, axis=0, mode="wrap")
    usual = np.sqrt((step**2).mean(axis=1))
    # What is rare, such as an edge of something else, does not count.
    capped = np.minimum(usual, 2 * float(np.median(usual)))
    near = gaussian_filter1d(capped, AROUND / apart, mode="wrap")
    noise: Floats = np.maximum(near, 0.5 * float(np.median(usual)) + 1e-9)
    return noise


def way_round(steps: Steps, across: Floats) -> npt.NDArray[np.int64]:
    """Return the column of the edge for each place round the ring, (n,)."""
    apart = float(across[1] - across[0])
    reach = 2 * round(LOBES / apart) + 1
    near = 2 * round(SLOPES / apart) + 1
    both = steps.brightness, steps.colour
    strength = np.hypot(*both)
    crest = (strength / np.maximum(maximum_filter1d(strength, near, axis=1), 1e-9)) ** 2
    least = np.maximum(CLEAR, RINGING * maximum_filter1d(strength, reach, axis=1))
    gain = np.empty((4, *strength.shape))
    for k, signs in enumerate(((1, 1), (1, -1), (-1, 1), (-1, -1))):
        sure = sum(_own(sign * each, reach) for sign, each in zip(signs, both, strict=True)) / least
        gain[k] = np.clip(sure, WRONG, 1.0) * np.where(sure > 0, crest, 1.0)
    # The outer of two clear edges is the knife's: a bevel's line lies within its edge.
    clear = (gain > 0.9).any(axis=0).sum(axis=1) > 1
    gain += (clear[:, None] * 0.04 * across)[None]
    start = int(np.argmax(strength.max(axis=1)))
    path = _best(np.ascontiguousarray(np.roll(gain, -start, axis=1).transpose(1, 0, 2)), CROSSING)
    return np.roll(path, start)


def _own(step: Floats, reach: int) -> Floats:
    """Return steps less what stronger ones the other way show beside them."""
    other: Floats = LOBE * np.maximum(maximum_filter1d(-step, reach, axis=1), 0.0)
    return step - other


def _best(gain: npt.NDArray[np.float64], crossing: float) -> npt.NDArray[np.int64]:
    """Return the columns of the best closed way; gain is (n, sign, t)."""
    came, turned, best, first = _gathered(gain, crossing)
    columns = gain.shape[2]
    # It ends within one step of where it began.
    near = slice(max(first[1] - STEP, 0), min(first[1] + STEP + 1, columns))
    last = best[:, near] - crossing * (np.arange(len(best)) != first[0])[:, None]
    sign, column = np.unravel_index(int(np.argmax(last)), last.shape)
    return _traced(came, turned, int(sign), int(column) + near.start)


@kernel
def _gathered(
    gain: npt.NDArray[np.float64], crossing: float
) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.int8], npt.NDArray[np.float64], tuple[int, int]]:
    """Return from where each place is best reached, what the last ones gather, and the first."""
    count, signs, columns = gain.shape
    start = int(np.argmax(gain[0]))
    first = (start // columns, start % columns)
    best = np.full((signs, columns), -1e300)
    best[first] = 0.0
    came = np.zeros((count, signs, columns), dtype=np.int8)
    turned = np.zeros((count, signs, columns), dtype=np.int8)
    moved = np.empty((signs, columns))
    for row in range(1, count):
        for sign in range(signs):
            for column in range(columns):
                most, by = -1e301, 0
                for other in range(max(column - STEP, 0), min(column + STEP + 1, columns)):
                    far = abs(other - column)
                    value = best[sign, other] - 0.06 * far - 0.02 * far * far
                    if value > most:
                        most, by = value, other - column
                moved[sign, column] = most
                came[row, sign, column] = by
        for column in range(columns):
            top = int(np.argmax(moved[:, column]))
            for sign in range(signs):
                origin = top if moved[top, column] - crossing > moved[sign, column] else sign
                paid = crossing if origin != sign else 0.0
                turned[row, sign, column] = origin
                best[sign, column] = moved[origin, column] - paid + gain[row, sign, column]
    return came, turned, best, first


@kernel
def _traced(
    came: npt.NDArray[np.int8], turned: npt.NDArray[np.int8], sign: int, column: int
) -> npt.NDArray[np.int64]:
    """Return the columns that led to the last, (n,)."""
    path = np.empty(len(came), dtype=np.int64)
    for row in range(len(came) - 1, -1, -1):
        path[row] = column
        if row > 0:
            sign = turned[row, sign, column]
            column = column + came[row, sign, column]
    return path
