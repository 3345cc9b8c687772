"""A clip on its sheath, seen from the side it sits on, and a clip's pattern by itself at 1:1."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.documents import palette
from chape.documents.picture_plan import closed_outline
from chape.documents.sketch import CENTRE, Pen, Sketch
from chape.sheath.halves import axis_of, half_holes, is_front
from chape.sheath.model import HoleUse
from chape.units import show_length

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.catalog.hardware import Clip
    from chape.field.grid import Floats
    from chape.sheath.model import Sheath
    from chape.sheath.placed_clip import PlacedClip
    from chape.units import LengthUnit

#: A clip's foot is drawn this far round its holes, mm: how far it really reaches nobody told us.
FOOT_ROOM = 3.5

#: A screw's head is drawn so much wider than its hole.
HEAD = 1.35

PLATE = Pen(palette.STEEL_DARK, 0.3, (), palette.STEEL, 0.7)
HEADS = Pen(palette.STEEL_DARK, 0.25, (), palette.PAPER, 0.9)
SPARE = Pen(palette.COPPER, 0.25, (1.0, 0.7))


def clip_on_sheath(
    sheath: Sheath, placed: PlacedClip, unit: LengthUnit, width: float = 170.0
) -> Sketch:
    """Return a clip where it lies on the closed sheath, seen from the half it sits on."""
    upper = is_front(sheath, upper=True) == (placed.half == "front")
    # The half called upper is looked at from behind the knife, where left and right change places.
    across = -1.0 if upper else 1.0
    outline = affinity.scale(closed_outline(sheath), across, 1.0, origin=(0, 0))
    knife = affinity.scale(sheath.knife.outline, across, 1.0, origin=(0, 0))
    turn = np.array([across, 1.0])
    points = placed.points * turn
    plate = _plate(placed.clip, points)
    seen = outline.union(plate)
    sketch = Sketch.around(seen.bounds, width, (8, 15, 8, 16), placed.clip.title)
    sketch.region(outline, Pen(palette.SHEET_DARK, 0.4, (), palette.SHEET, 0.55))
    sketch.region(knife.intersection(outline), Pen(palette.STEEL_DARK, 0.2, (1.4, 0.9)))
    for hole in half_holes(sheath, upper=upper):
        y = axis_of(sheath) + (-hole.v if upper else hole.v)
        if hole.use is HoleUse.EYELET:
            rim = Pen(palette.BRASS, 0.3, (), palette.PAPER, 0.85)
            sketch.circle(across * hole.u, y, sheath.eyelet.flange.value / 2, rim)
        sketch.circle(
            across * hole.u, y, hole.diameter / 2, Pen(palette.INK, 0.2, (), palette.PAPER)
        )
    for x, y in [] if placed.other is None else placed.other * turn:
        sketch.circle(float(x), float(y), sheath.eyelet.flange.value / 2 + 0.8, SPARE)
    sketch.region(plate, PLATE)
    for x, y in points:
        sketch.circle(float(x), float(y), HEAD * placed.clip.hole.value / 2, HEADS)
        _cross(sketch, float(x), float(y), HEAD * placed.clip.hole.value / 2)
    _spans(sketch, points, unit)
    x_min, y_min, _, y_max = seen.bounds
    sketch.text(x_min, y_max, placed.clip.title, shift=(0, 10), anchor="start", bold=True, size=3.4)
    sketch.text(x_min, y_max, _said(placed), shift=(0, 5.5), anchor="start", colour=palette.SLATE)
    if placed.other is not None:
        words = "Dashed rings: the holes it takes on a sheath for the other hand."
        sketch.text(x_min, y_min, words, shift=(0, -6), anchor="start", colour=palette.COPPER)
    return sketch


def clip_stem(number: int, placed: PlacedClip) -> str:
    """Return the name of a clip's picture: "clip-1-belt-loop-2"; clips count from 0."""
    return f"clip-{number + 1}-{placed.clip.name}"


def clip_pattern(clip: Clip, unit: LengthUnit) -> Sketch:
    """Return a clip's holes at their true size, with crosses to lay over the hardware."""
    points = np.array(clip.holes, dtype=np.float64)
    plate = _plate(clip, points)
    x_min, y_min, x_max, y_max = plate.bounds
    room = 16.0
    sketch = Sketch(
        x_max - x_min + 2 * room, y_max - y_min + 2 * room, x_min - room, y_max + room,
        title=f"{clip.title}, 1:1",
    )  # fmt: skip
    sketch.region(plate, Pen(palette.HAIRLINE, 0.2, (1.2, 0.8)))
    for number, (x, y) in enumerate(points):
        sketch.circle(float(x), float(y), clip.hole.value / 2, Pen(palette.INK, 0.2))
        _cross(sketch, float(x), float(y), clip.hole.value / 2)
        sketch.text(float(x), float(y), str(number + 1), shift=(1.6, 1.7), size=2.4)
    _spans(sketch, points, unit, _reach(clip) + 4.0)
    return sketch


def _reach(clip: Clip) -> float:
    """Return how far a clip's foot is drawn round the middles of its holes, mm."""
    return FOOT_ROOM + (clip.hole.value if clip.seat is None else clip.seat.value) / 2


def _plate(clip: Clip, points: Floats) -> Polygon:
    """Return a rounded foot round all holes of a clip."""
    return shapely.MultiPoint(points).convex_hull.buffer(_reach(clip), quad_segs=16)


def _cross(sketch: Sketch, x: float, y: float, radius: float) -> None:
    reach = radius + 1.5
    sketch.line(x - reach, y, x + reach, y, CENTRE)
    sketch.line(x, y - reach, x, y + reach, CENTRE)


def _spans(sketch: Sketch, points: Floats, unit: LengthUnit, off: float = 9.0) -> None:
    """Write how long the pattern is along its first two holes, and how wide across them."""
    if len(points) < 2:
        return
    along = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
    across = np.array([-along[1], along[0]])
    s, t = points @ along, points @ across
    middle = points.mean(axis=0)
    # Along the side where more of the holes stand.
    low = t.min() if middle @ across <= (t.min() + t.max()) / 2 else t.max()
    lines = [[along * s.min() + across * low, along * s.max() + across * low]]
    if t.max() - t.min() > 0.1:
        lines.append([along * s.max() + across * t.min(), along * s.max() + across * t.max()])
    for line in lines:
        (x1, y1), (x2, y2) = ((float(end[0]), float(end[1])) for end in line)
        span = show_length(float(np.hypot(x2 - x1, y2 - y1)), unit)
        sketch.dimension((x1, y1), (x2, y2), span, offset=_outside(line, middle, off))


def _outside(line: list[Floats], middle: Floats, offset: float) -> float:
    """Return an offset that puts a dimension on the side of a line away from a point."""
    along = line[1] - line[0]
    left = np.array([-along[1], along[0]])
    return offset if float(left @ (middle - line[0])) <= 1e-9 else -offset


def _said(placed: PlacedClip) -> str:
    words = [f"on the {placed.half} half"]
    if placed.angle:
        words.append(f"turned {placed.angle:g}°")
    if placed.play > 0.005:
        words.append(f"its holes are {placed.play:.2f} mm off at most")
    return ",  ".join(words)
