"""Vents, drilled from the top as far as a drill's flutes reach, and from the back for the rest.

Both halves overlap over their full width. Turned over on its dowels a plate comes back within a
tenth or two of a millimetre, far less than a vent is wide, so that the halves open into each other.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from chape.catalog.model import CutterKind
from chape.cutting.choose import DRILL_FIT, point_of
from chape.tooling.model import RoundHole

if TYPE_CHECKING:
    from chape.catalog.model import Cutter
    from chape.tooling.model import Mould

#: The tip goes this far past where a through hole, or a hole in sheet, ends, mm.
OVERRUN = 0.3

#: Flutes left above a hole that is not drilled through at once, for the chips to leave by, mm
#: (common practice, no source).
CHIP_ROOM = 1.0

#: The halves of a vent overlap by this over their full width, mm.
MEET = 1.0


def point_height(cutters: tuple[Cutter, ...], diameter: float) -> float:
    """Return the height (mm) of the point of the drill that makes a hole; 0 if none does."""
    return max((point_of(drill) for drill in drills_for(cutters, diameter)), default=0.0)


def drills_for(cutters: tuple[Cutter, ...], diameter: float) -> list[Cutter]:
    """Return the drills that make a hole of ``diameter`` mm."""
    return [
        cutter
        for cutter in cutters
        if cutter.kind is CutterKind.DRILL and abs(cutter.diameter - diameter) <= DRILL_FIT
    ]


def vents_from_top(mould: Mould, cutters: tuple[Cutter, ...]) -> tuple[RoundHole, ...]:
    """Return what is drilled of each vent from the top, blank frame."""
    return tuple(_from_top(vent, cutters) for vent in mould.vents)


def vents_from_back(mould: Mould, cutters: tuple[Cutter, ...]) -> tuple[RoundHole, ...]:
    """Return what is left of the vents for the back, the plate turned over left to right.

    From the floor of the back groove, z = 0 at the underside, which faces up.
    """
    left = []
    for vent in mould.vents:
        top = _from_top(vent, cutters)
        point = point_height(cutters, vent.diameter)
        if top.z_bottom <= vent.z_bottom - point:
            continue
        # Both points are no hole of full width yet.
        tip = top.z_bottom + 2 * point + MEET
        left.append(
            RoundHole(
                x=mould.width - vent.x,
                y=vent.y,
                diameter=vent.diameter,
                z_top=mould.z_bottom - vent.z_bottom,
                z_bottom=mould.z_bottom - tip,
                use=vent.use,
            )
        )
    return tuple(left)


def _from_top(vent: RoundHole, cutters: tuple[Cutter, ...]) -> RoundHole:
    whole = replace(vent, z_bottom=vent.z_bottom - point_height(cutters, vent.diameter) - OVERRUN)
    reach = max((drill.flute_length for drill in drills_for(cutters, vent.diameter)), default=0.0)
    if reach == 0.0 or whole.z_top - whole.z_bottom <= reach:
        return whole
    return replace(vent, z_bottom=vent.z_top - reach + CHIP_ROOM)
