"""Carries the spread of what goes into a formula through to what comes out of it.

Each input is moved up and down by its spread, the others held; half of what that changes is its
share, and the shares add as the root of their squares: the inputs are taken as independent, and
the formula as near to straight over their spreads (first order; JCGM 100, GUM, section 5.1).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


@dataclass(frozen=True, slots=True)
class Estimate:
    """A computed figure with its spread.

    Attributes:
        value: with every input at its own value.
        spread: half-width of the range it is expected in.
        shares: (input, change of the figure over its spread), the largest first.
    """

    value: float
    spread: float
    shares: tuple[tuple[str, float], ...]

    @property
    def low(self) -> float:
        """The lower end of its range, never below 0."""
        return max(0.0, self.value - self.spread)

    @property
    def high(self) -> float:
        """The upper end of its range."""
        return self.value + self.spread


def estimate(
    formula: Callable[[Mapping[str, float]], float | None],
    inputs: Mapping[str, tuple[float, float]],
) -> Estimate | None:
    """Return what a formula gives and how far its inputs' spreads move it.

    Where the formula gives nothing with an input moved one way, the other way alone counts.

    Args:
        formula: of inputs by name; None where there is no such figure.
        inputs: name -> value and spread.
    """
    middle = {name: value for name, (value, _) in inputs.items()}
    found = formula(middle)
    if found is None:
        return None
    shares = []
    for name, (value, spread) in inputs.items():
        if spread == 0:
            continue
        ends = (
            formula({**middle, name: value + spread}),
            formula({**middle, name: value - spread}),
        )
        known = [found if end is None else end for end in ends]
        reached = sum(end is not None for end in ends)
        if reached:
            shares.append((name, abs(known[0] - known[1]) / reached))
    shares.sort(key=lambda share: -share[1])
    return Estimate(found, hypot(*(change for _, change in shares)), tuple(shares))
