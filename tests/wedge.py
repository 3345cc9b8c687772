"""A stand-in for a sheath that can be worked out by hand: a wedge drawn between two flat springs.

Each spring gives way by the height of the wedge less the room left for it; with N = k d on each
side the pull is 2 N (tan a + mu)/(1 - mu tan a), the mating force factor of snap fits (R.A. Malloy,
Plastic Part Design for Injection Molding). A leaf spring's stiffness goes with E t³.
"""

from concurrent.futures import Executor, Future
from dataclasses import dataclass
from math import inf, radians, tan

from chape.fit.model import Conditions

#: Modulus at which a spring of nominal gauge has the stiffness given, MPa.
MODULUS = 2300.0


@dataclass(frozen=True)
class Wedge:
    """Stiffness N/mm at ``MODULUS``, depth beyond the room mm, slope degrees."""

    stiffness: float = 80.0
    depth: float = 0.4
    slope: float = 20.0
    gauge_power: float = 3.0

    def peak(self, conditions: Conditions) -> float:
        steep, friction = tan(radians(self.slope)), conditions.friction
        if friction * steep >= 1:
            return inf
        # Where the blade lies changes how much of the wedge is met, a little.
        depth = max(0.0, self.depth + conditions.swell + 0.1 * conditions.across)
        stiffness = (
            self.stiffness
            * conditions.modulus
            / MODULUS
            * conditions.gauge_factor**self.gauge_power
        )
        return 2 * stiffness * depth * (steep + friction) / (1 - friction * steep)


def modulus_at(temperature: float) -> float:
    return MODULUS * (1 - 0.004 * (temperature - 23.0))


#: Choices under which nothing varies.
STILL = {
    "friction_spread": 0.0,
    "handle_spread": 0.0,
    "position_spread": 0.0,
    "gauge_spread": 0.0,
    "modulus_spread": 0.0,
    "cold": 21.0,
    "hot": 21.0,
}


class Here(Executor):
    """Works at once, in this thread."""

    def submit(self, function, /, *arguments):
        future = Future()
        future.set_result(function(*arguments))
        return future
