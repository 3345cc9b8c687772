"""The least time a plate's surfaces can take, to hold the machine time against.

    t = V / Q + A / (s f)

    V  mm³      between the stock and the finished surface, over the piece; holes are left out
    Q  mm³/min  removal limit: full depth of a level × wanted step-over × feed of the flat cutter
    A  mm²      finished surface that is not level, in three dimensions; a flat cutter finishes
                the level while it roughs
    s  mm       distance of two lines of the ball for the scallop that is left
    f  mm/min   feed of the ball

No entries, links, turns, overlaps, rapids, acceleration or cutter changes. What is cut afterwards,
grooves and holes, is not part of it. It is a yardstick, no proof: where ground is gentle the flat
cutter finishes it in wider steps than the ball of the second term.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.read import catalog
from chape.cutting.choose import finishing_cutters, roughing_cutter
from chape.cutting.pace import STEP_SHARE
from chape.cutting.rates import rates_for, step_over

if TYPE_CHECKING:
    from chape.cutting.model import Setup

#: Ground that rises by less than this is level, mm per mm.
LEVEL = 1e-3

#: What plates are made of, by its name in the catalogue.
PLATE = "HDPE"


@dataclass(frozen=True, slots=True)
class Bound:
    """What has to be cut, and the least time for it.

    Attributes:
        volume: to be removed, mm³.
        area: to be finished with the ball, mm².
        rough, finish: least time, s.
        cutters: numbers of the flat cutter and the ball.
    """

    volume: float
    area: float
    rough: float
    finish: float
    cutters: tuple[int, int]

    @property
    def seconds(self) -> float:
        """Both together, s."""
        return self.rough + self.finish

    def spent(self, cutter_seconds: tuple[tuple[int, float], ...]) -> float:
        """Return the time (s) of a program's (cutter number, seconds) spent by the two cutters."""
        return sum(seconds for number, seconds in cutter_seconds if number in self.cutters)


def least_time(setup: Setup) -> Bound | None:
    """Return the least time for the surfaces of a plate; None where there are none to be cut.

    Raises:
        CannotMakeError: the rack holds no flat cutter or no ball.
    """
    grid = setup.stock.grid
    depth = np.maximum(setup.stock.z - setup.target.z, 0.0)
    if setup.sheet_gauge > 0 or not depth.any():
        return None
    material = setup.material or catalog().material(PLATE)
    flat, ball = roughing_cutter(setup.cutters), finishing_cutters(setup.cutters)[0]
    roughing = rates_for(flat, material, setup.machine)
    finishing = rates_for(ball, material, setup.machine)
    inside = ((grid.x >= 0) & (grid.x <= setup.width))[None, :] & (
        (grid.y >= 0) & (grid.y <= setup.depth)
    )[:, None]
    cell = grid.spacing**2
    volume = float(depth[inside].sum() * cell)
    slope = np.hypot(*np.gradient(setup.target.z, grid.spacing))
    finished = inside & (depth > 0) & (slope > LEVEL)
    area = float(np.hypot(1, slope[finished]).sum() * cell)
    removal = roughing.depth * 2 * flat.radius * STEP_SHARE * roughing.feed
    covering = step_over(ball.radius, setup.scallop) * finishing.feed
    numbers = (flat.number, ball.number)
    return Bound(volume, area, 60 * volume / removal, 60 * area / covering, numbers)
