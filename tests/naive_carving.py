"""A slow, plain simulation for tests: the cutter is stamped every tenth of a millimetre."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import CutterKind
from chape.cutting.model import Motion

if TYPE_CHECKING:
    from chape.catalog.model import Cutter
    from chape.cutting.model import Moves, Program
    from chape.field.grid import Floats

STEP = 0.1


@dataclass
class Carved:
    """The stock afterwards, and the deepest a rapid went into it, mm."""

    z: Floats
    rapid_into: float


def profile(cutter: Cutter, r: Floats) -> Floats:
    if cutter.kind is CutterKind.BALL:
        return cutter.radius - np.sqrt(np.maximum(cutter.radius**2 - r**2, 0))
    if cutter.kind is CutterKind.DRILL:
        return r / np.tan(np.radians(cutter.point_angle / 2))
    return np.zeros_like(r)


def stations(moves: Moves) -> list[tuple[int, Floats]]:
    """Return each move as points (n, 3) not further apart than ``STEP``."""
    here = moves.end[0]
    found = []
    for motion, end, centre in zip(moves.motion, moves.end, moves.centre, strict=True):
        if motion in {Motion.CLOCKWISE, Motion.COUNTER_CLOCKWISE}:
            first = np.arctan2(*(here[:2] - centre)[::-1])
            last = np.arctan2(*(end[:2] - centre)[::-1])
            turn = (last - first) % (2 * np.pi)
            if motion == Motion.CLOCKWISE:
                turn -= 2 * np.pi
            radius = np.hypot(*(here[:2] - centre))
            share = np.linspace(0, 1, int(abs(turn) * radius / STEP) + 8)
            angles = first + share * turn
            around = centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
            points = np.column_stack([around, here[2] + share * (end[2] - here[2])])
        else:
            count = int(np.linalg.norm(end - here) / STEP) + 2
            points = np.linspace(here, end, count)
        found.append((int(motion), points))
        here = end
    return found


def carve(program: Program) -> Carved:
    grid = program.setup.stock.grid
    z = program.setup.stock.z.copy()
    x, y = grid.x, grid.y
    deepest = 0.0
    for operation in program.operations:
        cutter = operation.cutter
        for motion, points in stations(operation.moves):
            for px, py, pz in points:
                i = slice(*np.searchsorted(x, [px - cutter.radius, px + cutter.radius]))
                j = slice(*np.searchsorted(y, [py - cutter.radius, py + cutter.radius]))
                part = z[j, i]
                if not part.size or part.max() <= pz:
                    continue
                r = np.hypot(x[i][None, :] - px, y[j][:, None] - py)
                swept = np.where(r <= cutter.radius, pz + profile(cutter, r), np.inf)
                if motion == Motion.RAPID:
                    deepest = max(deepest, float((part - swept).max()))
                np.minimum(part, swept, out=part)
    return Carved(z, deepest)
