"""Where the light's run across an edge breaks, when it hardly steps.

Beside a knife the paper darkens towards it. Where steel is just as bright as the paper that it
shades, light does not step at the edge: it runs level over the steel, and rises from the edge on. A
step alone would be looked for half a millimetre too far out. So both sides are given their own
run of light, a line over the knife and a parabola over the paper, blurred as the picture is, and
the break between them is where both together fit best.

The misfit of the best tells the noise, and so how much worse than the best is still likely. Noise
averages out along the edge; what a JPEG leaves out of its blocks does not. Where steel is as bright
as the paper beside it, that alone would shift the break by half a millimetre, and seem sure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.special import ndtr

from chape.knife.light import step_at

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: The break is looked for so far to both sides, and light fitted so far inwards and outwards, mm.
REACH, INWARDS, OUTWARDS = 0.7, 1.3, 1.8

#: The misfit is averaged along the ring over this, mm.
MISFIT = 6.0

#: Blurs are tried at these factors, on every so manieth place.
BLURS, SOME = 2.0 ** np.linspace(-1, 1, 7), 7

#: Colour is blurred by at least this, mm.
COLOUR_BLUR = 0.5

#: A JPEG writes light as far off as this, in steps of 255, over whole blocks; colour, twice.
UNWRITTEN = 0.3

#: Samples nearer than this share a pixel, mm.
PIXEL = 0.2


def likeliest_break(
    light: Floats,
    across: Floats,
    apart: float,
    blur: float,
    averaged: float,
    beforehand: float | Floats,
) -> tuple[Floats, Floats]:
    """Return where light's run breaks, (n,) mm outwards, and how sure that is, mm.

    Args:
        light: (n, t, 3).
        across: (t,) mm, evenly spaced, outwards, at least from ``-INWARDS`` to ``OUTWARDS``.
        apart: distance of places along the ring, mm.
        blur: of the picture, mm.
        averaged: light is averaged along the ring over this, mm, as a bell's standard deviation.
        beforehand: how far from the ring the break is thought to be before light is looked at, mm;
            or (n,).
    """
    places, worse = misfit_of_breaks(light, across, apart, blur, averaged)
    likely = -0.5 * worse - 0.5 * (places / np.reshape(beforehand, (-1, 1))) ** 2
    likely = np.exp(likely - likely.max(axis=1, keepdims=True))
    likely /= likely.sum(axis=1, keepdims=True)
    mean = likely @ places
    return mean, np.sqrt(np.maximum(likely @ places**2 - mean**2, 0.0))


def likeliest_blur(light: Floats, across: Floats, blur: float) -> float:
    """Return the blur, mm, with which breaks fit best, within a factor of two of one thought of.

    The clearest edges say most. Light and across are as ``likeliest_break`` has them.
    """
    within = (across >= -INWARDS) & (across <= OUTWARDS)
    t = across[within]
    some = light[::SOME, within].mean(axis=-1)
    places = t[np.abs(t) <= REACH / 2]
    left = []
    for factor in BLURS:
        misfit = [_misfit(some, t - place, factor * blur, 5) for place in places]
        left.append(float(np.min(misfit, axis=0).sum()))
    best = int(np.clip(np.argmin(left), 1, len(BLURS) - 2))
    before, at, after = left[best - 1 : best + 2]
    move = 0.5 * (before - after) / max(before - 2 * at + after, 1e-12)
    return float(blur * BLURS[best] * (BLURS[1] / BLURS[0]) ** np.clip(move, -1, 1))


def misfit_of_breaks(
    light: Floats, across: Floats, apart: float, blur: float, averaged: float
) -> tuple[Floats, Floats]:
    """Return places (k,) mm, and how much worse than the best a break there fits, (n, k).

    The misfit is in squares of the noise; see ``likeliest_break``.
    """
    light = gaussian_filter1d(light, averaged / apart, axis=0, mode="wrap")
    within = (across >= -INWARDS) & (across <= OUTWARDS)
    t = across[within]
    places = t[np.abs(t) <= REACH]
    light = light[:, within]
    worse = np.zeros((len(light), len(places)))
    step = float(t[1] - t[0])
    unwritten = UNWRITTEN * step_at(light.mean(axis=(1, 2)))
    for channel, width, terms, off in (
        (light.mean(axis=-1), blur, 5, unwritten),
        (light[..., 0] - light[..., 2], max(blur, COLOUR_BLUR), 3, 2 * unwritten),
    ):
        misfit = np.stack([_misfit(channel, t - place, width, terms) for place in places], axis=1)
        best = misfit.min(axis=1)
        usual = gaussian_filter1d(best, MISFIT / apart, mode="wrap") / (len(t) - terms)
        noise = usual + off**2
        worse += (misfit - best[:, None]) / noise[:, None] * min(1.0, step / PIXEL)
    return places, worse - worse.min(axis=1, keepdims=True)


def _misfit(light: Floats, t: Floats, blur: float, terms: int) -> Floats:
    """Return what is left of light, (n,) squared, once both runs are fitted that meet at t = 0."""
    # A run over the paper alone, blurred: means of 1, t and t² over t > 0 under a bell at t.
    share = ndtr(t / blur)
    bell = np.exp(-0.5 * (t / blur) ** 2) / np.sqrt(2 * np.pi) * blur
    ramp = t * share + bell
    bow = (t**2 + blur**2) * share + t * bell
    basis = np.column_stack([np.ones_like(t), t, share, ramp, bow])[:, :terms]
    base, _ = np.linalg.qr(basis)
    left: Floats = (light**2).sum(axis=1) - ((light @ base) ** 2).sum(axis=1)
    return np.maximum(left, 0.0)
