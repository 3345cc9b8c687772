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
    start = np.interp(x, fold.x, fold.end) - fold.line
    v = np.linspace(start, np.zeros(len(start)), SAMPLES, axis=1)
    places = np.column_stack([np.repeat(x, SAMPLES), v.ravel()])
    z = formed.at(places).reshape(v.shape)
    y_apex, z_apex = _bent(v + fold.line, z, neutral)
    return Closure(np.asarray(x), z_apex, y_apex - np.interp(x, fold.x, fold.end + fold.height))


def _bent(y: Floats, z: Floats, neutral: float) -> tuple[Floats, Floats]:
    """Bend strips (n, m) through a quarter circle; return y and z (n,) of their inner ends."""
    dy, dz = np.diff(y), np.diff(z)
    piece = np.hypot(dy, dz)
    along = np.cumsum(piece, axis=1)
    whole = along[:, -1:]
    before = np.hstack([np.zeros_like(whole), along[:, :-1]])
    # The middle of each piece has turned by its share of the quarter circle.
    turned = pi / 2 * (before + along) / 2 / whole
    heading = np.arctan2(dz, dy) - turned
    # The neutral layer is as long as the flat strip; a chord of it is a little shorter.
    half_turn = pi / 4 * piece / whole
    chord = piece * np.sinc(half_turn / pi)
    start = np.arctan2(dz[:, 0], dy[:, 0])
    y_neutral = y[:, 0] - neutral * np.sin(start) + np.sum(chord * np.cos(heading), axis=1)
    z_neutral = z[:, 0] + neutral * np.cos(start) + np.sum(chord * np.sin(heading), axis=1)
    end = np.arctan2(dz[:, -1], dy[:, -1]) - pi / 2
    return y_neutral + neutral * np.sin(end), z_neutral - neutral * np.cos(end)
