"""Newtons in a maker's words: a kitchen scale, and a shake upside down.

    scale   hang the knife's sheath from a hook and pull the knife down by a scale: F / g, in kg
    shake   upside down and shaken with a times the earth's pull, the knife pulls with
            m g (1 + a); the hold must be that times the safety factor

The mass is the maker's own figure, or the knife's volume times what blades and handles usually
weigh. A blade is steel. A handle is a tang between scales, or a rod in a wooden one, so that its
mean density is a guess with a wide spread.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.fit.model import FitChoices
    from chape.knife.model import Knife

#: The earth's pull, m/s² (standard gravity, CGPM 1901).
GRAVITY = 9.80665

#: Density of a blade, kg/m³: steel (handbook).
BLADE_DENSITY = 7800.0

#: Mean density of a handle with its tang, kg/m³, and half the range it may lie in. Common
#: practice, no source: a third steel, the rest wood or laminate.
HANDLE_DENSITY, HANDLE_SPREAD = 2800.0, 1200.0


@dataclass(frozen=True, slots=True)
class Weight:
    """What a knife weighs, and what it pulls with when shaken upside down.

    Attributes:
        mass: kg.
        spread: the mass may be off by this, kg; 0 where the maker weighed it.
        weighed: the maker's own figure.
        pull: of the knife in the shake, N, with the greatest mass it may have.
        needed: hold the shake asks for, N: the pull times the safety factor.
    """

    mass: float
    spread: float
    weighed: bool
    pull: float
    needed: float


def weight_of(knife: Knife, fit: FitChoices) -> Weight:
    """Return what a knife weighs, and the hold that a shake asks for."""
    if fit.knife_mass is not None:
        mass, spread = fit.knife_mass, 0.0
    else:
        mass, spread = estimated_mass(knife)
    pull = (mass + spread) * GRAVITY * (1 + fit.shake)
    return Weight(mass, spread, fit.knife_mass is not None, pull, fit.safety * pull)


def estimated_mass(knife: Knife) -> tuple[float, float]:
    """Return the mass of a knife from its volume, kg, and how far it may be off."""
    grid = knife.half.grid
    columns = 2 * knife.half.z.sum(axis=0) * grid.spacing**2
    blade = float(columns[grid.x < knife.blade_length].sum()) * 1e-9
    handle = float(columns[grid.x >= knife.blade_length].sum()) * 1e-9
    return BLADE_DENSITY * blade + HANDLE_DENSITY * handle, HANDLE_SPREAD * handle


def scale_reading(force: float) -> float:
    """Return what a kitchen scale shows for a force in N, kg.

    >>> round(scale_reading(30.0), 2)
    3.06
    """
    return force / GRAVITY


def scale_words(force: float) -> str:
    """Write a force as a person can feel it.

    >>> scale_words(30.0)
    '30.0 N, 3.06 kg on a kitchen scale'
    """
    if not np.isfinite(force):
        return "locked: no pull draws it"
    return f"{force:.1f} N, {scale_reading(force):.2f} kg on a kitchen scale"
