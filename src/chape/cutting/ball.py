"""The cutter that finishes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.cutting.rates import step_over
from chape.field.envelope import Body

if TYPE_CHECKING:
    from chape.cutting.rates import Rates


@dataclass(frozen=True, slots=True)
class Ball:
    """The cutter that finishes: radius, mm, its rates, and the ridge it may leave, mm."""

    radius: float
    rates: Rates
    scallop: float

    @property
    def body(self) -> Body:
        """Its shape."""
        return Body.ball(self.radius)

    @property
    def step(self) -> float:
        """Distance of lines on the level, and of contours on an upright wall, mm."""
        return step_over(self.radius, self.scallop)
