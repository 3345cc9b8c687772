"""What can be dragged on a sheath's plan, and which value of its file that changes.

A handle lies at a point and moves along a straight line; a drag by one millimetre that way changes
its value by ``per_mm``. So the page can answer a drag at once, before the sheath is designed anew.
"""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.bench.corners import across
from chape.bench.sheath_answers import Handle
from chape.sheath.halves import axis_of, half_pattern, half_slots, reach_along, rows_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.field.grid import Floats
    from chape.sheath.model import Sheath


def handles_of(sheath: Sheath) -> list[Handle]:
    """Return everything that can be dragged on the plan of a sheath."""
    return [*_ends(sheath), *_sides(sheath), *_on_rivet_line(sheath)]


def _ends(sheath: Sheath) -> Iterator[Handle]:
    """Yield what moves along the knife: mouth, tip, pads, ramp."""
    choices, knife = sheath.choices, sheath.knife
    first, _ = reach_along(sheath)
    low, high = across(knife.outline, min(sheath.mouth_x, knife.length - 1))
    yield Handle(
        path="sheath.mouth.wrap", label="Mouth", x=sheath.mouth_x, y=(low + high) / 2,
        along=(1, 0), per_mm=1, value=choices.mouth.wrap,
    )  # fmt: skip
    low, high = across(knife.outline, 2.0)
    yield Handle(
        path="sheath.edging.tip", label="Sheet beyond the tip", x=first, y=(low + high) / 2,
        along=(-1, 0), per_mm=1, value=choices.edging.tip,
    )  # fmt: skip
    pads = choices.tip_pads
    for name, label in (("start", "Tip pads begin"), ("end", "Tip pads end")):
        if pads is not None:
            at = float(getattr(pads, name))
            low, high = across(knife.outline, at)
            yield Handle(
                path=f"sheath.tip_pads.{name}", label=label, x=at, y=high - (high - low) / 4,
                along=(1, 0), per_mm=1, value=at,
            )  # fmt: skip
    ramp = choices.thumb_ramp
    if ramp.height:
        start = sheath.mouth_x - ramp.length
        low, _ = across(_edge_side(sheath), start)
        yield Handle(
            path="sheath.thumb_ramp.length", label="Thumb ramp begins", x=start, y=low,
            along=(-1, 0), per_mm=1, value=ramp.length,
        )  # fmt: skip


def _sides(sheath: Sheath) -> Iterator[Handle]:
    """Yield what moves across the knife: the rooms beside it, and the flange."""
    choices, knife = sheath.choices, sheath.knife
    clearance, unsure = choices.clearance, knife.uncertainty
    at = 0.6 * knife.blade_length
    low, high = across(knife.outline, at)
    yield Handle(
        path="sheath.clearance.side", label="Room beside the edge", x=at,
        y=low - clearance.side - unsure, along=(0, -1), per_mm=1, value=clearance.side,
    )  # fmt: skip
    spine_y = high + clearance.spine + unsure if sheath.fold is None else sheath.fold.line
    label = "Room beside the spine" if sheath.fold is None else "Fold line"
    yield Handle(
        path="sheath.clearance.spine", label=label, x=at, y=spine_y,
        along=(0, 1), per_mm=1, value=clearance.spine,
    )  # fmt: skip
    at = (knife.blade_length + sheath.mouth_x) / 2
    low, _ = across(knife.outline, at)
    yield Handle(
        path="sheath.clearance.handle_side", label="Room beside the handle", x=at,
        y=low - clearance.handle_side - unsure, along=(0, -1), per_mm=1,
        value=clearance.handle_side,
    )  # fmt: skip
    at = 0.35 * knife.blade_length
    low, _ = across(_edge_side(sheath), at)
    by_wall = choices.edging.line.value == "slim"
    yield Handle(
        path="sheath.edging.wall" if by_wall else "sheath.edging.margin",
        label="Sheet outside the wall" if by_wall else "Sheet outside the rivets",
        x=at, y=low, along=(0, -1), per_mm=1,
        value=choices.edging.wall if by_wall else choices.edging.margin,
    )  # fmt: skip


def _on_rivet_line(sheath: Sheath) -> Iterator[Handle]:
    """Yield what is told by how far it lies along the line of eyelets: clips and slots."""
    axis = axis_of(sheath)
    row = rows_of(sheath, upper=False)[0]
    line = np.array([(hole.u, hole.v + axis) for hole in row])[::-1]
    if len(line) < 2:
        return
    for number, (choice, clip) in enumerate(zip(sheath.choices.clips, sheath.clips, strict=True)):
        nearest = clip.points[int(np.argmax(clip.points[:, 0]))]
        yield _along(line, nearest, f"sheath.clips.{number}.along", clip.clip.name, choice.along)
    slots = half_slots(sheath, upper=False)
    for number, (wanted, slot) in enumerate(zip(sheath.choices.slots, slots, strict=False)):
        middle = np.array([slot.u, slot.v + axis])
        yield _along(line, middle, f"sheath.slots.{number}.along", "Slot", wanted.along)


def _along(line: Floats, point: Floats, path: str, label: str, value: float) -> Handle:
    """Return a handle that moves along the line of eyelets (n, 2), from the mouth to the tip."""
    length = float(shapely.LineString(line).length)
    nearest = int(np.argmin(np.hypot(*(line - point).T)))
    before, after = line[max(0, nearest - 1)], line[min(len(line) - 1, nearest + 1)]
    x, y = (float(each) for each in after - before)
    way = hypot(x, y)
    return Handle(
        path=path, label=label, x=float(point[0]), y=float(point[1]),
        along=(x / way, y / way), per_mm=1 / length, value=value,
    )  # fmt: skip


def _edge_side(sheath: Sheath) -> shapely.Polygon:
    """Return the trimmed half by itself, in the frame of the knife."""
    pattern = half_pattern(sheath, upper=False)
    return affinity.translate(pattern, 0, axis_of(sheath))
