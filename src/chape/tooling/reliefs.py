"""Reliefs: hollows in the fixture under the holes and slots that are cut through the sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.tooling.model import Groove, RoundHole

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.tooling.model import Layout

#: A relief is wider than its hole by this, mm (common practice, no source).
WIDER = 1.0

#: A relief reaches this far below the sheet's inside, mm (common practice, no source).
DEPTH = 2.0

#: Rays around a hole along which the ground is looked at.
RAYS = 16


def placed_slots(layout: Layout, wider: float, floor: float) -> tuple[Groove, ...]:
    """Return every slot of every part as a groove on the blank.

    Args:
        layout: the blank with its copies.
        wider: than the slot, mm.
        floor: how far down, mm.
    """
    return tuple(
        Groove(part.place.placed(slot.ends), slot.width + wider, floor)
        for part in layout.parts
        for slot in layout.piece_of(part).slots
    )


def hole_reliefs(layout: Layout, seat: HeightField, inserts: Floats) -> tuple[RoundHole, ...]:
    """Return a relief under every hole of every part that has no insert under it.

    Args:
        layout: the blank with its copies.
        seat: the fixture's seat, which the reliefs open.
        inserts: (n, 2) where inserts stand, mm; their holes are deep enough already.
    """
    angles = 2 * np.pi * np.arange(RAYS) / RAYS
    rim = np.column_stack([np.cos(angles), np.sin(angles)])
    reliefs = []
    for part in layout.parts:
        for hole in layout.piece_of(part).holes:
            centre = part.place.placed(np.array([[hole.u, hole.v]]))[0]
            if len(inserts) and np.hypot(*(inserts - centre).T).min() < hole.diameter / 2:
                continue
            diameter = hole.diameter + WIDER
            around = np.vstack([centre, centre + diameter / 2 * rim])
            reliefs.append(
                RoundHole(
                    float(centre[0]),
                    float(centre[1]),
                    diameter,
                    float(seat.at(around).max()),
                    float(layout.formed.at(around).min()) - DEPTH,
                    "relief",
                )
            )
    return tuple(reliefs)
