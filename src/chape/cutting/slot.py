"""Straight slots through sheet, with round ends: down along the middle, then round the wall.

The cutter sinks to and fro along the middle on a ramp, so that it never stands on its end in full
material; then it swings out on half a circle and goes round the wall counter-clockwise, which
climbs, wider each time by no more than a share of its diameter.
"""

from __future__ import annotations

from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.bore import NARROWEST, SLOWEST, STEP_SHARE
from chape.cutting.choose import SNUG
from chape.cutting.link import APPROACH, Track, same_place
from chape.cutting.order import Stop, shortest_route
from chape.cutting.rates import RAMP_SLOPE
from chape.errors import CannotMakeError

if TYPE_CHECKING:
    from chape.cutting.drill import Tool
    from chape.cutting.ground import Ground
    from chape.field.grid import Floats
    from chape.tooling.model import Groove

#: More passes than this mean that a slot is too short to ramp in.
PASSES_MOST = 40


def cut_slots(
    slots: tuple[Groove, ...],
    tool: Tool,
    ground: Ground,
    safe: float,
    *,
    start: tuple[float, float] = (0.0, 0.0),
) -> Track:
    """Cut straight slots down to their floors.

    Slots are taken on a short way, each from either end.

    Args:
        slots: from the middle of one round end to that of the other, none narrower than the cutter.
        tool: a flat cutter.
        ground: what stands there.
        safe: height at which nothing can be met, mm.
        start: where the cutter comes from, mm.

    Raises:
        CannotMakeError: a slot is not straight, narrower than the cutter, or too short to ramp in.
    """
    track = Track(safe)
    for slot in slots:
        _refuse(slot, tool)
    plans = [_levels(slot, tool, ground) for slot in slots]
    stops = [
        Stop(slot.points[[0, -1]], through=_leaves_beyond(slot, levels, tool))
        for slot, levels in zip(slots, plans, strict=True)
    ]
    route = shortest_route(stops, start)
    track.saved += route.saved
    for n, place in route.visits:
        ends = slots[n].points[[0, -1]] if place == 0 else slots[n].points[[-1, 0]]
        _cut(track, ends, slots[n].width, plans[n], tool, ground)
    track.lift()
    return track


def wall_offsets(width: float, cutter: float) -> list[float]:
    """Return how far (mm) from the middle line a cutter's middle goes round, the last at the wall.

    Empty where the cutter is as wide as the slot.

    >>> wall_offsets(8.0, 6.0)
    [1.0]
    """
    spare = (width - cutter) / 2
    if spare < NARROWEST / 2:
        return []
    count = ceil(spare / (STEP_SHARE * cutter) - 1e-9)
    return [spare * (n + 1) / count for n in range(count)]


def _where(slot: Groove) -> str:
    (x, y), (u, v) = slot.points[0], slot.points[-1]
    return f"the slot of {slot.width:g} mm from x {x:.1f}, y {y:.1f} to x {u:.1f}, y {v:.1f}"


def _refuse(slot: Groove, tool: Tool) -> None:
    a, b = slot.points[0], slot.points[-1]
    length = float(np.hypot(*(b - a)))
    if not np.isfinite(length) or not np.isfinite([slot.width, slot.z_floor]).all():
        raise CannotMakeError(f"{_where(slot)} has a figure that is no number", mend="Mend it")
    if len(slot.points) != 2:
        raise CannotMakeError(
            f"{_where(slot)} is not straight", mend="Divide it into straight slots"
        )
    if same_place(a, b):
        raise CannotMakeError(f"{_where(slot)} has no length", mend="Make it a round hole")
    if slot.width < tool.cutter.diameter - SNUG:
        raise CannotMakeError(
            f"{_where(slot)} is narrower than T{tool.cutter.number} of {tool.cutter.diameter:g} mm",
            mend=f"Add a flat cutter of {slot.width:g} mm or less",
        )


def _levels(slot: Groove, tool: Tool, ground: Ground) -> list[float]:
    """Return the heights (mm) between which each walk along the middle sinks."""
    a, b = slot.points[0], slot.points[-1]
    length = float(np.hypot(*(b - a)))
    line = a + np.linspace(0, 1, max(2, ceil(length)))[:, None] * (b - a)
    top = float(ground.highest(line, slot.width / 2).max())
    deep = tool.rates.depth
    if top - slot.z_floor > deep:
        # Where it turns back, a walk to and fro takes two steps at once.
        deep /= 2
    step = min(deep, length * RAMP_SLOPE)
    count = max(1, ceil((top - slot.z_floor) / step - 1e-9))
    if count > PASSES_MOST:
        raise CannotMakeError(
            f"{_where(slot)} is {length:.2f} mm long, too short to ramp {top - slot.z_floor:.1f} "
            "mm deep",
            mend="Make it longer, or a round hole",
        )
    levels: list[float] = np.linspace(top, slot.z_floor, count + 1).tolist()
    return levels


def _leaves_beyond(slot: Groove, levels: list[float], tool: Tool) -> bool:
    """Return whether the cutter leaves a slot at the other end than it came in."""
    walks = len(levels) - 1
    # Without a way round the wall, one level walk takes away what the last ramp left.
    if not wall_offsets(slot.width, tool.cutter.diameter):
        walks += 1
    return walks % 2 == 1


def _cut(
    track: Track, ends: Floats, width: float, levels: list[float], tool: Tool, ground: Ground
) -> None:
    top, floor = levels[0], levels[-1]
    offsets = wall_offsets(width, tool.cutter.diameter)
    here, there = ends
    track.go(float(here[0]), float(here[1]), ground, width / 2)
    track.down(top + APPROACH)
    track.lines(np.array([[*here, top]]), tool.rates.plunge)
    # Round the wall in levels too, where the sheet is deep.
    deep = ceil((top - floor) / tool.rates.depth - 1e-9)
    stages = np.linspace(top, floor, deep + 1)[1:].tolist() if offsets else []
    for _, below in pairwise(levels):
        track.lines(np.array([[*there, below]]), tool.rates.feed)
        here, there = there, here
    if not offsets:
        track.lines(np.array([[*there, floor]]), tool.rates.feed)
    for stage in stages:
        # Up and down in the middle, which is open by now.
        track.lines(np.array([[*here, stage]]), tool.rates.plunge)
        for away in offsets:
            _round(track, here, there, away, stage, tool)
    track.lift(top + APPROACH)


def _round(
    track: Track, here: Floats, there: Floats, away: float, height: float, tool: Tool
) -> None:
    """Go once round a slot's wall, from the middle of one end and back to it."""
    ahead = (there - here) / np.hypot(*(there - here))
    right = np.array([ahead[1], -ahead[0]])
    wall = away + tool.cutter.radius
    slow = max(round(tool.rates.feed * away / wall), SLOWEST)

    def arc(end: Floats, centre: Floats, feed: float) -> None:
        track.arc(np.array([*end, height]), centre, feed, clockwise=False)

    # Straight ahead along the right-hand wall is counter-clockwise round the slot.
    arc(here + away * right, here + away / 2 * right, slow)
    track.lines(np.array([[*(there + away * right), height]]), tool.rates.feed)
    arc(there + away * ahead, there, slow)
    arc(there - away * right, there, slow)
    track.lines(np.array([[*(here - away * right), height]]), tool.rates.feed)
    arc(here - away * ahead, here, slow)
    arc(here + away * right, here, slow)
    arc(here, here + away / 2 * right, slow)
