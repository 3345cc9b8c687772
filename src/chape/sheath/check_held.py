"""Checks of holes that stand where the maker put them; planned ones keep these rules anyway."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.findings import Finding, Severity
from chape.sheath.halves import axis_of, half_holes, half_pattern, rows_of
from chape.sheath.hole_rules import END_MOST
from chape.sheath.model import HoleUse

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.field.grid import Floats
    from chape.sheath.model import Hole, Sheath

#: Sheet between a drain and the edge, at least, mm: less breaks while the outline is cut. Common
#: practice, no source.
DRAIN_EDGE = 2.0

#: What would mend any of them.
BACK = "Move it back, or let it be placed again."


def mend_of(hole: Hole, usual: str) -> str:
    """Return what would mend a finding about a hole: moving it, where the maker holds it."""
    return usual if hole.held is None else BACK


def check_held(sheath: Sheath) -> Iterator[Finding]:
    """Yield what is wrong with the holes that a sheath's maker holds."""
    if sheath.choices.eyelets.at:
        yield from _check_ends(sheath)
    if sheath.choices.drain.at:
        for drain in half_holes(sheath, upper=False):
            if drain.use is HoleUse.DRAIN and drain.held is not None:
                yield from _check_drain(sheath, drain)


def _check_ends(sheath: Sheath) -> Iterator[Finding]:
    """See that a rivet stands at either end of every line of eyelets."""
    axis, reach = axis_of(sheath), sheath.eyelet.flange.value / 2
    for line, row in zip(sheath.lines, rows_of(sheath, upper=False), strict=False):
        way = shapely.LineString(line)
        rivets = [(hole.u, hole.v + axis) for hole in row if hole.use is HoleUse.EYELET]
        near = [at for at in rivets if way.distance(shapely.Point(at)) <= reach]
        for where, end in (("mouth", line[0]), ("tip", line[-1])):
            gap = _nearest(end, near)
            if gap > END_MOST:
                yield Finding(
                    "rivet-end-far",
                    Severity.WARNING,
                    f"{where}, x = {end[0]:.0f} mm, y = {end[1]:.0f} mm",
                    f"No rivet closes the flanges at the {where}'s end of the line of eyelets.",
                    BACK,
                    gap,
                    END_MOST,
                )


def _nearest(end: Floats, places: list[tuple[float, float]]) -> float:
    gaps = [float(np.hypot(x - end[0], y - end[1])) for x, y in places]
    return min(gaps, default=float(np.inf))


def _check_drain(sheath: Sheath, drain: Hole) -> Iterator[Finding]:
    """See that enough sheet is left between a drain and the edge; one on the fold has none."""
    if sheath.fold is not None and drain.v == 0:
        return
    half = half_pattern(sheath, upper=False)
    middle = shapely.Point(drain.u, drain.v)
    away = float(half.exterior.distance(middle)) * (1 if half.contains(middle) else -1)
    room = away - drain.diameter / 2
    if room < DRAIN_EDGE:
        yield Finding(
            "drain-edge-low",
            Severity.ERROR,
            f"drain at u = {drain.u:.0f} mm, v = {drain.v:.0f} mm",
            "Too little sheet is left between the drain and the edge.",
            BACK,
            room,
            DRAIN_EDGE,
        )
