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
from chape.bench.named_values import label_of
from chape.bench.sheath_answers import Corner, Handle
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
    yield _handle(
        "sheath.mouth.wrap", (sheath.mouth_x, (low + high) / 2), (1, 0), choices.mouth.wrap, "Mouth"
    )
    low, high = across(knife.outline, 2.0)
    yield _handle("sheath.edging.tip", (first, (low + high) / 2), (-1, 0), choices.edging.tip)
    pads = choices.tip_pads
    for name in ("start", "end"):
        if pads is not None:
            at = float(getattr(pads, name))
            low, high = across(knife.outline, at)
            yield _handle(f"sheath.tip_pads.{name}", (at, high - (high - low) / 4), (1, 0), at)
    ramp = choices.thumb_ramp
    if ramp.height:
        start = sheath.mouth_x - ramp.length
        low, _ = across(_edge_side(sheath), start)
        yield _handle("sheath.thumb_ramp.length", (start, low), (-1, 0), ramp.length)


def _sides(sheath: Sheath) -> Iterator[Handle]:
    """Yield what moves across the knife: the rooms beside it, and the flange."""
    choices, knife = sheath.choices, sheath.knife
    clearance, unsure = choices.clearance, knife.uncertainty
    at = 0.6 * knife.blade_length
    low, high = across(knife.outline, at)
    yield _handle(
        "sheath.clearance.side", (at, low - clearance.side - unsure), (0, -1), clearance.side
    )
    spine_y = high + clearance.spine + unsure if sheath.fold is None else sheath.fold.line
    seen = "" if sheath.fold is None else "Fold line"
    yield _handle("sheath.clearance.spine", (at, spine_y), (0, 1), clearance.spine, seen)
    at = (knife.blade_length + sheath.mouth_x) / 2
    low, _ = across(knife.outline, at)
    room = clearance.handle_side
    yield _handle("sheath.clearance.handle_side", (at, low - room - unsure), (0, -1), room)
    at = 0.35 * knife.blade_length
    low, _ = across(_edge_side(sheath), at)
    by_wall = choices.edging.line.value == "slim"
    name = "wall" if by_wall else "margin"
    value = float(getattr(choices.edging, name))
    yield _handle(f"sheath.edging.{name}", (at, low), (0, -1), value)


def _on_rivet_line(sheath: Sheath) -> Iterator[Handle]:
    """Yield what is told by how far it lies along the line of eyelets: clips and slots."""
    axis = axis_of(sheath)
    row = rows_of(sheath, upper=False)[0]
    line = np.array([(hole.u, hole.v + axis) for hole in row])[::-1]
    if len(line) < 2:
        return
    for number, (choice, clip) in enumerate(zip(sheath.choices.clips, sheath.clips, strict=True)):
        # Between its holes: each of them can be taken hold of by itself.
        middle = clip.points.mean(axis=0)
        yield _along(line, middle, f"sheath.clips.{number}.along", clip.clip.name, choice.along)
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


def _handle(path: str, at: Corner, along: Corner, value: float, seen: str = "") -> Handle:
    """Return a handle that changes a length by as much as it is moved.

    Args:
        path: of the length.
        at: where it lies, mm.
        along: the way it moves, of length 1.
        value: of the length now, mm.
        seen: what lies there on the plan, where that goes by another name than the length.
    """
    x, y = at
    label = label_of(path)
    if seen:
        label = f"{seen}, {label[:1].lower()}{label[1:]}"
    return Handle(path=path, label=label, x=x, y=y, along=along, per_mm=1, value=value)


def _edge_side(sheath: Sheath) -> shapely.Polygon:
    """Return the trimmed half by itself, in the frame of the knife."""
    pattern = half_pattern(sheath, upper=False)
    return affinity.translate(pattern, 0, axis_of(sheath))
