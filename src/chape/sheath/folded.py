"""The formed strip folded back by numbers: does the pattern close?

The strip is read from the formed surface section by section, without a look at how it was made.
Its neutral layer, K t outside the formed surface, is bent evenly through a quarter circle from the
half-cavity's end to the fold line. Both halves then meet where they should when the inside apex
lies on the mid-plane, and at the apex the design counts on.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.sheath.model import Fold

#: Points along the strip of one section.
SAMPLES = 121


@dataclass(frozen=True, slots=True, eq=False)
class Closure:
    """Where the folded strip ends up, section by section.

    Attributes:
        x: (n,) stations, mm.
        gap: (n,) height of the inside apex over the mid-plane, mm: 0 closes.
        astray: (n,) how far the apex lies past where the design has it, mm.
    """

    x: Floats
    gap: Floats
    astray: Floats


def fold_back(fold: Fold, formed: HeightField, x: Floats) -> Closure:
    """Fold the formed strip at stations ``x`` (n,) and return how well it closes."""
    neutral = fold.k_factor * fold.gauge
    gap, astray = np.empty(len(x)), np.empty(len(x))
    for k, station in enumerate(x):
        start = float(np.interp(station, fold.x, fold.end)) - fold.line
        v = np.linspace(start, 0.0, SAMPLES)
        z = formed.at(np.column_stack([np.full(SAMPLES, station), v]))
        y_apex, z_apex = _bent(v + fold.line, z, neutral)
        gap[k] = z_apex
        astray[k] = y_apex - float(np.interp(station, fold.x, fold.end + fold.height))
    return Closure(np.asarray(x), gap, astray)


def _bent(y: Floats, z: Floats, neutral: float) -> tuple[float, float]:
    """Bend a strip (y, z) through a quarter circle; return y and z of its inner end."""
    dy, dz = np.diff(y), np.diff(z)
    piece = np.hypot(dy, dz)
    along = np.concatenate([[0.0], np.cumsum(piece)])
    # The middle of each piece has turned by its share of the quarter circle.
    turned = pi / 2 * (along[:-1] + along[1:]) / 2 / along[-1]
    heading = np.arctan2(dz, dy) - turned
    # The neutral layer is as long as the flat strip; a chord of it is a little shorter.
    half_turn = pi / 4 * piece / along[-1]
    chord = piece * np.sinc(half_turn / pi)
    start = np.arctan2(dz[0], dy[0])
    y_neutral = y[0] - neutral * np.sin(start) + float(np.sum(chord * np.cos(heading)))
    z_neutral = z[0] + neutral * np.cos(start) + float(np.sum(chord * np.sin(heading)))
    end = np.arctan2(dz[-1], dy[-1]) - pi / 2
    return y_neutral + neutral * float(np.sin(end)), z_neutral - neutral * float(np.cos(end))
