"""A clip as it lies on its sheath, and how good the plan is that laid it there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chape.catalog.hardware import Clip
    from chape.field.grid import Floats


@dataclass(frozen=True, slots=True, eq=False)
class PlacedClip:
    """A clip where it lies on the sheath, once it is the one that is mounted.

    Attributes:
        clip: what the catalogue says of it.
        half: "front" or "back", on whose outside it sits.
        angle: of its x axis to the line of eyelets, degrees.
        points: (k, 2) its holes in its own order, sheath frame, mm.
        other: (k, 2) the same on a sheath for the other hand, in this sheath's frame; None where
            they are the same holes.
        play: furthest that one of its holes is from the sheath's, mm.
        astray: how far from where it is wanted, mm.
    """

    clip: Clip
    half: str
    angle: float
    points: Floats
    other: Floats | None
    play: float
    astray: float


@dataclass(frozen=True, slots=True)
class PlanProof:
    """How good a hole plan is.

    Attributes:
        holes: of one half, without drains.
        holes_least: no plan over the places that were tried has fewer.
        sheet: flange that the clips add, reckoned along a line of even width, mm².
        cost: the same, and two mm² more for each mm that a clip lies astray.
        cost_least: no plan with so many holes comes to less, mm².
    """

    holes: int
    holes_least: int
    sheet: float
    cost: float
    cost_least: float

    @property
    def proven(self) -> bool:
        """Whether no plan has fewer holes, nor as many at less cost."""
        return self.holes == self.holes_least and self.cost <= self.cost_least + COST_SLACK


#: Costs are counted in whole tenths of a millimetre of flange, so that they are known to this, mm².
COST_SLACK = 1.0
