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

The machine cannot keep it, for it has to stop. The plainest way to cover a piece of ground is in
straight lines to and fro, s apart, along the axis in which it takes fewer of them. Each begins and
ends at rest, which takes a line of length l

    v / a                   more than l / v, where l >= v² / a
    2 sqrt(l / a) - l / v   where it is shorter, and v is never reached

with a, the lower of the acceleration along x and y. That, for every line of both terms, is what the
second figure adds: for the first term as many times as levels go into the depth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from chape.catalog.read import catalog
from chape.cutting.choose import finishing_cutters, roughing_cutter
from chape.cutting.clock import Limits, piece_seconds
from chape.cutting.model import Motion, OperationKind, PlanFigures
from chape.cutting.pace import STEP_SHARE
from chape.cutting.rates import rates_for, step_over

if TYPE_CHECKING:
    from chape.cutting.model import Moves, Program, Setup
    from chape.field.grid import Floats

Mask = npt.NDArray[np.bool_]

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
        stops: what straight lines lose by beginning and ending at rest, s.
    """

    volume: float
    area: float
    rough: float
    finish: float
    stops: float

    @property
    def seconds(self) -> float:
        """Both together on a machine that need never speed up, s."""
        return self.rough + self.finish

    @property
    def with_stops(self) -> float:
        """The same on a machine that has to, s."""
        return self.seconds + self.stops


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
    acceleration = min(setup.machine.axis_accelerations[:2])
    rough_lines, finish_lines = (
        _lost_at_stops(mask, grid.spacing, apart, feed / 60, acceleration)
        for mask, apart, feed in (
            (inside & (depth > 0), 2 * flat.radius * STEP_SHARE, roughing.feed),
            (finished, step_over(ball.radius, setup.scallop), finishing.feed),
        )
    )
    cut = float((inside & (depth > 0)).sum()) * cell * roughing.depth
    stops = rough_lines * volume / max(cut, cell) + finish_lines
    return Bound(volume, area, 60 * volume / removal, 60 * area / covering, stops)


def _lost_at_stops(
    mask: Mask, spacing: float, apart: float, speed: float, acceleration: float
) -> float:
    """Return what straight lines over a mask lose by beginning and ending at rest, s.

    Args:
        mask: (ny, nx) nodes to be covered.
        spacing: of the nodes, mm.
        apart: distance of lines, mm.
        speed: mm/s.
        acceleration: mm/s².
    """
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    lost = []
    for rows in (labels, labels.T):
        edges = np.diff(np.pad(rows > 0, ((0, 0), (1, 1))).astype(np.int8), axis=1)
        row, first = np.nonzero(edges == 1)
        length = (np.nonzero(edges == -1)[1] - first) * spacing
        never = 2 * np.sqrt(length / acceleration) - length / speed
        each = np.where(length >= speed**2 / acceleration, speed / acceleration, never)
        lost.append(np.bincount(rows[row, first], each, minlength=count + 1))
    return float(np.minimum(*lost).sum()) * spacing / apart


def figures_of(program: Program) -> PlanFigures:
    """Return what a program saves and how long its surfaces take."""
    limits = Limits.of(program.setup.machine)
    spent = sum(
        float(seconds_of(operation.moves, limits).sum())
        for operation in program.operations
        if operation.kind in {OperationKind.ROUGH, OperationKind.FINISH}
    )
    return PlanFigures(program.rapid_saved, spent)


def seconds_of(moves: Moves, limits: Limits) -> Floats:
    """Return (n,) seconds of moves, from where the first of them ends, at rest; arcs as chords."""
    start = np.vstack([moves.end[:1], moves.end[:-1]])
    speed = np.where(moves.motion == Motion.RAPID, np.inf, moves.feed) / 60
    halts = np.zeros(len(speed) + 1, dtype=np.bool_)
    return piece_seconds(np.hstack([start, moves.end]), speed, halts, limits)
