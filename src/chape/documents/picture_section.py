"""Sections across the closed sheath: knife, sheet, and the room between them.

A section at x shows y along the page (edge to the left, fold or spine to the right) and z up. The
sheet is drawn as thick as forming leaves it: its outside is the hull of balls of that thickness on
its inside. Measures lie in the plane of the section.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity
from shapely.ops import nearest_points

from chape.documents import palette
from chape.documents.picture_plan import largest
from chape.documents.sketch import CENTRE, Pen, Sketch
from chape.knife.model import Edges
from chape.sheath.halves import (
    axis_of,
    half_pattern,
    is_relieved,
    piece_of,
    reach_along,
    side_of,
    strip_end_at,
)
from chape.units import show_length

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath
    from chape.units import LengthUnit

#: Sections are sampled this finely along y, mm.
STEP = 0.1

#: Rooms in the two halves that differ by less are the same, mm.
SAME_GAP = 0.005

#: What counts as the flat or the spine of the knife, as a share of the section's half thickness.
FLAT_SHARE = 0.9

#: Sections are enlarged so far at most, and keep this much paper on their left, mm.
LARGEST_SCALE = 1.8
LEFT = 22.0

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Gap:
    """Room between knife and sheath.

    Attributes:
        words: what the room is beside.
        knife, sheath: from this point of the knife to that of the sheath, (y, z) mm.
        width: how wide it is, mm; negative where the sheath would press into the knife.
    """

    words: str
    knife: Point
    sheath: Point
    width: float

    def mirrored(self) -> Gap:
        """Return the gap as it lies in the other half."""
        (y1, z1), (y2, z2) = self.knife, self.sheath
        return replace(self, knife=(y1, -z1), sheath=(y2, -z2))


@dataclass(frozen=True, slots=True, eq=False)
class Section:
    """A section at one station.

    Attributes:
        x: where, mm.
        title: what is cut there.
        knife: section of the knife, (y, z); empty beyond its ends.
        sheet: section of the closed sheet.
        gaps: the narrower room of the two halves at the edge, beside the flat and at the spine.
    """

    x: float
    title: str
    knife: Polygon
    sheet: Polygon
    gaps: tuple[Gap, ...]


def stations(sheath: Sheath) -> tuple[tuple[float, str], ...]:
    """Return where sections tell most, with their names, from the tip to the mouth."""
    knife, blade = sheath.knife, sheath.knife.blade_length
    pads = sheath.choices.tip_pads
    near_tip = (pads.start + pads.end) / 2 if pads else 0.2 * blade
    grid = knife.half.grid
    thickest = knife.half.z.max(axis=0)
    inside = (grid.x > blade) & (grid.x < sheath.mouth_x - 2)
    places = [
        (near_tip, "tip pads" if pads else "near the tip"),
        (0.55 * blade, "blade"),
        (blade - 4.0, "end of the blade"),
        (sheath.mouth_x - 3.0, "mouth"),
    ]
    if inside.any():
        at = float(grid.x[inside][np.argmax(thickest[inside])])
        places.append((at, "thickest in the wrap"))
    first, _ = reach_along(sheath)
    kept = sorted(place for place in places if first + 1 < place[0] < sheath.mouth_x - 1)
    return tuple(
        place
        for number, place in enumerate(kept)
        if number == 0 or place[0] > kept[number - 1][0] + 1
    )


def section_at(
    sheath: Sheath,
    walls: tuple[HeightField, ...] | None,
    x: float,
    title: str,
    step: float = STEP,
) -> Section:
    """Return the section at one station.

    Args:
        sheath: the closed sheath.
        walls: thickness of the formed sheet over each piece's flat frame, mm; None for a sheet
            that forming has not thinned.
        x: station, mm.
        title: what is cut there.
        step: the section is sampled so finely along y, mm.
    """
    knife = _knife_section(sheath.knife, x, step)
    (front, front_room), (back, back_room) = (
        _half(sheath, walls, x, step, upper=upper) for upper in (False, True)
    )
    sheet = front.union(affinity.scale(back, 1, -1, origin=(0, 0)))
    low, high = "belly", "spine"
    if x < sheath.knife.blade_length:
        double = sheath.knife.edges is Edges.DOUBLE
        other = "other edge" if sheath.fold is None else "edge at the fold"
        low, high = ("edge", other) if double else ("edge", "spine")
    if sheath.fold is not None and is_relieved(sheath.fold, np.array(x)):
        # Nothing stands over a spine whose fold is cut away.
        high = ""
    # The two halves may differ (a thumb ramp); the narrower room is shown.
    gaps = tuple(
        here if here.width <= there.width + SAME_GAP else there.mirrored()
        for here, there in zip(
            _gaps(knife, front_room, low, high), _gaps(knife, back_room, low, high), strict=True
        )
    )
    return Section(x, title, knife, sheet, gaps)


def section_picture(
    section: Section, sheath: Sheath, unit: LengthUnit, width: float = 170.0
) -> Sketch:
    """Return the picture of a section, enlarged as far as the width allows."""
    y_min, z_min, y_max, z_max = section.sheet.bounds
    scale = min(LARGEST_SCALE, (width - 74) / (y_max - y_min))
    height = (z_max - z_min) * scale + 10
    sketch = Sketch(
        width, height, y_min - LEFT / scale, z_max + 8.5 / scale, scale,
        f"Section at x = {section.x:.1f} mm",
    )  # fmt: skip
    sketch.region(section.sheet, Pen(palette.SHEET_DARK, 0.25, (), palette.SHEET))
    if not section.knife.is_empty:
        sketch.region(section.knife, Pen(palette.STEEL_DARK, 0.25, (), palette.STEEL))
        _draw_edge(sketch, sheath.knife, section)
    sketch.line(y_min - 1.5 / scale, 0, y_max + 1.5 / scale, 0, CENTRE)
    for gap in section.gaps:
        _draw_gap(sketch, gap, section, unit)
    corner = sketch.back(width, 3.2)
    sketch.text(*corner, section.title, anchor="end", size=3.4, bold=True)
    place = f"x = {show_length(section.x, unit)}"
    sketch.text(*corner, place, shift=(0, -4.4), anchor="end", colour=palette.SLATE)
    return sketch


def _draw_gap(sketch: Sketch, gap: Gap, section: Section, unit: LengthUnit) -> None:
    """Draw a gap and lead it out of the section to its measure."""
    _, _, y_max, z_max = section.sheet.bounds
    middle = ((gap.knife[0] + gap.sheath[0]) / 2, (gap.knife[1] + gap.sheath[1]) / 2)
    x, y = sketch.at(*middle)
    right, top = sketch.at(y_max, z_max)
    if gap.words in {"edge", "belly"}:
        # The words stand over whatever sheet lies to the left.
        (left, _), (foot, _) = sketch.back(x - 7 - LEFT, 0), sketch.back(x - 7, 0)
        beside = section.sheet.intersection(shapely.box(left, 0, foot, 1e3))
        _, under = sketch.at(0, max(0.0, beside.bounds[3]) if not beside.is_empty else 0.0)
        end, anchor, shift = (x - 7, min(under - 3, y - 6)), "end", (-0.8, 0.0)
    elif gap.words == "beside":
        end, anchor, shift = (x, top - 3), "middle", (0.0, 2.0)
    else:
        end, anchor, shift = (right + 5, y), "start", (0.8, 0.0)
    sketch.line(*gap.knife, *gap.sheath, Pen(palette.COPPER, 0.55))
    for point in (gap.knife, gap.sheath):
        sketch.circle(*point, 0.4 / sketch.scale, Pen(None, 0, (), palette.COPPER))
    sketch.polyline(np.array([middle, sketch.back(*end)]), Pen(palette.COPPER, 0.18))
    words = f"{gap.words} {show_length(gap.width, unit)}"
    sketch.text(
        *sketch.back(*end), words, shift=shift, anchor=anchor, colour=palette.COPPER, halo=True
    )


def _draw_edge(sketch: Sketch, knife: Knife, section: Section) -> None:
    x = section.x
    cut = knife.edge_band.intersection(shapely.LineString([(x, -1e3), (x, 1e3)]))
    for piece in getattr(cut, "geoms", [cut]):
        if piece.is_empty or piece.geom_type != "LineString":
            continue
        _, low, _, high = piece.bounds
        edge = section.knife.intersection(shapely.box(low, -1e3, high, 1e3))
        sketch.region(edge, Pen(palette.EDGE, 0.2, (), palette.EDGE, 0.6))


def _knife_section(knife: Knife, x: float, step: float) -> Polygon:
    """Return the knife's section, (y, z); empty where there is no knife."""
    grid = knife.half.grid
    if not grid.bounds[0] <= x <= grid.bounds[2]:
        return shapely.Polygon()
    y = np.arange(grid.bounds[1], grid.bounds[3], step)
    half = knife.half.at(np.column_stack([np.full_like(y, x), y]))
    on = half > 0
    if on.sum() < 3:
        return shapely.Polygon()
    y, half = y[on], half[on]
    around = np.concatenate([np.column_stack([y, half]), np.column_stack([y, -half])[::-1]])
    return largest(shapely.Polygon(around).buffer(0))


def _trimmed(sheath: Sheath, x: float, *, upper: bool) -> tuple[float, float]:
    """Return y of one half's trimmed edges at a station; far up where it folds into the other."""
    folded = sheath.fold is not None and not is_relieved(sheath.fold, np.array(x))
    axis = axis_of(sheath)
    line = shapely.LineString([(x, -1e3), (x, 1e3)])
    cut = half_pattern(sheath, upper=upper).intersection(line)
    if cut.is_empty:
        return axis, (1e3 if folded else axis)
    _, low, _, high = cut.bounds
    return float(axis + low), (1e3 if folded else float(axis + high))


def _half(
    sheath: Sheath, walls: tuple[HeightField, ...] | None, x: float, step: float, *, upper: bool
) -> tuple[Polygon, Polygon]:
    """Return the sheet of one half and the room inside it, both above the mid-plane.

    Args:
        sheath: the closed sheath.
        walls: thickness over each piece's flat frame, mm; None for the sheet's own.
        x: station, mm.
        step: along y, mm.
        upper: which half.
    """
    line = _inside_line(sheath, x, step, upper=upper)
    inside = _room_under(line, sheath.sheet.gauge.value)
    low, high = _trimmed(sheath, x, upper=upper)
    over = shapely.box(low, 0, high, 1e3)
    if walls is None:
        around = shapely.LineString(line).buffer(sheath.sheet.gauge.value)
    else:
        wall = walls[sheath.pieces.index(piece_of(sheath, upper=upper))]
        around = _balls(line, _thickness(sheath, wall, x, line, upper=upper))
    thick = around.difference(inside)
    return largest(thick.intersection(over)), largest(inside.intersection(over))


def _thickness(sheath: Sheath, wall: HeightField, x: float, line: Floats, *, upper: bool) -> Floats:
    """Return how thick the formed sheet is along a line (n, 2) on its inside, (n,) mm."""
    axis = axis_of(sheath)
    across = line[:, 0] - axis
    if sheath.fold is not None:
        across = np.minimum(line[:, 0], axis) - axis
    return wall.at(np.column_stack([np.full(len(line), x), side_of(upper=upper) * across]))


def _balls(line: Floats, thickness: Floats) -> Polygon:
    """Return what balls of some thickness (n,), rolled along a line (n, 2), sweep."""
    discs = shapely.buffer(shapely.points(line), thickness, quad_segs=16)
    pairs = [shapely.MultiPolygon([a, b]).convex_hull for a, b in pairwise(discs)]
    return largest(shapely.union_all(pairs))


def _inside_line(sheath: Sheath, x: float, step: float, *, upper: bool) -> Floats:
    """Return the sheet's inside, (n, 2): from beyond the flange to the fold's apex, or beyond."""
    low, high = _trimmed(sheath, x, upper=upper)
    fold, axis = sheath.fold, axis_of(sheath)
    alone = fold is None or bool(is_relieved(fold, np.array(x)))
    end = high + 4 if alone else float(strip_end_at(fold, np.array(x)))
    y = np.append(np.arange(low - 4, end, step), end)
    v = side_of(upper=upper) * (y - axis)
    z = piece_of(sheath, upper=upper).formed.at(np.column_stack([np.full_like(y, x), v]))
    inside = np.column_stack([y, z])
    if fold is None or alone:
        return inside
    height = float(np.interp(x, fold.x, fold.height))
    turn = np.linspace(np.pi / 2, 0, 40)
    return np.vstack(
        [inside, np.column_stack([end + height * np.cos(turn), height * np.sin(turn)])]
    )


def _room_under(line: Floats, gauge: float) -> Polygon:
    """Return what lies under the sheet's inside, carried well below the mid-plane."""
    floor = -4 * gauge
    around = np.vstack([line, [(line[-1, 0], floor), (line[0, 0], floor)]])
    return largest(shapely.Polygon(around).buffer(0))


def _gaps(knife: Polygon, cavity: Polygon, low: str, high: str) -> tuple[Gap, ...]:
    """Return the room at both ends, called ``low`` and ``high``, and beside the flat.

    None where there is no knife, nor at an end without a name.
    """
    if knife.is_empty:
        return ()
    y_min, _, y_max, half = knife.bounds
    wall = cavity.exterior.difference(shapely.box(-1e3, -1e3, 1e3, 1e-3))
    flat = knife.exterior.intersection(
        shapely.box(y_min + 1e-6, FLAT_SHARE * half, y_max - 1e-6, half + 1)
    )
    parts = (
        (low, shapely.Point(_outermost(knife, y_min))),
        ("beside", flat),
        (high, shapely.Point(_outermost(knife, y_max))),
    )
    gaps = []
    for words, part in parts:
        if part.is_empty or not words:
            continue
        near, far = nearest_points(part, wall)
        within = cavity.buffer(1e-6).contains(shapely.Point(near.x, max(near.y, 0.0)))
        width = near.distance(far) * (1 if within else -1)
        gaps.append(Gap(words, (near.x, near.y), (far.x, far.y), width))
    return tuple(gaps)


def _outermost(knife: Polygon, y: float) -> Point:
    """Return the point of a section, above the mid-plane, that lies at one end of it."""
    points = [point for point in knife.exterior.coords if abs(point[0] - y) < 1e-6]
    return max((float(p[0]), float(p[1])) for p in points if p[1] >= 0)
