"""What a spring scale says about friction: a reading on a made sheath calibrates the next.

    R        reading, N, with its standard uncertainty s
    F(mu)    hold computed for the knife of the file at friction mu, N
    r        what all else that varies does to the hold: hold of a sampled knife over F at its own
             friction, brought to the workshop's temperature; taken not to depend on friction

    p(mu | R) ~ p(mu) mean over r of exp(-((R - F(mu) r)/s)^2 / 2)

Bayes' rule with the rest averaged out, on a grid of frictions. p(mu) is the file's friction with
its spread, normal and never below 0. Readings on different knives in different sheaths multiply.
What is learnt is the friction of this handle's finish on this sheet; a wet, dirty or worn one has
another. An error of the model that moves every hold alike is taken up in it as well, which is what
makes the next hold right.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.special import ndtr

from chape.errors import CannotMakeError, InputError
from chape.fit.share import holds_of
from chape.fit.vary import middle

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from concurrent.futures import Executor

    from chape.field.grid import Floats
    from chape.fit.model import FitChoices
    from chape.fit.share import HoldModel, Share

#: The hold is computed at so many frictions, and interpolated at so many.
COMPUTED, GRID = 17, 401

#: No dry pair of handle and sheet has more.
FRICTION_MOST = 1.5

#: Frictions further than this many spreads from the file's are not looked at.
REACH = 6.0

#: Bands and intervals hold this share of what may be.
HELD = 0.9

#: A reading less likely than this, on either side together, is told of.
SURPRISING = 0.01

#: A hand-held spring scale is good to this share of its reading, and never better than so many N.
#: Common practice, no source.
SCALE_SHARE, SCALE_LEAST = 0.05, 0.5


@dataclass(frozen=True, slots=True)
class Calibrated:
    """Friction after a reading, and what that does to the holds to come.

    Attributes:
        friction, spread: mean and standard deviation after the readings.
        low, high: friction lies between these with the chance ``HELD``.
        expected: the reading that was most to be expected before, the median, N.
        chance: of a reading at least as far off on either side, before it was taken.
        before, after: the holds of other knives in the same sheath lie between these with the
            chance ``HELD``, N, as expected without and with the readings.
    """

    friction: float
    spread: float
    low: float
    high: float
    expected: float
    chance: float
    before: tuple[float, float]
    after: tuple[float, float]

    @property
    def surprising(self) -> bool:
        """Whether the readings hardly agree with the model."""
        return self.chance < SURPRISING

    @property
    def narrowing(self) -> float:
        """How many times narrower the band of holds has become, each band over its middle."""
        return _relative_width(self.before) / _relative_width(self.after)


def lines_to_keep(found: Calibrated) -> str:
    """Return what a maker puts into the ``[fit]`` table of the next sheath file."""
    return f"friction = {found.friction:.3f}\nfriction_spread = {found.spread:.3f}"


def scale_uncertainty(reading: float) -> float:
    """Return the standard uncertainty of a hand-held spring scale's reading, N."""
    return max(SCALE_SHARE * reading, SCALE_LEAST)


def calibrate(
    readings: Sequence[tuple[float, float]],
    share: Share,
    model: HoldModel,
    fit: FitChoices,
    modulus_at: Callable[[float], float],
    executor: Executor,
) -> Calibrated:
    """Return the friction that readings of a spring scale speak for.

    Args:
        readings: each the greatest pull read, N, and its standard uncertainty, N; one for each
            knife and sheath, at the workshop's temperature.
        share: of the knives that pass, for the sheath that was measured.
        model: of that sheath.
        fit: gives friction and its spread as believed so far.
        modulus_at: the sheet's modulus at a temperature, MPa.
        executor: who works.

    Raises:
        InputError: a reading that is none, or a friction that is said to be known already.
        CannotMakeError: this sheath holds by no friction, or no friction explains the reading.
    """
    _check_readings(readings, fit)
    friction = np.linspace(
        max(0.0, fit.friction - REACH * fit.friction_spread),
        min(FRICTION_MOST, fit.friction + REACH * fit.friction_spread),
        GRID,
    )
    friction, hold = _hold_curve(friction, model, fit, modulus_at, executor)
    rest, at_workshop = _rest(share, friction, hold, fit, modulus_at)

    prior = _normalised(np.exp(-(((friction - fit.friction) / fit.friction_spread) ** 2) / 2))
    likely = np.ones(len(friction))
    for reading, uncertainty in readings:
        off = (reading - hold[:, None] * at_workshop[None, :]) / uncertainty
        likely = likely * np.exp(-(off**2) / 2).mean(axis=1)
    if not float((prior * likely).sum()) > 0.0:
        most = float((hold[:, None] * at_workshop[None, :]).max())
        raise CannotMakeError(
            f"no friction from {friction[0]:.2f} to {friction[-1]:.2f} explains a reading of "
            f"{readings[0][0]:g} N: the most this sheath could hold is {most:.1f} N",
            mend="Measure the handle and the gauge of that sheath again, or give the reading a "
            "greater uncertainty",
        )
    after = _normalised(prior * likely)
    mean = float((after * friction).sum())
    spread = float(np.sqrt((after * (friction - mean) ** 2).sum()))
    low, high = _quantiles(friction, after, ((1 - HELD) / 2, (1 + HELD) / 2))
    expected, chance = _foretold(readings[0], hold, at_workshop, prior)
    return Calibrated(
        friction=mean,
        spread=spread,
        low=low,
        high=high,
        expected=expected,
        chance=chance,
        before=_band(hold, rest, prior),
        after=_band(hold, rest, after),
    )


def _check_readings(readings: Sequence[tuple[float, float]], fit: FitChoices) -> None:
    for reading, uncertainty in readings:
        if not (0 < reading < np.inf and 0 < uncertainty < np.inf):
            raise InputError(
                f"found a reading of {reading:g} N, good to {uncertainty:g} N",
                mend="Give what the spring scale showed as the knife came free, in N",
            )
    if not readings:
        raise InputError("there is no reading", mend="Give what the spring scale showed, in N")
    if fit.friction_spread == 0:
        raise InputError(
            f"friction is said to be {fit.friction:g} exactly, and no reading can change that",
            mend="Give a friction_spread above 0",
            field="fit.friction_spread",
        )


def _hold_curve(
    friction: Floats,
    model: HoldModel,
    fit: FitChoices,
    modulus_at: Callable[[float], float],
    executor: Executor,
) -> tuple[Floats, Floats]:
    """Return the frictions at which the knife of the file comes free, and its holds there, N."""
    tried = np.linspace(friction[0], friction[-1], COMPUTED)
    usual = middle(fit, modulus_at)
    every = [replace(usual, friction=float(each)) for each in tried]
    holds = holds_of(model, every, executor)
    free = np.isfinite(holds)
    if free.sum() < 3 or not holds[free].max() > 0:
        raise CannotMakeError(
            "this sheath is not computed to hold the knife by friction, so that a reading teaches "
            "nothing",
            mend="Take the reading on a sheath with a greater snap depth",
        )
    friction = friction[friction <= tried[free][-1]]
    curve: Floats = PchipInterpolator(tried[free], holds[free])(friction)
    return friction, curve


def _rest(
    share: Share,
    friction: Floats,
    hold: Floats,
    fit: FitChoices,
    modulus_at: Callable[[float], float],
) -> tuple[Floats, Floats]:
    """Return what all but friction does to the hold of each sampled knife that comes free.

    Returns:
        (n,) factors with the temperature as sampled, and (n,) at that of the workshop.
    """
    own = np.interp(share.knives.friction, friction, hold)
    free = np.isfinite(share.holds) & (own > 0)
    if free.sum() < len(own) / 2:
        raise CannotMakeError(
            f"{len(own) - int(free.sum())} of {len(own)} knives like this one would lock in the "
            "sheath, or not be held at all, so that a reading teaches nothing about friction",
            mend="Take the reading on a sheath with another snap depth",
        )
    rest = share.holds[free] / own[free]
    by_temperature = np.array([modulus_at(float(each)) for each in share.knives.temperature[free]])
    return rest, rest * modulus_at(fit.temperature) / by_temperature


def _foretold(
    reading: tuple[float, float], hold: Floats, rest: Floats, prior: Floats
) -> tuple[float, float]:
    """Return the median of what was to be read, N, and the chance of one as far off."""
    value, uncertainty = reading
    might = hold[:, None] * rest[None, :]
    weight = np.repeat(prior[:, None] / len(rest), len(rest), axis=1)
    below = float((weight * ndtr((value - might) / uncertainty)).sum())
    (median,) = _quantiles(might.ravel(), weight.ravel(), (0.5,))
    return median, 2 * min(below, 1 - below)


def _band(hold: Floats, rest: Floats, chance: Floats) -> tuple[float, float]:
    """Return between what the holds of other knives lie, N."""
    might = (hold[:, None] * rest[None, :]).ravel()
    weight = np.repeat(chance / len(rest), len(rest))
    low, high = _quantiles(might, weight, ((1 - HELD) / 2, (1 + HELD) / 2))
    return low, high


def _quantiles(values: Floats, weights: Floats, shares: tuple[float, ...]) -> tuple[float, ...]:
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weights[order])
    # Each value stands in the middle of its own weight.
    middles = (reached - weights[order] / 2) / reached[-1]
    return tuple(float(np.interp(share, middles, values[order])) for share in shares)


def _normalised(weights: Floats) -> Floats:
    normalised: Floats = weights / weights.sum()
    return normalised


def _relative_width(band: tuple[float, float]) -> float:
    low, high = band
    return (high - low) / ((high + low) / 2)
