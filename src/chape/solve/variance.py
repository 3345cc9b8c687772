"""Which input of a formula makes its result vary most: variance shares (Sobol indices).

    S_i    first-order share: how much of the variance would go if input i were known exactly
    S_Ti   total share: how much would remain if all but input i were known exactly

Two independent samples A and B of all inputs are taken, and for each input a third: A with that
input (or group of inputs) taken from B. Estimators: Saltelli et al., Computer Physics
Communications 181 (2010) 259, Table 2 (b) for S_i and (f), Jansen's, for S_Ti, as in scipy. The
error given is the standard deviation over resampled rows (bootstrap, with a seed); rows of a
quasi-random sample are more even than chance, so that it is rather too large.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from scipy.stats import qmc, sobol_indices

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.field.grid import Floats

#: Rows are drawn again this often for the error.
RESAMPLES = 200


@dataclass(frozen=True, slots=True, eq=False)
class Pages:
    """Points of the unit cube at which a formula must be known.

    Attributes:
        a, b: (n, d) two independent samples.
        mixed: (groups, n, d) ``a`` with one group's columns from ``b``.
    """

    a: Floats
    b: Floats
    mixed: Floats


@dataclass(frozen=True, slots=True)
class VarianceShares:
    """Shares of the variance, group by group, with their standard errors."""

    first: tuple[float, ...]
    first_error: tuple[float, ...]
    total: tuple[float, ...]
    total_error: tuple[float, ...]


def power_of_two(least: int) -> int:
    """Return the lowest power of two that is not below ``least``: an even sample has that many.

    >>> power_of_two(500), power_of_two(512)
    (512, 512)
    """
    return 1 << max(0, (least - 1).bit_length())


def sample_pages(n: int, groups: Sequence[Sequence[int]], seed: int) -> Pages:
    """Return the points a formula must be known at, scrambled Sobol sequences with a seed.

    Args:
        n: rows of each page; a power of two.
        groups: the columns that belong together, every column of the cube once.
        seed: the same seed gives the same points.
    """
    columns = sum(len(group) for group in groups)
    points = qmc.Sobol(2 * columns, scramble=True, rng=seed).random(n)
    a, b = points[:, :columns], points[:, columns:]
    mixed = np.repeat(a[None], len(groups), axis=0)
    for page, group in zip(mixed, groups, strict=True):
        page[:, list(group)] = b[:, list(group)]
    return Pages(a, b, mixed)


def variance_shares(at_a: Floats, at_b: Floats, at_mixed: Floats, seed: int) -> VarianceShares:
    """Return the shares of the variance of a formula.

    Args:
        at_a: (n,) its values on the first page; n is a power of two.
        at_b: (n,) its values on the second.
        at_mixed: (groups, n) its values on the mixed pages; two groups or more.
        seed: for the resampling behind the errors.

    Returns:
        All shares 0 where nothing varies.
    """
    n = len(at_a)
    if float(np.ptp(np.concatenate([at_a, at_b]))) == 0.0:
        none = (0.0,) * len(at_mixed)
        return VarianceShares(none, none, none, none)
    first, total = _estimate(at_a, at_b, at_mixed)
    rows = np.random.default_rng(seed).integers(n, size=(RESAMPLES, n))
    drawn = np.array([_estimate(at_a[row], at_b[row], at_mixed[:, row]) for row in rows])
    errors = drawn.std(axis=0, ddof=1)
    return VarianceShares(_floats(first), _floats(errors[0]), _floats(total), _floats(errors[1]))


def _estimate(at_a: Floats, at_b: Floats, at_mixed: Floats) -> tuple[Floats, Floats]:
    pages: dict[Literal["f_A", "f_B", "f_AB"], Floats] = {
        "f_A": at_a[None],
        "f_B": at_b[None],
        "f_AB": at_mixed[:, None],
    }
    found = sobol_indices(func=pages, n=len(at_a))
    return np.atleast_1d(found.first_order), np.atleast_1d(found.total_order)


def _floats(values: Floats) -> tuple[float, ...]:
    return tuple(float(value) for value in values)
