"""Back grooves: how the vents reach the vacuum table.

The table has grooves of its own at a fixed pitch along both axes. A straight groove on the
mould's back that passes under a vent and crosses one of them joins the vent to the vacuum. Few
straight grooves do for all vents: lines that pass under several vents are taken first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: A groove runs on this far past its last vent, and past the table groove it opens into, mm.
RUN_ON = 2.0

#: ... at least this far, so that the vent opens into it with its whole width, mm.
VENT_ROOM = 0.75

#: Two vents on one line further apart than this get grooves of their own, mm.
LONGEST_BRIDGE = 60.0


@dataclass(frozen=True, slots=True)
class Table:
    """The vacuum table under a plate: grooves at ``pitch`` from the front-left corner, mm.

    Back grooves keep ``margin`` off the plate's edges, which must stay tight; only a vent nearer
    the edge than that draws its groove past it.
    """

    width: float
    depth: float
    pitch: float
    margin: float

    def lines(self, axis: int) -> Floats:
        """Return where table grooves cross the plate along x (axis 0) or y (axis 1), mm."""
        size = self.width if axis == 0 else self.depth
        lines: Floats = np.arange(1.0, int(size / self.pitch) + 1) * self.pitch
        return lines[(lines > self.margin + RUN_ON) & (lines < size - self.margin - RUN_ON)]


@dataclass(frozen=True, slots=True)
class Run:
    """One straight groove along an axis: at ``level`` on the other axis, from start to end, mm."""

    axis: int
    level: float
    start: float
    end: float
    vents: tuple[int, ...]

    @property
    def points(self) -> Floats:
        """The ends, (2, 2), mm."""
        ends = np.array([[self.start, self.level], [self.end, self.level]])
        return ends if self.axis == 0 else ends[:, ::-1].copy()


def groove_runs(vents: Floats, width: float, diameter: float, table: Table) -> tuple[Run, ...]:
    """Return straight grooves that join every vent to the table's grooves.

    Args:
        vents: (n, 2) centres, mm.
        width: of the grooves, mm.
        diameter: of the vents, mm; each lies within its groove's width.
        table: the vacuum table.

    Raises:
        CannotMakeError: the vents are wider than the grooves, or no table groove lies under the
            plate.
    """
    aside = (width - diameter) / 2
    if aside < 0:
        raise CannotMakeError(
            f"vents of {diameter:g} mm are wider than back grooves of {width:g} mm",
            mend="Set mould.groove_width to at least the vents' diameter",
        )
    if len(table.lines(0)) == 0 or len(table.lines(1)) == 0:
        raise CannotMakeError(
            f"no groove of a table with a pitch of {table.pitch:g} mm lies under a plate of "
            f"{table.width:g} x {table.depth:g} mm",
            mend="Set mould.grid_pitch to the table's own, smaller than the plate",
        )
    left = np.ones(len(vents), dtype=bool)
    runs = []
    while left.any():
        axis, members = _fullest_line(vents, left, aside, table)
        runs.append(_run(vents, axis, members, table))
        left[members] = False
    return tuple(sorted(runs, key=lambda run: (run.axis, run.level, run.start)))


def _fullest_line(
    vents: Floats,
    left: np.ndarray[tuple[int], np.dtype[np.bool_]],
    aside: float,
    table: Table,
) -> tuple[int, list[int]]:
    """Return the axis and the vents of the line that passes under the most of those left.

    Lines along an edge of the plate and near it come last.
    """
    best: tuple[bool, int, float] = (False, 0, 0.0)
    chosen: tuple[int, list[int]] = (0, [])
    for axis in (0, 1):
        other = 1 - axis
        order = np.flatnonzero(left)
        order = order[np.lexsort((vents[order, axis], vents[order, other]))]
        levels = vents[order, other]
        size = table.width if other == 0 else table.depth
        inner = [bool(table.margin <= level <= size - table.margin) for level in levels]
        for k, level in enumerate(levels):
            last = int(np.searchsorted(levels, level + 2 * aside + 1e-9))
            members = order[k:last]
            members = members[np.argsort(vents[members, axis], kind="stable")]
            cuts = np.flatnonzero(np.diff(vents[members, axis]) > LONGEST_BRIDGE) + 1
            for part in np.split(members, cuts):
                span = float(vents[part[-1], axis] - vents[part[0], axis])
                score = (inner[k], len(part), -span)
                if score > best:
                    best, chosen = score, (axis, [int(n) for n in part])
    return chosen


def _run(vents: Floats, axis: int, members: list[int], table: Table) -> Run:
    """Return the groove under some vents in line, run on to the nearest table groove."""
    along, across = vents[members, axis], vents[members, 1 - axis]
    level = float(across.min() + across.max()) / 2
    first, last = float(along.min()), float(along.max())
    lines = table.lines(axis)
    size = table.width if axis == 0 else table.depth
    start = min(first - VENT_ROOM, max(first - RUN_ON, table.margin))
    end = max(last + VENT_ROOM, min(last + RUN_ON, size - table.margin))
    # How far the groove must grow before it crosses each table groove; 0 where it does already.
    growth = np.maximum(0.0, np.maximum(start + RUN_ON - lines, lines - end + RUN_ON))
    nearest = float(lines[int(np.argmin(growth))])
    start, end = min(start, nearest - RUN_ON), max(end, nearest + RUN_ON)
    return Run(axis, level, start, end, tuple(members))
