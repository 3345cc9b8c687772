"""The share of knives that pass: one sheath, many knives, sheets and days.

Knives are drawn by a scrambled Sobol sequence with a seed. Those of its two halves A and B are
counted: the share that passes is given with its Wilson interval at 95 %, which takes the samples
for independent. A quasi-random sample is more even than that, so that the interval is rather too
wide. Which input matters most is read from the variance shares of the hold (``solve/variance.py``).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np
from scipy.stats import binomtest

from chape.errors import CannotMakeError
from chape.fit.vary import INPUTS, knives_at
from chape.solve.variance import power_of_two, sample_pages, variance_shares
from chape.workers import in_order, lent

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from concurrent.futures import Executor

    from chape.field.grid import Floats
    from chape.fit.model import Conditions, FitChoices
    from chape.fit.vary import Knives

#: So sure is the interval of the share that passes.
CONFIDENCE = 0.95

#: Knives are handed out in parcels of so many, whoever works on them.
PARCEL = 80

#: The contact is worked out at this modulus, MPa.
PLAIN_MODULUS = 1000.0

#: A hold beyond this many times the wanted one counts as that in the variance: it is locked.
LOCKED = 10.0


class HoldModel(Protocol):
    """Whatever can say how hard a knife must be pulled: in proportion to the modulus."""

    @property
    def gauge_power(self) -> float:
        """The hold goes with the gauge to this power."""

    def peak(self, conditions: Conditions) -> float:
        """Return the greatest pull, N."""


@dataclass(frozen=True, slots=True)
class Influence:
    """How much one input makes the hold vary.

    Attributes:
        name: of the input.
        first: share of the variance that would go if it were known exactly.
        total: share that would remain if all others were known exactly.
        first_error, total_error: standard errors of the two.
    """

    name: str
    first: float
    first_error: float
    total: float
    total_error: float


@dataclass(frozen=True, slots=True, eq=False)
class Share:
    """The share of knives whose hold lies within the wanted band.

    Attributes:
        wanted: N.
        least, most: the band, N.
        knives: those that were counted.
        holds: (n,) of each, N; infinite where it locks.
        passing: share within the band.
        low, high: its Wilson interval at ``CONFIDENCE``.
        influences: of every input on the hold, the greatest total first.
    """

    wanted: float
    least: float
    most: float
    knives: Knives
    holds: Floats
    passing: float
    low: float
    high: float
    influences: tuple[Influence, ...]


def share_that_passes(
    model: HoldModel,
    fit: FitChoices,
    modulus_at: Callable[[float], float],
    wanted: float,
    executor: Executor,
) -> Share:
    """Return the share of knives that pass, and what makes the hold vary.

    Args:
        model: can be sent to another process.
        fit: gives band, spreads, samples and seed. The samples are rounded up to a power of two.
        modulus_at: the sheet's modulus at a temperature, MPa.
        wanted: hold in the middle of the band, N.
        executor: who works; the answer is the same whoever does.

    Raises:
        CannotMakeError: there is no hold to speak of a band around.
    """
    if not 0 < wanted < np.inf:
        raise CannotMakeError(
            f"the sheath holds the knife with {wanted:g} N, and there is no band around that",
            mend="Ask for a hold, or choose a snap depth that gives one",
        )
    rows = power_of_two(fit.samples) // 2
    pages = sample_pages(rows, [columns for _, columns in INPUTS], fit.seed)
    counted = knives_at(np.vstack([pages.a, pages.b]), fit, modulus_at)
    mixed = [knives_at(page, fit, modulus_at).conditions() for page in pages.mixed]
    every = [*counted.conditions(), *(each for page in mixed for each in page)]
    found = holds_of(model, every, executor)

    holds = found[: 2 * rows]
    finite = np.minimum(found, LOCKED * wanted)
    shares = variance_shares(
        finite[:rows],
        finite[rows : 2 * rows],
        finite[2 * rows :].reshape(len(INPUTS), rows),
        fit.seed,
    )
    columns = (shares.first, shares.first_error, shares.total, shares.total_error)
    influences = [
        Influence(name, *figures) for (name, _), *figures in zip(INPUTS, *columns, strict=True)
    ]
    least, most = wanted * (1 - fit.hold_band), wanted * (1 + fit.hold_band)
    passes = (holds >= least) & (holds <= most)
    low, high = interval(int(passes.sum()), len(holds))
    return Share(
        wanted=wanted,
        least=least,
        most=most,
        knives=counted,
        holds=holds,
        passing=float(passes.mean()),
        low=low,
        high=high,
        influences=tuple(sorted(influences, key=lambda each: -each.total)),
    )


def interval(passing: int, counted: int) -> tuple[float, float]:
    """Return Wilson's interval of a share, at ``CONFIDENCE``.

    >>> low, high = interval(81, 263)
    >>> round(low, 4), round(high, 4)
    (0.2553, 0.3662)
    """
    found = binomtest(passing, counted).proportion_ci(CONFIDENCE, method="wilson")
    return float(found.low), float(found.high)


def holds_of(model: HoldModel, every: Sequence[Conditions], executor: Executor) -> Floats:
    """Return (n,) the hold under each of the conditions, N.

    Modulus and gauge only scale the force, so that the contact is worked out once for all
    conditions that differ in nothing else.
    """
    plain = [replace(each, modulus=PLAIN_MODULUS, gauge_factor=1.0) for each in every]
    different = list(dict.fromkeys(plain))
    parcels = [different[k : k + PARCEL] for k in range(0, len(different), PARCEL)]
    shared = lent(executor, model)
    done = in_order(executor, ((peaks, (shared, parcel)) for parcel in parcels))
    known = dict(zip(different, np.concatenate(list(done)), strict=True))
    modulus = np.array([each.modulus for each in every]) / PLAIN_MODULUS
    gauge = np.array([each.gauge_factor for each in every]) ** model.gauge_power
    return np.array([known[each] for each in plain]) * modulus * gauge


def peaks(model: HoldModel, parcel: Sequence[Conditions]) -> Floats:
    """Return (n,) the hold under each of a parcel's conditions, N."""
    return np.array([model.peak(each) for each in parcel])
