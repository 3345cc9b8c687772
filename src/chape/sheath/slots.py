"""Slots in the flange, for a strap or a lanyard: as near to the wall as their rules allow.

A slot goes through both flanges. It keeps off the foot of the wall, so that the sheet is level
round it, and off every rivet's flange; the outline then runs round it at the edge distance.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point

from chape.errors import CannotMakeError, InputError
from chape.sheath.halves import side_of
from chape.sheath.model import Slot

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from chape.sheath.holes import Foot, Spot
    from chape.sheath.model import SlotChoice

#: Level sheet between a slot and the foot of the wall, mm. Common practice, no source.
WALL_MARGIN = 1.5

#: Sheet between a slot and a rivet's flange, mm. Common practice, no source.
RIVET_MARGIN = 1.0

#: Sheet outside a slot, in gauges, and never less than so many mm: a strap pulls on it. Common
#: practice, no source.
EDGE_GAUGES, EDGE_LEAST = 2.0, 4.0

#: A slot is moved out by these steps until its rules are kept, no further than so far, mm.
STEP, REACH = 0.25, 60.0

#: Where nothing fits beside the place wanted, it may move along by this, mm.
SHIFT = 15.0


@dataclass(frozen=True, slots=True)
class SlotSpot:
    """A slot of one half, sheath frame: its middle, mm, and its direction, radians.

    Attributes:
        length, width: over its round ends, and across, mm.
    """

    x: float
    y: float
    length: float
    width: float
    angle: float

    def area(self, grown: float = 0.0) -> Polygon:
        """Return what it takes away, grown by some mm all round."""
        return capsule(self.x, self.y, self.length, self.width + 2 * grown, self.angle, grown)


def capsule(
    x: float, y: float, length: float, width: float, angle: float, grown: float = 0.0
) -> Polygon:
    """Return a slot with round ends as a polygon; ``width`` holds what it has ``grown`` by."""
    half = (length - (width - 2 * grown)) / 2
    along = half * np.array([cos(angle), sin(angle)])
    middle = np.array([x, y])
    line = LineString([middle - along, middle + along])
    return line.buffer(width / 2, quad_segs=32)


def edge_distance(gauge: float) -> float:
    """Return how much sheet stands outside a slot, mm."""
    return max(EDGE_GAUGES * gauge, EDGE_LEAST)


def place_slots(
    line: LineString,
    foot: Foot,
    spots: Sequence[Spot],
    choices: Sequence[SlotChoice],
    gauge: float,
    ends: tuple[float, float],
) -> tuple[SlotSpot, ...]:
    """Place the slots of one half in the sheath frame.

    Args:
        line: of the eyelets, from the mouth to the tip.
        foot: of the wall.
        spots: the half's holes, drains among them.
        choices: the maker's.
        gauge: of the sheet, mm.
        ends: x between which the flange is level: it is cut off at the tip, and at the mouth it
            is cut off or curls into the thumb ramp, mm.

    Raises:
        InputError: a slot is wider than long.
        CannotMakeError: a slot has no place beside the wall.
    """
    shapely.prepare(foot.region)
    edge = edge_distance(gauge)
    within = (ends[0] + edge, ends[1] - edge)
    placed: list[SlotSpot] = []
    for number, choice in enumerate(choices, start=1):
        if choice.length <= choice.width:
            raise InputError(
                f"a slot of {choice.length:g} x {choice.width:g} mm is no longer than it is wide",
                mend="Give the greater measure as its length",
                field=f"sheath.slots {number}",
            )
        barred = [Point(s.x, s.y).buffer(s.keep_clear + RIVET_MARGIN) for s in spots]
        barred += [slot.area(edge) for slot in placed]
        bar = shapely.union_all(barred)
        shapely.prepare(bar)
        placed.append(_placed(line, foot, bar, within, choice, number))
    return tuple(placed)


def laid_on(slots: Sequence[SlotSpot], axis: float, *, upper: bool) -> tuple[Slot, ...]:
    """Return the slots of one half in its flat frame, v measured from y = ``axis``."""
    side = side_of(upper=upper)
    return tuple(
        Slot(slot.x, side * (slot.y - axis), slot.length, slot.width, side * slot.angle)
        for slot in slots
    )


def _placed(
    line: LineString,
    foot: Foot,
    barred: shapely.Geometry,
    within: tuple[float, float],
    choice: SlotChoice,
    number: int,
) -> SlotSpot:
    """Return one slot where it is wanted, or as little along the line from there as it takes."""
    wanted = choice.along * line.length
    for shift in np.arange(0.0, SHIFT, 1.0):
        for at in (wanted + float(shift), wanted - float(shift)):
            if 0 <= at <= line.length:
                slot = _moved_out(line, foot, barred, within, choice, at)
                if slot is not None:
                    return slot
    raise CannotMakeError(
        f"the slot {number} of {choice.length:g} x {choice.width:g} mm has no place within "
        f"{REACH:g} mm of the wall, {SHIFT:g} mm to either side of where it is wanted",
        mend="Move it along, turn it, or make it shorter (sheath.slots)",
    )


def _moved_out(
    line: LineString,
    foot: Foot,
    barred: shapely.Geometry,
    within: tuple[float, float],
    choice: SlotChoice,
    at: float,
) -> SlotSpot | None:
    """Return a slot beside one place of the line, moved out from the wall until its rules hold."""
    here = line.interpolate(at)
    before, after = line.interpolate(max(0.0, at - 1)), line.interpolate(min(line.length, at + 1))
    ahead = np.array([after.x - before.x, after.y - before.y])
    ahead /= np.hypot(*ahead)
    # From mouth to tip the wall is on the right, and the open side on the left.
    out = np.array([-ahead[1], ahead[0]])
    angle = float(np.arctan2(ahead[1], ahead[0])) + radians(choice.angle)
    far, asked = -float(foot.region.distance(here)), choice.out
    while far < REACH:
        x, y = np.array([here.x, here.y]) + far * out
        slot = SlotSpot(float(x), float(y), choice.length, choice.width, angle)
        area = slot.area()
        first, _, last, _ = area.bounds
        fits = within[0] <= first and last <= within[1]
        if not fits or foot.region.distance(area) < WALL_MARGIN or area.intersects(barred):
            far += STEP
        elif asked == 0:
            return slot
        else:
            far, asked = far + asked, 0.0
    return None
