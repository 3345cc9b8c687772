"""What differs from one knife, one sheet and one day to the next, as numbers to sample.

Spreads are standard deviations of normal distributions, cut off at three of them: a caliper would
have sorted out what lies beyond. The temperature is anywhere between the coldest and the hottest
day, most often near the workshop's own (a triangle); it acts through the sheet's modulus. Inputs
are taken as independent. All of this is a workshop's own knowledge: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr, ndtri

from chape.fit.model import Conditions

if TYPE_CHECKING:
    from collections.abc import Callable

    from chape.field.grid import Floats
    from chape.fit.model import FitChoices

#: Inputs by name, and which columns of the unit cube belong to each.
INPUTS: tuple[tuple[str, tuple[int, ...]], ...] = (
    ("handle thickness", (0,)),
    ("blade position", (1, 2)),
    ("friction", (3,)),
    ("sheet gauge", (4,)),
    ("sheet modulus", (5,)),
    ("temperature", (6,)),
)

#: So many columns.
COLUMNS = 7

#: Nothing is taken to lie further off than this many standard deviations.
CUT_OFF = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Knives:
    """Knives drawn from what varies, (n,) each.

    Attributes:
        swell: handle thicker per side than the file says, mm.
        along, across: home lies this far further out and nearer the fold, mm.
        friction: between knife and sheet.
        gauge_factor, modulus_factor: sheet over its catalogue figure.
        temperature: degrees Celsius.
        modulus: of the sheet at its temperature, MPa.
    """

    swell: Floats
    along: Floats
    across: Floats
    friction: Floats
    gauge_factor: Floats
    modulus_factor: Floats
    temperature: Floats
    modulus: Floats

    def __len__(self) -> int:
        return len(self.swell)

    def conditions(self) -> tuple[Conditions, ...]:
        """Return what each knife meets."""
        columns = (
            *(self.friction, self.modulus, self.swell),
            *(self.along, self.across, self.gauge_factor),
        )
        return tuple(Conditions(*map(float, row)) for row in zip(*columns, strict=True))


def knives_at(cube: Floats, fit: FitChoices, modulus_at: Callable[[float], float]) -> Knives:
    """Return the knives at points of the unit cube.

    Args:
        cube: (n, COLUMNS) points.
        fit: gives middle values and spreads.
        modulus_at: the sheet's modulus at a temperature, MPa.
    """
    off = deviations(cube[:, :6])
    temperature = triangle(cube[:, 6], fit.cold, fit.temperature, fit.hot)
    modulus_factor = 1 + fit.modulus_spread * off[:, 5]
    by_temperature = np.array([modulus_at(float(each)) for each in temperature])
    return Knives(
        swell=fit.handle_spread / 2 * off[:, 0],
        along=fit.position_spread * off[:, 1],
        across=fit.position_spread * off[:, 2],
        friction=np.maximum(0.0, fit.friction + fit.friction_spread * off[:, 3]),
        gauge_factor=1 + fit.gauge_spread * off[:, 4],
        modulus_factor=modulus_factor,
        temperature=temperature,
        modulus=modulus_factor * by_temperature,
    )


def middle(fit: FitChoices, modulus_at: Callable[[float], float]) -> Conditions:
    """Return the knife of the file, in the sheet of the catalogue, in the workshop."""
    return Conditions(fit.friction, modulus_at(fit.temperature))


def deviations(cube: Floats) -> Floats:
    """Return points of the unit cube as standard deviations, cut off at ``CUT_OFF``."""
    tail = float(ndtr(-CUT_OFF))
    cut: Floats = ndtri(tail + cube * (1 - 2 * tail))
    return cut


def triangle(share: Floats, low: float, mode: float, high: float) -> Floats:
    """Return the values below which a share of a triangular distribution lies."""
    if high <= low:
        return np.full(share.shape, low)
    mode = min(max(mode, low), high)
    width, rise, fall = high - low, mode - low, high - mode
    below = low + np.sqrt(share * width * rise)
    above = high - np.sqrt((1 - share) * width * fall)
    values: Floats = np.where(share * width < rise, below, above)
    return values
