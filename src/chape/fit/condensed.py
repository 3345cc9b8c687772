"""The hold alone, for hundreds of knives: the shell left behind, its compliance kept.

    friction           in the contact, anew for every knife
    swell, position    gaps read anew from the knife's table, moved and grown
    modulus            the force is in proportion, exactly
    gauge              F ~ gauge^p, p measured on this very sheath with a sheet a tenth thicker;
                       between 0.9 and 1.1 of the gauge the rule is within 2 % of a shell made anew

The greatest pull is looked for at a few travels round that of the file's own knife, then between
the best three by a parabola.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log
from typing import TYPE_CHECKING

import numpy as np

from chape.fit.held import Grip
from chape.fit.model import Conditions
from chape.fit.pull import with_gauge
from chape.fit.step import step, untouched

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.fit.near import Near
    from chape.fit.pull import PullModel
    from chape.solve.contact import Compliance

#: The rule for the gauge is measured on a sheet thicker by this.
THICKER = 1.1

#: Where nothing holds, no rule can be measured; plates bend with the third power of their gauge,
#: stretched ones less.
USUAL_POWER = 2.5

#: Positions the greatest pull is looked for at.
LOOKS = 17

#: They span all that pulls at least this share of the greatest.
WINDOW = 0.6

#: The knife the rule is measured with, and the window found with; stiffness drops out.
PLAIN = Conditions(friction=0.25, modulus=1000.0)


@dataclass(frozen=True, slots=True, eq=False)
class CondensedPull:
    """What one sheath's hold depends on; can be sent to another process.

    Attributes:
        grip: points that may touch, with all of the compliance between them.
        near: distances from the knife.
        positions: (k,) how far out the knife lies where its hold is looked for, mm.
        gauge_power: p.
    """

    grip: Grip
    near: Near
    positions: Floats
    gauge_power: float

    def peak(self, conditions: Conditions) -> float:
        """Return the greatest pull, N; infinite where the knife locks."""
        here = replace(conditions, along=0.0)
        out = untouched(self.grip)
        # A knife that lies further out at home never passes what is behind it.
        positions = np.maximum(self.positions, max(0.0, conditions.along))
        pulls = np.zeros(len(positions))
        for k, position in enumerate(positions):
            out = step(self.grip, self.near, here, float(position), out, rounds=1)
            pulls[k] = out.along
        return _crest(positions, pulls) * float(conditions.gauge_factor**self.gauge_power)


def condensed(model: PullModel) -> CondensedPull:
    """Return the condensed model of a sheath: seconds to make, hundredths of one to ask."""
    positions, peak = _window(model)
    power = USUAL_POWER
    if 0 < peak < np.inf:
        thicker = with_gauge(model, THICKER)
        other = CondensedPull(thicker.grip, thicker.near, positions, 0.0).peak(PLAIN)
        own = CondensedPull(model.grip, model.near, positions, 0.0).peak(PLAIN)
        if 0 < other < np.inf:
            power = log(other / own) / log(THICKER)
    grip = model.grip
    whole: Compliance = grip.compliance.packed()
    packed = Grip(grip.spots, grip.nodes, grip.points, whole)
    return CondensedPull(packed, model.near, positions, power)


def _window(model: PullModel) -> tuple[Floats, float]:
    """Return positions round the greatest pull of the file's knife, and that pull."""
    most = model.free + 1.0 if model.free else model.half.mouth_x - model.near.handle_start
    travel = np.linspace(0.0, most, 2 * LOOKS)
    out = untouched(model.grip)
    pulls = np.zeros(len(travel))
    for k, s in enumerate(travel):
        out = step(model.grip, model.near, PLAIN, float(s), out)
        pulls[k] = out.along
    peak = float(pulls.max())
    if not 0 < peak < np.inf:
        return np.linspace(0.0, most, 2 * LOOKS), peak
    high = np.flatnonzero(pulls >= WINDOW * peak)
    apart = travel[1]
    low, end = max(0.0, travel[high[0]] - apart), min(most, travel[high[-1]] + apart)
    return np.linspace(low, end, LOOKS), peak


def _crest(positions: Floats, pulls: Floats) -> float:
    """Return the greatest pull, between positions as well."""
    k = int(np.argmax(pulls))
    top = float(pulls[k])
    if not np.isfinite(top) or top <= 0 or k in (0, len(pulls) - 1):
        return max(top, 0.0)
    before, after = float(pulls[k - 1]), float(pulls[k + 1])
    bend = 2 * top - before - after
    even = np.isclose(positions[k + 1] - positions[k], positions[k] - positions[k - 1])
    if bend <= 0 or not even:
        return top
    return float(top + (after - before) ** 2 / (8 * bend))
