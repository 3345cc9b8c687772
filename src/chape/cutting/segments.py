"""Moves as straight pieces: what removal, clock and measurements work on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from chape.cutting.parsed import Integers, ParsedProgram
    from chape.field.grid import Floats

#: Chords of an arc stay this close to it, mm: flattening to e leaves about 4 e near a ball's rim.
CHORD_DEPTH = 0.0005


@dataclass(frozen=True, slots=True, eq=False)
class Segments:
    """Straight pieces of cutter path.

    Attributes:
        ends: (n, 6) tip at start and end, mm, finite.
        cutter: (n,) index into a rack.
        rapid: (n,) whether it is a rapid.
        move: (n,) index of the move it belongs to.
    """

    ends: Floats
    cutter: Integers
    rapid: npt.NDArray[np.bool_]
    move: Integers

    def chosen(self, mask: npt.NDArray[np.bool_] | slice) -> Segments:
        """Return some of the segments."""
        return Segments(self.ends[mask], self.cutter[mask], self.rapid[mask], self.move[mask])


def segments_of(program: ParsedProgram, index_of: dict[int, int], *, ceiling: float) -> Segments:
    """Return a program as straight pieces, arcs flattened within ``CHORD_DEPTH``.

    Moves of which start or end is not known in the plane, and moves of cutters that are not in
    the rack, are left out; the check reports them.

    Args:
        program: as read.
        index_of: rack index by cutter number.
        ceiling: height that stands for the top of the travel, mm.
    """
    start = np.where(np.isposinf(program.start), ceiling, program.start)
    end = np.where(np.isposinf(program.end), ceiling, program.end)
    # A rapid that only rises from or falls to a known place is seen at its known end.
    for axis in (0, 1, 2):
        lost = np.isnan(start[:, axis]) & np.isfinite(end[:, axis]) & program.rapid
        start[lost, axis] = end[lost, axis]
    cutter = np.array([index_of.get(int(n), -1) for n in program.cutter], dtype=np.int32)
    known = np.isfinite(start).all(axis=1) & np.isfinite(end).all(axis=1) & (cutter >= 0)
    pieces = np.where(known, _pieces(program), 0)
    move = np.repeat(np.arange(len(program), dtype=np.int32), pieces)
    first = np.cumsum(pieces) - pieces
    part = np.arange(len(move)) - first[move]
    a = _along(program, start, end, move, part / pieces[move])
    b = _along(program, start, end, move, (part + 1) / pieces[move])
    return Segments(np.hstack([a, b]), cutter[move], program.rapid[move], move)


def _pieces(program: ParsedProgram) -> Integers:
    """Return how many chords each move needs."""
    arc = program.sweep != 0
    pieces = np.ones(len(program), dtype=np.int32)
    if arc.any():
        radius = np.hypot(*(program.start[arc, :2] - program.centre[arc]).T)
        widest = 2 * np.arccos(np.clip(1 - CHORD_DEPTH / np.maximum(radius, 1e-9), -0.5, 1))
        pieces[arc] = np.maximum(1, np.ceil(np.abs(program.sweep[arc]) / widest)).astype(np.int32)
    return pieces


def _along(
    program: ParsedProgram, start: Floats, end: Floats, move: Integers, share: Floats
) -> Floats:
    """Return the points a share of the way along each move, exact at both ends."""
    points = start[move] + (end[move] - start[move]) * share[:, None]
    points = np.where(share[:, None] >= 1, end[move], points)
    arc = (program.sweep[move] != 0) & (share > 0) & (share < 1)
    if arc.any():
        of = move[arc]
        spoke = start[of, :2] - program.centre[of]
        angle = program.sweep[of] * share[arc]
        cos, sin = np.cos(angle), np.sin(angle)
        turned = np.column_stack(
            [spoke[:, 0] * cos - spoke[:, 1] * sin, spoke[:, 0] * sin + spoke[:, 1] * cos]
        )
        points[arc, :2] = program.centre[of] + turned
    return points
